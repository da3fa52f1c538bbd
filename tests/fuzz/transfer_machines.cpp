// The machines that carry files, by themselves: the script plays the far end, well or badly, and
// says how the caller answers requests.
#include <algorithm>
#include <chrono>
#include <optional>
#include <string>
#include <utility>
#include <variant>

#include "server/protocol/kermit.h"
#include "server/protocol/xmodem_receive.h"
#include "server/protocol/xmodem_send.h"
#include "tests/fuzz/machines.h"

namespace stationer::fuzz {
namespace {

using namespace server;
using namespace std::chrono_literals;

constexpr std::array<std::size_t, 8> sizes = {0, 1, 100, 128, 1023, 1500, 3000, 17'000};
constexpr std::size_t most_files = 3;
// Nothing a machine waits for takes more than so many questions, when nobody answers any more.
constexpr int most_ticks = 200;
// Long blocks are cut so often.
constexpr std::size_t most_pieces = 8;

const std::string& content() {
  static const std::string bytes = [] {
    std::string out;
    for (unsigned i = 0; i < 20'000; ++i) out += static_cast<char>(i % 7 == 0 ? 'x' : i * 167 >> 3);
    return out;
  }();
  return bytes;
}

// Watches what an X- or YMODEM sender says: frames that are whole, and the file's bytes in order.
class BlockReader {
 public:
  void begin_file(std::size_t size) {
    bytes_ = std::string_view(content()).substr(0, size);
    last_ = {};
    number_ = 0;
  }
  void read(std::string_view sent) {
    while (!sent.empty()) sent.remove_prefix(frame(sent));
  }

 private:
  std::size_t frame(std::string_view sent) {
    if (sent.front() == xmodem::eot) return 1;
    if (sent.starts_with(xmodem::cancellation)) return xmodem::cancellation.size();
    require(sent.front() == xmodem::soh || sent.front() == xmodem::stx, "a sender sends frames");
    const std::size_t size = sent.front() == xmodem::stx ? xmodem::long_block : xmodem::short_block;
    require(sent.size() > size + 3, "a block is whole");
    const std::string_view data = sent.substr(3, size);
    std::size_t check = 0;
    for (const auto kind : {xmodem::Check::crc, xmodem::Check::sum}) {
      if (check != 0) continue;
      const std::string wanted = xmodem::check_of(data, kind);
      if (sent.substr(3 + size).starts_with(wanted)) check = wanted.size();
    }
    require(check != 0, "a block has its check");
    const auto number = static_cast<std::uint8_t>(sent[1]);
    require(static_cast<std::uint8_t>(sent[2]) == 255 - number, "a block has its number twice");
    const std::string_view whole = sent.substr(0, 3 + size + check);
    if (number != 0 && whole != last_) {
      require(number == static_cast<std::uint8_t>(number_ + 1), "blocks come in order");
      number_ = number;
      const std::size_t of_file = std::min(size, bytes_.size());
      require(data.substr(0, of_file) == bytes_.substr(0, of_file), "blocks have the file's bytes");
      require(data.find_first_not_of(xmodem::sub, of_file) == std::string_view::npos,
              "the last block is filled up");
      bytes_.remove_prefix(of_file);
    }
    last_ = whole;
    return whole.size();
  }

  std::string_view bytes_;  // not sent yet
  std::string last_;
  std::uint8_t number_ = 0;
};

struct Limits {
  std::size_t sent_a_step = 0;    // octets, for one of input or one answer
  std::size_t taken_for_one = 1;  // bytes of files that an octet can stand for
  BlockReader* blocks = nullptr;
};

// Plays the caller, and holds the machine to what server/protocol/transfer.h says.
class Caller {
 public:
  Caller(Transfer& machine, const Limits& limits) : machine_(machine), limits_(limits) {}

  void begin() { handle(machine_.begin(now_), {}); }

  void hear(std::string_view octets, std::size_t piece) {
    octets_ += octets.size();
    piece = std::max(piece, octets.size() / most_pieces);
    while (!octets.empty() && !machine_.outcome()) {
      const std::string_view part = octets.substr(0, piece);
      octets.remove_prefix(part.size());
      handle(machine_.feed(part, now_), part);
    }
    if (machine_.outcome()) stays_over();
  }

  void sleep(std::chrono::milliseconds how_long) {
    const Time end = now_ + how_long;
    while (machine_.deadline() && *machine_.deadline() <= end) tick();
    now_ = end;
  }
  void tick() {
    if (!machine_.deadline()) return;
    now_ = std::max(now_, *machine_.deadline());
    handle(machine_.tick(now_), {});
  }
  void cancel() {
    handle(machine_.cancel("You broke it off.", now_), {});
    require(machine_.outcome().has_value(), "what is cancelled is over");
  }

  // Nobody is there any more.
  void go_silent() {
    answers_ = 0;
    for (int i = 0; !machine_.outcome(); ++i) {
      require(i < most_ticks, "silence ends it");
      tick();
    }
    stays_over();
  }

  void answer_by(std::uint8_t how) { answers_ = how; }
  // All that it said and asked for, and how it stands.
  std::string story() const {
    std::string out = story_;
    if (machine_.outcome()) out += "|" + machine_.outcome()->why;
    if (const auto due = machine_.deadline()) out += std::to_string((*due - now_).count());
    return out;
  }

 private:
  void handle(Transfer::Step step, std::string_view octets) {
    for (;;) {
      const std::size_t given = octets.size();
      require(step.used <= given, "no more is taken than there is");
      require(step.send.size() <= (given + 1) * limits_.sent_a_step, "what is sent has a bound");
      if (limits_.blocks != nullptr) limits_.blocks->read(step.send);
      story_ += step.send;
      octets.remove_prefix(step.used);
      if (step.request) {
        require(!machine_.deadline(), "who waits for an answer has no deadline");
        step = answer(*step.request);
        continue;
      }
      if (machine_.outcome()) return stays_over();
      require(machine_.deadline().has_value(), "who waits has a deadline");
      require(*machine_.deadline() > now_, "a deadline is to come");
      if (octets.empty()) return;
      require(step.used > 0 || given == 0 || answered_, "input is taken, or a request is made");
      answered_ = false;
      step = machine_.feed(octets, now_);
    }
  }

  void stays_over() {
    require(!open_, "nothing is open in the end");
    require(!machine_.deadline(), "what is over waits for nothing");
    const std::string why = machine_.outcome()->why;
    const bool done = machine_.outcome()->done;
    for (const auto& step : {machine_.feed("C\6\1\4#", now_), machine_.tick(now_ + 1h),
                             machine_.cancel("No.", now_)}) {
      require(step.send.empty() && !step.request, "what is over says nothing");
    }
    require(machine_.outcome()->why == why && machine_.outcome()->done == done,
            "what is over stays as it ended");
    require(done == why.empty(), "what failed says why");
  }

  // While a request waits, nothing else happens.
  void dawdle() {
    const auto fed = machine_.feed("\1\4C\6\x18", now_);
    require(fed.used == 0 && fed.send.empty() && !fed.request, "who waits takes nothing");
    now_ += 20s;
    const auto ticked = machine_.tick(now_);
    require(ticked.send.empty() && !ticked.request, "who waits does not look at the clock");
  }

  Transfer::Step answer(const Transfer::Request& request) {
    answered_ = true;
    story_ += "|";
    story_ += static_cast<char>('0' + request.index());
    if ((answers_ & 4) != 0) dawdle();
    if ((answers_ & 8) != 0) {
      answers_ = 0;
      open_ = open_ || std::holds_alternative<Transfer::Open>(request);
      if (std::holds_alternative<Transfer::Close>(request)) open_ = true;
      if (!std::holds_alternative<Transfer::Abandon>(request)) {
        return machine_.cancel("You broke it off.", now_);
      }
    }
    const bool refuse = (answers_ & 1) != 0;
    if ((answers_ & 2) != 0) answers_ = 0;  // once only
    return std::visit([&](const auto& each) { return answer(each, refuse); }, request);
  }
  Transfer::Step answer(const Transfer::NextFile&, bool) {
    require(!no_more_, "after the last file none is asked for");
    if (files_ == most_files) {
      no_more_ = true;
      return machine_.no_more_files(now_);
    }
    size_ = sizes[(files_ * 3 + (answers_ >> 4)) % sizes.size()];
    ++files_;
    position_ = 0;
    giving_ = true;
    if (limits_.blocks != nullptr) limits_.blocks->begin_file(size_);
    FileFacts facts;
    facts.name = files_ == 1 ? "tides.txt" : "weir.dat";
    facts.size = size_;
    facts.text = files_ == 1;
    facts.modified = std::chrono::sys_seconds(1'000'000'000s);
    return machine_.file(std::move(facts), now_);
  }
  Transfer::Step answer(const Transfer::Read& read, bool) {
    require(giving_, "only a file that was given is read");
    require(read.most > 0 && read.most <= 64 * 1024, "so much is read at once");
    require(!read_all_ || position_ == 0, "past the end nothing is read");
    const std::string_view bytes =
        std::string_view(content()).substr(position_, std::min(read.most, size_ - position_));
    position_ += bytes.size();
    read_all_ = bytes.size() < read.most;
    return machine_.bytes(std::string(bytes), now_);
  }
  Transfer::Step answer(const Transfer::Sent&, bool) {
    require(giving_, "what was sent had been given");
    giving_ = read_all_ = false;
    return machine_.accept(now_);
  }
  Transfer::Step answer(const Transfer::Open& open, bool refuse) {
    require(!open_, "one file is open at once");
    story_ += open.facts.name;
    story_ += std::to_string(open.facts.size.value_or(~std::uint64_t{0}));
    said_ = open.facts.size;
    written_ = 0;
    if (refuse) return machine_.refuse({fs::Code::denied, "You may not change that."}, now_);
    open_ = true;
    return machine_.accept(now_);
  }
  Transfer::Step answer(const Transfer::Write& write, bool refuse) {
    require(open_, "what is written belongs to a file");
    story_ += write.bytes;
    written_ += write.bytes.size();
    taken_ += write.bytes.size();
    require(taken_ <= octets_ * limits_.taken_for_one, "no more is taken in than came");
    if (refuse) return machine_.refuse({fs::Code::no_space, "The disk is full."}, now_);
    return machine_.accept(now_);
  }
  Transfer::Step answer(const Transfer::Close&, bool refuse) {
    require(open_, "what is closed was open");
    if (limits_.taken_for_one == 1) {
      require(!said_ || *said_ == written_, "a file is as long as was said");
    }
    if (refuse) return machine_.refuse({fs::Code::over_quota, "Your room is used up."}, now_);
    open_ = false;
    return machine_.accept(now_);
  }
  Transfer::Step answer(const Transfer::Abandon&, bool) {
    require(open_, "what is abandoned was open");
    open_ = false;
    return machine_.accept(now_);
  }
  Transfer::Step answer(const Transfer::Find& find, bool refuse) {
    story_ += find.name;
    files_ = 0;
    no_more_ = giving_ = read_all_ = false;
    if (refuse) return machine_.refuse({fs::Code::not_found, "There is no such file."}, now_);
    return machine_.accept(now_);
  }

  Transfer& machine_;
  const Limits limits_;
  Time now_ = Time(1h);
  std::string story_;
  std::uint8_t answers_ = 0;
  bool answered_ = false;
  std::size_t octets_ = 0;

  std::size_t files_ = 0;  // sending
  std::size_t size_ = 0;
  std::size_t position_ = 0;
  bool giving_ = false;
  bool read_all_ = false;
  bool no_more_ = false;

  bool open_ = false;  // receiving
  std::optional<std::uint64_t> said_;
  std::uint64_t written_ = 0;
  std::uint64_t taken_ = 0;
};

// The far end: what it says next, by the script.
class FarEnd {
 public:
  enum class Speaks : std::uint8_t { blocks, signs, packets };
  FarEnd(Script& script, Speaks speaks) : script_(script), speaks_(speaks) {}

  std::string octets_of(std::uint8_t act) {
    const unsigned detail = act >> 4;
    const unsigned kind = act & 15;
    if (kind == 14) return std::string(1 + detail, static_cast<char>(script_.number()));
    if (kind == 15) return std::string(script_.bytes(1 + detail));
    switch (speaks_) {
      case Speaks::signs: return std::string(1, script_.one_of(signs, detail));
      case Speaks::blocks:
        if (kind < 6) return std::string(1, script_.one_of(signs, detail));
        return kind < 8 ? header(detail) : block(detail);
      case Speaks::packets:
        if (kind < 6) return packet('Y');
        return kind < 8 ? offer(detail) : packet(script_.one_of(types, detail));
    }
    return {};
  }

 private:
  static constexpr std::array<char, 8> signs = {xmodem::ack, xmodem::nak, 'C',         'G',
                                                xmodem::eot, xmodem::can, xmodem::eot, xmodem::soh};
  static constexpr std::array<char, 16> types = {'F', 'D', 'Z', 'B', 'A', 'N', 'Y', 'R',
                                                 'I', 'G', 'E', 'X', 'D', 'S', 'C', 'D'};
  static constexpr std::array<std::string_view, 8> offers = {
      "~* @-#Y3~.(*0", "~* @-#Y1",      "~* @-#N2~*",    "-!0A#&N3 ",
      "~* @-#&3~.?0]", "~%~@M#Y2~.!%%", "~* @-#Y3~.%!$", ""};

  std::string block(unsigned detail) {
    const std::uint8_t how = detail >= 8 ? script_.number() : std::uint8_t{0};
    const std::size_t size = detail == 1 ? xmodem::long_block : xmodem::short_block;
    if ((detail & 2) == 0) ++block_;
    std::string data = content().substr(how, size);
    if ((how & 64) != 0) std::fill(data.end() - 100, data.end(), xmodem::sub);
    std::string out = xmodem::block(static_cast<std::uint8_t>(block_ + (how & 3)), data,
                                    (detail & 4) != 0 ? xmodem::Check::sum : xmodem::Check::crc);
    if ((how & 128) != 0) out[how % 70] ^= 4;
    if ((how & 32) != 0) out.resize(out.size() - how % 32);
    return out;
  }

  std::string header(unsigned detail) {
    block_ = 0;
    FileFacts facts;
    if (detail != 15) facts.name = "weir.dat";
    if (detail < 12) facts.size = sizes[detail % sizes.size()];
    if (detail == 14) facts.size = UINT64_MAX;
    return xmodem::block(0, xmodem::write_header(facts), xmodem::Check::crc);
  }

  std::string packet(char type) {
    const std::uint8_t how = script_.number();
    const std::uint8_t size = script_.number();
    const unsigned ahead = how & 63;
    kermit::Packet packet{(sequence_ + ahead) % kermit::sequence_count, type, {}};
    if (ahead == 0) sequence_ = kermit::after(sequence_);
    packet.data = script_.bytes(size % 16);
    if (size >= 240) packet.data += std::string(size, 'w');
    const unsigned check = how >> 6;
    std::string out =
        kermit::write_packet(packet, static_cast<kermit::Check>(check == 0 ? 3 : check));
    if (size >= 128 && size < 144) out.back() ^= 1;
    return out + '\r';
  }

  // Begins a transaction, or answers what began one.
  std::string offer(unsigned detail) {
    const bool begins = detail >= 8;
    const std::string_view data = script_.one_of(offers, detail);
    sequence_ = 1;
    return kermit::write_packet({0, begins ? 'S' : 'Y', std::string(data)}, kermit::Check::one) +
           '\r';
  }

  Script& script_;
  const Speaks speaks_;
  std::uint8_t block_ = 0;
  unsigned sequence_ = 0;
};

void act(Caller& caller, FarEnd& far_end, Script& script, std::size_t piece) {
  static constexpr std::array naps = {50ms,   200ms,  899ms,    900ms,
                                      1000ms, 3000ms, 10'000ms, 61'000ms};
  const std::uint8_t next = script.number();
  switch (next & 15) {
    case 0: return caller.sleep(script.one_of(naps, next >> 4));
    case 1: return caller.tick();
    case 2: return (next >> 4) == 15 ? caller.cancel() : caller.answer_by(script.number());
    default: return caller.hear(far_end.octets_of(next), piece);
  }
}

// What came of the script, heard in pieces.
template <class Machine>
std::string play(std::string_view rest, const typename Machine::Options& options,
                 const Limits& limits, std::size_t piece) {
  constexpr auto speaks = std::is_same_v<Machine, Kermit>       ? FarEnd::Speaks::packets
                          : std::is_same_v<Machine, XmodemSend> ? FarEnd::Speaks::signs
                                                                : FarEnd::Speaks::blocks;
  Machine machine(options);
  Caller caller(machine, limits);
  Script script(rest);
  FarEnd far_end(script, speaks);
  caller.begin();
  while (!script.over() && !machine.outcome()) act(caller, far_end, script, piece);
  std::string story = caller.story();
  if (piece == std::string_view::npos) caller.go_silent();
  return story;
}

template <class Machine>
void play_both(std::string_view rest, const typename Machine::Options& options, Limits limits,
               std::size_t piece) {
  BlockReader blocks;
  const bool reads = std::exchange(limits.blocks, nullptr) != nullptr;
  if (reads) limits.blocks = &blocks;
  const std::string whole = play<Machine>(rest, options, limits, std::string_view::npos);
  require(play<Machine>(rest, options, limits, piece) == whole, "pieces make no difference");
}

}  // namespace

void xmodem_receive(std::string_view input) {
  Script script(input);
  const unsigned how = script.number();
  XmodemReceive::Options options;
  options.batch = (how & 1) != 0;
  options.streaming = options.batch && (how & 2) != 0;
  options.keep_filling = (how & 4) != 0;
  play_both<XmodemReceive>(input.substr(std::min<std::size_t>(1, input.size())), options,
                           {2 * xmodem::cancellation.size(), 1}, 1 + (how >> 4));
}

void xmodem_send(std::string_view input) {
  Script script(input);
  const unsigned how = script.number();
  XmodemSend::Options options;
  options.batch = (how & 1) != 0;
  options.long_blocks = (how & 2) != 0;
  BlockReader blocks;
  // Streaming, all that was read goes at once.
  play_both<XmodemSend>(input.substr(std::min<std::size_t>(1, input.size())), options,
                        {20'000, 1, &blocks}, 1 + (how >> 4));
}

namespace {

void kermit_as(Kermit::Role role, std::string_view input) {
  Script script(input);
  const unsigned how = script.number();
  Kermit::Options options;
  options.role = role;
  options.seven_bits = (how & 1) != 0;
  options.window = (how & 2) != 0 ? 1 : 8;
  options.longest = (how & 4) != 0 ? 94 : 1000;
  options.check = (how & 8) != 0 ? kermit::Check::one : kermit::Check::three;
  // A window of packets, each with what the other end wants before it.
  const std::size_t packets = (options.window + 2) * (options.longest + 120);
  play_both<Kermit>(input.substr(std::min<std::size_t>(1, input.size())), options, {packets, 94},
                    1 + (how >> 4));
}

}  // namespace

void kermit_receive(std::string_view input) {
  kermit_as(Kermit::Role::receive, input);
}
void kermit_send(std::string_view input) {
  kermit_as(Kermit::Role::send, input);
}
void kermit_serve(std::string_view input) {
  kermit_as(Kermit::Role::serve, input);
}

}  // namespace stationer::fuzz
