// The members of a room at Tidewrack Mill at a terminal, for tests of commands as dialogues.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "tests/support/test_room.h"

namespace stationer::test {

inline constexpr const char* mill_queues =
    "[print]\nqueue = \"paper\"\n[queue.paper]\nmost_pages = 2\n[queue.mine]\npolicy = \"owner\"\n"
    "[queue.essays]\npolicy = \"leader\"\n[queue.scarce]\npages_per_day = 1\n";

// Robin and wren of the class of tuesday, sorrel its leader, teasel of no class, bram the manager.
// Robin sits at a terminal.
struct Mill : TestRoom {
  fs::Caller robin;
  std::optional<Visit> visit;

  explicit Mill(const server::Terminal::Setup& setup = {}, const std::string& name = "robin",
                const std::string& more_settings = "")
      : TestRoom(mill_queues + more_settings) {
    TestVolume::done(store.people().add_class(store.keeper, "tuesday"));
    robin = store.add("robin", fs::Role::member, "tuesday");
    store.add("wren", fs::Role::member, "tuesday");
    store.add("sorrel", fs::Role::leader, "tuesday");
    store.add("teasel");
    store.add("bram", fs::Role::manager);
    sit(name, setup);
  }

  void sit(const std::string& name, const server::Terminal::Setup& setup = {}) {
    visit.reset();
    visit.emplace(*this, setup);
    visit->sign_in(name);
  }
  std::string answer(std::string_view line) { return visit->answer(line); }
  std::string types(std::string_view bytes) { return visit->types(bytes); }

  void save(const std::string& path, std::string_view bytes, const std::string& who = "robin") {
    auto saved = store.save(store.caller(who), path, bytes, true);
    if (!saved) FAIL(saved.error().message);
  }
  std::string read(const std::string& path) {
    auto bytes = store.read(store.keeper, path);
    return bytes ? *bytes : "(" + bytes.error().message + ")";
  }
  void set_access(const std::string& path, const std::string& changes) {
    TestVolume::done(store.files().set_access(store.keeper, TestVolume::at(path), changes));
  }
  void limit(std::uint64_t soft_bytes, std::uint64_t hard_bytes, std::uint64_t hard_files = 0) {
    fs::AccountChange change;
    change.quota = fs::Quota{soft_bytes, hard_bytes, 0, hard_files};
    TestVolume::done(store.people().change_account(store.keeper, "robin", change));
  }
};

inline server::Terminal::Setup screen_of(int columns, int rows = 24) {
  server::Terminal::Setup setup;
  setup.screen.columns = columns;
  setup.rows = rows;
  return setup;
}

}  // namespace stationer::test
