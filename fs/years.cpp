#include "fs/years.h"

#include <algorithm>
#include <map>
#include <set>

#include <fmt/format.h>

#include "fs/engine.h"
#include "fs/rights.h"
#include "fs/text.h"

namespace stationer::fs {
namespace {

Error only_managers() {
  return {Code::denied, "Only a manager may move classes up a year."};
}

std::string people(std::size_t count) {
  return count == 1 ? "1 person" : fmt::format("{} people", count);
}

std::string name_of(const State& state, AccountId id) {
  const Account* account = state.account(id);
  return account == nullptr ? fmt::format("account {}", number(id)) : account->name;
}

std::string joined(const State& state, const std::vector<AccountId>& all) {
  std::string out;
  for (const AccountId id : all) {
    if (!out.empty()) out += ", ";
    out += name_of(state, id);
  }
  return out;
}

class Planner {
 public:
  Planner(const State& state, const YearPlan& plan) : state_(state), plan_(plan) {}

  YearPreview make() {
    if (plan_.moves.empty()) obstacle("The plan names no class.");
    find_staying();
    for (const auto& move : plan_.moves) add(move);
    for (const AccountId id : staying_) {
      if (stayed_.count(id) != 0) continue;
      obstacle(fmt::format("{} is to stay, but is in none of these classes.", name_of(state_, id)));
    }
    return std::move(preview_);
  }

 private:
  void say(std::string words) { preview_.sentences.push_back(std::move(words)); }
  void obstacle(std::string words) { preview_.obstacles.push_back(std::move(words)); }

  void find_staying() {
    for (const auto& name : plan_.staying) {
      const Account* account = state_.account(ascii_lower(name));
      if (account == nullptr) {
        obstacle(fmt::format("There is no account {}.", clip(name, 40)));
      } else {
        staying_.insert(account->id);
      }
    }
  }

  const Class* wanted(const std::string& name) {
    const Class* klass = state_.class_of(ascii_lower(name));
    if (klass == nullptr) {
      obstacle(fmt::format("There is no class {}. Make it first.", clip(name, 40)));
    }
    return klass;
  }

  void add(const YearPlan::Move& move) {
    const Class* from = wanted(move.from);
    const Class* to = move.to.empty() ? nullptr : wanted(move.to);
    if (from == nullptr || (to == nullptr && !move.to.empty())) return;
    if (from == to) return obstacle(fmt::format("{} can't move to itself.", from->name));
    if (!seen_.insert(from->id).second) {
      return obstacle(fmt::format("The plan names {} twice.", from->name));
    }
    std::vector<AccountId> going, closing, leaders, stay;
    for (const auto& [key, row] : state_.memberships) {
      const Account* account = row.klass == from->id ? state_.account(row.account) : nullptr;
      if (account == nullptr) continue;
      if (row.leader) {
        leaders.push_back(account->id);
      } else if (staying_.count(account->id) != 0) {
        stay.push_back(account->id);
        stayed_.insert(account->id);
      } else {
        add(*account, *from, to, going, closing);
      }
    }
    if (going.empty() && closing.empty()) say(fmt::format("Nobody moves out of {}.", from->name));
    if (!going.empty()) {
      say(to == nullptr ? fmt::format("{} out of {}, and no account is closed for that: {}.",
                                      people(going.size()), from->name, joined(state_, going))
                        : fmt::format("{} from {} to {}: {}.", people(going.size()), from->name,
                                      to->name, joined(state_, going)));
    }
    if (!closing.empty()) {
      say(fmt::format("{} out of {}, and their accounts are closed: {}.", people(closing.size()),
                      from->name, joined(state_, closing)));
    }
    if (!leaders.empty()) {
      say(fmt::format("Still leading {}: {}.", from->name, joined(state_, leaders)));
    }
    if (!stay.empty()) say(fmt::format("Still in {}: {}.", from->name, joined(state_, stay)));
  }

  void add(const Account& account, const Class& from, const Class* to,
           std::vector<AccountId>& going, std::vector<AccountId>& closing) {
    const auto [other, first] = moving_.emplace(account.id, from.name);
    if (!first) {
      return obstacle(fmt::format(
          "{} is in {} and in {}, and both move. Take them out of one of the two first.",
          account.name, other->second, from.name));
    }
    YearMove row;
    row.number = static_cast<std::uint32_t>(preview_.moves.size()) + 1;
    row.account = account.id;
    row.from = from.id;
    row.to = to == nullptr ? no_class : to->id;
    row.joined = to != nullptr && state_.membership(to->id, account.id) == nullptr;
    row.primary = account.klass == from.id;
    row.closed = to == nullptr && row.primary && account.role == Role::member && !account.closed;
    (row.closed ? closing : going).push_back(account.id);
    preview_.moves.push_back(row);
  }

