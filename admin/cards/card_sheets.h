// Cards on paper: two on a sheet, to be cut apart and put beside the machines.
#pragma once

#include <string_view>
#include <vector>

#include "admin/cards/card.h"
#include "fs/result.h"
#include "print/bytes.h"
#include "print/font_subset.h"
#include "print/metadata.h"
#include "print/paper.h"

namespace stationer::admin {

// A card that is longer than half a sheet goes on in the next half. Equal cards give equal bytes.
fs::Status draw_cards(const std::vector<Card>& cards, std::string_view room,
                      const print::Fonts& fonts, const print::Paper& paper,
                      const print::Metadata& about, print::ByteSink sink);

}  // namespace stationer::admin
