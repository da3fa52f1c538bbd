#include "server/protocol/transfer.h"

#include <stdexcept>
#include <utility>

namespace stationer::server {
namespace {

template <class Wanted, std::size_t at = 0>
constexpr std::size_t index_of() {
  if constexpr (std::is_same_v<std::variant_alternative_t<at, Transfer::Request>, Wanted>) {
    return at;
  } else {
    return index_of<Wanted, at + 1>();
  }
}

}  // namespace

template <class Act>
Transfer::Step Transfer::act(Time now, Act does) {
  now_ = now;
  step_ = {};
  if (!outcome_) does();
  return std::exchange(step_, {});
}

// The answer that is due must be one for one of these.
template <class... Requests>
void Transfer::take_due() {
  if (!due_ || ((*due_ != index_of<Requests>()) && ...)) {
    throw std::logic_error("an answer to a transfer that asked for something else");
  }
  due_.reset();
  // Meanwhile nothing was heard, whatever the other end said.
  if (deadline_) *deadline_ += now_ - asked_at_;
}

Transfer::Step Transfer::begin(Time now) {
  return act(now, [this] { started(); });
}

Transfer::Step Transfer::feed(std::string_view octets, Time now) {
  return act(now, [&] {
    while (!octets.empty() && !due_ && !outcome_) {
      const std::size_t used = take(octets);
      octets.remove_prefix(used);
      step_.used += used;
    }
  });
}

Transfer::Step Transfer::tick(Time now) {
  return act(now, [this] {
    if (due_ || !deadline_ || now_ < *deadline_) return;
    deadline_.reset();
    timed_out();
  });
}

Transfer::Step Transfer::accept(Time now) {
  return act(now, [this] {
    if (due_ == index_of<Close>() || due_ == index_of<Abandon>()) open_ = false;
    take_due<Sent, Open, Write, Close, Abandon, Find>();
    if (ending_) {
      outcome_ = std::move(ending_);
    } else {
      accepted();
    }
  });
}

Transfer::Step Transfer::refuse(const fs::Error& error, Time now) {
  return act(now, [&] {
    if (due_ == index_of<Open>()) open_ = false;
    take_due<Open, Write, Close, Find>();
    refused(error);
  });
}

Transfer::Step Transfer::file(FileFacts facts, Time now) {
  return act(now, [&] {
    take_due<NextFile>();
    got_file(std::move(facts));
  });
}

Transfer::Step Transfer::no_more_files(Time now) {
  return act(now, [this] {
    take_due<NextFile>();
    got_no_file();
  });
}

Transfer::Step Transfer::bytes(std::string bytes, Time now) {
  return act(now, [&] {
    take_due<Read>();
    got_bytes(std::move(bytes));
  });
}

Transfer::Step Transfer::cancel(std::string why, Time now) {
  return act(now, [&] {
    if (ending_) return;
    due_.reset();
    break_off(std::move(why));
  });
}

void Transfer::ask(Request request) {
  due_ = request.index();
  asked_at_ = now_;
  if (std::holds_alternative<Open>(request)) open_ = true;
  step_.request = std::move(request);
}

void Transfer::end(Outcome outcome) {
  deadline_.reset();
  if (open_) {
    ending_ = std::move(outcome);
    ask(Abandon());
  } else {
    outcome_ = std::move(outcome);
  }
}

void Transfer::break_off(std::string why) {
  send(cancellation(why));
  fail(std::move(why));
}

}  // namespace stationer::server
