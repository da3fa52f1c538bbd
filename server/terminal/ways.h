// The ways files can be carried, by the names that fetch and save know them by.
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <string_view>

#include "server/protocol/text_out.h"
#include "server/protocol/transfer.h"
#include "server/terminal/cargo.h"
#include "server/terminal/terminal.h"

namespace stationer::server {

struct Way {
  std::string_view name;
  std::string_view about;  // for help
  std::string_view how_to_stop;
  bool many;      // several files at once, each with its name
  bool any_line;  // also over lines that lose bit 8
  std::unique_ptr<Transfer> (*send)(bool seven_bits);
  std::unique_ptr<Transfer> (*receive)(bool seven_bits);
};

std::span<const Way> ways();

// In any case. Null when there is none.
const Way* find_way(std::string_view name);

// The way meant for a line: the named one, or a usual one for so many files. Refuses what the line
// can't do, in a sentence.
fs::Result<const Way*> way_for(const Way* named, bool many, const Terminal& terminal);

// How lines of text end on the line: in the station's way, but Kermit has one of its own.
LineEnding line_ending_of(const Way& way, const Screen& screen);

// What came of each file, and why it ended before its time.
void say_outcome(Terminal& terminal, const Transfer::Outcome& outcome, const Cargo& cargo);

}  // namespace stationer::server
