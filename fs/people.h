// Accounts, classes and passwords. Who may change what: managers everything; leaders the passwords
// of their classes' members; members their own password. All of it is journalled (invariant 9).
#pragma once

#include <mutex>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fs/caller.h"
#include "fs/crypto.h"
#include "fs/ids.h"
#include "fs/quota.h"
#include "fs/records.h"
#include "fs/result.h"
#include "fs/ticket.h"

namespace stationer::fs {

class Engine;
class State;

struct AccountView {
  AccountId id{};
  std::string name;
  std::string full_name;
  Role role = Role::member;
  bool closed = false;
  bool has_password = false;
  std::string klass;  // the primary class; empty: none
  std::vector<std::string> classes;
  std::vector<std::string> leads;
  Quota quota;              // as it is in force
  bool own_limits = false;  // they don't follow the primary class
  Usage usage;
  std::optional<Time> over_since;
  Time created{};
  std::optional<Time> ends;          // from when on nobody can sign in
  std::optional<Time> leaves_after;  // left: when the files go to the bin
};

struct ClassView {
  std::string name;
  std::vector<std::string> members;
  std::vector<std::string> leaders;
  Time created{};
  std::optional<Quota> quota;  // of members that follow it; none: what they were made with
};

struct NewAccount {
  std::string name;
  std::string full_name;
  Role role = Role::member;
  std::string klass;     // the primary class; empty: none
  std::string password;  // in clear; hashed before anything is kept. Empty: cannot sign in yet
};

// What to change; what is left out stays.
struct AccountChange {
  std::optional<std::string> full_name{};
  std::optional<Role> role{};
  std::optional<bool> closed{};
  std::optional<std::string> klass{};
  std::optional<Quota> quota{};               // its own from then on
  std::optional<bool> own_limits{};           // false: those of the primary class again
  std::optional<std::optional<Time>> ends{};  // nothing within: never
};

class People {
 public:
  People(Engine& engine, PasswordCost cost, Quota new_account)
      : engine_(engine), cost_(cost), new_account_(new_account) {}

  std::vector<AccountView> accounts() const;
  Result<AccountView> account(std::string_view name) const;
  std::optional<AccountView> account(AccountId id) const;
  std::vector<ClassView> classes() const;
  Result<ClassView> class_of(std::string_view name) const;

  // Whether the caller is a manager, or a leader of a class that the account is a member of.
  bool looks_after(const Caller& caller, AccountId account) const;

  // Makes the account and its folder /members/NAME. Takes as long as a password hash does.
  Ticket add_account(const Caller& caller, const NewAccount& account);
  Ticket change_account(const Caller& caller, std::string_view name, const AccountChange& change);
  // Only an account that owns nothing but its empty folder can go; else close it.
  Ticket remove_account(const Caller& caller, std::string_view name);

  // Makes the class and its folders /classes/NAME and /classes/NAME/hand-in.
  Ticket add_class(const Caller& caller, std::string_view name);
  // What accounts with that primary class may keep, unless they have limits of their own. Nothing:
  // the class has no say.
  Ticket set_class_limits(const Caller& caller, std::string_view name, std::optional<Quota> quota);
  Ticket remove_class(const Caller& caller, std::string_view name);
  Ticket join(const Caller& caller, std::string_view klass, std::string_view account, bool leader);
  Ticket leave(const Caller& caller, std::string_view klass, std::string_view account);

  // Before an account's end people are told of it for this long.
  static constexpr std::chrono::days end_warning{14};

  // Who `name` and `password` prove one to be. Code::wrong_password says nothing of which of them
  // was wrong, and takes as long for an account that is not there. Takes as long as a hash does,
  // and that much memory. The journal has it either way. Code::denied, only for the right password,
  // when the account's time is over.
  Result<AccountId> sign_in(std::string_view name, std::string_view password,
                            const std::string& where);
  // Takes as long as a hash does. Who changes their own password must have proved the old one.
  Ticket set_password(const Caller& caller, std::string_view name, std::string_view password);

 private:
  static AccountView view_of(const State& state, const Account& account);

  Engine& engine_;
  PasswordCost cost_;
  Quota new_account_;
  std::once_flag nobody_made_;
  std::string nobody_;  // a hash that no password has
};

}  // namespace stationer::fs
