// The screen of the tree, which other screens open at a place and with somebody's eyes.
#pragma once

#include <optional>
#include <string>

#include "admin/console/screen.h"

namespace stationer::admin::console {

class Tree : public Screen {
 public:
  explicit Tree(Desk& desk);

  // An account's, a guest's for an empty name, the keeper's own for none.
  void see_as(std::optional<std::string> account, const std::string& path);

 private:
  void add_files();
  void add_bin();
  void go(const std::string& path);
  std::string eyes() const;

  Desk& desk_;
  View* files_ = nullptr;
  std::string path_ = "/";
  std::optional<std::string> as_;
};

}  // namespace stationer::admin::console
