// Two ends of ours, and between them a line that makes of each thing said what the script says: it
// comes well, not at all, twice, late, cut off, or with one bit turned. Whatever happens, a file
// that is taken is the file that was sent, and one that is told as taken was taken.
//
// X- and YMODEM answer by single octets without a number, each of which stands for one block.
// Answers that come twice, late or as others can't be told from those that were meant, nor can a
// block that comes whole twice and is answered twice: so nothing comes twice or late, and answers
// are only lost.
#include <algorithm>
#include <chrono>
#include <deque>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "server/protocol/kermit.h"
#include "server/protocol/xmodem_receive.h"
#include "server/protocol/xmodem_send.h"
#include "tests/fuzz/machines.h"

namespace stationer::fuzz {
namespace {

using namespace server;
using namespace std::chrono_literals;

constexpr std::size_t most_events = 20'000;

std::string file_of(std::size_t number, std::size_t size) {
  std::string out(size, '\0');
  for (std::size_t i = 0; i < size; ++i) out[i] = static_cast<char>(number * 77 + i * 5 + i / 128);
  if (!out.empty()) out.back() = 'x';  // no filling
  return out;
}

// One direction. What arrives keeps its order.
class Way {
 public:
  enum class Fates : std::uint8_t { all, lost, lost_or_spoilt };
  Way(Script& script, Fates fates) : script_(script), fates_(fates) {}

  void send(std::string octets, Time now) {
    if (octets.empty()) return;
    count_invitations(octets);
    // So long every octet takes on the line, and then it is there.
    free_ = std::max(free_, now) + octets.size() * 1ms + 1ms;
    const std::uint8_t fate = script_.number();
    if (fate != 0) ++faults_;
    switch (fates_ == Fates::lost ? fate & 1 : fate & 7) {
      case 1: return;
      case 2:
        if (fates_ == Fates::all) arrive(octets, 0ms);
        break;
      case 3: return arrive(octets, fates_ == Fates::all ? 300ms * (fate >> 3) : 0ms);
      case 4: octets.resize(octets.size() * (fate >> 3) / 32); break;
      case 5: {
        // Without its first octet the first block is read as answers are.
        const std::size_t from = fates_ == Fates::all ? 0 : 1;
        const std::size_t at = from + (octets.size() - from) * (fate >> 3) / 32;
        if (at < octets.size()) octets[at] ^= static_cast<char>(1 << (fate >> 5));
        break;
      }
      default: break;
    }
    arrive(octets, 0ms);
  }
  std::optional<Time> next() const {
    if (coming_.empty()) return std::nullopt;
    return coming_.front().first;
  }
  std::string arrived(Time now) {
    std::string out;
    for (; !coming_.empty() && coming_.front().first <= now; coming_.pop_front()) {
      out += coming_.front().second;
    }
    return out;
  }
  unsigned faults() const { return faults_; }
  // Whether four invitations to send with CRC were said between two blocks that came well.
  bool gave_up_crc() const { return gave_up_crc_; }

 private:
  void count_invitations(std::string_view octets) {
    if (octets == "\x06") invitations_ = 0;
    if (octets == "C" && ++invitations_ == 4) gave_up_crc_ = true;
  }

  void arrive(const std::string& octets, std::chrono::milliseconds late) {
    free_ += late;
    coming_.emplace_back(free_, octets);
  }

  Script& script_;
  const Fates fates_;
  Time free_{};
  std::deque<std::pair<Time, std::string>> coming_;
  unsigned faults_ = 0;
  int invitations_ = 0;
  bool gave_up_crc_ = false;
};

// An end with its caller, who says yes to everything.
class End {
 public:
  End(Transfer& machine, Way& out, std::vector<std::string> files)
      : machine_(machine), out_(out), files_(std::move(files)) {}

  void begin(Time now) { handle(machine_.begin(now), {}, now); }
  void hear(const std::string& octets, Time now) {
    if (!machine_.outcome()) handle(machine_.feed(octets, now), octets, now);
  }
  void tick(Time now) { handle(machine_.tick(now), {}, now); }

  const std::vector<std::string>& taken() const { return taken_; }
  std::size_t told() const { return told_; }

 private:
  void handle(Transfer::Step step, std::string_view octets, Time now) {
    for (;;) {
      out_.send(std::move(step.send), now);
      octets.remove_prefix(step.used);
      if (step.request) {
        step = std::visit([&](const auto& each) { return answer(each, now); }, *step.request);
      } else if (octets.empty() || machine_.outcome()) {
        return;
      } else {
        step = machine_.feed(octets, now);
      }
    }
  }

