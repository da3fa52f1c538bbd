// Accounts: who may sign in, as what, and how much they may keep.
#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "fs/account.h"
#include "fs/crypto.h"
#include "server/control/limits.h"
#include "server/control/listing.h"
#include "server/control/method.h"
#include "server/control/views.h"
#include "server/terminal/wording.h"

namespace stationer::server {
namespace {

namespace json = boost::json;

std::optional<fs::Role> take_role(Params& params) {
  const auto name = params.optional_text("role");
  if (!name) return std::nullopt;
  auto role = fs::parse_role(*name);
  if (!role) {
    params.refuse(role.error().message);
    return std::nullopt;
  }
  return *role;
}

// The password that was given, or one made up; `made_up` is shown once, in the answer.
struct NewPassword {
  std::string text;
  bool made_up = false;
};

NewPassword take_password(Params& params) {
  if (auto given = params.optional_text("password")) {
    if (given->empty()) params.refuse("The password is empty.");
    return {std::move(*given), false};
  }
  return {fs::random_password(), true};
}

json::object answer_with(const NewPassword& password, const std::string& name) {
  json::object out{{"name", name}};
  if (password.made_up) out["password"] = password.text;
  return out;
}

Task<Answer> list(ControlClient& client, Params params) {
  const std::string klass = params.text_or_empty("class");
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& people = client.volume().people();
  const auto later = client.loop().blocking([&people, klass, from]() -> Answer {
    if (klass.empty()) {
      return listing(people.accounts(), from, [](const auto& each) { return show(each); });
    }
    auto wanted = people.class_of(klass);
    if (!wanted) return wanted.error();
    auto accounts = people.accounts();
    std::erase_if(accounts, [&](const fs::AccountView& account) {
      const auto has = [&](const auto& names) {
        return std::find(names.begin(), names.end(), wanted->name) != names.end();
      };
      return !has(account.classes) && !has(account.leads);
    });
    return listing(accounts, from, [](const auto& each) { return show(each); });
  });
  co_return co_await later;
}

Task<Answer> show_one(ControlClient& client, Params params) {
  const std::string name = params.text("name");
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto account = client.volume().people().account(std::string_view(name));
  if (!account) co_return account.error();
  co_return show(*account);
}

Task<Answer> add(ControlClient& client, Params params) {
  fs::NewAccount account;
  account.name = params.text("name");
  account.full_name = params.text_or_empty("full_name");
  account.role = take_role(params).value_or(fs::Role::member);
  account.klass = params.text_or_empty("class");
  const auto ends = params.optional_time("ends", fs::DayMeans::end);
  NewPassword password = take_password(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  account.password = password.text;
  auto& people = client.volume().people();
  const auto later = client.loop().blocking([&people, caller = client.caller(), account]() mutable {
    auto result = people.add_account(caller, account);
    fs::wipe(account.password);
    return result;
  });
  auto ticket = co_await later;
  fs::wipe(account.password);
  auto added = co_await client.loop().durable(ticket);
  if (!added) co_return added.error();
  if (ends) {
    fs::AccountChange change;
    change.ends = ends;
    auto ended = co_await client.loop().durable(
        people.change_account(client.caller(), account.name, change));
    if (!ended) co_return ended.error();
  }
  const auto stored = people.account(std::string_view(account.name));
  auto out = answer_with(password, stored ? stored->name : account.name);
  fs::wipe(password.text);
  co_return out;
}

Task<Answer> set_password(ControlClient& client, Params params) {
  const std::string name = params.text("name");
  NewPassword password = take_password(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& people = client.volume().people();
  const auto later = client.loop().blocking(
      [&people, caller = client.caller(), name, text = password.text]() mutable {
        auto result = people.set_password(caller, name, text);
        fs::wipe(text);
        return result;
      });
  auto ticket = co_await later;
  auto set = co_await client.loop().durable(ticket);
  if (!set) co_return set.error();
  auto out = answer_with(password, name);
  fs::wipe(password.text);
  co_return out;
}

Task<Answer> change(ControlClient& client, Params params) {
  const std::string name = params.text("name");
  fs::AccountChange change;
  change.full_name = params.optional_text("full_name");
  change.role = take_role(params);
  change.closed = params.optional_flag("closed");
  change.klass = params.optional_text("class");
  change.own_limits = params.optional_flag("own_limits");
  if (const auto ends = params.optional_text("ends"); ends && ends->empty()) {
    change.ends = std::optional<fs::Time>();
  } else if (const auto time = params.optional_time("ends", fs::DayMeans::end)) {
    change.ends = time;
  }
  const NewLimits limits(params);
  if (!change.full_name && !change.role && !change.closed && !change.klass && !change.own_limits &&
      !change.ends && !limits.any()) {
    params.refuse("Nothing is named that is to change.");
  }
  if (limits.any() && change.own_limits == false) {
    params.refuse("Limits are given, so they are the account's own.");
  }
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& people = client.volume().people();
  if (limits.any()) {
    auto account = people.account(std::string_view(name));
    if (!account) co_return account.error();
    auto quota = limits.on(account->quota);
    if (!quota) co_return quota.error();
    change.quota = *quota;
  }
  co_return co_await changed(client, people.change_account(client.caller(), name, change));
}

// A list of people was read: how many of it, by what has become of them. What was done to each is
// in the journal already.
Task<Answer> imported(ControlClient& client, Params params) {
  const std::string list = params.text("list");
  const auto count = [&](const char* key) { return params.whole_or(key, 0, 1'000'000); };
  const auto classes = count("classes"), added = count("added"), changed_count = count("changed"),
             same = count("same"), wrong = count("wrong");
  if (auto fine = fs::check_line(list, 200, "The name of the list"); !fine) {
    params.refuse(fine.error().message);
  }
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return co_await changed(
      client, client.volume().desk().note(
                  client.caller(), "people imported", list,
                  fmt::format("{} added, {} changed, {} as they were, {} left out; {} made", added,
                              changed_count, same, wrong, counted(classes, "class", "classes"))));
}

Task<Answer> remove(ControlClient& client, Params params) {
  const std::string name = params.text("name");
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return co_await changed(client,
                             client.volume().people().remove_account(client.caller(), name));
}

constexpr std::array<Method, 7> methods = {{{"account.list", list},
                                            {"account.show", show_one},
                                            {"account.add", add},
                                            {"account.change", change},
                                            {"account.password", set_password},
                                            {"account.imported", imported},
                                            {"account.remove", remove}}};

}  // namespace

std::span<const Method> account_methods() {
  return methods;
}

}  // namespace stationer::server
