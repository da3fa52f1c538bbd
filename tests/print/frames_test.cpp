#include "print/frames.h"

#include <catch2/catch.hpp>

using namespace stationer;
using namespace stationer::print;
using Kind = Frame::Kind;

namespace {

const std::string spoken = frame_of(Kind::ready) + frame_of(Kind::order, "paper") +
                           frame_of(Kind::pdf, std::string(300, 'x')) + frame_of(Kind::done, "1");

std::string heard(FrameReader& reader) {
  std::string out;
  for (;;) {
    auto frame = reader.next();
    if (!frame) return out + "!";
    if (!*frame) return out;
    out += std::string(1, static_cast<char>((*frame)->kind)) + (*frame)->body + "|";
  }
}

}  // namespace

TEST_CASE("frames come out as they went in, cut at every offset") {
  const std::string expected = "R|Opaper|P" + std::string(300, 'x') + "|D1|";
  for (std::size_t cut = 0; cut <= spoken.size(); ++cut) {
    FrameReader reader;
    reader.feed(std::string_view(spoken).substr(0, cut));
    std::string got = heard(reader);
    reader.feed(std::string_view(spoken).substr(cut));
    got += heard(reader);
    CHECK(got == expected);
  }
  FrameReader drop_by_drop;
  std::string got;
  for (const char byte : spoken) {
    drop_by_drop.feed({&byte, 1});
    got += heard(drop_by_drop);
  }
  CHECK(got == expected);
}

TEST_CASE("what is no frame is told as soon as it shows, and for ever") {
  FrameReader reader;
  reader.feed(frame_of(Kind::more) + "x");
  CHECK(heard(reader) == "M|!");
  reader.feed(frame_of(Kind::more));
  CHECK(heard(reader) == "!");

  FrameReader too_long;
  too_long.feed(std::string_view("P\x01\x00\x10\x00", 5));
  CHECK(heard(too_long) == "!");
  FrameReader longest;
  longest.feed(frame_of(Kind::pdf, std::string(Frame::longest, 'y')));
  CHECK(heard(longest).size() == Frame::longest + 2);
}

TEST_CASE("values of a body come back; what is missing or too much shows") {
  const std::string body =
      BodyWriter().number(0).text("").number(~0ULL).text(std::string_view("a\0b", 3)).body();
  BodyReader reader(body);
  CHECK(reader.number() == 0);
  CHECK(reader.text().empty());
  CHECK(reader.number() == ~0ULL);
  CHECK(reader.text() == std::string("a\0b", 3));
  CHECK(reader.whole());
  for (std::size_t size = 0; size < body.size(); ++size) {
    BodyReader cut(std::string_view(body).substr(0, size));
    cut.number();
    cut.text();
    cut.number();
    cut.text();
    CHECK_FALSE(cut.whole());
  }
  BodyReader more(body);
  more.number();
  CHECK_FALSE(more.whole());
}
