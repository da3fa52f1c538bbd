#include "server/typed_path.h"

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "fs/node_name.h"
#include "server/protocol/parts.h"
#include "server/session.h"

namespace stationer::server {
namespace {

// The stored names below one folder.
fs::StationNames::Folder folder_of(const Session& session, const fs::Path& folder) {
  return {[&session, folder](const std::string& name) {
            return fs::check_name(name).has_value() && session.look(folder / name).has_value();
          },
          [&session, folder] {
            std::vector<fs::Named> nodes;
            const auto views = session.list(folder);
            if (!views) return nodes;
            for (const auto& view : *views) nodes.push_back({view.id, view.name, view.alias});
            return nodes;
          }};
}

class Walk {
 public:
  Walk(const Session& session, fs::Path from) : session_(session), at_(std::move(from)) {}

  void start_at_top() { at_ = {}; }

  fs::Status go(std::string_view name) {
    if (name.empty() || name == ".") return {};
    std::string meant(name);
    if (name != "..") {
      meant = session_.names().meant(name, folder_of(session_, at_));
      // A spelled name may turn out to hold a / or a control character.
      if (auto fine = fs::check_name(meant); !fine) return fine;
    }
    auto next = fs::Path::parse(meant, at_);
    if (!next) return next.error();
    at_ = std::move(*next);
    return {};
  }

  bool has(std::string_view name) const {
    const auto folder = folder_of(session_, at_);
    return folder.has(session_.names().meant(name, folder));
  }

  const fs::Path& path() const { return at_; }

 private:
  const Session& session_;
  fs::Path at_;
};

}  // namespace

fs::Result<fs::Path> typed_path(const Session& session, std::string_view typed) {
  const char separator = session.names().style().separator;
  if (typed.empty() || typed.size() > fs::Path::longest) return fs::Path::parse(typed);
  std::string text(typed);
  if (separator == '\\') std::replace(text.begin(), text.end(), separator, '/');
  Walk walk(session, text.front() == '/' ? fs::Path() : session.here());
  bool first = true;
  for (const std::string_view name : parts(text, '/')) {
    const bool begins = std::exchange(first, false);
    if (separator != '.' || name == "." || name == ".." || walk.has(name)) {
      if (auto gone = walk.go(name); !gone) return gone.error();
      continue;
    }
    if (begins && name.starts_with('.')) walk.start_at_top();
    for (const std::string_view each : parts(name, '.')) {
      if (auto gone = walk.go(each); !gone) return gone.error();
    }
  }
  return walk.path();
}

}  // namespace stationer::server
