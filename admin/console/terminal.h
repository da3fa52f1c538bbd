// The terminal the console is shown on: the only part that knows ncurses.
#pragma once

#include <chrono>
#include <memory>
#include <optional>
#include <utility>

#include "admin/console/grid.h"
#include "admin/console/key.h"
#include "fs/result.h"

namespace stationer::admin::console {

class Terminal {
 public:
  // Code::denied when standard input or output is no terminal, Code::bad_input when it is one of
  // which too little is known. Without colour when NO_COLOR is set or the terminal has none.
  static fs::Result<std::unique_ptr<Terminal>> open();

  // As it was before.
  ~Terminal();
  Terminal(const Terminal&) = delete;
  Terminal& operator=(const Terminal&) = delete;

  std::pair<int, int> size() const;  // columns and lines
  void show(const Grid& grid);
  // The next key; nothing when none came within that time. A new size counts as some other key, and
  // a terminal that is gone as Key::Name::leave.
  std::optional<Key> key(std::chrono::milliseconds most);

 private:
  struct Inside;
  explicit Terminal(std::unique_ptr<Inside> inside);
  std::unique_ptr<Inside> inside_;
};

}  // namespace stationer::admin::console
