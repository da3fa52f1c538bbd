// The serving process is killed (SIGKILL) at random instants while clients save and print. What was
// acknowledged must be there afterwards, nothing may be there by half, and the check must find
// nothing. Three members write new files at the terminal door, three clients replace the same file
// again and again over the control socket, one of them with contents too large for the commit log,
// and one prints over LPD.
//
//   kill_test PROGRAM [ROUNDS] [SEED]
#include <algorithm>
#include <atomic>
#include <cstdlib>
#include <fstream>
#include <map>
#include <memory>
#include <mutex>
#include <random>
#include <string>
#include <thread>
#include <vector>

#include <fmt/format.h>

#include "fs/volume.h"
#include "print/spool.h"
#include "server/control/base64.h"
#include "server/protocol/jsonrpc.h"
#include "tests/support/plain_client.h"
#include "tests/support/serving.h"
#include "tests/support/temp_folder.h"

using namespace stationer;
using test::PlainClient;

namespace {

constexpr int writers = 3;
constexpr int replacers = 3;
constexpr fs::PasswordCost cheap{1, 8192};

// What a file of this name and number holds: different lengths, every byte told by its place.
std::string content(const std::string& name, int number, std::size_t size) {
  std::string out = fmt::format("{} {} ", name, number);
  while (out.size() < size)
    out += static_cast<char>('a' + (out.size() * 7 + static_cast<std::size_t>(number)) % 26);
  return out;
}

std::size_t replaced_size(int client, int number) {
  // The last one's go the way of large contents, past the log.
  const std::size_t base = client == replacers - 1 ? fs::small_content : 0;
  return base + 40 + static_cast<std::size_t>(number) * 977 % 20'000;
}

// What the clients of one round know.
struct Round {
  std::mutex mutex;
  std::vector<std::pair<std::string, std::string>> saved;  // path and contents, acknowledged
  std::map<std::string, std::string> tried;                // not acknowledged
  std::map<int, int> replaced;                             // per replacer: the last acknowledged
  std::map<int, int> replacing;                            // and the last begun
  int printed = 0;                                         // jobs acknowledged
  int printing = 0;                                        // jobs begun
};

void write_at_terminal(std::uint16_t port, int client, int round, Round& state) {
  const std::string name = fmt::format("member{}", client);
  PlainClient line = PlainClient::tcp(port);
  if (!test::sign_in(line, name, "mill-race-" + name)) return;
  for (int n = 0;; ++n) {
    const std::string file = fmt::format("r{}n{}", round, n);
    const std::string path = "/members/" + name + "/" + file;
    std::string text;
    for (int i = 0; i <= n % 5; ++i)
      text += content(file, i, 60 + static_cast<std::size_t>(n) % 100) + "\n";
    {
      const std::lock_guard lock(state.mutex);
      state.tried[path] = text;
    }
    if (!line.send("write " + file + "\n") || !line.until("ends it.\r\n")) return;
    if (!line.send(text + ".\n") || !line.until(" saved in ")) return;
    {
      const std::lock_guard lock(state.mutex);
      state.tried.erase(path);
      state.saved.emplace_back(path, text);
    }
    if (!line.until("> ")) return;
  }
}

void replace_by_control(const std::string& socket, int client, Round& state) {
  PlainClient line = PlainClient::local(socket);
  if (!line.is_open()) return;
  std::uint64_t id = 0;
  const auto call = [&](const char* method,
                        boost::json::object params) -> std::optional<boost::json::value> {
    ++id;
    if (!line.send(server::jsonrpc_request(id, method, std::move(params)) + "\n"))
      return std::nullopt;
    auto answer = line.until("\n");
    if (!answer) return std::nullopt;
    auto result = server::jsonrpc_result(*answer, id);
    if (!result) {
      fmt::print("{} was refused: {}\n", method, result.error().message);
      return std::nullopt;
    }
    return *result;
  };
  const std::string name = fmt::format("replaced{}", client);
  for (int number = state.replaced[client] + 1;; ++number) {
    {
      const std::lock_guard lock(state.mutex);
      state.replacing[client] = number;
    }
    auto stream = call("file.save", {{"path", "/public/" + name}, {"replace", true}});
    if (!stream) return;
    const std::string bytes = content(name, number, replaced_size(client, number));
    for (std::size_t at = 0; at < bytes.size(); at += 48'000) {
      if (!call("stream.write",
                {{"stream", stream->at("stream")},
                 {"bytes", server::base64(std::string_view(bytes).substr(at, 48'000))}})) {
        return;
      }
    }
    if (!call("stream.finish", {{"stream", stream->at("stream")}})) return;
    const std::lock_guard lock(state.mutex);
    state.replaced[client] = number;
  }
}

void print_by_lpd(std::uint16_t port, Round& state) {
  for (;;) {
    PlainClient line = PlainClient::tcp(port);
    if (!line.is_open()) return;
    {
      const std::lock_guard lock(state.mutex);
      ++state.printing;
    }
    const std::string control = "Hmill\nPmember0\nJnight log\nfdfA001mill\n";
    const std::string data = "All quiet at the sluice.\n";
    const std::string nul(1, '\0');
    const bool taken = line.send("\x02\n") && line.until(nul) &&
                       line.send(fmt::format("\x02{} cfA001mill\n", control.size())) &&
                       line.until(nul) && line.send(control + nul) && line.until(nul) &&
                       line.send(fmt::format("\x03{} dfA001mill\n", data.size())) &&
                       line.until(nul) && line.send(data + nul) && line.until(nul);
    if (!taken) return;
    const std::lock_guard lock(state.mutex);
    ++state.printed;
  }
}

std::optional<std::string> read_all(fs::Volume& volume, const std::string& path) {
  auto content = volume.files().read(fs::keeper_at_the_box(), *fs::Path::parse(path));
  if (!content) return std::nullopt;
  std::string bytes;
  std::string piece(65536, '\0');
  for (;;) {
    auto got = content->read_at(bytes.size(), piece);
    if (!got) return std::nullopt;
    if (*got == 0) return bytes;
    bytes.append(piece, 0, *got);
  }
}

struct Totals {
  long acknowledged = 0;
  long unacknowledged_there = 0;
  long jobs = 0;
  long complaints = 0;
};

void complain(Totals& totals, int round, const std::string& words) {
  ++totals.complaints;
  fmt::print("round {}: {}\n", round, words);
}

// Looks at the volume as the next service would find it, and tidies up for the next round.
void inspect(const std::string& path, int round, Round& state, Totals& totals, int& jobs_before) {
  fs::Surroundings surroundings;
  surroundings.password_cost = cheap;
  auto opened = fs::Volume::open(path, surroundings);
  if (!opened)
    return complain(totals, round, "the volume does not open: " + opened.error().message);
  fs::Volume& volume = **opened;
  const auto report = volume.check();
  if (!report) return complain(totals, round, report.error().message);
  for (const auto& finding : report->findings) {
    complain(totals, round, finding.path + ": " + finding.sentence);
  }
  for (const auto& [name, text] : state.saved) {
    ++totals.acknowledged;
    const auto there = read_all(volume, name);
    if (!there) {
      complain(totals, round, name + " was acknowledged and is lost");
    } else if (*there != text) {
      complain(totals, round, name + " was acknowledged and is something else");
    }
  }
  for (const auto& [name, text] : state.tried) {
    const auto there = read_all(volume, name);
    if (!there) continue;
    ++totals.unacknowledged_there;
    if (*there != text) complain(totals, round, name + " is there by half");
  }
  for (int client = 0; client < replacers; ++client) {
    const std::string name = fmt::format("replaced{}", client);
    const auto there = read_all(volume, "/public/" + name);
    const int acknowledged = state.replaced[client];
    const int begun = state.replacing[client];
    totals.acknowledged += acknowledged > 0;
    bool fits = !there && acknowledged == 0;
    for (int number = std::max(acknowledged, 1); there && number <= begun; ++number) {
      if (*there != content(name, number, replaced_size(client, number))) continue;
      fits = true;
      state.replaced[client] = number;
    }
    if (!fits)
      complain(totals, round,
               fmt::format("{} is neither number {} nor {}", name, acknowledged, begun));
  }
  for (const auto* files : {"/members/member0", "/members/member1", "/members/member2"}) {
    const auto folder = *fs::Path::parse(files);
    const auto views = volume.files().list(fs::keeper_at_the_box(), folder);
    if (!views) continue;
    for (const auto& view : *views) {
      static_cast<void>(volume.files().remove(fs::keeper_at_the_box(), folder / view.name).wait());
    }
  }
  static_cast<void>(volume.files().empty_bin(fs::keeper_at_the_box(), true).wait());

  // Every acknowledged job is a printout now, or still waits in the spool, exactly once.
  auto queues = print::read_queues(volume.settings_text());
  auto spool = print::Spool::open(
      volume, *queues, print::render_in_place(*queues, std::move(*print::Fonts::load())));
  if (!spool) return complain(totals, round, spool.error().message);
  for (;;) {
    auto printed = (*spool)->print_next();
    if (!printed) complain(totals, round, printed.error().message);
    if (!printed || !*printed) break;
  }
  const auto printouts = volume.desk().printouts(fs::keeper_at_the_box(), true);
  const int jobs = static_cast<int>(printouts.size() + (*spool)->jobs().size());
  totals.jobs += state.printed;
  if (jobs < jobs_before + state.printed || jobs > jobs_before + state.printing) {
    complain(totals, round,
             fmt::format("{} jobs were acknowledged of {} begun, {} are there", state.printed,
                         state.printing, jobs - jobs_before));
  }
  for (std::size_t i = 5; i < printouts.size(); ++i) {
    static_cast<void>(
        volume.desk().discard_printout(fs::keeper_at_the_box(), printouts[i].job).wait());
  }
  jobs_before =
      static_cast<int>(std::min<std::size_t>(printouts.size(), 5) + (*spool)->jobs().size());
}

void wait_for_a_save(Round& state) {
  const auto deadline = std::chrono::steady_clock::now() + std::chrono::seconds(10);
  while (std::chrono::steady_clock::now() < deadline) {
    {
      const std::lock_guard lock(state.mutex);
      if (!state.saved.empty()) return;
    }
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) return 2;
  const std::string program = argv[1];
  const int rounds = argc > 2 ? std::atoi(argv[2]) : 500;
  const auto seed = argc > 3 ? static_cast<unsigned>(std::atoi(argv[3])) : std::random_device()();
  fmt::print("{} rounds, seed {}\n", rounds, seed);
  std::mt19937 random(seed);
  test::TempFolder folder;
  const std::string path = folder / "volume";
  {
    fs::Surroundings surroundings;
    surroundings.password_cost = cheap;
    auto volume = fs::Volume::create(path, "Kill test", surroundings,
                                     "[door.terminal]\naddress = \"loopback\"\nport = 0\n"
                                     "[door.lpd]\naddress = \"loopback\"\nport = 0\n"
                                     "[door.raw]\nopen = false\n[door.ftp]\nopen = false\n");
    if (!volume) {
      fmt::print("{}\n", volume.error().message);
      return 1;
    }
    for (int i = 0; i < writers; ++i) {
      const std::string name = fmt::format("member{}", i);
      static_cast<void>((*volume)
                            ->people()
                            .add_account(fs::keeper_at_the_box(),
                                         {name, "", fs::Role::member, "", "mill-race-" + name})
                            .wait());
    }
  }
  Totals totals;
  int jobs_before = 0;
  std::map<int, int> replaced;
  for (int round = 1; round <= rounds && totals.complaints < 20; ++round) {
    Round state;
    state.replaced = state.replacing = replaced;
    {
      test::Serving service(program, path);
      if (!service.is_ready()) {
        complain(totals, round, "the service does not start");
        break;
      }
      std::vector<std::thread> clients;
      for (int i = 0; i < writers; ++i) {
        clients.emplace_back(
            [&, i] { write_at_terminal(service.port("terminal"), i, round, state); });
      }
      for (int i = 0; i < replacers; ++i) {
        clients.emplace_back([&, i] { replace_by_control(path + "/control", i, state); });
      }
      clients.emplace_back([&] { print_by_lpd(service.port("lpd"), state); });
      // Every third time while they still sign in, else at work.
      if (round % 3 != 0) wait_for_a_save(state);
      std::this_thread::sleep_for(std::chrono::microseconds(random() % 300'000));
      service.kill();
      for (auto& each : clients) each.join();
    }
    inspect(path, round, state, totals, jobs_before);
    replaced = state.replaced;
    if (round % 50 == 0) {
      fmt::print("{} kills: {} acknowledged saves and {} jobs all there\n", round,
                 totals.acknowledged, totals.jobs);
      std::fflush(stdout);
    }
  }
  fmt::print(
      "{} acknowledged saves, {} acknowledged jobs, {} saves whose acknowledgement never came but "
      "which are there whole; {} complaints\n",
      totals.acknowledged, totals.jobs, totals.unacknowledged_there, totals.complaints);
  return totals.complaints == 0 && totals.acknowledged > rounds ? 0 : 1;
}
