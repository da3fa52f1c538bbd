#include "print/order.h"

#include <catch2/catch.hpp>

using namespace stationer;
using namespace stationer::print;

TEST_CASE("an order comes back as it was written, and half of one does not") {
  Order order;
  order.queue = "paper";
  order.most_pages = 17;
  order.starts = {3, 5000};
  order.metadata.title = "Tide \"tables\"\n\xFF";
  order.metadata.owner = "robin";
  order.metadata.origin = "lpd 10.0.0.7";
  order.metadata.job = "42";
  order.metadata.created = std::chrono::sys_seconds(std::chrono::seconds(1'800'000'000));
  const std::string body = write_order(order);
  const auto back = read_order(body);
  REQUIRE(back);
  CHECK(back->queue == "paper");
  CHECK(back->most_pages == 17);
  CHECK(back->starts == order.starts);
  CHECK(back->metadata.title == order.metadata.title);
  CHECK(back->metadata.owner == "robin");
  CHECK(back->metadata.origin == "lpd 10.0.0.7");
  CHECK(back->metadata.job == "42");
  CHECK(back->metadata.created == order.metadata.created);
  for (std::size_t size = 0; size < body.size(); ++size) {
    CHECK_FALSE(read_order(std::string_view(body).substr(0, size)));
  }
  CHECK_FALSE(read_order(body + "x"));
}

TEST_CASE("a report comes back as it was written, and half of one does not") {
  JobReport report;
  report.pages = 1;
  report.characters = 2;
  report.unreadable = 3;
  report.unknown_controls = 4;
  report.escape_sequences = 5;
  report.blots = 6;
  report.missing_glyphs = 7;
  report.parts = {1, 2, 3};
  report.unknown = {{9, {0x1B, 'x'}, 2}, {1000, {1}, 1}};
  const std::string body = write_report(report);
  const auto back = read_report(body);
  REQUIRE(back);
  CHECK(write_report(*back) == body);
  CHECK(back->missing_glyphs == 7);
  CHECK(back->unknown == report.unknown);
  CHECK(back->parts == report.parts);
  for (std::size_t size = 0; size < body.size(); ++size) {
    CHECK_FALSE(read_report(std::string_view(body).substr(0, size)));
  }
  report.unknown.resize(JobReport::most_shown + 1);
  CHECK_FALSE(read_report(write_report(report)));
}
