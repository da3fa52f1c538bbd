// What it costs to keep a long past: 100,000 former contents and as many receipts. The minute's
// look whether something is kept long enough, beside a look at all of it, and how long that keeps
// everybody else waiting; and forgetting a node's receipts, beside going through all of them.
//
//   history_bench [FOLDER] [HOW MANY]
//
// FOLDER is on the disk to be measured; the default is here.
#include <chrono>
#include <cstdio>
#include <filesystem>
#include <functional>
#include <stdexcept>
#include <string>

#include "fs/catalog.h"
#include "fs/engine.h"
#include "fs/files.h"
#include "fs/hand_ins.h"
#include "fs/history.h"

using namespace stationer::fs;

namespace {

constexpr std::uint32_t first_node = 100;
constexpr std::uint32_t versions_each = 10;
constexpr std::uint32_t in_a_change = 5000;

template <class T>
T must(Result<T> result) {
  if (!result) throw std::runtime_error(result.error().message);
  return std::move(*result);
}
void must(const Status& status) {
  if (!status) throw std::runtime_error(status.error().message);
}

double milliseconds_of(const std::function<void()>& work, int times = 1) {
  const auto start = std::chrono::steady_clock::now();
  for (int i = 0; i < times; ++i) work();
  const std::chrono::duration<double, std::milli> took = std::chrono::steady_clock::now() - start;
  return took.count() / times;
}

// Rows only: nothing here looks at contents.
void fill(Engine& engine, std::uint32_t many) {
  for (std::uint32_t at = 0; at < many; at += in_a_change) {
    must(engine
             .change([&](Transaction& change) -> Status {
               for (std::uint32_t i = at; i < std::min(at + in_a_change, many); ++i) {
                 const NodeId node{first_node + i / versions_each};
                 if (i % versions_each == 0) {
                   Node file;
                   file.id = node;
                   file.parent = files_root;
                   file.name = "file" + std::to_string(number(node));
                   file.content = ContentId{many + i + 1};
                   file.owner = AccountId{1 + i % 97};
                   change.put(std::move(file));
                 }
                 Version version;
                 version.content = ContentId{i + 1};
                 version.node = node;
                 version.name = "file";
                 version.size = 1000;
                 version.replaced = change.now() - std::chrono::minutes(i % 100'000);
                 change.put(std::move(version));
                 Receipt receipt;
                 receipt.number = i + 1;
                 receipt.account = AccountId{1 + i % 97};
                 receipt.folder = files_root;
                 receipt.node = node;
                 change.put(std::move(receipt));
               }
               return {};
             })
             .wait());
  }
}

void compare(Engine& engine, Files& files, std::uint32_t many) {
  History history(engine, files, {});
  must(engine.drain());
  const double all = milliseconds_of([&] { static_cast<void>(must(history.thin())); }, 5);
  static_cast<void>(must(history.thin_when_due()));
  const double due =
      milliseconds_of([&] { static_cast<void>(must(history.thin_when_due())); }, 500);
  std::printf("a look at all the past      %10.3f ms\nthe same, every minute      %10.3f ms\n", all,
              due);

  constexpr std::uint32_t going = 200;
  std::size_t seen = 0;
  const double scan = milliseconds_of(
      [&] {
        seen += engine.read([](const State& state) {
          std::size_t found = 0;
          for (const auto& [number, receipt] : state.receipts) {
            if (receipt.node == NodeId{first_node} || receipt.folder == NodeId{first_node}) ++found;
          }
          return found;
        });
      },
      20);
  const double forget = milliseconds_of([&] {
    must(engine
             .change([&](Transaction& change) -> Status {
               for (std::uint32_t i = 0; i < going; ++i) {
                 forget_hand_ins(change, NodeId{first_node + many / versions_each - 1 - i});
               }
               return {};
             })
             .wait());
  });
  if (seen == 0) throw std::runtime_error("The receipts are not there.");
  std::printf(
      "forgetting %u files' receipts %8.3f ms\nonly going through all of them, %u times "
      "%.1f ms\n",
      going, forget, going, scan * going);
}

}  // namespace

int main(int argc, char** argv) {
  const std::filesystem::path place =
      std::filesystem::path(argc > 1 ? argv[1] : ".") / "history-bench";
  const auto many = static_cast<std::uint32_t>(argc > 2 ? std::stoul(argv[2]) : 100'000);
  std::filesystem::remove_all(place);
  std::filesystem::create_directories(place);
  try {
    Engine::Parts parts;
    parts.files = must(open_host_files(place.string()));
    parts.catalog = must(Catalog::create((place / "catalog.db").string()));
    const Time now(std::chrono::milliseconds(1'800'000'000'000));
    parts.clock = [now] { return now; };
    Node root;
    root.folder = true;
    root.id = files_root;
    const Change top = put(root);
    root.id = bin_root;
    const Change bin = put(root);
    const Change* both[] = {&top, &bin};
    must(parts.catalog->apply(both, 0));
    auto engine = must(Engine::open(std::move(parts)));
    Files files(*engine, default_grace);
    fill(*engine, many);
    compare(*engine, files, many);
  } catch (const std::exception& why) {
    std::printf("%s\n", why.what());
    return 1;
  }
  std::filesystem::remove_all(place);
  return 0;
}
