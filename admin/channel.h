// The way to a volume's control methods: through the control socket when a service runs, straight
// on the volume, under its lock, when none does. Commands can't tell which, and need not.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>

#include <boost/json/array.hpp>
#include <boost/json/object.hpp>
#include <boost/json/value.hpp>

#include "fs/result.h"

namespace stationer::admin {

class Channel {
 public:
  // `directory` is the volume's. Waits a few seconds for one that is in use: a service may be about
  // to open its socket, another command about to be done.
  // With accept_loss, a volume opens that has lost some of what was saved last.
  static fs::Result<std::unique_ptr<Channel>> open(const std::string& directory,
                                                   bool accept_loss = false);

  Channel() = default;
  Channel(const Channel&) = delete;
  Channel& operator=(const Channel&) = delete;
  virtual ~Channel() = default;

  fs::Result<boost::json::object> call(std::string_view method, boost::json::object params = {});

  // All the items of a listing, which the methods give in parts; `first` is its first part.
  struct Listing {
    boost::json::object first;
    boost::json::array items;
  };
  fs::Result<Listing> list(std::string_view method, boost::json::object params = {});

  // May be called by another thread: what waits for an answer ends with an error soon, if it can.
  virtual void stop() {}
  // Whether the other end is still there, as far as that is known before asking.
  virtual bool is_there() { return true; }

 private:
  // Carries one line there and the answer back, both without their line ends.
  virtual fs::Result<std::string> exchange(const std::string& line) = 0;

  std::uint64_t last_id_ = 0;
};

// Code::not_found when no service listens.
fs::Result<std::unique_ptr<Channel>> open_socket_channel(const std::string& directory);

fs::Result<std::unique_ptr<Channel>> open_volume_channel(const std::string& directory,
                                                         bool accept_loss = false);

}  // namespace stationer::admin
