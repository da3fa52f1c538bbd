#include "print/print_helper.h"

#include <cstdlib>
#include <exception>
#include <new>
#include <optional>
#include <set>

#include <fmt/format.h>

#include "print/cage.h"
#include "print/frame_socket.h"
#include "print/processes.h"

namespace stationer::print {
namespace {

using fs::Code;
using fs::Error;
using fs::Status;
using Kind = Frame::Kind;

constexpr std::size_t piece_size = std::size_t{64} << 10;

struct Workshop {
  Queues queues;
  Fonts fonts;
  CageLimits limits;
};

// Printed once before there is a job, so that fonts and tables are ready in every copy.
Status warm_up(const Workshop& shop, CarryOut carry_out) {
  const Order order{"", 1, {"warm", "", "", "", {}}, {}};
  // The second time, because fonts are prepared for good only when they are used again.
  for (int i = 0; i < 2; ++i) {
    std::string_view text = "a\bab\b_\n";
    const ByteSource source = [&](std::span<char> into) -> fs::Result<std::size_t> {
      const std::size_t size = text.copy(into.data(), into.size());
      text.remove_prefix(size);
      return size;
    };
    const PartSink sink = [](std::size_t, std::string_view) -> Status { return {}; };
    if (auto done = carry_out(order, shop.queues, shop.fonts, source, sink, {}); !done) {
      return done.error();
    }
  }
  return {};
}

fs::Result<Workshop> open_workshop(const Frame& frame, CarryOut carry_out) {
  BodyReader reader(frame.body);
  CageLimits limits;
  limits.memory = reader.number();
  limits.processor = std::chrono::seconds(reader.number());
  auto queues = read_queues(reader.text());
  if (!queues) return queues.error();
  auto fonts = Fonts::load();
  if (!fonts) return fonts.error();
  Workshop shop{std::move(*queues), std::move(*fonts), limits};
  if (auto warm = warm_up(shop, carry_out); !warm) return warm.error();
  return shop;
}

// ---- a copy ----

// Nobody is there any more to print for.
[[noreturn]] void give_up() {
  std::_Exit(EXIT_FAILURE);
}

// One job, from the order to the report, in the cage.
class Printing {
 public:
  Printing(FrameSocket& service, const Workshop& shop) : service_(service), shop_(shop) {}

  void run(CarryOut carry_out) {
    say(Kind::ready, {});
    const Frame frame = hear(Kind::order);
    auto order = read_order(frame.body);
    if (!order) give_up();
    auto report = carry_out(
        *order, shop_.queues, shop_.fonts, [this](std::span<char> into) { return read(into); },
        [this](std::size_t part, std::string_view bytes) { return write(part, bytes); },
        [this](std::uint64_t page) { page_ = page; });
    if (!report) {
      say(Kind::failed, BodyWriter()
                            .number(static_cast<std::uint64_t>(report.error().code))
                            .text(report.error().message)
                            .body());
      return;
    }
    send_pdf();
    say(Kind::done, write_report(*report));
  }

 private:
  void say(Kind kind, std::string_view body) {
    if (!service_.send(kind, body, std::nullopt)) give_up();
  }

  Frame hear(Kind kind) {
    auto frame = service_.receive(std::nullopt);
    if (!frame || frame->kind != kind) give_up();
    return std::move(*frame);
  }

  fs::Result<std::size_t> read(std::span<char> into) {
    if (!ended_ && used_ == piece_.size()) {
      piece_ = hear(Kind::bytes).body;
      used_ = 0;
      ended_ = piece_.empty();
      if (!ended_) say(Kind::more, BodyWriter().number(page_).body());
    }
    const std::size_t size = piece_.copy(into.data(), into.size(), used_);
    used_ += size;
    return size;
  }

  Status write(std::size_t part, std::string_view bytes) {
    if (part != part_) send_pdf();
    part_ = part;
    pdf_ += bytes;
    if (pdf_.size() >= piece_size) send_pdf();
    return {};
  }

