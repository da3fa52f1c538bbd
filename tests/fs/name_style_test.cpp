#include "fs/name_style.h"

#include <map>
#include <set>
#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "fs/node_name.h"
#include "fs/text.h"
#include "tests/support/test_volume.h"

using namespace stationer::fs;
using stationer::test::TestVolume;

namespace {

const NameStyle& style(std::string_view name) {
  const auto found = find_name_style(name);
  REQUIRE(found);
  return **found;
}

std::string utf_8(char32_t c) {
  // Through the spelling's own reading, whose bytes are checked by hand below.
  char number[16];
  std::snprintf(number, sizeof number, "=%06X=", static_cast<unsigned>(c));
  return unspelled(number);
}

// As in a national set that has letters where ASCII has # @ [ \ ] ^ ` { | } ~ (ISO 646, ECMA-6).
bool in_every_iso_646(char32_t c) {
  return c >= 0x20 && c < 0x7F &&
         std::string_view("#$@[\\]^`{|}~").find(static_cast<char>(c)) == std::string_view::npos;
}

// A folder in memory, with aliases as the store gives them.
struct Shelf {
  std::vector<Named> nodes;

  const Named* find(std::string_view name) const {
    for (const auto& node : nodes) {
      if (fold(node.name) == fold(name) || fold(node.alias) == fold(name)) return &node;
    }
    return nullptr;
  }
  void add(std::uint32_t id, const std::string& name) {
    REQUIRE(check_name(name));
    REQUIRE(find(name) == nullptr);
    const auto taken = [&](std::string_view each) { return find(each) != nullptr; };
    nodes.push_back(
        {NodeId{id}, name, is_short_name(name) ? ascii_upper(name) : short_alias(name, taken)});
  }
  StationNames::Folder folder() const {
    return {[this](const std::string& name) { return find(name) != nullptr; },
            [this] { return nodes; }};
  }
};

Shelf full_shelf() {
  Shelf shelf;
  std::uint32_t id = 70;
  for (const char* name : {"letter.txt",
                           "Letter to the bank.doc",
                           "Letter to the bakery.doc",
                           "caf\u00e9",
                           "caf\u00e8",
                           "\u6c34\u8eca.txt",
                           "\u6c34",
                           "part-2",
                           "hand-in",
                           "a.b.c",
                           ".profile",
                           "a+b",
                           "a+1Y",
                           "A+20",
                           "letter!txt",
                           "a=E9=",
                           "a\u00e9",
                           "a=b",
                           "x=3D=",
                           "wheel__2A",
                           "wheel__2",
                           "with space",
                           "100%",
                           "caf%2B",
                           "longer_than_seven",
                           "longer_than_eight",
                           "{brace}",
                           "~tilde",
                           "\u0436\u0443\u043a",
                           "readme",
                           "HAND!IN",
                           "robin's list",
                           "fourteen_chars"}) {
    shelf.add(id++, name);
  }
  return shelf;
}

std::vector<StationNames> every_station() {
  std::vector<StationNames> out;
  for (const NameStyle& each : name_styles()) {
    for (const bool capitals : {false, true}) {
      out.emplace_back(each, StationNames::Has(), capitals);
      out.emplace_back(
          each, [](char32_t c) { return c >= 0x20 && c < 0x7F; }, capitals);
      out.emplace_back(each, in_every_iso_646, capitals);
    }
  }
  return out;
}

}  // namespace

TEST_CASE("spelling by number: what is written, read by hand") {
  CHECK(unspelled("caf=E9=") == "caf\u00e9");
  CHECK(unspelled("CAF=e9=.TXT") == "CAF\u00e9.TXT");
  CHECK(unspelled("=6C34==8ECA=") == "\u6c34\u8eca");
  CHECK(unspelled("=1F600=") == "\xF0\x9F\x98\x80");
  CHECK(unspelled("=10FFFF=") == "\xF4\x8F\xBF\xBF");
  CHECK(unspelled("=3D=E9=3D=") == "=E9=");
  CHECK(unspelled("==E9=") == "=\u00e9");
  // What is no number of a character stands for itself.
  for (const char* plain : {"", "=", "==", "===", "a=b", "a=b=c", "=E9", "E9=", "=G1=", "=00=",
                            "=D800=", "=110000=", "=0000041=", "x==y", "= E9="}) {
    INFO(plain);
    CHECK(unspelled(plain) == plain);
  }
  CHECK(spelled("caf\u00e9 #1.txt", "-. ") == "caf=E9= =23=1.txt");
  CHECK(spelled("a=b", "-.=") == "a=3D=b");  // the sign itself is never plain
}

