#include "fs/access.h"

#include <catch2/catch.hpp>

using namespace stationer::fs;

namespace {

// Octal digits as in POSIX modes, each without its execute bit.
Access mode(unsigned octal) {
  const auto pair = [](unsigned digit) { return digit >> 1 & 3u; };
  return Access(pair(octal >> 6) << 4 | pair(octal >> 3) << 2 | pair(octal));
}

constexpr Standing owner{.owner = true};
constexpr Standing classmate{.in_class = true};
constexpr Standing anyone{};
constexpr Standing guest{.guest = true};
constexpr Standing leader{.leads_owner = true};
constexpr Standing manager{.manager = true};

}  // namespace

// POSIX.1-2017 XBD 4.5 "File Access Permissions", path_resolution(7): the first class that fits
// decides, with no falling through to the next.
TEST_CASE("invariant 3: the first of owner, class, everyone that fits decides alone") {
  const Access shut_out_owner = mode(077);
  CHECK_FALSE(may_read(shut_out_owner, owner));
  CHECK_FALSE(may_write(shut_out_owner, owner));
  CHECK(may_read(shut_out_owner, classmate));
  CHECK(may_read(shut_out_owner, anyone));
  const Access shut_out_class = mode(0606);
  CHECK(may_read(shut_out_class, owner));
  CHECK_FALSE(may_read(shut_out_class, classmate));
  CHECK(may_write(shut_out_class, anyone));
}

TEST_CASE("invariant 3: every combination of bits and standing") {
  for (unsigned bits = 0; bits < 64; ++bits) {
    const Access access(bits);
    const auto pair = [&](unsigned shift) { return bits >> shift & 3u; };
    const auto agrees = [&](const Standing& standing, unsigned decides) {
      return may_read(access, standing) == ((decides & 2u) != 0) &&
             may_write(access, standing) == (!standing.guest && (decides & 1u) != 0);
    };
    CHECK(agrees(owner, pair(4)));
    CHECK(agrees({.owner = true, .in_class = true}, pair(4)));
    CHECK(agrees(leader, pair(4)));
    CHECK(agrees(classmate, pair(2)));
    CHECK(agrees(anyone, pair(0)));
    CHECK(agrees(guest, pair(0)));
    CHECK(may_read(access, manager));
    CHECK(may_write(access, manager));
  }
}

TEST_CASE("what only owners may do") {
  CHECK(is_as_owner(owner));
  CHECK(is_as_owner(leader));
  CHECK(is_as_owner(manager));
  CHECK_FALSE(is_as_owner(classmate));
  CHECK_FALSE(is_as_owner(anyone));
  CHECK_FALSE(is_as_owner(guest));
}

// chmod(1), GNU coreutils 9.1, without the execute bits: 640 o=g -> 644, 755 a=r,u+w -> 644,
// 644 go-r -> 600, 700 g=u,g-w -> 750. Our letters are o, c, e for u, g, o.
TEST_CASE("access is changed in the manner of POSIX symbolic modes") {
  CHECK(*mode(0640).changed("e=c") == mode(0644));
  CHECK(*mode(0755).changed("a=r,o+w") == mode(0644));
  CHECK(*mode(0644).changed("ce-r") == mode(0600));
  CHECK(*mode(0600).changed("c=o,c-w") == mode(0640));
  CHECK(*mode(0000).changed("+r") == mode(0444));
  CHECK(*mode(0666).changed("e=") == mode(0660));
  CHECK(*mode(0000).changed("o+r+w") == mode(0600));
  CHECK(*mode(0000).changed("O=RW,C=R") == mode(0640));  // capitals-only keyboards
}

TEST_CASE("the keep bit goes on and off by itself") {
  const Access kept = *mode(0644).changed("+k");
  CHECK(kept.has(Access::keep));
  CHECK(kept.text() == "rwr-r-k");
  CHECK(*kept.changed("a=r") == *mode(0444).changed("+k"));
  CHECK(*kept.changed("-k") == mode(0644));
  CHECK(*kept.changed("o-k") == mode(0644));
}

TEST_CASE("what is no change of access is refused with an example") {
  for (const char* bad : {"", "r", "o", "c+x", "u+r", "o+r,", ",o+r", "o r", "644", "o+rz", "oo"}) {
    INFO(bad);
    const auto changed = mode(0644).changed(bad);
    REQUIRE_FALSE(changed);
    CHECK(changed.error().code == Code::bad_input);
    CHECK(changed.error().message.find("c+r lets the class read") != std::string::npos);
  }
}

TEST_CASE("what is shown can be typed") {
  for (unsigned bits = 0; bits < 128; ++bits) {
    const Access access(bits);
    CHECK(*Access().changed(access.symbolic()) == access);
  }
  CHECK(mode(0640).text() == "rwr---");
}

TEST_CASE("a new node can be read by those who may read its folder, and is its owner's to change") {
  CHECK(mode(0777).for_new_node() == mode(0644));
  CHECK(mode(0700).for_new_node() == mode(0600));
  CHECK(mode(0730).for_new_node() == mode(0600));  // a hand-in folder
  CHECK_FALSE(Access(0x7F).for_new_node().has(Access::keep));
}

TEST_CASE("roles have names") {
  for (const Role role : {Role::member, Role::leader, Role::manager}) {
    CHECK(*parse_role(role_name(role)) == role);
  }
  CHECK(*parse_role("LEADER") == Role::leader);
  CHECK_FALSE(parse_role("king"));
}
