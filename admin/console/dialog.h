// What lies over the screen: a form, a question, or something to be read.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "admin/console/grid.h"
#include "admin/console/key.h"
#include "admin/console/screen.h"
#include "admin/console/text_field.h"

namespace stationer::admin::console {

class Dialog {
 public:
  explicit Dialog(Form form);
  explicit Dialog(Message message);

  enum class Outcome { stays, closes, calls };
  Outcome key(const Key& key);
  // What was asked for; after Outcome::calls.
  Call call() const;

  void wait() { waiting_ = true; }
  bool waits() const { return waiting_; }
  void fail(std::string why);  // it stays as it was

  // The keys that work, "Enter do it".
  std::vector<std::pair<std::string, std::string>> keys() const;

  // In the middle of the area.
  void draw(Grid& grid, const Area& area);

 private:
  Form form_;
  std::vector<TextField> fields_;
  bool message_;
  std::size_t at_ = 0;
  bool waiting_ = false;
  std::string trouble_;
  int top_ = 0;  // of what is read
  int most_top_ = 0;
};

}  // namespace stationer::admin::console
