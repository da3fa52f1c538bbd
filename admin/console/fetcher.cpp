#include "admin/console/fetcher.h"

#include <algorithm>
#include <utility>

namespace stationer::admin::console {
namespace {

using fs::Code;
using fs::Error;

constexpr std::chrono::milliseconds look_again{500};   // for a service that is not there
constexpr std::chrono::milliseconds hold_volume{200};  // after the last request

}  // namespace

Fetcher::Fetcher(std::string directory)
    : directory_(std::move(directory)), thread_([this] { work(); }) {}

Fetcher::~Fetcher() {
  {
    const std::lock_guard lock(mutex_);
    over_ = true;
    if (channel_) channel_->stop();
  }
  changed_.notify_all();
  thread_.join();
}

void Fetcher::send(std::vector<Request> requests) {
  if (requests.empty()) return;
  {
    const std::lock_guard lock(mutex_);
    for (Request& each : requests) {
      // Acts in their turn, before all that only looks.
      const auto first_look = std::find_if(requests_.begin(), requests_.end(),
                                           [](const Request& other) { return !other.act; });
      requests_.insert(each.act ? first_look : requests_.end(), std::move(each));
    }
  }
  changed_.notify_all();
}

std::vector<Reply> Fetcher::take() {
  const std::lock_guard lock(mutex_);
  return std::exchange(replies_, {});
}

Link Fetcher::link() const {
  const std::lock_guard lock(mutex_);
  return link_;
}

void Fetcher::set(Way way, std::string why) {
  link_ = {way, std::move(why)};
}

bool Fetcher::service_is_there() const {
  return open_socket_channel(directory_).has_value();
}

void Fetcher::let_go(std::unique_lock<std::mutex>& lock) {
  auto channel = std::move(channel_);
  channel_.reset();
  lock.unlock();
  channel.reset();
  lock.lock();
}

bool Fetcher::connect(std::unique_lock<std::mutex>& lock) {
  if (channel_ && channel_->is_there()) return true;
  if (channel_) let_go(lock);
  lock.unlock();
  auto opened = open_socket_channel(directory_);
  Way way = Way::service;
  if (!opened && opened.error().code == Code::not_found) {
    opened = open_volume_channel(directory_);
    way = Way::straight;
  }
  lock.lock();
  if (!opened) {
    const bool busy = opened.error().code == Code::busy;
    set(Way::none, busy ? "The volume is in use, but no service answers there: one may be starting "
                          "or stopping. It is looked for."
                        : opened.error().message);
    return false;
  }
  channel_ = std::move(*opened);
  set(way);
  return true;
}

void Fetcher::answer(std::unique_lock<std::mutex>& lock, Request request) {
  const auto channel = channel_;
  lock.unlock();
  auto result = channel->call(request.method, request.params);
  lock.lock();
  // Whether the service went, or only could not do that, a new connection tells.
  const bool broken = !result && result.error().code == Code::io;
  if (broken && link_.way == Way::service) {
    let_go(lock);
    lock.unlock();
    const bool there = service_is_there();
    lock.lock();
    if (!there) set(Way::none, "The service has gone. It is looked for.");
  }
  replies_.push_back({request.id, std::move(result)});
}

void Fetcher::work() {
  std::unique_lock lock(mutex_);
  while (!over_) {
    if (requests_.empty()) {
      const bool straight = channel_ && link_.way == Way::straight;
      const auto pause = straight ? hold_volume : look_again;
      const bool woken =
          changed_.wait_for(lock, pause, [this] { return over_ || !requests_.empty(); });
      if (woken) continue;
      if (straight) {
        let_go(lock);
      } else if (!channel_) {  // has one come in the meantime?
        lock.unlock();
        auto opened = open_socket_channel(directory_);
        lock.lock();
        if (opened) {
          channel_ = std::move(*opened);
          set(Way::service);
        }
      }
      continue;
    }
    if (!connect(lock)) {
      // What only looks waits until there is a way; what was to be done is not done later unasked.
      while (!requests_.empty() && requests_.front().act) {
        replies_.push_back(
            {requests_.front().id,
             Error{Code::busy, link_.why + " Nothing was done: try again when it is there."}});
        requests_.pop_front();
      }
      changed_.wait_for(lock, look_again,
                        [this] { return over_ || (!requests_.empty() && requests_.front().act); });
      continue;
    }
    if (over_) return;
    Request request = std::move(requests_.front());
    requests_.pop_front();
    answer(lock, std::move(request));
  }
}

}  // namespace stationer::admin::console
