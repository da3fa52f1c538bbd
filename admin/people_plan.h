// What a list of people would change: each row beside the accounts there are. Pure.
//
// A row is somebody who has an account already
//   - by the sign-in name, where the row has one, and
//   - by the full name otherwise: of those in the row's class, or of all where it names no class.
// Full names are the same when they differ by capitals and spaces only. Where more than one account
// fits, or another row is as much the same person's, the row is wrong until it has a sign-in name:
// nobody is guessed. So the same list, read again, makes nobody twice.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "admin/people_list.h"

namespace stationer::admin {

// As account.show tells it.
struct KnownAccount {
  std::string name;
  std::string full_name;
  std::string role;
  std::string klass;                 // the primary class
  std::vector<std::string> classes;  // a member of these
  std::vector<std::string> leads;
  std::string last_day;  // "2027-07-31"; empty: no end
  bool closed = false;
};

enum class Deed : std::uint8_t { add, change, keep, wrong };
std::string_view deed_name(Deed deed);  // "new", "change", "same", "wrong"

// What becomes of a row. Of what is changed, that which is empty stays as it is.
struct PlannedPerson {
  std::size_t line = 0;
  Deed deed = Deed::keep;
  std::string name;  // to sign in with
  std::string full_name;
  std::string klass;
  std::string role;
  std::string ends;
  std::string leaves;              // the class that is left for the new one
  bool joins_as_leader = false;    // the class is led, and not one's primary one
  std::vector<std::string> words;  // what changes, what to mind, or why it is wrong
};

struct PeoplePlan {
  std::vector<PlannedPerson> people;
  std::vector<std::string> new_classes;
  std::size_t count(Deed deed) const;
};

struct PlanOptions {
  std::string klass;         // of rows that name none
  bool new_classes = false;  // classes that are not there are made
};

PeoplePlan plan_people(std::span<const ListedPerson> people, std::span<const KnownAccount> accounts,
                       std::span<const std::string> classes, const PlanOptions& options);

}  // namespace stationer::admin
