// What all sessions share: the store, the spool, the slowing down of guesses, and the list of who
// is here. Lives on the loop's thread.
#pragma once

#include <cstdint>
#include <list>
#include <string>
#include <vector>

#include "fs/volume.h"
#include "print/finder.h"
#include "print/spool.h"
#include "server/freeze.h"
#include "server/loop.h"
#include "server/open_jobs.h"
#include "server/refusals.h"
#include "server/stations.h"
#include "server/throttle.h"

namespace stationer::server {

class Session;

// One session as others see it.
struct SessionView {
  std::uint32_t number = 0;
  std::string door;
  std::string address;
  std::string station;  // its name in the registry; empty: it has none
  std::string name;     // the account's, or "guest"
  fs::Role role = fs::Role::member;
  bool signed_in = false;
  fs::Time since{};
  std::string doing;  // "list", "waiting", …
};

class Room {
 public:
  Room(fs::Volume& volume_, print::Spool& spool_, print::Finder& finder_, Loop& loop_)
      : volume(volume_), spool(spool_), finder(finder_), loop(loop_), stations(volume_) {
    stations.on_refused = [this](const std::string& address, std::string_view door,
                                 const fs::Error& why) {
      refusals.add({volume.now(), fs::no_account, std::string(door), address, "come in", "", why});
    };
  }
  Room(const Room&) = delete;
  Room& operator=(const Room&) = delete;

  std::vector<SessionView> sessions() const;
  // Those of a person.
  std::vector<Session*> sessions_of(fs::AccountId account) const;
  // The account of the only person signed in at an address; no_account if there is none, or
  // several.
  fs::AccountId person_at(const std::string& address) const;

  // Something has happened that people should hear of at their next prompt.
  void tell(fs::AccountId account, const std::string& text);
  void tell_class(const fs::ClassView& klass, const std::string& text,
                  fs::AccountId except = fs::no_account);
  void tell_all(const std::string& text, fs::AccountId except = fs::no_account);

  // Ends the sessions of those whose account was closed, is gone, or has come to its end, and of
  // visitors whose day is over. To be
  // called a few times a minute.
  void send_home();

  fs::Volume& volume;
  print::Spool& spool;
  print::Finder& finder;
  Loop& loop;
  Stations stations;
  Throttle throttle;
  Throttle claims;  // the same for the codes of printouts
  OpenJobs open_jobs;
  Freeze freeze;
  Refusals refusals;

 private:
  friend class Session;
  std::list<Session*> sessions_;
  std::uint32_t next_number_ = 1;
};

}  // namespace stationer::server
