// A volume's spool, for tests that only need one.
#pragma once

#include <memory>
#include <string_view>

#include <catch2/catch.hpp>

#include "print/spool.h"

namespace stationer::test {

inline std::unique_ptr<print::Spool> open_spool(fs::Volume& volume,
                                                std::string_view settings = "") {
  auto fonts = print::Fonts::load();
  REQUIRE(fonts);
  const auto queues = print::read_queues(settings).value();
  auto opened =
      print::Spool::open(volume, queues, print::render_in_place(queues, std::move(*fonts)));
  if (!opened) FAIL(opened.error().message);
  return std::move(*opened);
}

}  // namespace stationer::test
