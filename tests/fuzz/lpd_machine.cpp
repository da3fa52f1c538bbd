// The server's end of the line printer daemon protocol.
#include <algorithm>
#include <chrono>
#include <string>
#include <utility>
#include <variant>

#include "fs/text.h"
#include "server/protocol/lpd.h"
#include "tests/fuzz/machines.h"

namespace stationer::fuzz {
namespace {

using namespace server;
using namespace std::chrono_literals;

void check_text(std::string_view text) {
  require(fs::is_utf8(text), "texts are UTF-8");
  fs::each_character(text, [](char32_t c) {
    require(c >= 0x20 && !(c >= 0x7F && c < 0xA0), "texts have no control characters");
  });
}

class Printer {
 public:
  void hear(std::string_view octets, std::size_t piece) {
    octets_ += octets.size();
    while (!octets.empty() && !closed_) {
      const std::string_view part = octets.substr(0, piece);
      octets.remove_prefix(part.size());
      for (std::string_view left = part; !left.empty() && !closed_;) {
        const auto step = machine_.feed(left, now_);
        require(step.used <= left.size(), "no more is taken than there is");
        require(step.used > 0 || step.request || step.close || !step.send.empty() || waits_,
                "input is taken, or something is asked");
        left.remove_prefix(step.used);
        handle(step);
      }
    }
  }
  void end_of_input() {
    if (std::exchange(ended_, true) || closed_) return;
    handle(machine_.end_of_input(now_));
  }
  void lose() {
    if (closed_) return;
    handle(machine_.lost());
    require(closed_, "what is lost is over");
  }
  void sleep(std::chrono::milliseconds how_long) {
    now_ += how_long;
    if (!closed_) handle(machine_.tick(now_));
  }
  void wait_for_deadline() {
    if (const auto due = machine_.deadline()) now_ = std::max(now_, *due);
    if (!closed_) handle(machine_.tick(now_));
  }
  void answer_by(std::uint8_t how) { how_ = how; }
  void finish() {
    for (int i = 0; !closed_; ++i) {
      require(i < 10, "silence ends it");
      wait_for_deadline();
    }
  }
  std::uint64_t sum() { return sum_.value(); }

 private:
  void handle(Lpd::Step step) {
    for (;;) {
      sent_ += step.send.size();
      require(sent_ <= 16 + 2 * octets_ + text_, "replies have a bound");
      sum_.add(step.send);
      closed_ = closed_ || step.close;
      if (!step.request) break;
      waits_ = false;
      const Lpd::Request request = std::move(*step.request);
      if (!std::holds_alternative<Lpd::Piece>(request)) sum_.add(100 + request.index());
      std::visit([this](const auto& each) { note(each); }, request);
      if (!waits_) break;
      require(!machine_.deadline(), "who waits for an answer has no deadline");
      step = answer(request);
    }
    if (closed_) return stays_over();
    require(machine_.deadline().has_value(), "who waits has a deadline");
    require(*machine_.deadline() > now_, "a deadline is to come");
  }

  void stays_over() {
    for (const auto& step : {machine_.feed("\2paper\n", now_), machine_.tick(now_ + 1h)}) {
      require(step.send.empty() && !step.request, "what is over says nothing");
    }
    require(!machine_.deadline(), "what is over waits for nothing");
  }

  void note(const Lpd::ReceiveJob& job) {
    check_text(job.queue);
    waits_ = true;
  }
  void note(const Lpd::OpenFile& file) {
    require(!open_, "one file is open at once");
    require(!file.size || *file.size > 0, "a size is announced or not");
    waits_ = open_ = true;
  }
  void note(const Lpd::Piece& piece) {
    require(open_, "pieces belong to a file");
    require(!piece.octets.empty(), "pieces are never empty");
    taken_ += piece.octets.size();
    require(taken_ <= octets_, "no more is taken in than came");
    sum_.add(piece.octets);
  }
  void note(const Lpd::CloseFile&) {
    require(std::exchange(open_, false), "what is closed was open");
    ++files_;
    waits_ = true;
  }
  void note(const Lpd::DropFile&) {
    require(std::exchange(open_, false), "what is dropped was open");
  }
  void note(const Lpd::JobReady& job) {
    require(job.files.size() == job.control.files.size(), "each listing has its file");
    require(!job.files.empty() && job.files.size() <= 256, "a job has 1 to 256 listings");
    for (const std::size_t file : job.files) require(file < files_, "a file that is listed came");
    for (const auto* text : {&job.control.host, &job.control.user, &job.control.job,
                             &job.control.class_name, &job.control.banner, &job.control.mail}) {
      check_text(*text);
      sum_.add(*text);
    }
    for (const LpdListing& listing : job.control.files) {
      check_text(listing.source);
      check_text(listing.title);
      check_text(title_of(job.control, listing));
    }
    waits_ = true;
  }
  void note(const Lpd::Dropped& dropped) {
    require(!dropped.reason.empty(), "what is dropped has a reason");
    open_ = false;
    files_ = 0;
  }
  void note(const Lpd::ListQueue& list) {
    check_text(list.queue);
    note(list.selection);
  }
  void note(const Lpd::RemoveJobs& remove) {
    check_text(remove.queue);
    check_text(remove.agent);
    note(remove.selection);
  }
  void note(const Lpd::Selection& selection) {
    for (const auto& user : selection.users) check_text(user);
    for (const auto& job : selection.jobs) check_text(job);
    waits_ = true;
  }
  void note(const Lpd::StartPrinting& start) {
    check_text(start.queue);
    waits_ = true;
  }