TEST_CASE("every character can be spelled: all of ASCII, all planes") {
  const auto round_trip = [](char32_t c) {
    const std::string name = utf_8(c);
    REQUIRE(is_utf8(name));
    for (const std::string& text : {name, "a" + name + "E9=", "=" + name + "=41=" + name}) {
      const std::string typed = spelled(text, "-. ");
      for (const char each : typed) {
        const bool plain = std::isalnum(static_cast<unsigned char>(each)) != 0 ||
                           std::string_view("-. =").find(each) != std::string_view::npos;
        if (!plain) FAIL_CHECK("not on every keyboard: " << each);
      }
      if (unspelled(typed) != text || unspelled(ascii_lower(typed)) != ascii_lower(text)) {
        FAIL_CHECK("character " << static_cast<unsigned>(c));
      }
    }
  };
  for (char32_t c = 1; c < 0x3000; ++c) round_trip(c);
  // A prime step visits every plane, assigned or not, without falling into a pattern.
  for (char32_t c = 0x3000; c <= 0x10FFFF; c += 61) {
    if (c < 0xD800 || c > 0xDFFF) round_trip(c);
  }
  round_trip(0x10FFFF);
}

TEST_CASE("names as each kind of system is shown them") {
  const Named letter{NodeId{300}, "Letter.txt", "LETTER.TXT"};
  const Named bank{NodeId{301}, "Letter to the bank.doc", "LETTER~1.DOC"};
  const Named mill{NodeId{302}, "\u6c34\u8eca", "__~1"};
  const auto shown = [](std::string_view name, const Named& node) {
    return StationNames(style(name)).shown(node);
  };
  CHECK(shown("long", letter) == "Letter.txt");
  CHECK(shown("portable", letter) == "Letter.txt");
  CHECK(shown("dos", letter) == "LETTER.TXT");
  CHECK(shown("micro10", letter) == "Letter!txt");
  CHECK(shown("micro7", letter) == "LETT+8C");
  CHECK(shown("long", bank) == "Letter to the bank.doc");
  CHECK(shown("portable", bank) == "Lettertoth__8D");  // an alias has a ~, which is not portable
  CHECK(shown("dos", bank) == "LETTER~1.DOC");
  CHECK(shown("micro10", bank) == "Lettert+8D");
  CHECK(shown("micro7", bank) == "LETT+8D");
  CHECK(shown("long", mill) == "\u6c34\u8eca");
  CHECK(shown("dos", mill) == "__~1");
  CHECK(shown("micro7", mill) == "+8E");
  // A screen without the character shows the alias; one without the alias's ~, a number.
  const auto ascii = [](char32_t c) { return c >= 0x20 && c < 0x7F; };
  const Named cafe{NodeId{303}, "caf\u00e9.txt", "CAF_~1.TXT"};
  CHECK(StationNames(style("long"), ascii).shown(cafe) == "CAF_~1.TXT");
  CHECK(StationNames(style("long"), in_every_iso_646).shown(cafe) == "caf+8F");
  CHECK(StationNames(style("dos"), in_every_iso_646).shown(cafe) == "CAF%8F");
  CHECK(StationNames(style("long"), {}, true).shown(letter) == "LETTER.TXT");
}

TEST_CASE("names that are shown are taken by the system") {
  const Shelf shelf = full_shelf();
  for (const auto& station : every_station()) {
    const NameStyle& rules = station.style();
    for (const Named& node : shelf.nodes) {
      const std::string shown = station.shown(node);
      INFO(rules.name << ": " << node.name << " shown as " << shown);
      CHECK(!shown.empty());
      CHECK(characters(shown) <= rules.longest);
      if (rules.separator == '.') CHECK(shown.find('.') == std::string::npos);
      if (rules.capitals) CHECK(shown == ascii_upper(shown));
      if (rules.stem != 0) CHECK(is_short_name(shown));
      if (!rules.symbols.empty()) CHECK(is_ascii(shown));
    }
  }
}

TEST_CASE("what is shown is unlike all else in the folder, and means what it is shown for") {
  const Shelf shelf = full_shelf();
  for (const auto& station : every_station()) {
    std::map<std::string, std::string> by_shown;
    for (const Named& node : shelf.nodes) {
      const std::string shown = station.shown(node);
      INFO(station.style().name << ": " << node.name << " shown as " << shown);
      const bool fresh = by_shown.emplace(fold(shown), node.name).second;
      CHECK(fresh);
      for (const std::string& typed : {shown, ascii_upper(shown), ascii_lower(shown)}) {
        const Named* meant = shelf.find(station.meant(typed, shelf.folder()));
        REQUIRE(meant != nullptr);
        CHECK(meant->name == node.name);
      }
    }
  }
}

