// A line that is being typed.
#pragma once

#include <string>
#include <string_view>

#include "admin/console/grid.h"
#include "admin/console/key.h"

namespace stationer::admin::console {

class TextField {
 public:
  static constexpr std::size_t longest = 400;  // characters

  std::string text() const;
  void set(std::string_view text);  // with the cursor behind it
  bool empty() const { return characters_.empty(); }

  // False for a key that means nothing in a line.
  bool key(const Key& key);

  // The part around the cursor, when it is longer than its cells.
  void draw(Grid& grid, int x, int y, int width, bool typing) const;

 private:
  std::u32string characters_;
  std::size_t cursor_ = 0;
};

}  // namespace stationer::admin::console
