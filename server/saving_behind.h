// Saves a file while its next pieces come. What is large is hashed by one thread and written by
// another, and each of them takes several pieces at a time: to hand something over costs as much as
// to write 64 KiB.
#pragma once

#include <algorithm>
#include <cstdint>
#include <deque>
#include <memory>
#include <optional>
#include <string>
#include <utility>

#include "server/loop.h"
#include "server/session.h"
#include "server/task.h"

namespace stationer::server {

class SavingBehind {
 public:
  // Bytes that wait to be saved, and that are handed over at a time: a part, so that neither side
  // ever waits for the other.
  static constexpr std::uint64_t most_behind = std::uint64_t{4} << 20;
  static constexpr std::uint64_t most_at_once = most_behind / 4;

  SavingBehind(Session& session, Session::UploadPtr upload)
      : session_(session), upload_(std::move(upload)) {}
  SavingBehind(const SavingBehind&) = delete;
  SavingBehind& operator=(const SavingBehind&) = delete;

  // Waits until there is room for this piece. Tells of what failed up to now, which is the end.
  Task<fs::Status> add(std::string bytes) {
    if (!upload_->is_streamed()) co_return co_await session_.write(upload_, std::move(bytes));
    while (!failed_ && added_ - saved() >= most_behind) co_await moved();
    if (failed_) co_return *failed_;
    added_ += bytes.size();
    const auto piece = std::make_shared<const std::string>(std::move(bytes));
    give(hashing_, piece);
    give(storing_, piece);
    co_return fs::Status();
  }

  // Waits until all of it is saved.
  Task<fs::Status> done() {
    while (!failed_ && saved() < added_) co_await moved();
    co_return failed_.value_or(fs::Status());
  }

 private:
  using Half = Task<fs::Status> (Session::*)(Session::UploadPtr, Session::Pieces);
  struct Side {
    Half half;
    std::deque<Session::Pieces::value_type> waiting{};
    std::uint64_t done = 0;  // bytes
    bool busy = false;
    Task<void> task{};
  };

  void give(Side& side, const Session::Pieces::value_type& piece) {
    side.waiting.push_back(piece);
    if (side.busy) return;
    side.busy = true;
    side.task = work(side);
    side.task.start();
  }

  Task<void> work(Side& side) {
    while (!side.waiting.empty() && !failed_) {
      Session::Pieces pieces;
      std::uint64_t bytes = 0;
      while (!side.waiting.empty() && bytes < most_at_once) {
        bytes += side.waiting.front()->size();
        pieces.push_back(std::move(side.waiting.front()));
        side.waiting.pop_front();
      }
      auto result = co_await (session_.*side.half)(upload_, std::move(pieces));
      if (!result) failed_ = std::move(result);
      side.done += bytes;
      // Whoever waits may let all of this go, which this task has to outlive.
      if (const auto waiting = std::exchange(waiting_, std::nullopt)) {
        session_.room().loop.post([later = *waiting] { later.bring(true); });
      }
    }
    side.busy = false;
  }

  // By both sides.
  std::uint64_t saved() const { return std::min(hashing_.done, storing_.done); }

  Later<bool> moved() { return waiting_.emplace(); }

  Session& session_;
  Session::UploadPtr upload_;
  std::uint64_t added_ = 0;  // bytes, since it is streamed
  std::optional<fs::Status> failed_;
  std::optional<Later<bool>> waiting_;
  Side hashing_{&Session::digest};
  Side storing_{&Session::store};
};

}  // namespace stationer::server
