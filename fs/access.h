// Who may do what with a node: the one place where that is decided (invariant 3).
//
// A node has an owner, a class, and read and write bits for owner, class and everyone. They decide
// as POSIX file modes do (XBD 4.5 "File Access Permissions"): the first of owner, class, everyone
// that fits the caller decides alone. There is no execute bit: on a folder, read means to list it
// and to pass through it, write means to add, rename and remove names in it.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "fs/result.h"

namespace stationer::fs {

// The three pairs of bits and the keep bit. Shown as "rwr-r-" with a k behind when kept.
class Access {
 public:
  enum Bit : std::uint8_t {
    owner_read = 0x20,
    owner_write = 0x10,
    class_read = 0x08,
    class_write = 0x04,
    everyone_read = 0x02,
    everyone_write = 0x01,
    keep = 0x40,  // can't be changed or removed until cleared
  };

  constexpr Access() = default;
  constexpr explicit Access(unsigned bits) : bits_(static_cast<std::uint8_t>(bits & 0x7Fu)) {}

  constexpr unsigned bits() const { return bits_; }
  constexpr bool has(Bit bit) const { return (bits_ & bit) != 0; }

  // What a new node in a folder with these bits gets: all for its owner; reading for those who may
  // read the folder; never keep.
  constexpr Access for_new_node() const {
    return Access(owner_read | owner_write | (bits_ & (class_read | everyone_read)));
  }

  // Applies changes written as POSIX symbolic modes are (chmod, "symbolic_mode"), with our words:
  // o owner, c class, e everyone, a or nothing all three; + - =; r, w, k (keep), or one of o c e to
  // copy from. Clauses are separated by commas: "c+r", "o=rw,ce=", "a-w", "+k". Case is ignored.
  Result<Access> changed(std::string_view changes) const;

  std::string text() const;      // "rwr-r-", "rw----k"
  std::string symbolic() const;  // "o=rw,c=r,e=r", "o=rw,c=,e=,+k": what changed() reads

  constexpr bool operator==(const Access&) const = default;

 private:
  std::uint8_t bits_ = 0;
};

enum class Role : std::uint8_t {
  member = 0,   // has work of their own
  leader = 1,   // has owner's rights over what members of their classes own
  manager = 2,  // has owner's rights over everything, and does what needs no rights
};

const char* role_name(Role role);
Result<Role> parse_role(std::string_view name);

// How the caller stands to one node.
struct Standing {
  bool guest = false;  // nobody has signed in: reads what everyone may, changes nothing
  bool manager = false;
  bool owner = false;        // owns it
  bool leads_owner = false;  // leads a class of which the owner is a member
  bool in_class = false;     // is in the node's class, as member or leader
};

// Whose bits decide about a caller of that standing: of a guest those of everyone, but for writing,
// which guests never may; of a manager none.
enum class Counted : std::uint8_t { manager, owner, in_class, everyone, guest };
Counted counted_as(const Standing& standing);

// The bits that apply to a caller of that standing.
bool may_read(Access access, const Standing& standing);
bool may_write(Access access, const Standing& standing);

// Whether the caller may do what only owners may: change the bits, clear the keep bit, remove or
// rename the node in a folder they share with others.
bool is_as_owner(const Standing& standing);

}  // namespace stationer::fs
