// Saves a piece of a file while the next one comes.
#pragma once

#include <optional>
#include <string>
#include <utility>

#include "server/loop.h"
#include "server/session.h"
#include "server/task.h"

namespace stationer::server {

class SavingBehind {
 public:
  SavingBehind(Session& session, Session::UploadPtr upload)
      : session_(session), upload_(std::move(upload)) {}
  SavingBehind(const SavingBehind&) = delete;
  SavingBehind& operator=(const SavingBehind&) = delete;

  // Waits until what was begun is done.
  Task<fs::Status> done() {
    if (writing_ && !result_) {
      const Later<bool> later = waiting_.emplace();
      co_await later;
    }
    writing_ = false;
    co_return result_.value_or(fs::Status());
  }

  // Not before what was begun is done.
  void begin(std::string bytes) {
    writing_ = true;
    result_.reset();
    task_ = write(std::move(bytes));
    task_.start();
  }

 private:
  Task<void> write(std::string bytes) {
    result_ = co_await session_.write(upload_, std::move(bytes));
    if (!waiting_) co_return;
    // Whoever waits may begin the next piece, which takes this task's place.
    const Later<bool> later = *std::exchange(waiting_, std::nullopt);
    session_.room().loop.post([later] { later.bring(true); });
  }

  Session& session_;
  Session::UploadPtr upload_;
  bool writing_ = false;
  std::optional<fs::Status> result_;
  std::optional<Later<bool>> waiting_;
  Task<void> task_;
};

}  // namespace stationer::server
