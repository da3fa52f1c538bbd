#include "server/evening.h"

#include <algorithm>
#include <set>

namespace stationer::server {
namespace {

std::string class_of(const fs::AccountView& account) {
  if (!account.klass.empty()) return account.klass;
  if (!account.classes.empty()) return account.classes.front();
  return account.leads.empty() ? "" : account.leads.front();
}

}  // namespace

std::map<std::string, Printed> printed_by(const std::vector<fs::PrintoutView>& printouts,
                                          fs::Time since, fs::Time until) {
  std::map<std::string, Printed> out;
  for (const auto& each : printouts) {
    if (each.printed < since || each.printed >= until) continue;
    Printed& printed = out[each.owner];
    ++printed.printouts;
    printed.pages += each.pages;
  }
  return out;
}

bool EveningClass::is_empty() const {
  return was_here.empty() && visits == 0 && files == 0 && printed.printouts == 0 && handed_in == 0;
}

void EveningClass::add(const EveningClass& other) {
  was_here.insert(was_here.end(), other.was_here.begin(), other.was_here.end());
  visits += other.visits;
  files += other.files;
  bytes += other.bytes;
  printed.printouts += other.printed.printouts;
  printed.pages += other.printed.pages;
  handed_in += other.handed_in;
  late += other.late;
}

Evening evening(const EveningFacts& facts) {
  std::map<std::string, std::string> class_by_name;
  for (const auto& account : facts.accounts) class_by_name[account.name] = class_of(account);
  std::map<std::string, EveningClass> classes;
  const auto klass = [&](const std::string& account) -> EveningClass& {
    const auto found = class_by_name.find(account);
    return classes[found == class_by_name.end() ? "" : found->second];
  };

  Evening out;
  std::set<std::string> here;
  for (const auto& entry : facts.signs) {
    if (entry.at < facts.since || entry.at >= facts.until) continue;
    if (entry.what == "sign-in refused") ++out.refused[entry.subject];
    const bool came = entry.what == "signed in" || entry.what == "signed on without a password";
    // Whoever goes had been there, too.
    if (came || entry.what == "signed out") here.insert(entry.subject);
    if (came) ++klass(entry.subject).visits;
  }
  for (const auto& name : here) klass(name).was_here.push_back(name);
  for (const auto& each : facts.saved) {
    EveningClass& of = klass(each.owner);
    ++of.files;
    of.bytes += each.bytes;
  }
  for (const auto& [owner, printed] : printed_by(facts.printouts, facts.since, facts.until)) {
    EveningClass& of = klass(owner);
    of.printed.printouts += printed.printouts;
    of.printed.pages += printed.pages;
    if (owner.empty()) out.unclaimed = printed;
  }
  for (const auto& each : facts.handed_in) {
    EveningClass& of = classes[each.klass];
    ++of.handed_in;
    if (each.late) ++of.late;
  }
  for (auto& [name, of] : classes) {
    of.name = name;
    if (of.is_empty()) continue;
    out.all.add(of);
    out.classes.push_back(std::move(of));
  }
  std::sort(out.all.was_here.begin(), out.all.was_here.end());
  return out;
}

}  // namespace stationer::server
