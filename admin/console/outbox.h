// What the console wants of the control methods, and who waits for the answer. Nothing here waits:
// requests are taken from it and answers given to it by whoever runs the console.
#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include <boost/json/object.hpp>

#include "fs/result.h"

namespace stationer::admin::console {

// A clock that only goes on.
using Moment = std::chrono::milliseconds;

struct Request {
  std::uint64_t id = 0;
  std::string method;
  boost::json::object params;
  bool act = false;  // changes something: goes first, and never twice
};

using Answer = fs::Result<boost::json::object>;

struct Reply {
  std::uint64_t id = 0;
  Answer answer;
};

class Outbox {
 public:
  using Take = std::function<void(Answer)>;

  // `take` may ask for more.
  std::uint64_t ask(std::string method, boost::json::object params, Take take) {
    return add(std::move(method), std::move(params), std::move(take), false);
  }
  std::uint64_t act(std::string method, boost::json::object params, Take take) {
    return add(std::move(method), std::move(params), std::move(take), true);
  }
  // The answer is not wanted any more.
  void forget(std::uint64_t id) { waiting_.erase(id); }

  std::vector<Request> take() { return std::exchange(requests_, {}); }
  void reply(Reply reply);

  void at(Moment now) { now_ = now; }
  // How long the eldest has been waiting; zero when none is.
  Moment waited() const;

 private:
  struct Waiting {
    Take take;
    Moment since{};
  };
  std::uint64_t add(std::string method, boost::json::object params, Take take, bool act);

  std::vector<Request> requests_;
  std::map<std::uint64_t, Waiting> waiting_;
  std::uint64_t last_ = 0;
  Moment now_{};
};

}  // namespace stationer::admin::console