  Lpd::Step answer(const Lpd::Request& request) {
    if ((how_ & 2) != 0) {
      const auto fed = machine_.feed("\1\n", now_);
      require(fed.used == 0 && !fed.request && fed.send.empty(), "who waits takes nothing");
    }
    const bool list = std::holds_alternative<Lpd::ListQueue>(request) ||
                      std::holds_alternative<Lpd::RemoveJobs>(request);
    if (list) {
      constexpr std::string_view text = "no jobs\n\tcaf\xC3\xA9\n";
      text_ += text.size();
      return machine_.answer(text);
    }
    if ((how_ & 1) != 0) {
      open_ = false;
      return machine_.refuse({(how_ & 4) != 0 ? fs::Code::busy : fs::Code::denied, "No."});
    }
    if (std::holds_alternative<Lpd::JobReady>(request)) files_ = 0;
    return machine_.accept(now_);
  }

  Time now_ = Time(1h);
  Lpd machine_{now_};
  Sum sum_;
  std::uint8_t how_ = 0;
  bool waits_ = false;
  bool open_ = false;
  bool ended_ = false;
  bool closed_ = false;
  std::size_t files_ = 0;
  std::size_t octets_ = 0;
  std::size_t taken_ = 0;
  std::size_t sent_ = 0;
  std::size_t text_ = 0;
};

std::string octets_of(Script& script, unsigned act) {
  static constexpr std::array<std::string_view, 16> said = {
      "\2paper\n",
      "\3"
      "5 dfA001mill\n",
      "\3"
      "0 dfB001mill\n",
      "\2"
      "36 cfA001mill\n",
      "Hmill\nProbin\nfdfA001mill\nNtides.txt\n",
      "hello",
      std::string_view("\0", 1),
      "\1",
      "\4paper robin 12\n",
      "\5paper robin 12 wren\n",
      "\3"
      "2147483647 dfC001mill\n",
      "\1\n",
      "\3paper\n",
      "\2"
      "12 cfB001mill\n",
      "fdfB001mill\n",
      "\1paper\n"};
  const unsigned detail = act >> 4;
  if ((act & 8) != 0) return std::string(said[detail]);
  return std::string(script.bytes(1 + detail));
}

std::uint64_t job_sum(std::string_view rest, std::size_t piece) {
  constexpr std::array naps = {500ms, 1000ms, 5000ms, 300'000ms};
  Script script(rest);
  Printer printer;
  while (!script.over()) {
    const std::uint8_t act = script.number();
    switch (act & 15) {
      case 0: printer.sleep(script.one_of(naps, act >> 4)); break;
      case 1: printer.wait_for_deadline(); break;
      case 2: printer.answer_by(act >> 4); break;
      case 3: act >= 128 ? printer.end_of_input() : printer.lose(); break;
      default: printer.hear(octets_of(script, act), piece);
    }
  }
  const std::uint64_t sum = printer.sum();
  printer.finish();
  return sum;
}

}  // namespace

void lpd(std::string_view input) {
  Script script(input);
  const std::size_t piece = 1u + script.number() % 5;
  const std::string_view rest = input.substr(std::min<std::size_t>(1, input.size()));
  require(job_sum(rest, std::string_view::npos) == job_sum(rest, piece),
          "pieces make no difference");
}

}  // namespace stationer::fuzz