  Transfer::Step answer(const Transfer::NextFile&, Time now) {
    if (next_ == files_.size()) return machine_.no_more_files(now);
    position_ = 0;
    FileFacts facts;
    facts.name = next_ == 0 ? "tides" : "weir";
    facts.size = files_[next_++].size();
    facts.text = false;
    return machine_.file(std::move(facts), now);
  }
  Transfer::Step answer(const Transfer::Read& read, Time now) {
    const std::string bytes = files_[next_ - 1].substr(position_, read.most);
    position_ += bytes.size();
    return machine_.bytes(bytes, now);
  }
  Transfer::Step answer(const Transfer::Sent& sent, Time now) {
    require(sent.refusal.empty(), "nothing is refused");
    ++told_;
    return machine_.accept(now);
  }
  Transfer::Step answer(const Transfer::Open&, Time now) {
    open_.clear();
    return machine_.accept(now);
  }
  Transfer::Step answer(const Transfer::Write& write, Time now) {
    open_ += write.bytes;
    return machine_.accept(now);
  }
  Transfer::Step answer(const Transfer::Close&, Time now) {
    taken_.push_back(open_);
    return machine_.accept(now);
  }
  template <class Request>
  Transfer::Step answer(const Request&, Time now) {
    return machine_.accept(now);
  }

  Transfer& machine_;
  Way& out_;
  const std::vector<std::string> files_;
  std::size_t next_ = 0;
  std::size_t position_ = 0;
  std::string open_;
  std::vector<std::string> taken_;
  std::size_t told_ = 0;
};

struct Pair {
  std::unique_ptr<Transfer> sender;
  std::unique_ptr<Transfer> receiver;
};

Pair make_pair(unsigned how) {
  if ((how & 1) != 0) {
    Kermit::Options options;
    options.longest = (how & 4) != 0 ? 94 : 300;
    options.window = (how & 8) != 0 ? 1 : 4;
    options.check = (how & 16) != 0 ? kermit::Check::two : kermit::Check::three;
    options.seven_bits = (how & 32) != 0;
    options.role = Kermit::Role::receive;
    Pair pair{nullptr, std::make_unique<Kermit>(options)};
    options.role = Kermit::Role::send;
    pair.sender = std::make_unique<Kermit>(options);
    return pair;
  }
  const bool batch = (how & 2) != 0;
  return {std::make_unique<XmodemSend>(XmodemSend::Options{batch, (how & 4) != 0}),
          std::make_unique<XmodemReceive>(XmodemReceive::Options{batch})};
}

void run(Pair& pair, End& sender, End& receiver, Way& forth, Way& back) {
  Time now(1h);
  sender.begin(now);
  receiver.begin(now);
  for (std::size_t events = 0; !pair.sender->outcome() || !pair.receiver->outcome(); ++events) {
    require(events < most_events, "it ends");
    std::optional<Time> next;
    for (const auto& time :
         {forth.next(), back.next(), pair.sender->deadline(), pair.receiver->deadline()}) {
      if (time && (!next || *time < *next)) next = time;
    }
    require(next.has_value(), "something is waited for");
    now = std::max(now, *next);
    if (const std::string octets = forth.arrived(now); !octets.empty()) receiver.hear(octets, now);
    if (const std::string octets = back.arrived(now); !octets.empty()) sender.hear(octets, now);
    sender.tick(now);
    receiver.tick(now);
  }
}

}  // namespace

void carry_between(std::string_view input) {
  constexpr std::array<std::size_t, 8> sizes = {0, 1, 128, 129, 300, 700, 1024, 1400};
  Script script(input);
  const unsigned how = script.number();
  const unsigned lengths = script.number();
  const bool kermit = (how & 1) != 0;
  Pair pair = make_pair(how);
  std::vector<std::string> files = {file_of(0, sizes[lengths % 8])};
  if (kermit || (how & 2) != 0) files.push_back(file_of(1, sizes[lengths / 8 % 8]));
  Way forth(script, kermit ? Way::Fates::all : Way::Fates::lost_or_spoilt);
  Way back(script, kermit ? Way::Fates::all : Way::Fates::lost);
  End sender(*pair.sender, forth, files);
  End receiver(*pair.receiver, back, {});
  run(pair, sender, receiver, forth, back);

  require(receiver.taken().size() <= files.size(), "no file is taken twice");
  // Of 256 blocks that were cut and grown together one has the right sum: a receiver that was not
  // heard asking for CRC, and asks for sums, can't do better.
  const bool by_sums = back.gave_up_crc();
  for (std::size_t i = 0; i < receiver.taken().size(); ++i) {
    require(by_sums || receiver.taken()[i] == files[i], "what is taken is what was sent");
  }
  require(sender.told() <= receiver.taken().size(), "what is told as taken was taken");
  require(!pair.sender->outcome()->done || sender.told() == files.size(), "all or not done");
  require(!pair.receiver->outcome()->done || receiver.taken().size() == files.size(),
          "the receiver is done when it has all");
  if (forth.faults() + back.faults() == 0) {
    require(pair.sender->outcome()->done && pair.receiver->outcome()->done,
            "over a good line all goes well");
  }
}

}  // namespace stationer::fuzz