TEST_CASE("every name can be typed at every keyboard, whatever else is in the folder") {
  const Shelf shelf = full_shelf();
  for (const auto& station : every_station()) {
    for (const Named& node : shelf.nodes) {
      const std::string typed = station.spelled(node.name);
      INFO(station.style().name << ": " << node.name << " spelled " << typed);
      CHECK(station.meant(typed, shelf.folder()) == node.name);
      CHECK(fold(station.meant(ascii_upper(typed), shelf.folder())) == fold(node.name));
    }
    // And names that are not there yet.
    const Shelf empty;
    for (const char* name : {"caf\u00e9", "a=E9=", "letter!txt", "a+b", "x__2"}) {
      CHECK(station.meant(station.spelled(name), empty.folder()) == name);
    }
  }
}

TEST_CASE(
    "a stored name, an alias and any case mean the node, as far as they are not shown for "
    "another") {
  const Shelf shelf = full_shelf();
  const StationNames station(style("micro10"));
  const auto meant = [&](std::string_view typed) { return station.meant(typed, shelf.folder()); };
  CHECK(meant("letter.txt") == "letter.txt");
  CHECK(meant("letter!txt") == "letter.txt");  // as this system sees it
  CHECK(meant("letter=21=txt") == "letter!txt");
  CHECK(fold(meant("READ=4d=E")) == "readme");
  CHECK(meant("LETTER~1.DOC") == "LETTER~1.DOC");  // the store knows aliases
  CHECK(meant("new!bas") == "new.bas");
  CHECK(meant("a+zzz") == "a+zzz");  // a number of nothing: a new name
}

TEST_CASE("a shown name stays while others come and go, and over a restart") {
  TestVolume store;
  const auto robin = store.add("robin");
  const auto at = [](const std::string& name) { return TestVolume::at("/members/robin/" + name); };
  const auto save = [&](const std::string& name) {
    const auto saved = store.save(robin, "/members/robin/" + name, "x");
    if (!saved) FAIL(saved.error().message);
  };
  const auto seen = [&] {
    std::map<std::string, std::set<std::string>> out;
    const auto views = store.files().list(robin, TestVolume::at("/members/robin"));
    REQUIRE(views);
    for (const auto& station : every_station()) {
      for (const auto& view : *views) {
        out[view.name].insert(std::string(station.style().name) + " " +
                              station.shown(Named{view.id, view.name, view.alias}));
      }
    }
    return out;
  };
  for (const char* name : {"tide tables one.txt", "tide tables two.txt", "caf\u00e9", "\u6c34"}) {
    save(name);
  }
  const auto before = seen();
  const auto same_as_before = [&](std::initializer_list<const char*> names) {
    auto now = seen();
    for (const char* name : names) {
      INFO(name);
      CHECK(now[name] == before.at(name));
    }
  };
  // Others take names that would have been the first choice, are renamed, and go.
  TestVolume::done(store.files().move(robin, at("tide tables one.txt"), at("ebb")));
  save("tide tables nine.txt");
  same_as_before({"tide tables two.txt", "caf\u00e9", "\u6c34"});
  TestVolume::done(store.files().remove(robin, at("ebb")));
  TestVolume::done(store.files().remove(robin, at("caf\u00e9")));
  save("tide tables ten.txt");
  save("caf\u00ea");
  same_as_before({"tide tables two.txt", "\u6c34"});
  store.reopen();
  same_as_before({"tide tables two.txt", "\u6c34"});
  // New contents under the same name are the same file.
  const auto replaced = store.save(robin, "/members/robin/tide tables two.txt", "new", true);
  REQUIRE(replaced);
  same_as_before({"tide tables two.txt"});
}

TEST_CASE("styles are found by name, and the table keeps its rules") {
  CHECK(style("DOS").name == "dos");
  const auto none = find_name_style("nine");
  REQUIRE(!none);
  CHECK(none.error().message ==
        "There is no name style \"nine\". There are long, portable, dos, micro10, micro7.");
  for (const NameStyle& each : name_styles()) {
    INFO(each.name);
    CHECK(each.mark.find_first_of("-.=/ ") == std::string_view::npos);
    if (!each.symbols.empty()) {
      CHECK(each.symbols.find(each.mark.front()) != std::string_view::npos);
    }
    // A mark and the highest number of a node leave the name within its bounds.
    CHECK(each.mark.size() + 6 <= (each.stem != 0 ? each.stem : each.longest));
    CHECK(each.symbols.find(each.separator) == std::string_view::npos);
  }
}