  const State& state_;
  const YearPlan& plan_;
  YearPreview preview_;
  std::set<AccountId> staying_, stayed_;
  std::set<ClassId> seen_;
  std::map<AccountId, std::string> moving_;
};

std::string words_of(const YearPlan& plan) {
  std::string out;
  for (const auto& move : plan.moves) {
    if (!out.empty()) out += ", ";
    out += move.to.empty() ? fmt::format("{} left", ascii_lower(move.from))
                           : fmt::format("{} to {}", ascii_lower(move.from), ascii_lower(move.to));
  }
  return out;
}

std::vector<YearMove> moves_of(const State& state, std::uint32_t step) {
  std::vector<YearMove> out;
  for (auto at = state.year_moves.lower_bound({step, 0});
       at != state.year_moves.end() && at->first.first == step; ++at) {
    out.push_back(at->second);
  }
  return out;
}

// Why one move can't be taken back; empty when it can.
std::string obstacle_to(const State& state, const YearStep& step, const YearMove& move) {
  // A number may have gone to another account or class since.
  const Account* account = state.account(move.account);
  if (account == nullptr || account->created > step.made) {
    return "An account that was moved is not there any more.";
  }
  const Class* from = state.class_of(move.from);
  if (from == nullptr || from->created > step.made) {
    return fmt::format("The class that {} was in is not there any more.", account->name);
  }
  if (state.membership(move.from, move.account) != nullptr) {
    return fmt::format("{} is in {} again.", account->name, from->name);
  }
  const Class* to = state.class_of(move.to);
  if (move.to != no_class && (to == nullptr || to->created > step.made)) {
    return fmt::format("The class that {} went to is not there any more.", account->name);
  }
  const Membership* now = state.membership(move.to, move.account);
  if (move.joined && (now == nullptr || now->leader)) {
    return fmt::format("{} has left {} since, or leads it.", account->name, to->name);
  }
  if (move.primary && account->klass != move.to) {
    return fmt::format("The primary class of {} has changed since.", account->name);
  }
  if (move.closed && !account->closed) {
    return fmt::format("The account {} was opened again.", account->name);
  }
  return "";
}

std::string obstacle_to(const State& state, const YearStep& step) {
  const auto moves = moves_of(state, step.id);
  if (moves.empty()) return "It was undone already.";
  for (const YearMove& move : moves) {
    if (auto words = obstacle_to(state, step, move); !words.empty()) return words;
  }
  return "";
}

void forget_moves(Transaction& change, std::uint32_t step) {
  for (const YearMove& move : moves_of(change.state(), step)) change.drop(move);
}

}  // namespace

Result<YearPreview> Years::preview(const Caller& caller, const YearPlan& plan) const {
  return engine_.read([&](const State& state) -> Result<YearPreview> {
    if (!is_manager(state, caller)) return only_managers();
    return Planner(state, plan).make();
  });
}

Ticket Years::apply(const Caller& caller, const YearPlan& plan) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (!is_manager(state, caller)) return only_managers();
    const YearPreview preview = Planner(state, plan).make();
    if (!preview.obstacles.empty()) return Error{Code::bad_input, preview.obstacles.front()};
    if (preview.moves.empty()) return Error{Code::bad_input, "There is nobody to move."};
    YearStep step;
    step.id = change.next_number(Series::year_step);
    step.made = change.now();
    const Account* by = state.account(caller.account);
    step.by = by == nullptr ? "the keeper" : by->name;
    step.words = words_of(plan);
    change.put(step);
    for (YearMove move : preview.moves) {
      move.step = step.id;
      change.put(move);
      change.drop(Membership{move.from, move.account, false});
      if (move.joined) change.put(Membership{move.to, move.account, false});
      Account account = *state.account(move.account);
      if (move.primary) account.klass = move.to;
      if (move.closed) account.closed = true;
      change.put(std::move(account));
      const Class* to = state.class_of(move.to);
      change.journal(caller, "moved up a year", name_of(state, move.account),
                     fmt::format("from {} {}{}", state.class_of(move.from)->name,
                                 to == nullptr ? "to no class" : "to " + to->name,
                                 move.closed ? ", account closed" : ""));
    }
    change.journal(caller, "classes moved up", fmt::format("step {}", step.id), step.words);
    while (state.year_steps.size() > most_steps) {
      const YearStep oldest = state.year_steps.begin()->second;
      forget_moves(change, oldest.id);
      change.drop(oldest);
    }
    return {};
  });
}

std::vector<YearStepView> Years::steps() const {
  return engine_.read([](const State& state) {
    std::vector<YearStepView> out;
    for (auto each = state.year_steps.rbegin(); each != state.year_steps.rend(); ++each) {
      const YearStep& step = each->second;
      out.push_back({step.id, step.made, step.by, step.words, moves_of(state, step.id).size(),
                     obstacle_to(state, step)});
    }
    return out;
  });
}

Ticket Years::undo(const Caller& caller, std::uint32_t id) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (!is_manager(state, caller)) return only_managers();
    const auto found = state.year_steps.find(id);
    if (found == state.year_steps.end()) {
      return Error{Code::not_found, fmt::format("There is no step {} that could be undone.", id)};
    }
    const YearStep step = found->second;
    if (auto words = obstacle_to(state, step); !words.empty()) {
      return Error{Code::exists, fmt::format("Step {} can't be undone: {}", id, words)};
    }
    for (const YearMove& move : moves_of(state, id)) {
      if (move.joined) change.drop(Membership{move.to, move.account, false});
      change.put(Membership{move.from, move.account, false});
      Account account = *state.account(move.account);
      if (move.primary) account.klass = move.from;
      if (move.closed) {
        account.closed = false;
        // As whenever an account is opened again.
        const auto left = state.leaving.find(account.id);
        if (left != state.leaving.end()) change.drop(Leaving(left->second));
      }
      change.put(std::move(account));
      change.journal(caller, "moved back a year", name_of(state, move.account),
                     fmt::format("to {}{}", state.class_of(move.from)->name,
                                 move.closed ? ", account opened" : ""));
    }
    forget_moves(change, id);  // the step stays, so that its number is not used again
    change.journal(caller, "classes moved back", fmt::format("step {}", id), step.words);
    return {};
  });
}

}  // namespace stationer::fs
