// How a kind of machine's system sees the names of the store: what it can take as a name, what it
// is shown for the others, and what it means by what it types. Pure rules; doors and terminals ask
// them.
//
// Three things always hold, for every style and every screen:
//   - In one folder no two nodes are shown alike, and what is shown of a node stays the same for as
//     long as it keeps its name and place, whatever becomes of the others.
//   - What is shown, typed as it stands and in any case, means the node it is shown for.
//   - spelled(name) means the node that is really called `name`, from any keyboard.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fs/ids.h"
#include "fs/result.h"

namespace stationer::fs {

struct NameStyle {
  std::string_view name;   // as settings and members write it
  std::string_view about;  // one line, after "for "
  std::size_t longest;     // characters in a name
  // Where a name is a stem, a dot and an extension: how long these are. 0: dots are like other
  // characters.
  std::size_t stem;
  std::size_t extension;
  std::string_view symbols;  // allowed beside A-Z, a-z and 0-9; empty: every character is allowed
  bool capitals;             // no small letters
  char separator;            // between the names of a path, as shown; / is always understood
  char dot;                  // what stands for a dot in a name
  std::string_view mark;     // before the number in a name made by us; no letter, digit, - . or =
  // The highest count of bytes that the system's own programs can show; 0: no limit.
  std::uint64_t highest_count;
};

// The built-in styles; the first is the one that changes nothing.
std::span<const NameStyle> name_styles();

// In any case. Code::bad_input with the names there are.
Result<const NameStyle*> find_name_style(std::string_view name);

// Spells what a keyboard lacks by its number: =E9= is é (U+00E9). A letter, a digit and = is on
// every keyboard, in every national version of ISO 646, in the invariant part of EBCDIC and in
// ITA2, which is why RFC 2045 §6.7 takes = for the same purpose. Two to six hexadecimal digits in
// either case; a = that is not the start of such a number stands for itself, and =3D= always does.
std::string unspelled(std::string_view typed);
// The other way: only letters and digits of ASCII and the characters in `plain` stay as they are.
std::string spelled(std::string_view name, std::string_view plain);

// A node as far as its name goes.
struct Named {
  NodeId id{};
  std::string name;
  std::string alias;  // 8.3, or the name in capitals
};

// The names of one station: a style, and the characters its screen has.
class StationNames {
 public:
  using Has = std::function<bool(char32_t)>;

  // `has` is asked with the capital where the style or `capitals` wants one; empty: has everything.
  // `style` must stay.
  explicit StationNames(const NameStyle& style = name_styles().front(), Has has = {},
                        bool capitals = false);

  const NameStyle& style() const { return *style_; }

  // The name itself if the station can take it, else the alias, else one with the node's number:
  // as much of the name as it can take, the style's mark, and the number in base 36.
  std::string shown(const Named& node) const;
  // The same for what is in no folder (any more): the name itself, else spelled.
  std::string shown(std::string_view name) const;

  // How the name can be typed at every keyboard.
  std::string spelled(std::string_view name) const;

  // What meant() needs to know of a folder. Either may say nothing where the caller may not look.
  struct Folder {
    std::function<bool(const std::string& name)> has;  // by a stored name or an alias, in any case
    std::function<std::vector<Named>()> list;
  };
  // The stored name or alias that `typed` means in a folder; the name for a new node when it means
  // none that is there. It may not be a valid name (check_name).
  std::string meant(std::string_view typed, const Folder& folder) const;

 private:
  bool takes(char32_t c) const;
  std::optional<std::string> taken(std::string_view name) const;
  std::string cased(std::string_view name) const;
  std::string numbered(const Named& node) const;
  std::optional<NodeId> number_in(std::string_view shown) const;

  const NameStyle* style_;
  Has has_;
  bool capitals_;
  bool numbers_;  // some names are shown by their number
};

}  // namespace stationer::fs
