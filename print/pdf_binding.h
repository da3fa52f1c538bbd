// Several printouts as one PDF, with an outline: still PDF/A-2u, and searchable as they are.
#pragma once

#include <cstddef>
#include <span>
#include <string>

#include "fs/result.h"
#include "print/bytes.h"
#include "print/open_content.h"

namespace stationer::print {

struct BoundPart {
  std::string section;  // those with the same one stand together in the outline
  std::string title;
  OpenContent open;
};

// The pages of a PDF of ours; Code::damaged when it is none.
fs::Result<std::size_t> count_pages(const OpenContent& open);

// Writes `front`, a PDF of ours, with all pages of the parts behind its own. What the whole says of
// itself is what `front` says. Equal parts give equal bytes. Only numbers and dictionaries of the
// parts are in memory, about 2 KiB a page; what is on the pages is copied from file to file.
fs::Status bind_pdfs(const OpenContent& front, std::span<const BoundPart> parts,
                     const ByteSink& sink);

}  // namespace stationer::print
