#include "fs/name_table.h"

#include <map>
#include <random>
#include <string>
#include <vector>

#include <catch2/catch.hpp>

using namespace stationer::fs;

namespace {

constexpr NodeId folder{7};

struct Named {
  std::string name;
  std::string alias;
  std::uint32_t load_address = 0;
  std::uint32_t key = 0;

  Label label(NodeId id) const { return {id, folder, name, alias, load_address, 0}; }
};

}  // namespace

TEST_CASE("names of every length are found in any case, and only in their folder") {
  NameTable table(1);
  std::vector<Named> all;
  for (std::uint32_t i = 0; i <= 255; ++i) {
    Named each{std::string(i, 'a'), i % 2 == 0 ? "" : "A~" + std::to_string(i), i % 3, 0};
    if (i > 9) each.name.replace(i / 2, 1, "Z");
    each.key = table.add(each.label(NodeId{1 + i}));
    all.push_back(each);
  }
  for (std::uint32_t i = 0; i <= 255; ++i) {
    const Named& each = all[i];
    std::string shouted = each.name;
    for (char& c : shouted) c = c == 'Z' ? 'z' : 'A';
    INFO("length " << i);
    CHECK(table.find(folder, shouted) == NodeId{1 + i});
    CHECK_FALSE(table.find(NodeId{8}, each.name));
    CHECK(table.get(each.key, NodeId{1 + i}) == each.label(NodeId{1 + i}));
    if (!each.alias.empty()) CHECK(table.find(folder, each.alias) == NodeId{1 + i});
    if (!each.alias.empty()) CHECK_FALSE(table.find(NodeId{8}, each.alias));
  }
  CHECK_FALSE(table.find(folder, std::string(9, 'b')));
}

TEST_CASE("names that are alike to ASCII or to Unicode only are told apart") {
  NameTable table(1);
  table.add({NodeId{1}, folder, "[bracket]", ""});
  table.add({NodeId{2}, folder, "\u00c9l\u00e8ve", ""});
  CHECK_FALSE(table.find(folder, "{bracket}"));
  CHECK(table.find(folder, "\u00e9l\u00c8VE") == NodeId{2});
  CHECK_FALSE(table.find(folder, "eleve"));
}

// Long names fill buckets badly, so that many lie far from their own.
TEST_CASE("a table agrees with a plain model however it fills and empties") {
  const auto seed = static_cast<std::uint32_t>(GENERATE(1, 2, 3));
  INFO("seed " << seed);
  std::mt19937 random(seed);
  const std::size_t longest = seed == 1 ? 20 : 255;
  NameTable table(seed);
  std::map<std::uint32_t, Named> model;
  std::vector<std::string> gone;
  const auto fresh = [&](std::uint32_t id) {
    Named each;
    each.name = std::to_string(id) + std::string(random() % (longest - 6), 'n');
    if (random() % 2 == 0) each.alias = "N~" + std::to_string(id);
    each.load_address = random() % 4 == 0 ? id : 0;
    return each;
  };
  std::uint32_t next = 1;
  for (; next <= 500; ++next) {
    Named each = fresh(next);
    each.key = table.load(each.label(NodeId{next}));
    model[next] = each;
  }
  table.build();
  for (int step = 0; step < 6000; ++step) {
    // It grows, shrinks to nearly nothing, and grows again.
    const bool growing = step / 2000 % 2 == 0;
    if (random() % 8 < (growing ? 6u : 1u) || model.empty()) {
      Named each = fresh(next);
      each.key = table.add(each.label(NodeId{next}));
      model[next++] = each;
    } else {
      const auto which = std::next(model.begin(), static_cast<long>(random() % model.size()));
      table.remove(which->second.key, NodeId{which->first});
      gone.push_back(which->second.name);
      if (!which->second.alias.empty()) gone.push_back(which->second.alias);
      model.erase(which);
    }
    if (step % 1000 != 999) continue;
    for (const auto& [id, each] : model) {
      CHECK(table.find(folder, each.name) == NodeId{id});
      CHECK(table.get(each.key, NodeId{id}) == each.label(NodeId{id}));
      if (!each.alias.empty()) CHECK(table.find(folder, each.alias) == NodeId{id});
    }
    for (const auto& name : gone) CHECK_FALSE(table.find(folder, name));
  }
}
