#include "fs/host_path.h"

#include <stdexcept>

namespace stationer::fs {

bool is_host_name(std::string_view name) {
  return !name.empty() && name != "." && name != ".." && name.size() <= 255 &&
         name.find('/') == std::string_view::npos && name.find('\0') == std::string_view::npos;
}

HostPath HostPath::operator/(std::string_view name) const {
  if (!is_host_name(name)) throw std::logic_error("a host path was built from an unchecked name");
  std::string text;
  text.reserve(text_.size() + 1 + name.size());
  if (!text_.empty()) text.append(text_) += '/';
  return HostPath(std::move(text.append(name)));
}

Result<HostPath> HostPath::from_record(std::string_view text) {
  HostPath path;
  while (!text.empty()) {
    const auto slash = text.find('/');
    const auto name = text.substr(0, slash);
    if (!is_host_name(name)) {
      return Error{Code::damaged, "The volume's records hold a path that leads elsewhere."};
    }
    path = path / name;
    text = slash == std::string_view::npos ? "" : text.substr(slash + 1);
  }
  return path;
}

HostPath HostPath::folder() const {
  const auto slash = text_.rfind('/');
  return HostPath(slash == std::string::npos ? "" : text_.substr(0, slash));
}

std::string_view HostPath::name() const {
  const auto slash = text_.rfind('/');
  return slash == std::string::npos ? std::string_view(text_)
                                    : std::string_view(text_).substr(slash + 1);
}

bool HostPath::is_within(const HostPath& other) const {
  if (other.text_.empty()) return true;
  return text_.starts_with(other.text_) &&
         (text_.size() == other.text_.size() || text_[other.text_.size()] == '/');
}

HostPath HostPath::moved(const HostPath& from, const HostPath& to) const {
  if (!is_within(from)) return *this;
  return HostPath(to.text_ + text_.substr(from.text_.size()));
}

}  // namespace stationer::fs
