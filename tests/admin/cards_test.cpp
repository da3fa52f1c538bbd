// Cards: what they say, of what the doors are like. tests/e2e/cards does what they say to type.
#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "admin/cards/card.h"
#include "admin/cards/card_sheets.h"
#include "print/pdf_text.h"

using namespace stationer;
using namespace stationer::admin;

namespace {

CardFacts facts() {
  CardFacts out;
  out.room = "Tidewrack Mill";
  for (const auto& [name, port] : {std::pair("terminal", 8023),
                                   {"lpd", 8515},
                                   {"raw", 9100},
                                   {"tftp", 8069},
                                   {"ftp", 8021},
                                   {"http", 8080}}) {
    CardDoor door;
    door.name = name;
    door.open = true;
    door.reach = "private";
    door.addresses = {"10.0.0.5"};
    door.port = static_cast<std::uint64_t>(port);
    door.guests = true;
    door.queue = "paper";
    door.folder = "/programs";
    out.doors.push_back(door);
  }
  out.program = "tides.bas";
  return out;
}

CardLine bench() {
  CardLine line;
  line.name = "bench";
  line.device = "/dev/ttyUSB0";
  line.speed = 9600;
  line.bits = 7;
  line.parity = "even";
  line.stop_bits = 1;
  line.flow = "xon-xoff";
  line.guests = true;
  return line;
}

std::string text(std::string_view kind, const CardFacts& about, int columns = 80) {
  return card_text({card_for(find_card_kind(kind).value(), about)}, about.room, columns);
}

std::string typed(std::string_view kind, const CardFacts& about) {
  std::string out;
  for (const CardStep& step : card_for(find_card_kind(kind).value(), about).steps) {
    for (const std::string& each : step.typed) out += each + '\n';
  }
  return out;
}

std::string notes(std::string_view kind, const CardFacts& about) {
  std::string out;
  for (const std::string& each : card_for(find_card_kind(kind).value(), about).notes) {
    out += each + '\n';
  }
  return out;
}

bool has(const std::string& whole, std::string_view part) {
  return whole.find(part) != std::string::npos;
}

}  // namespace

TEST_CASE("a card tells what to type, to the letter") {
  CHECK(typed("telnet", facts()) == "telnet 10.0.0.5 8023\nguest\nhelp\nlist /programs\nbye\n");
  CHECK(typed("TFTP", facts()) == "tftp 10.0.0.5 8069\nbinary\nget tides.bas\nquit\n");
  CHECK(typed("ftp", facts()) ==
        "ftp 10.0.0.5 8021\nanonymous\nbinary\ncd /programs\nget tides.bas\ndir\nquit\n");
  CHECK(typed("lpd", facts()) ==
        "rlpr -N --printhost=10.0.0.5 --port=8515 --printer=paper --user=NAME FILE\n");
  CHECK(typed("raw", facts()) == "nc -N 10.0.0.5 9100 <FILE\n");
  CHECK(typed("http", facts()) == "http://10.0.0.5:8080/\n");
}

TEST_CASE("where guests may not come in, no card sends them there") {
  CardFacts about = facts();
  for (CardDoor& door : about.doors) door.guests = false;
  CHECK(typed("telnet", about) == "telnet 10.0.0.5 8023\nhelp\nlist /programs\nbye\n");
  CHECK_FALSE(has(typed("ftp", about), "anonymous"));
  about.doors[0].sign_on = "visitor";
  CHECK(has(text("telnet", about), "You are signed on as visitor."));
}

TEST_CASE("a card of a door that is shut says how to open it, and nothing to type") {
  CardFacts about = facts();
  about.doors[1].open = false;
  CHECK(typed("lpd", about).empty());
  CHECK(has(notes("lpd", about), "Write open = true below [door.lpd]"));
}

TEST_CASE("a card says when an address or a port is not yet known, or there are several") {
  CardFacts about = facts();
  about.doors[0].port = 0;
  CHECK(typed("telnet", about).starts_with("telnet 10.0.0.5 PORT\n"));
  CHECK(has(notes("telnet", about), "The port is a free one"));
  about.doors[0].addresses = {"10.0.0.5", "192.168.1.1", "172.16.0.1"};
  CHECK(has(notes("telnet", about), "may be 192.168.1.1 or 172.16.0.1."));
  about.doors[0].addresses = {"127.0.0.1"};
  CHECK(has(notes("telnet", about), "has no address on a network yet"));
  about.doors[0].reach = "loopback";
  CHECK(has(notes("telnet", about), "write address = \"private\" below [door.terminal]"));
}

