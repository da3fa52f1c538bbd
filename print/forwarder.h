// Printouts that also go to a real printer, by the host's print system, as volume.toml says
// (forward_server of [print], forward and forward_when of a queue; print/settings_words.cpp),
// or somebody by hand. What a queue forwards is noted in spool/forwarding/NUMBER before its job
// leaves the spool, and the note goes when the print system has the whole PDF. So none is
// forgotten; one may be handed over twice if the power goes in between. While the print system does
// not take one it is tried again, less and less often, for a day. A printout is in its tray
// whatever becomes of that.
#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <map>
#include <mutex>
#include <string>
#include <string_view>

#include "fs/volume.h"
#include "print/job.h"
#include "print/open_content.h"
#include "print/worker.h"

namespace stationer::print {

struct Forwarding {
  struct Queue {
    std::string printer;
    bool asked = false;  // only when somebody says so
  };
  std::map<std::string, Queue> queues;  // those that have a printer
  std::string server;
};

// Reads the text of volume.toml. Code::bad_input with the line for what can't be right.
fs::Result<Forwarding> read_forwarding(std::string_view settings_text);

// All calls may come from any thread.
class Forwarder {
 public:
  // Hands a PDF over: hand_to_printer(), or what a test has in its place.
  using Hand = std::function<fs::Status(const std::string& printer, const std::string& title,
                                        const OpenContent& open)>;
  static constexpr std::chrono::hours patience{24};  // from when a printout was printed
  static constexpr std::chrono::seconds first_pause{5};
  static constexpr std::chrono::seconds longest_pause{600};

  Forwarder(fs::Volume& volume, Forwarding forwarding, Hand hand);
  Forwarder(const Forwarder&) = delete;
  Forwarder& operator=(const Forwarder&) = delete;

  // Notes that the printouts of a job are to be forwarded, if its queue says so. What can't be
  // noted now is with the next try.
  void expect(const Job& job);

  // Hands over one printout that the caller may have, now. An empty printer is its queue's.
  fs::Status forward(const fs::Caller& caller, std::uint32_t job, const std::string& printer);

  // Tries all that are noted once. An error is the first that is worth another try.
  fs::Status try_all();

  // Tries in a thread of its own, now, when nudged, and when it is time for another try.
  void start();
  void nudge() { worker_.nudge(); }

  // What could not be handed over yet and why, for the keeper; empty when there is nothing.
  std::string trouble() const;

 private:
  fs::Status note(std::uint32_t job, const std::string& printer);
  fs::Status note_what_is_left();
  fs::Status hand_over(const fs::PrintoutView& printout, const std::string& printer);
  fs::Result<bool> is_in_spool(std::uint32_t job);
  fs::Status try_one(const fs::HostEntry& note);

  fs::Volume& volume_;
  const Forwarding forwarding_;
  const Hand hand_;

  std::mutex trying_mutex_;  // one at a time
  mutable std::mutex mutex_;
  std::string trouble_;
  std::map<std::uint32_t, std::string> left_;  // could not be noted yet

  Worker worker_;  // last, because it uses the others
};

// Hands over to the print system that `server` names (print/host_printer.h).
Forwarder::Hand to_host_printers(const std::string& server);

}  // namespace stationer::print
