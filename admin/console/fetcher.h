// Carries the console's requests to the control methods, on a thread of its own, so that no key
// ever waits for the service. Finds the service again when it was away. Without a service it works
// on the volume, and lets go of it between requests, so that a service can start.
#pragma once

#include <condition_variable>
#include <deque>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "admin/channel.h"
#include "admin/console/console.h"
#include "admin/console/outbox.h"

namespace stationer::admin::console {

class Fetcher {
 public:
  explicit Fetcher(std::string directory);
  Fetcher(const Fetcher&) = delete;
  Fetcher& operator=(const Fetcher&) = delete;
  ~Fetcher();

  void send(std::vector<Request> requests);
  // What has come since the last time.
  std::vector<Reply> take();
  Link link() const;

 private:
  void work();
  // Finds a way if there is none. False when there is none.
  bool connect(std::unique_lock<std::mutex>& lock);
  void answer(std::unique_lock<std::mutex>& lock, Request request);
  void let_go(std::unique_lock<std::mutex>& lock);
  void set(Way way, std::string why = "");
  bool service_is_there() const;

  const std::string directory_;
  mutable std::mutex mutex_;  // of all below
  std::condition_variable changed_;
  std::deque<Request> requests_;
  std::vector<Reply> replies_;
  Link link_;
  bool over_ = false;
  std::shared_ptr<Channel> channel_;
  std::thread thread_;
};

}  // namespace stationer::admin::console
