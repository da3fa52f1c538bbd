#include "print/confined_renderer.h"

#include <csignal>
#include <utility>

#include <fmt/format.h>

#include "print/frames.h"

namespace stationer::print {
namespace {

using fs::Code;
using fs::Error;
using fs::Status;
using Kind = Frame::Kind;

constexpr std::size_t piece_size = std::size_t{64} << 10;
// Of the helper, which answers at once; at its start it loads fonts, on a busy machine perhaps.
constexpr std::chrono::milliseconds helper_patience{60'000};

const Error gone{Code::io, "The printing process is gone."};
const Error no_sense{Code::damaged, "The printing process said something that makes no sense."};

// What a process says is wrong with a job: its own faults and no others.
Error told_failure(const Frame& frame) {
  BodyReader reader(frame.body);
  const auto code = static_cast<Code>(reader.number());
  std::string message = reader.text();
  if (!reader.whole() || message.empty()) return {Code::bad_input, no_sense.message};
  return {code == Code::over_quota ? code : Code::bad_input, std::move(message)};
}

}  // namespace

ConfinedRenderer::ConfinedRenderer(std::string settings_text, Confinement confinement)
    : settings_text_(std::move(settings_text)), confinement_(std::move(confinement)) {}

ConfinedRenderer::~ConfinedRenderer() {
  drop_helper();
}

fs::Result<std::unique_ptr<ConfinedRenderer>> ConfinedRenderer::open(std::string settings_text,
                                                                     Confinement confinement) {
  std::unique_ptr<ConfinedRenderer> renderer(
      new ConfinedRenderer(std::move(settings_text), std::move(confinement)));
  auto copy = renderer->ready_copy();
  if (!copy) return copy.error();
  if (auto ended = renderer->end(*copy); !ended) return ended.error();
  return renderer;
}

int ConfinedRenderer::helper() const {
  const std::lock_guard lock(mutex_);
  return helper_ ? helper_->process : 0;
}

// ---- the helper ----

Status ConfinedRenderer::start_helper() {
  auto ends = FrameSocket::pair();
  if (!ends) return ends.error();
  auto& [ours, theirs] = *ends;
  auto process = start_process(confinement_.program, confinement_.words, theirs.descriptor());
  if (!process) return process.error();
  helper_.emplace(Peer{*process, std::move(ours)});
  return helper_->socket.send(
      Kind::settings,
      BodyWriter()
          .number(confinement_.limits.memory)
          .number(static_cast<std::uint64_t>(confinement_.limits.processor.count()))
          .text(settings_text_)
          .body(),
      helper_patience);
}

void ConfinedRenderer::drop_helper() {
  if (!helper_) return;
  end_process(helper_->process);
  helper_.reset();
  unheard_ = 0;
}

fs::Result<Frame> ConfinedRenderer::hear_helper() {
  for (; unheard_ > 0; --unheard_) {
    auto ended = helper_->socket.receive(helper_patience);
    if (!ended || ended->kind != Kind::end) return ended;
  }
  return helper_->socket.receive(helper_patience);
}

fs::Result<ConfinedRenderer::Peer> ConfinedRenderer::take_copy() {
  if (!helper_) {
    if (auto started = start_helper(); !started) return started.error();
  }
  FrameSocket& helper = helper_->socket;
  // One that could not begin has said why, and is gone.
  const auto asked = helper.send(Kind::child, {}, helper_patience);
  auto answer = hear_helper();
  if (!answer) return answer.error();
  if (answer->kind == Kind::failed) {
    BodyReader reader(answer->body);
    static_cast<void>(reader.number());
    return Error{Code::io, reader.text()};
  }
  if (!asked) return asked.error();
  if (answer->kind != Kind::child) return no_sense;
  auto socket = helper.take_passed();
  if (!socket) return socket.error();
  return Peer{static_cast<int>(BodyReader(answer->body).number()), std::move(*socket)};
}

// A copy that is locked in and waits. What goes wrong before that is no job's fault.
fs::Result<ConfinedRenderer::Peer> ConfinedRenderer::ready_copy() {
  Error last = no_sense;
  // The helper, or a copy that it had made ready, may have been killed long ago.
  for (int tries = 0; tries < 2; ++tries) {
    auto copy = take_copy();
    if (!copy) {
      last = copy.error();
      drop_helper();
      continue;
    }
    auto hello = copy->socket.receive(confinement_.silence);
    if (hello && hello->kind == Kind::ready) return copy;
    const auto ending = end(*copy);
    if (ending && ending->how == Ending::How::left && ending->number == cage_left_open) {
      return Error{Code::io,
                   "This system can't lock the process in that turns jobs into pages. With "
                   "confined = false under [print] in volume.toml jobs are printed without."};
    }
    last = {Code::io, "The printing process does not get ready."};
  }
  return last;
}

// Does not wait: the answer is heard when the helper is spoken to next.
Status ConfinedRenderer::ask_to_end(Peer& copy) {
  if (!helper_ || copy.process == 0) return gone;
  const std::string number =
      BodyWriter().number(static_cast<std::uint64_t>(std::exchange(copy.process, 0))).body();
  if (auto sent = helper_->socket.send(Kind::end, number, helper_patience); !sent) {
    drop_helper();
    return gone;
  }
  ++unheard_;
  return {};
}

fs::Result<Ending> ConfinedRenderer::end(Peer& copy) {
  if (auto asked = ask_to_end(copy); !asked) return asked.error();
  --unheard_;
  auto answer = hear_helper();
  if (!answer || answer->kind != Kind::end) {
    drop_helper();
    return gone;
  }
  BodyReader reader(answer->body);
  const bool killed = reader.number() == 1;
  return Ending{killed ? Ending::How::killed : Ending::How::left,
                static_cast<int>(reader.number())};
}

// ---- a job ----

fs::Result<JobReport> ConfinedRenderer::render(const Order& order, const ByteSource& source,
                                               const PartSink& sink, const PageTold& on_page) {
  const std::lock_guard lock(mutex_);
  for (bool again = false;; again = true) {
    auto copy = ready_copy();
    if (!copy) return copy.error();
    bool begun = false;
    auto report = print(*copy, order, source, sink, on_page, begun);
    static_cast<void>(ask_to_end(*copy));
    // A copy that was killed while it waited has not seen the job.
    if (report || begun || again) return report;
  }
}

fs::Result<JobReport> ConfinedRenderer::print(Peer& copy, const Order& order,
                                              const ByteSource& source, const PartSink& sink,
                                              const PageTold& on_page, bool& begun) {
  FrameSocket& socket = copy.socket;
  std::string piece(piece_size, '\0');
  bool ended = false;
  std::optional<Error> source_failed;
  const auto send_piece = [&]() -> Status {
    if (ended) return {};
    const auto size = source(piece);
    if (!size) {
      source_failed = size.error();
      return *source_failed;
    }
    ended = *size == 0;
    return socket.send(Kind::bytes, std::string_view(piece).substr(0, *size), confinement_.silence);
  };
  Status sent = socket.send(Kind::order, write_order(order), confinement_.silence);
  for (int i = 0; i < Frame::ahead && sent; ++i) sent = send_piece();
  for (;;) {
    if (source_failed) return *source_failed;
    // One that is gone may have said why before.
    if (!sent && sent.error().code == Code::busy) return why(sent.error(), copy);
    auto frame = socket.receive(confinement_.silence);
    if (!frame) return why(frame.error(), copy);
    begun = true;
    switch (frame->kind) {
      case Kind::more: {
        BodyReader reader(frame->body);
        const std::uint64_t page = reader.number();
        if (!reader.whole() || page > order.most_pages) return why(no_sense, copy);
        if (on_page) on_page(page);
        sent = send_piece();
        break;
      }
      case Kind::pdf: {
        BodyReader reader(frame->body);
        const std::uint64_t page = reader.number();
        const std::uint64_t part = reader.number();
        const std::string pdf = reader.text();
        // It can't name a file that it was not asked for.
        if (!reader.whole() || page > order.most_pages || part >= order.most_pages) {
          return why(no_sense, copy);
        }
        if (on_page) on_page(page);
        if (auto taken = sink(static_cast<std::size_t>(part), pdf); !taken) return taken.error();
        break;
      }
      case Kind::done: {
        auto report = read_report(frame->body);
        if (!report) return why(report.error(), copy);
        return report;
      }
      case Kind::failed: return told_failure(*frame);
      default: return why(no_sense, copy);
    }
  }
}

// Why a process no longer prints, as the job's owner reads it.
Error ConfinedRenderer::why(const Error& seen, Peer& copy) {
  if (seen.code == Code::busy) {
    return {Code::bad_input,
            fmt::format(
                "Turning it into pages did not get on for {} seconds, so it was stopped.",
                std::chrono::duration_cast<std::chrono::seconds>(confinement_.silence).count())};
  }
  if (seen.code == Code::damaged) return {Code::bad_input, no_sense.message};
  const auto ending = end(copy);
  if (!ending) return ending.error();  // the helper went, and took this one along
  if (ending->how == Ending::How::left) return {Code::bad_input, no_sense.message};
  switch (ending->number) {
    case SIGXCPU:
      return {
          Code::bad_input,
          fmt::format("Turning it into pages took more than {} seconds of the processor's time, "
                      "so it was stopped.",
                      confinement_.limits.processor.count())};
    case SIGSYS:
      return {Code::bad_input,
              "The program that turns it into pages tried to do something else, so it was "
              "stopped. Please report it, and keep the job."};
    default:
      return {Code::bad_input,
              fmt::format("The program that turns it into pages broke down over it (signal {}). "
                          "Please report it, and keep the job.",
                          ending->number)};
  }
}

}  // namespace stationer::print
