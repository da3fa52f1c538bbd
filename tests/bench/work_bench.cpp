// A full room at work: everybody lists, writes, reads, removes and walks about, at a member's pace
// and as fast as they are answered, while one more station asks for ever more and takes none of it.
// How long the others wait for their answers, and what a session costs in memory.
//
//   work_bench PROGRAM [SESSIONS [SECONDS]]
#include <algorithm>
#include <array>
#include <chrono>
#include <cstdlib>
#include <random>

#include <poll.h>

#include "tests/bench/full_room.h"

using namespace stationer;
using test::PlainClient;

namespace {

using Clock = std::chrono::steady_clock;
using Milliseconds = std::chrono::duration<double, std::milli>;

// The service takes its time for the first sign-in of each account, so several share one.
constexpr int accounts = 50;

// One turn of a session's work, over and over.
std::array<std::string, 9> work_of(std::size_t session) {
  const std::string note = fmt::format("note{}.txt", session);
  return {
      "list\n",
      "write " + note + "\nHigh water at the weir: 3:15\nLow water: 9:40\nThe lamp is lit.\n.\n",
      "show " + note + "\n",
      "space\n",
      "list\n",
      "go /programs\n",
      "list\n",
      "go\n",
      "remove " + note + "\n"};
}

struct Member {
  int fd;
  std::array<std::string, 9> work;
  std::size_t next = 0;     // piece of it
  Clock::time_point due{};  // when it is asked for
  Clock::time_point asked_at{};
  bool waits = false;
  std::string tail = {};  // of what was heard
};

struct Answers {
  std::vector<double> took;  // ms, sorted
  double seconds = 0;
  double part(double share) const {
    return took[static_cast<std::size_t>(share * static_cast<double>(took.size() - 1))];
  }
};

class Working {
 public:
  Working(const std::vector<PlainClient>& members, std::chrono::milliseconds pause)
      : pause_(pause) {
    for (const PlainClient& member : members) {
      members_.push_back({member.fd(), work_of(members_.size())});
      asks_.push_back({member.fd(), POLLIN, 0});
    }
  }

  Answers go_on(std::chrono::seconds how_long) {
    const auto start = Clock::now();
    const auto end = start + how_long;
    for (Member& member : members_) member.due = start + a_pause();
    // Whoever waits is still answered at the end.
    for (auto now = start; now < end || waiting_ > 0; now = Clock::now()) {
      if (now < end) ask(now);
      hear();
    }
    Answers out;
    out.seconds = std::chrono::duration<double>(Clock::now() - start).count();
    out.took = std::move(took_);
    std::sort(out.took.begin(), out.took.end());
    return out;
  }

 private:
  std::chrono::milliseconds a_pause() {
    const auto most = 2 * pause_.count() + 1;
    return std::chrono::milliseconds(static_cast<std::int64_t>(random_()) % most);
  }

  void ask(Clock::time_point now) {
    for (Member& member : members_) {
      if (member.waits || member.due > now) continue;
      const std::string_view words = member.work[member.next++ % member.work.size()];
      if (::send(member.fd, words.data(), words.size(), MSG_NOSIGNAL) < 0) std::exit(1);
      member.asked_at = Clock::now();
      member.waits = true;
      ++waiting_;
    }
  }

  void hear() {
    ::poll(asks_.data(), asks_.size(), 1);
    for (std::size_t i = 0; i < asks_.size(); ++i) {
      if (asks_[i].revents != 0) hear(members_[i]);
    }
  }

  void hear(Member& member) {
    char piece[16384];
    const ssize_t got = ::recv(member.fd, piece, sizeof piece, MSG_DONTWAIT);
    if (got <= 0) {
      std::fputs("The service hung up.\n", stderr);
      std::exit(1);
    }
    member.tail.append(piece, static_cast<std::size_t>(got));
    member.tail.erase(0, member.tail.size() - std::min<std::size_t>(member.tail.size(), 2));
    if (!member.waits || member.tail != "> ") return;
    took_.push_back(Milliseconds(Clock::now() - member.asked_at).count());
    member.waits = false;
    member.due = Clock::now() + a_pause();
    --waiting_;
  }

  const std::chrono::milliseconds pause_;
  std::mt19937 random_{1};
  std::vector<Member> members_;
  std::vector<pollfd> asks_;
  std::vector<double> took_;
  std::size_t waiting_ = 0;
};

// Asks until nobody takes it any more, and hears nothing.
void get_stuck(const PlainClient& member) {
  const std::string words = "help\nlist /programs\n";
  for (int refused = 0; refused < 20;) {
    if (::send(member.fd(), words.data(), words.size(), MSG_NOSIGNAL | MSG_DONTWAIT) > 0) {
      refused = 0;
    } else {
      ++refused;
      ::poll(nullptr, 0, 10);
    }
  }
}

void print_row(const char* pace, const Answers& answers) {
  fmt::print("{:<22} {:>10.0f} {:>8.2f} {:>8.2f} {:>8.2f}\n", pace,
             static_cast<double>(answers.took.size()) / answers.seconds, answers.part(0.5),
             answers.part(0.99), answers.part(1));
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) return 2;
  const int sessions = argc > 2 ? std::atoi(argv[2]) : 1000;
  const std::chrono::seconds how_long(argc > 3 ? std::atoi(argv[3]) : 15);
  bench::FullRoom room(argv[1], accounts);
  if (!room.is_open()) return 1;
  const double empty = room.mib();
  std::vector<PlainClient> stuck;
  std::vector<PlainClient> members;
  for (int i = 0; i < sessions; ++i) {
    if (!room.sit_down(i % accounts, members)) return 1;
  }
  fmt::print("{} sessions             answers/s   median      99%  slowest (ms)\n", sessions);
  print_row("one a second each", Working(members, std::chrono::seconds(1)).go_on(how_long));
  if (!room.sit_down(0, stuck)) return 1;
  get_stuck(stuck.front());
  print_row("and one is stuck", Working(members, std::chrono::seconds(1)).go_on(how_long));
  const double full = room.mib();
  print_row("as fast as answered", Working(members, std::chrono::milliseconds(0)).go_on(how_long));
  fmt::print("memory: {:.1f} MiB, empty {:.1f}; a session {:.1f} KiB; {:.1f} MiB at full speed\n",
             full, empty, (full - empty) * 1024 / (sessions + 1), room.mib());
  return 0;
}
