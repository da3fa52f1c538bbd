// A member's visit at a terminal: greeting, signing in, commands, signing off. A coroutine over the
// session and the terminal, both of which must outlive it.
#pragma once

#include <functional>
#include <string>
#include <string_view>

#include "server/session.h"
#include "server/task.h"
#include "server/terminal/command.h"
#include "server/terminal/terminal.h"

namespace stationer::server {

class Shell {
 public:
  // `guests`: whether one may look around without an account. `sign_on`: the visitors' account that
  // everybody here has, or empty.
  Shell(Session& session, Terminal& terminal, bool guests, std::string sign_on = "")
      : session_(session), terminal_(terminal), guests_(guests), sign_on_(std::move(sign_on)) {}
  Shell(const Shell&) = delete;
  Shell& operator=(const Shell&) = delete;

  // What is shown before anything is known of the far end: plain ASCII.
  static std::string greeting(const std::string& volume_name);

  // From "press Enter" answered to good-bye. done() tells when the line is to be hung up.
  void start();
  bool done() const { return done_; }
  std::function<void()> on_done;  // called at the end, from inside the visit
  // Ends the visit here and now, with a sentence why. What the member was writing is rescued.
  void break_off(const std::string& why);
  // Shows what the session was told, if the member is at the prompt; else the next prompt does.
  void show_news();

  static constexpr int most_sign_ins = 5;  // wrong ones in one visit

 private:
  enum class SignIn { done, refused, nothing_typed };

  Task<void> run();
  Task<void> visit();
  Task<SignIn> sign_in();
  void heed_case(std::string_view typed);
  void welcome();
  Task<bool> obey(std::string line);  // false: that was good-bye
  void tell_news();
  void tell_of_space();
  std::string take_news();

  Session& session_;
  Terminal& terminal_;
  bool guests_;
  std::string sign_on_;                      // until it was tried
  fs::Fullness told_ = fs::Fullness::roomy;  // about the space there is
  bool at_prompt_ = false;
  std::string last_line_;  // to be had again
  bool done_ = false;
  Task<void> task_;
};

}  // namespace stationer::server
