#include "server/net/asio_loop.h"

#include <boost/asio/post.hpp>

namespace stationer::server {

void AsioLoop::post(Job job) {
  boost::asio::post(context_, std::move(job));
}

void AsioLoop::work(Job job) {
  if (pool_) boost::asio::post(*pool_, std::move(job));
}

void AsioLoop::finish_work() {
  if (!pool_) return;
  pool_->stop();
  pool_->join();
  pool_.reset();
}

}  // namespace stationer::server
