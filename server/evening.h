// What there is to say of an evening, or of any span: who was here, what was saved, printed and
// handed in, and who was turned away, class by class. Pure sums over what the store tells.
//
// Everybody counts in one class: the primary one, else the first they are in or lead.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "fs/desk.h"
#include "fs/people.h"

namespace stationer::server {

// Printouts that are still there.
struct Printed {
  std::uint64_t printouts = 0;
  std::uint64_t pages = 0;
};

// By owner; "": nobody has claimed them. Of those printed from `since` on and before `until`.
std::map<std::string, Printed> printed_by(const std::vector<fs::PrintoutView>& printouts,
                                          fs::Time since, fs::Time until);

struct EveningFacts {
  fs::Time since{};
  fs::Time until{};
  std::vector<fs::AccountView> accounts;
  std::vector<fs::JournalEntry> signs;  // of coming and going, and of being turned away
  std::vector<fs::PrintoutView> printouts;
  struct Saved {
    std::string owner;
    std::uint64_t bytes = 0;
  };
  std::vector<Saved> saved;  // files made or changed in the span
  struct HandedIn {
    std::string klass;
    bool late = false;
  };
  std::vector<HandedIn> handed_in;
};

struct EveningClass {
  std::string name;                   // "": in no class
  std::vector<std::string> was_here;  // sign-in names, in order
  std::uint64_t visits = 0;           // how often they signed in
  std::uint64_t files = 0;
  std::uint64_t bytes = 0;
  Printed printed;
  std::uint64_t handed_in = 0;
  std::uint64_t late = 0;  // of these

  bool is_empty() const;
  void add(const EveningClass& other);  // all but the name
};

struct Evening {
  std::vector<EveningClass> classes;  // by name; those of which there is something to say
  EveningClass all;
  Printed unclaimed;                             // in `all`, too
  std::map<std::string, std::uint64_t> refused;  // sign-ins, by what was typed as a name
};

Evening evening(const EveningFacts& facts);

}  // namespace stationer::server
