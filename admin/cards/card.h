// Cards for kinds of machines: how to connect one, with the exact things to type. Made of how the
// doors and lines of a volume are set up; nothing here asks for that.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fs/result.h"

namespace stationer::admin {

// A door as door.list tells of it.
struct CardDoor {
  std::string name;
  bool open = false;
  std::string reach;                   // "loopback", "private", or an address
  std::vector<std::string> addresses;  // one at least
  std::uint64_t port = 0;              // 0: chosen when the service starts
  bool guests = false;
  bool needs_tls = false;
  std::string sign_on, queue, folder;
  std::uint64_t columns = 80;
};

// A line as line.list tells of it.
struct CardLine {
  std::string name, device, parity, flow, sign_on;
  std::uint64_t speed = 0;
  std::uint64_t bits = 0;
  std::uint64_t stop_bits = 0;
  std::uint64_t columns = 80;
  bool guests = false;
};

struct CardFacts {
  std::string room;
  std::vector<CardDoor> doors;
  std::vector<CardLine> lines;
  std::string program;  // a file that everybody may load, by its name in the tftp door's folder
};

struct CardSetting {
  std::string name;
  std::string value;
};

// What to do, and what to type for it, a line each: as it is, with nothing left out.
struct CardStep {
  std::string words;
  std::vector<std::string> typed;
};

struct Card {
  std::string kind;
  std::string title;
  std::vector<CardSetting> settings;
  std::vector<CardStep> steps;
  std::vector<std::string> notes;
  std::vector<std::string> cautions;
};

// A kind of machine, and the door by which it comes.
struct CardKind {
  std::string_view name;
  std::string_view title;
  std::string_view door;  // empty: a serial line
  int columns = 0;        // of a serial terminal
};

std::span<const CardKind> card_kinds();
// In any case; Code::not_found with those there are.
fs::Result<CardKind> find_card_kind(std::string_view name);

Card card_for(const CardKind& kind, const CardFacts& facts);

// The cards of some kinds as text; what is to be typed stands alone on its line, after six blanks.
std::string card_text(const std::vector<Card>& cards, std::string_view room, int columns);

}  // namespace stationer::admin