TEST_CASE("usual ports are told where a door has another") {
  CardFacts about = facts();
  CHECK(has(notes("telnet", about), "write port = 23 below [door.terminal]"));
  about.doors[0].port = 23;
  CHECK_FALSE(has(notes("telnet", about), "write port"));
}

TEST_CASE("a serial terminal's card tells of the line, the wires and what can be hurt") {
  CardFacts about = facts();
  CHECK(has(typed("serial-40", about), "[serial.bench]\ndevice = \"/dev/ttyUSB0\"\n"));
  about.lines = {bench()};
  const std::string card = text("serial-40", about);
  CHECK(has(card, "/dev/ttyUSB0"));
  CHECK(has(card, "9600 bit/s, 7 bits, even parity, 1 stop bit, handshake xon-xoff"));
  CHECK(has(card, "2-3, 3-2, 5-5"));
  CHECK(has(card, "joins the earths"));
  CHECK(has(card, "15 volts"));
  CHECK(typed("serial-40", about) == "guest\nscreen 40\nhelp\nlist /programs\nbye\n");
  CHECK(typed("serial-20", about) == "guest\nscreen 20\nhelp\nlist /programs\nbye\n");
  CHECK(typed("serial-80", about) == "guest\nhelp\nlist /programs\nbye\n");
  about.lines[0].columns = 40;  // the settings say it already
  CHECK(typed("serial-40", about) == "guest\nhelp\nlist /programs\nbye\n");
}

TEST_CASE("cards fit any screen, but for what is typed, which is never broken") {
  CardFacts about = facts();
  about.lines = {bench()};
  for (const CardKind& kind : card_kinds()) {
    const Card card = card_for(kind, about);
    for (const int columns : {1, 40, 80, 10'000}) {
      const std::string whole = card_text({card}, about.room, columns);
      std::size_t start = 0;
      while (start < whole.size()) {
        const auto end = whole.find('\n', start);
        const std::string line = whole.substr(start, end - start);
        INFO(line);
        CHECK_FALSE(line.ends_with(' '));
        if (!line.starts_with("      ") && !line.starts_with("Tidewrack")) {
          CHECK(line.size() <= std::max<std::size_t>(40, std::min(columns, 78)));
        }
        start = end + 1;
      }
      for (const CardStep& step : card.steps) {
        for (const std::string& each : step.typed) CHECK(has(whole, "      " + each + '\n'));
      }
    }
  }
}

TEST_CASE("on paper there are two cards to a sheet, with all that they say") {
  CardFacts about = facts();
  about.lines = {bench()};
  std::vector<Card> cards;
  for (const CardKind& kind : card_kinds()) cards.push_back(card_for(kind, about));
  const auto fonts = print::Fonts::load();
  REQUIRE(fonts);
  for (const char* paper : {"a4", "letter"}) {
    std::string pdf;
    print::Metadata metadata;
    metadata.title = "Cards";
    REQUIRE(draw_cards(cards, about.room, *fonts, print::find_paper(paper).value(), metadata,
                       [&](std::string_view bytes) {
                         pdf += bytes;
                         return fs::Status();
                       }));
    std::vector<std::string> pages;
    REQUIRE(print::each_page_text(
        [&]() -> fs::Result<fs::Content> {
          return fs::Content(std::make_shared<const std::string>(pdf));
        },
        [&](std::string_view page) -> fs::Status {
          pages.emplace_back(page);
          return {};
        }));
    CHECK(pages.size() == (cards.size() + 1) / 2);
    for (std::size_t i = 0; i < cards.size() && i / 2 < pages.size(); ++i) {
      INFO(cards[i].title);
      CHECK(has(pages[i / 2], cards[i].title));
      for (const CardStep& step : cards[i].steps) {
        for (const std::string& each : step.typed) CHECK(has(pages[i / 2], each));
      }
    }
  }
}
