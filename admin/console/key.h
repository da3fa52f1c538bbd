// One key as it was pressed.
#pragma once

#include <cstdint>

namespace stationer::admin::console {

struct Key {
  enum class Name : std::uint8_t {
    character,
    enter,
    escape,
    tab,
    back_tab,
    backspace,
    remove,  // what the cursor is on
    clear,   // all that was typed
    left,
    right,
    up,
    down,
    page_up,
    page_down,
    home,
    end,
    leave,  // Ctrl-C
    other,
  };

  Name name = Name::other;
  char32_t character = 0;

  bool is(char32_t c) const { return name == Name::character && character == c; }
  bool operator==(const Key&) const = default;
};

inline Key typed(char32_t c) {
  return {Key::Name::character, c};
}

}  // namespace stationer::admin::console
