// The event loop of the service: one thread for all doors, a few for what blocks.
#pragma once

#include <memory>

#include <boost/asio/io_context.hpp>
#include <boost/asio/thread_pool.hpp>

#include "server/loop.h"

namespace stationer::server {

class AsioLoop : public Loop {
 public:
  // One at a time would let a password check hold up a print job; many would let a flood of
  // sign-ins take all memory, 64 MiB each.
  static constexpr std::size_t blocking_threads = 3;

  AsioLoop() : pool_(std::make_unique<boost::asio::thread_pool>(blocking_threads)) {}
  ~AsioLoop() override { finish_work(); }

  boost::asio::io_context& context() { return context_; }

  void post(Job job) override;
  void work(Job job) override;
  Time now() const override { return std::chrono::steady_clock::now(); }

  // Waits for the blocking work that has begun, drops what has not, and takes no more.
  void finish_work();

 private:
  boost::asio::io_context context_{1};
  std::unique_ptr<boost::asio::thread_pool> pool_;
};

}  // namespace stationer::server
