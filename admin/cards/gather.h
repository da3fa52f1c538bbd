// What a volume tells for its cards, by its control methods.
#pragma once

#include <string>
#include <vector>

#include "admin/cards/card.h"
#include "admin/channel.h"
#include "fs/result.h"

namespace stationer::admin {

fs::Result<CardFacts> gather_card_facts(Channel& channel);

// The kinds of machines for which there is a way in: an open door, a serial line.
std::vector<CardKind> kinds_with_a_way(const CardFacts& facts);

// The sheets that the volume's own queue prints on, of those that cards can be on: "a4", "letter".
std::string sheet_of(Channel& channel);

}  // namespace stationer::admin
