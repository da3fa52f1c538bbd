#include "admin/people_plan.h"

#include <algorithm>
#include <array>
#include <map>
#include <optional>
#include <set>

#include <fmt/format.h>

#include "admin/sign_in_name.h"
#include "fs/account.h"
#include "fs/local_time.h"
#include "fs/plain_letters.h"
#include "fs/text.h"

namespace stationer::admin {
namespace {

constexpr std::size_t longest_full_name = 60;  // characters; as fs::People has it

// By roles and by what schools call them, in plain letters.
std::optional<std::string> role_called(std::string_view word) {
  static constexpr auto words = std::to_array<std::pair<std::string_view, std::string_view>>({
      {"member", "member"},
      {"pupil", "member"},
      {"student", "member"},
      {"learner", "member"},
      {"mitglied", "member"},
      {"schuler", "member"},
      {"schulerin", "member"},
      {"eleve", "member"},
      {"leader", "leader"},
      {"teacher", "leader"},
      {"lehrer", "leader"},
      {"lehrerin", "leader"},
      {"lehrkraft", "leader"},
      {"professeur", "leader"},
      {"manager", "manager"},
  });
  const std::string plain = fs::plain_letters(word);
  for (const auto& [each, role] : words) {
    if (each == plain) return std::string(role);
  }
  return std::nullopt;
}

// "2027-07-31" of that, and of "31.7.2027".
std::optional<std::string> day_called(std::string_view word) {
  std::string day(word);
  if (std::count(word.begin(), word.end(), '.') == 2) {
    const auto first = word.find('.');
    const auto second = word.find('.', first + 1);
    const auto number = [](std::string_view digits) {
      return fs::whole_number(digits).value_or(0);
    };
    day = fmt::format("{:04}-{:02}-{:02}", number(word.substr(second + 1)),
                      number(word.substr(first + 1, second - first - 1)),
                      number(word.substr(0, first)));
  }
  if (day.size() != 10 || !fs::parse_time(day)) return std::nullopt;
  return day;
}

std::string letters_and_digits(std::string_view text) {
  std::string out;
  for (const char c : fs::plain_letters(text)) {
    if ((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9')) out += c;
  }
  return out;
}

// A class name as it can be, of "Year 9 B": year-9-b.
std::string class_name_of(std::string_view text) {
  std::string out;
  for (const char c : fs::plain_letters(text)) {
    const bool fits = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '.' || c == '_';
    if (fits) {
      out += c;
    } else if (!out.empty() && out.back() != '-') {
      out += '-';
    }
  }
  while (!out.empty() && out.back() == '-') out.pop_back();
  return out;
}

bool has(const std::vector<std::string>& names, const std::string& name) {
  return std::find(names.begin(), names.end(), name) != names.end();
}

std::string in_class(const std::string& klass) {
  return klass.empty() ? "" : fmt::format(" in {}", klass);
}

class Planner {
 public:
  Planner(std::span<const KnownAccount> accounts, std::span<const std::string> classes,
          const PlanOptions& options)
      : options_(options), classes_(classes.begin(), classes.end()) {
    for (const KnownAccount& account : accounts) {
      by_name_.emplace(account.name, &account);
      if (!account.full_name.empty()) {
        by_full_name_[fs::fold(account.full_name)].push_back(&account);
      }
    }
  }

  PeoplePlan plan(std::span<const ListedPerson> people) {
    for (const ListedPerson& each : people) read(each);
    find_repeated();
    for (PlannedPerson& person : plan_.people) {
      if (!is_wrong(person)) decide(person);
    }
    make_names();
    find_one_account_twice();
    plan_.new_classes = wanted_classes();
    return std::move(plan_);
  }

 private:
  static bool is_wrong(const PlannedPerson& person) { return person.deed == Deed::wrong; }
  static void refuse(PlannedPerson& person, std::string why) {
    person.deed = Deed::wrong;
    person.words = {std::move(why)};
  }

  // A row by itself: each value as it can be.
  void read(const ListedPerson& listed) {
    PlannedPerson person;
    person.line = listed.line;
    person.full_name = listed.full_name;
    person.name = fs::ascii_lower(listed.sign_in);
    if (!listed.problem.empty()) {
      refuse(person, listed.problem);
    } else if (auto fine = fs::check_line(listed.full_name, longest_full_name, "The full name");
               !fine) {
      refuse(person, fine.error().message);
    } else if (auto name = fs::account_name(listed.sign_in); !listed.sign_in.empty() && !name) {
      refuse(person, fmt::format("\"{}\" can't be a sign-in name. {}", listed.sign_in,
                                 name.error().message));
    }
    if (!is_wrong(person) && !listed.role.empty()) {
      if (const auto role = role_called(listed.role)) {
        person.role = *role;
      } else {
        refuse(person,
               fmt::format("\"{}\" is no role: write member, leader or manager.", listed.role));
      }
    }
    if (!is_wrong(person) && !listed.ends.empty()) {
      if (const auto day = day_called(listed.ends)) {
        person.ends = *day;
      } else {
        refuse(person,
               fmt::format("\"{}\" is no day: write 2027-07-31 or 31.07.2027.", listed.ends));
      }
    }
    if (!is_wrong(person)) find_class(person, listed.klass.empty() ? options_.klass : listed.klass);
    plan_.people.push_back(std::move(person));
  }

  void find_class(PlannedPerson& person, const std::string& typed) {
    if (typed.empty()) return;
    const std::string made = class_name_of(typed);
    for (const std::string& known : {fs::ascii_lower(typed), made}) {
      if (classes_.count(known) != 0) {
        person.klass = known;
        return;
      }
    }
    const std::string plain = letters_and_digits(typed);
    for (const std::string& each : classes_) {
      if (!plain.empty() && letters_and_digits(each) == plain) {
        person.klass = each;
        return;
      }
    }
    auto name = fs::class_name(made);
    if (!name) {
      refuse(person, fmt::format("\"{}\" can't be a class. {}", typed, name.error().message));
    } else if (!options_.new_classes) {
      refuse(person, fmt::format("There is no class {}. With --new-classes it is made.", *name));
    } else {
      person.klass = *name;
    }
  }

  // Rows that can't be told from each other.
  void find_repeated() {
    std::map<std::string, std::vector<PlannedPerson*>> by_name;
    std::map<std::string, std::vector<PlannedPerson*>> by_full_name;
    for (PlannedPerson& person : plan_.people) {
      if (is_wrong(person)) continue;
      if (!person.name.empty()) by_name[person.name].push_back(&person);
      if (!person.full_name.empty()) by_full_name[fs::fold(person.full_name)].push_back(&person);
    }
    for (const auto& [full_name, rows] : by_full_name) {
      if (rows.size() > 1) find_namesakes(rows);
    }
    for (const auto& [name, rows] : by_name) {
      if (rows.size() == 1) continue;
      for (PlannedPerson* each : rows) {
        const PlannedPerson* other = each == rows[0] ? rows[1] : rows[0];
        refuse(*each, fmt::format("{} is the sign-in name in line {}, too.", name, other->line));
      }
    }
  }

  // Whoever has no sign-in name must be alone in their class.
  static void find_namesakes(const std::vector<PlannedPerson*>& rows) {
    std::map<std::string, std::vector<const PlannedPerson*>> by_class;
    for (const PlannedPerson* each : rows) by_class[each->klass].push_back(each);
    for (PlannedPerson* each : rows) {
      if (!each->name.empty()) continue;
      const auto other_than = [&](const std::vector<const PlannedPerson*>& all) {
        const auto found =
            std::find_if(all.begin(), all.end(), [&](const auto* row) { return row != each; });
        return found == all.end() ? nullptr : *found;
      };
      const PlannedPerson* other = other_than(by_class[each->klass]);
      if (other == nullptr) other = other_than(by_class[""]);
      if (other == nullptr && each->klass.empty()) {
        other = other_than({rows.begin(), rows.end()});
      }
      if (other == nullptr) continue;
      refuse(*each, fmt::format("{} is in line {}, too. If they are two people, give each a "
                                "sign-in name; if not, remove one.",
                                each->full_name, other->line));
    }
  }

  void decide(PlannedPerson& person) {
    if (!person.name.empty()) {
      const auto known = by_name_.find(person.name);
      if (known != by_name_.end()) {
        compare(person, *known->second);
      } else {
        person.deed = Deed::add;
        for (const KnownAccount* each : namesakes(person)) {
          if (in(*each, person.klass)) {
            person.words.push_back(fmt::format("mind: {} is {}{}, too", each->name, each->full_name,
                                               in_class(person.klass)));
          }
        }
      }
      return;
    }
    std::vector<const KnownAccount*> fitting;
    std::vector<std::string> elsewhere;
    for (const KnownAccount* each : namesakes(person)) {
      if (person.klass.empty() || in(*each, person.klass)) {
        fitting.push_back(each);
      } else {
        elsewhere.push_back(fmt::format("mind: {} is {}{}, too", each->name, each->full_name,
                                        in_class(each->klass)));
      }
    }
    if (fitting.size() > 1) {
      std::string names;
      for (const KnownAccount* each : fitting) names += (names.empty() ? "" : ", ") + each->name;
      refuse(person, fmt::format("{}{} may be any of {}. Say by the sign-in name who is meant.",
                                 person.full_name, in_class(person.klass), names));
    } else if (fitting.size() == 1) {
      person.full_name = fitting.front()->full_name;  // capitals are not worth a change
      compare(person, *fitting.front());
    } else {
      person.deed = Deed::add;
      person.words = std::move(elsewhere);
    }
  }

  std::vector<const KnownAccount*> namesakes(const PlannedPerson& person) const {
    const auto found = by_full_name_.find(fs::fold(person.full_name));
    return found == by_full_name_.end() ? std::vector<const KnownAccount*>() : found->second;
  }

  static bool in(const KnownAccount& account, const std::string& klass) {
    return account.klass == klass || has(account.classes, klass) || has(account.leads, klass);
  }

  // Keeps of the row what is to be other than it is.
  static void compare(PlannedPerson& person, const KnownAccount& account) {
    person.name = account.name;
    const auto change = [&](std::string& wanted, const std::string& is, std::string_view what) {
      if (wanted.empty() || wanted == is) {
        wanted.clear();
      } else {
        person.words.push_back(is.empty() ? fmt::format("{}: {}", what, wanted)
                                          : fmt::format("{}: {} becomes {}", what, is, wanted));
      }
    };
    const bool to_lead = person.role == "leader";
    const std::string role = person.role.empty() ? account.role : person.role;
    change(person.full_name, account.full_name, "full name");
    change(person.role, account.role, "role");
    change(person.ends, account.last_day, "last day");
    const bool there = to_lead ? has(account.leads, person.klass) : in(account, person.klass);
    if (person.klass.empty() || there) {
      person.klass.clear();
    } else if (role == "leader") {
      person.joins_as_leader = true;
      person.words.push_back(fmt::format("leads {}", person.klass));
    } else {
      person.leaves = account.klass;
      change(person.klass, account.klass, "class");
    }
    person.deed = person.words.empty() ? Deed::keep : Deed::change;
    if (account.closed) person.words.emplace_back("mind: the account is closed, and stays so");
  }

  void make_names() {
    std::set<std::string, std::less<>> taken;
    for (const auto& [name, account] : by_name_) taken.insert(name);
    for (const PlannedPerson& person : plan_.people) taken.insert(person.name);
    for (PlannedPerson& person : plan_.people) {
      if (person.deed != Deed::add) continue;
      if (person.role.empty()) person.role = "member";
      if (!person.name.empty()) continue;
      person.name = sign_in_name(person.full_name,
                                 [&](const std::string& name) { return taken.count(name) != 0; });
      taken.insert(person.name);
      if (person.name.empty()) {
        refuse(person, "No sign-in name can be made of that name. Write one into the list.");
      }
    }
  }

  // One by the sign-in name, the other by the full name.
  void find_one_account_twice() {
    std::map<std::string, PlannedPerson*> seen;
    for (PlannedPerson& person : plan_.people) {
      if (person.deed == Deed::wrong) continue;
      const auto [first, fresh] = seen.emplace(person.name, &person);
      if (fresh) continue;
      refuse(person, fmt::format("Line {} is about {}, too.", first->second->line, person.name));
    }
  }

  std::vector<std::string> wanted_classes() const {
    std::set<std::string> out;
    for (const PlannedPerson& person : plan_.people) {
      if (person.deed != Deed::wrong && !person.klass.empty() &&
          classes_.count(person.klass) == 0) {
        out.insert(person.klass);
      }
    }
    return {out.begin(), out.end()};
  }

  const PlanOptions& options_;
  std::set<std::string> classes_;
  std::map<std::string, const KnownAccount*> by_name_;
  std::map<std::string, std::vector<const KnownAccount*>> by_full_name_;
  PeoplePlan plan_;
};

}  // namespace

std::string_view deed_name(Deed deed) {
  switch (deed) {
    case Deed::add: return "new";
    case Deed::change: return "change";
    case Deed::keep: return "same";
    case Deed::wrong: break;
  }
  return "wrong";
}

std::size_t PeoplePlan::count(Deed deed) const {
  return static_cast<std::size_t>(std::count_if(
      people.begin(), people.end(), [&](const PlannedPerson& each) { return each.deed == deed; }));
}

PeoplePlan plan_people(std::span<const ListedPerson> people, std::span<const KnownAccount> accounts,
                       std::span<const std::string> classes, const PlanOptions& options) {
  return Planner(accounts, classes, options).plan(people);
}

}  // namespace stationer::admin
