// The server's end of the line printer daemon protocol (RFC 1179), as clients really speak it.
// Bytes and the time in; replies and requests out. No I/O, and never a whole data file in memory.
//
// One connection carries one command (§3.1). For each request that asks for it, the caller gives
// one answer, and no more input is taken until then. What a request needs:
//
//   ReceiveJob     accept or refuse   is there such a queue, does it take jobs?
//   OpenFile       accept or refuse   is there room?
//   Piece          nothing            octets of the open file, in order
//   CloseFile      accept or refuse   the open file is complete
//   DropFile       nothing            the client takes the open file back
//   JobReady       accept or refuse   everything named has come; accept once it is safe on disk,
//                                     because the client forgets the job when it hears so
//   Dropped        nothing            what has come of the current job, if anything, is void
//   ListQueue      answer
//   RemoveJobs     answer
//   StartPrinting  accept or refuse
//
// Files may come in either order, control or data first (§6.2, §6.3). A connection may carry one
// job after another. A refusal ends it: a client that streams without waiting for answers would
// otherwise have its data read as commands.
//
// How data files end, where the RFC leaves questions:
//
//   count          then                                     taken as
//   1 and more     count octets, octet 00                   complete (§6.3)
//                  count octets, octet 01                   taken back; no acknowledgement, because
//                                                           clients that do so expect none
//                  count octets, end of input               complete
//                  count octets, nothing for 5 s            complete: acknowledged, a late 00
//                  skipped fewer, end of input                      incomplete, void
//   2147483647     fewer, end of input                      complete: clients that do not know the
//   and more                                                size announce a huge one
//   0              octets up to the end of input            complete
//                  a single octet 00, then the end, or      an empty file
//                  nothing for 1 s
//
// Bounds: a command line 1,024 octets, a control file 64 KiB, 52 data files a job. Silence of five
// minutes ends the connection. Names are keys for comparison and never host paths.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "fs/result.h"
#include "server/protocol/lpd_control.h"
#include "server/protocol/time.h"

namespace stationer::server {

class Lpd {
 public:
  static constexpr std::size_t longest_line = 1024;
  static constexpr std::size_t largest_control = std::size_t{64} * 1024;
  static constexpr std::size_t most_files = 52;  // dfA to dfZ and dfa to dfz
  static constexpr std::uint64_t huge_count = 2'147'483'647;
  static constexpr std::chrono::seconds closing_wait{5};
  static constexpr std::chrono::seconds empty_wait{1};
  static constexpr std::chrono::minutes idle_wait{5};

  struct ReceiveJob {
    std::string queue;  // clean UTF-8; empty means the default queue
  };
  struct OpenFile {
    std::optional<std::uint64_t> size;  // octets, when it is announced and believable
  };
  struct Piece {
    std::string_view octets;  // part of what was handed to feed()
  };
  struct CloseFile {};
  struct DropFile {};
  struct JobReady {
    LpdControl control;
    // For each of control.files, in the order to print: which of the job's closed files it is,
    // counted from 0 as they came. A file that none of them names is not to be printed.
    std::vector<std::size_t> files;
  };
  // May come while JobReady is still being worked on: the client has not been told that the job is
  // safe, and will send it again.
  struct Dropped {
    std::string reason;  // a sentence for the journal
  };
  // Whose jobs: names of users and numbers of jobs, both empty for all.
  struct Selection {
    std::vector<std::string> users;
    std::vector<std::string> jobs;  // digits first
  };
  struct ListQueue {
    std::string queue;
    bool detailed;
    Selection selection;
  };
  struct RemoveJobs {
    std::string queue;
    std::string agent;    // who says to ask for it; nothing to trust
    Selection selection;  // both empty: the job being printed (§5.5)
  };
  struct StartPrinting {
    std::string queue;
  };
  using Request = std::variant<ReceiveJob, OpenFile, Piece, CloseFile, DropFile, JobReady, Dropped,
                               ListQueue, RemoveJobs, StartPrinting>;

  struct Step {
    std::size_t used = 0;  // octets taken from the input; hand in the rest again
    std::string send;
    std::optional<Request> request;
    // Send, then close. Read on for a moment and discard, or the reset that follows unread input
    // can overtake what was sent.
    bool close = false;
  };

  explicit Lpd(Time now) : active_(now) {}

  // Takes input up to the first request. Takes nothing while a request waits for its answer.
  Step feed(std::string_view octets, Time now);

  // The client has ended its side in order. Once, when all input has been taken; a request may
  // still be waiting for its answer.
  Step end_of_input(Time now);

  // The connection broke: nothing more can be sent.
  Step lost();

  Step tick(Time now);
  std::optional<Time> deadline() const;

  // The answers. One that nobody waits for is a bug and throws.
  // A step that follows may bring the next request.
  Step accept(Time now);
  // The whole job is void. no_space and busy tell the client to come back later (octet 02),
  // everything else that this attempt failed (octet 01).
  Step refuse(const fs::Error& error);
  // UTF-8, lines ended by LF; sent as ASCII, which is all that §5.3 allows.
  Step answer(std::string_view text);

 private:
  enum class State : std::uint8_t { command, job, control, data, closing, over };
  enum class Waits : std::uint8_t { no, receive, open, close, ready, text, start };

  void line(std::string_view octets, Step& step);
  void command(std::string_view line, Step& step);
  void subcommand(std::string_view line, Step& step);
  void header(unsigned char code, std::string_view rest, Step& step);
  void octets_of_control(std::string_view octets, Step& step);
  void octets_of_data(std::string_view octets, Step& step);
  void closing(unsigned char octet, Step& step);
  void file_complete(Step& step);
  void next(Step& step);
  void input_ended(Step& step);
  void new_job();
  void drop(std::string reason, Step& step);
  void ask(Request request, Waits waits, Step& step);
  Waits take_wait(bool wants_text);

  State state_ = State::command;
  Waits waits_ = Waits::no;
  Time active_;  // when the client last did something
  bool input_over_ = false;
  std::string line_;
  bool after_take_back_ = false;  // an LF now makes an abort of the 01 before

  // The file on its way.
  bool is_control_ = false;
  bool to_the_end_ = false;  // count 0
  bool untouched_ = true;    // no octet of it has been passed on
  bool zero_held_ = false;   // count 0, untouched, and one octet 00 has come
  std::uint64_t count_ = 0;  // as announced
  std::uint64_t left_ = 0;   // octets still to come
  std::string name_;

  // The job so far.
  std::string control_octets_;
  std::optional<LpdControl> control_;
  std::vector<std::string> names_;  // of its data files, by index
};

}  // namespace stationer::server
