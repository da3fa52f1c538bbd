// What every machine that carries files over a line to or from a station is to its caller: bytes
// and the time in; bytes and requests out. No I/O, and never a whole file in memory.
//
// For each request the caller gives its answer, and no more input is taken until then. What a
// request needs:
//
//   NextFile   file() or no_more_files()   sending: what goes next?
//   Read       bytes()                     sending: the next of the file's bytes
//   Sent       accept()                    sending: the far end has the file, or does not want it
//   Open       accept() or refuse()        receiving: may there be such a file?
//   Write      accept() or refuse()        receiving: the next of its bytes
//   Close      accept() or refuse()        receiving: it is complete; accept once it is safe,
//   because
//                                          the far end forgets it when it hears so
//   Abandon    accept()                    receiving: what has come of the open file is void
//   Find       accept() or refuse()        serving: the far end wants files of this name; NextFile
//                                          asks for them then
//
// While an answer is due the machine's deadlines wait, too.
// A machine asks Abandon before it ends when a file was opened and not closed.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include "fs/result.h"
#include "server/protocol/time.h"

namespace stationer::server {

// What is said of a file over the line. Whatever the far end says of one is only its word.
struct FileFacts {
  std::string name;
  std::optional<std::uint64_t> size;  // bytes
  std::optional<std::chrono::sys_seconds> modified;
  std::optional<bool> text;  // lines of text, which the receiver stores in its own way

  bool operator==(const FileFacts&) const = default;
};

class Transfer {
 public:
  struct NextFile {};
  struct Read {
    std::size_t most;  // fewer mean that the file ends there
  };
  struct Sent {
    std::string refusal;  // why the far end did not take it; empty: it did
  };
  struct Open {
    FileFacts facts;
  };
  struct Write {
    std::string bytes;
  };
  struct Close {};
  struct Abandon {};
  struct Find {
    std::string name;
  };
  using Request = std::variant<NextFile, Read, Sent, Open, Write, Close, Abandon, Find>;

  struct Step {
    std::size_t used = 0;  // octets taken from the input; hand in the rest again
    std::string send;
    std::optional<Request> request;
  };

  struct Outcome {
    bool done = false;
    std::string why;  // a sentence, when it is not
  };

  virtual ~Transfer() = default;
  Transfer(const Transfer&) = delete;
  Transfer& operator=(const Transfer&) = delete;

  Step begin(Time now);  // once, first of all
  // Takes input up to the first request or to the end.
  Step feed(std::string_view octets, Time now);
  Step tick(Time now);
  std::optional<Time> deadline() const { return due_ || outcome_ ? std::nullopt : deadline_; }

  // The answers. One that nobody waits for is a bug and throws. A step that follows may bring the
  // next request.
  Step accept(Time now);
  Step refuse(const fs::Error& error, Time now);
  Step file(FileFacts facts, Time now);
  Step no_more_files(Time now);
  Step bytes(std::string bytes, Time now);

  // Ends it from our side, telling the far end. May come at any time; an answer that is still due
  // is not waited for any more.
  Step cancel(std::string why, Time now);

  // Set when it is over.
  const std::optional<Outcome>& outcome() const { return outcome_; }

 protected:
  Transfer() = default;

  // What machines do. Each may send, ask at most one thing, set the deadline and end.
  virtual void started() = 0;
  virtual std::size_t take(std::string_view octets) = 0;  // how many it took; 0 only after ask()
  virtual void timed_out() = 0;                           // the deadline has come
  virtual void accepted() = 0;
  virtual void refused(const fs::Error& error) = 0;
  virtual void got_file(FileFacts facts) = 0;
  virtual void got_no_file() = 0;
  virtual void got_bytes(std::string bytes) = 0;
  // What tells the far end that it is off.
  virtual std::string cancellation(const std::string& why) const = 0;

  void send(std::string_view octets) { step_.send += octets; }
  void ask(Request request);
  bool waits() const { return due_.has_value(); }
  void wait_until(Time when) { deadline_ = when; }
  void wait(Time::duration how_long) { deadline_ = now_ + how_long; }
  Time now() const { return now_; }
  // It is over. What was opened is abandoned first.
  void end(Outcome outcome);
  void done() { end({true, {}}); }
  void fail(std::string why) { end({false, std::move(why)}); }
  // The same, telling the far end.
  void break_off(std::string why);

  bool is_open() const { return open_; }

 private:
  using Due = std::size_t;  // which of the requests waits for its answer, by its index

  template <class Act>
  Step act(Time now, Act does);
  template <class... Requests>
  void take_due();

  Time now_{};
  std::optional<Time> deadline_;
  Step step_;
  std::optional<Due> due_;
  Time asked_at_{};
  bool open_ = false;              // a file that is being received
  std::optional<Outcome> ending_;  // what the outcome is once the open file is abandoned
  std::optional<Outcome> outcome_;
};

}  // namespace stationer::server
