#include "fs/path.h"

#include <fmt/format.h>

#include "fs/node_name.h"

namespace stationer::fs {

Result<Path> Path::parse(std::string_view text, const Path& base) {
  if (text.empty()) return Error{Code::bad_name, "A name is needed."};
  if (text.size() > longest) {
    return Error{Code::bad_name, fmt::format("The path is too long: {} bytes; {} are allowed.",
                                             text.size(), longest)};
  }
  Path path = text.front() == '/' ? Path() : base;
  while (!text.empty()) {
    const auto slash = text.find('/');
    const std::string_view name = text.substr(0, slash);
    text = slash == std::string_view::npos ? "" : text.substr(slash + 1);
    if (name.empty() || name == ".") continue;
    if (name == "..") {
      if (path.is_top()) {
        return Error{Code::bad_name, "The path goes above the top folder, where nothing is."};
      }
      path.names_.pop_back();
      continue;
    }
    if (auto checked = check_name(name); !checked) return checked.error();
    if (path.names_.size() == deepest) {
      return Error{Code::bad_name, fmt::format("Folders can be {} deep, no deeper.", deepest)};
    }
    path.names_.emplace_back(name);
  }
  return path;
}

Path Path::parent() const {
  Path up = *this;
  if (!up.names_.empty()) up.names_.pop_back();
  return up;
}

Path Path::operator/(std::string name) const {
  Path down = *this;
  down.names_.push_back(std::move(name));
  return down;
}

std::string Path::text() const {
  if (names_.empty()) return "/";
  std::string out;
  for (const auto& name : names_) out += '/' + name;
  return out;
}

}  // namespace stationer::fs
