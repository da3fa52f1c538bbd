#include "server/net/ftp_names.h"

#include <fmt/format.h>

#include "server/protocol/ftp_listing.h"

namespace stationer::server {
namespace {

constexpr std::size_t piece_size = 64 * 1024;

fs::Result<fs::Path> path_of(const Session& session, const std::string& typed) {
  if (typed.empty()) return session.here();
  return session.path(typed);
}

bool may_write(const Session& session, const fs::Path& folder) {
  const auto view = session.look(folder);
  return view && view->may_write;
}

}  // namespace

FtpNames::FtpNames(const Session& session, FtpHall& hall, std::vector<fs::NodeView> nodes)
    : session_(&session), hall_(&hall), nodes_(std::move(nodes)) {
  hall_->listed_ += nodes_.size();
}

FtpNames::FtpNames(FtpNames&& other) noexcept
    : session_(other.session_),
      hall_(std::exchange(other.hall_, nullptr)),
      nodes_(std::move(other.nodes_)),
      may_write_folder_(other.may_write_folder_),
      prefix_(std::move(other.prefix_)) {}

FtpNames::~FtpNames() {
  if (hall_ != nullptr) hall_->listed_ -= nodes_.size();
}

fs::Result<FtpNames> FtpNames::find(const Session& session, FtpHall& hall,
                                    const std::string& typed) {
  const auto slash = typed.rfind('/');
  const std::string above = slash == std::string::npos ? "" : typed.substr(0, slash + 1);
  // No name holds these.
  const std::string last = typed.substr(above.size());
  if (last.find_first_of("*?") != std::string::npos) return fitting(session, hall, above, last);
  const auto at = path_of(session, typed);
  if (!at) return at.error();
  const auto view = session.look(*at);
  if (!view) return view.error();
  if (!view->folder) {
    FtpNames one(session, hall, {*view});
    one.may_write_folder_ = may_write(session, at->parent());
    one.prefix_ = above;
    return one;
  }
  auto nodes = session.list(*at);
  if (!nodes) return nodes.error();
  FtpNames all(session, hall, std::move(*nodes));
  all.may_write_folder_ = view->may_write;
  if (!typed.empty()) all.prefix_ = typed.ends_with('/') ? typed : typed + '/';
  return all;
}

fs::Result<FtpNames> FtpNames::fitting(const Session& session, FtpHall& hall,
                                       const std::string& above, const std::string& pattern) {
  const auto folder = path_of(session, above);
  if (!folder) return folder.error();
  auto nodes = session.list(*folder);
  if (!nodes) return nodes.error();
  std::erase_if(*nodes, [&](const fs::NodeView& node) {
    return !fits_pattern(session.shown(node), pattern);
  });
  if (nodes->empty()) {
    return fs::Error{fs::Code::not_found, fmt::format("Nothing there is called {}.", pattern)};
  }
  FtpNames some(session, hall, std::move(*nodes));
  some.may_write_folder_ = may_write(session, *folder);
  some.prefix_ = above;
  return some;
}

bool FtpNames::are_too_many() const {
  return hall_->listed_ > FtpHall::most_listed && hall_->listed_ > nodes_.size();
}

std::string FtpNames::line(const Form& form, const fs::NodeView& node) const {
  const std::string name = session_->shown(node);
  switch (form.what) {
    case Ftp::Transfer::What::names: return prefix_ + name;
    case Ftp::Transfer::What::facts: return form.facts.of(node, may_write_folder_) + " " + name;
    default: return list_line(node, name, form.now);
  }
}

std::pair<std::string, std::size_t> FtpNames::lines(const Form& form, std::size_t next) const {
  std::string out;
  while (next < nodes_.size() && out.size() < piece_size) {
    out += line(form, nodes_[next++]);
    out += bytes_of(form.ending);
  }
  return {std::move(out), next};
}

}  // namespace stationer::server
