#include "admin/follow.h"

#include <algorithm>
#include <chrono>
#include <thread>

#include "admin/report.h"

namespace stationer::admin {
namespace {

constexpr std::chrono::milliseconds first_pause{10};
constexpr std::chrono::milliseconds longest_pause{500};

}  // namespace

fs::Result<Channel::Listing> follow(
    Channel& channel, const std::string& work, boost::json::object params,
    const std::string& unless_ours,
    const std::function<void(const boost::json::object& state)>& waiting) {
  auto started = channel.call(work + ".start", std::move(params));
  if (!started) return started.error();
  if (!unless_ours.empty() && !is_set(*started, "started")) {
    return fs::Error{fs::Code::busy, unless_ours};
  }
  const std::string show = work + ".show";
  for (auto pause = first_pause;; pause = std::min(2 * pause, longest_pause)) {
    auto state = channel.call(show);
    if (!state) return state.error();
    if (is_set(*state, "over")) return channel.list(show);
    if (waiting) waiting(*state);
    std::this_thread::sleep_for(pause);
  }
}

}  // namespace stationer::admin
