// Options that say how much accounts may keep.
#pragma once

#include <cstdint>
#include <memory>

#include <CLI/CLI.hpp>
#include <boost/json/object.hpp>

namespace stationer::admin {

class LimitOptions {
 public:
  // Adds --mib, --hard-mib, --files and --hard-files. A hard limit that is not said is a quarter
  // above its soft one.
  static std::shared_ptr<LimitOptions> add(CLI::App& command);

  bool any() const { return soft_mib_->count() + soft_files_->count() > 0; }
  void put(boost::json::object& params) const;  // as the control methods take them

 private:
  struct Limit {
    std::uint64_t soft = 0;
    std::uint64_t hard = 0;
  };
  Limit mib_;
  Limit files_;
  CLI::Option* soft_mib_ = nullptr;
  CLI::Option* hard_mib_ = nullptr;
  CLI::Option* soft_files_ = nullptr;
  CLI::Option* hard_files_ = nullptr;
};

}  // namespace stationer::admin