  void send_pdf() {
    for (std::string_view rest = pdf_; !rest.empty();) {
      const std::string_view piece = rest.substr(0, piece_size);
      say(Kind::pdf, BodyWriter().number(page_).number(part_).text(piece).body());
      rest.remove_prefix(piece.size());
    }
    pdf_.clear();
  }

  FrameSocket& service_;
  const Workshop& shop_;
  std::string piece_;  // of the job
  std::size_t used_ = 0;
  bool ended_ = false;
  std::uint64_t page_ = 0;  // that is being drawn
  std::size_t part_ = 0;
  std::string pdf_;  // of that part, not sent yet
};

int print_one(FrameSocket& service, const Workshop& shop, CarryOut carry_out) {
  if (!lock_cage(shop.limits)) return cage_left_open;
  std::string why;
  try {
    Printing(service, shop).run(carry_out);
    return EXIT_SUCCESS;
  } catch (const std::bad_alloc&) {
    why = "Turning it into pages takes more memory than a job may have.";
  } catch (const std::exception& fault) {
    why = fmt::format(
        "There is a fault in the program that turns it into pages: {}. Please report "
        "it.",
        fault.what());
  }
  static_cast<void>(service.send(
      Kind::failed,
      BodyWriter().number(static_cast<std::uint64_t>(Code::bad_input)).text(why).body(),
      std::nullopt));
  return EXIT_SUCCESS;
}

// ---- the helper itself ----

struct Copy {
  int process = 0;
  FrameSocket service_end;
};

fs::Result<Copy> make_copy(const Workshop& shop, CarryOut carry_out) {
  auto ends = FrameSocket::pair();
  if (!ends) return ends.error();
  auto& [theirs, ours] = *ends;
  auto process = copy_process(ours.descriptor(),
                              [&, &own_end = ours] { return print_one(own_end, shop, carry_out); });
  if (!process) return process.error();
  return Copy{*process, std::move(theirs)};
}

// Answers with a copy, and makes the next one while the first prints.
Status serve(FrameSocket& service, const Workshop& shop, CarryOut carry_out) {
  std::set<int> copies;  // that are not ended
  auto ready = make_copy(shop, carry_out);
  for (;;) {
    auto asked = service.receive(std::nullopt);
    if (!asked) return {};  // the service is gone
    if (asked->kind == Kind::end) {
      const auto number = static_cast<int>(BodyReader(asked->body).number());
      if (copies.erase(number) == 0) return Error{Code::damaged, "There is no such process."};
      const Ending ending = end_process(number);
      auto told = service.send(Kind::end,
                               BodyWriter()
                                   .number(ending.how == Ending::How::killed ? 1 : 0)
                                   .number(static_cast<std::uint64_t>(ending.number))
                                   .body(),
                               std::nullopt);
      if (!told) return {};
      continue;
    }
    if (!ready) ready = make_copy(shop, carry_out);
    if (!ready) return ready.error();
    const std::string number =
        BodyWriter().number(static_cast<std::uint64_t>(ready->process)).body();
    if (!service.send_with(Kind::child, number, ready->service_end)) return {};
    copies.insert(ready->process);
    ready = make_copy(shop, carry_out);
  }
}

}  // namespace

int run_print_helper(CarryOut carry_out) {
  FrameSocket service(handed_over);
  const auto settings = service.receive(std::nullopt);
  if (!settings || settings->kind != Kind::settings) return EXIT_FAILURE;
  auto shop = open_workshop(*settings, carry_out);
  const Status served = shop ? serve(service, *shop, carry_out) : Status(shop.error());
  if (served) return EXIT_SUCCESS;
  static_cast<void>(service.send(Kind::failed,
                                 BodyWriter()
                                     .number(static_cast<std::uint64_t>(served.error().code))
                                     .text(served.error().message)
                                     .body(),
                                 std::nullopt));
  return EXIT_FAILURE;
}

}  // namespace stationer::print
