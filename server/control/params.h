// The parameters of one call, checked as they are taken. The first thing that is wrong is kept, so
// that a method takes all it knows and then asks once: Params::check().
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <boost/json/object.hpp>
#include <boost/json/value.hpp>

#include "fs/ids.h"
#include "fs/local_time.h"
#include "fs/path.h"
#include "fs/result.h"

namespace stationer::server {

class Params {
 public:
  // An object or null; `value` must outlive this.
  explicit Params(const boost::json::value& value);

  // What is wrong or, for those that need not be there, missing comes out as nothing.
  std::string text(std::string_view key);
  std::string text_or_empty(std::string_view key);
  std::optional<std::string> optional_text(std::string_view key);
  std::uint64_t whole(std::string_view key, std::uint64_t most);
  std::uint64_t whole_or(std::string_view key, std::uint64_t otherwise, std::uint64_t most);
  std::optional<std::uint64_t> optional_whole(std::string_view key, std::uint64_t most);
  std::vector<std::string> words(std::string_view key);  // of a text, parted by spaces
  std::optional<std::vector<std::string>> optional_words(std::string_view key);
  bool flag(std::string_view key);  // false when it is not there
  std::optional<bool> optional_flag(std::string_view key);
  // As in fs/local_time.h.
  std::optional<fs::Time> optional_time(std::string_view key,
                                        fs::DayMeans day = fs::DayMeans::start);
  fs::Path path(std::string_view key);  // from the top, with or without / in front

  // A job's or a printout's number.
  std::uint32_t number(std::string_view key);

  // Keeps `why` as what is wrong unless something was before.
  void refuse(std::string why);

  // Code::bad_input with what was wrong first; what nobody took is wrong, too.
  fs::Status check() const;

 private:
  const boost::json::value* take(std::string_view key);
  const boost::json::value* need(std::string_view key);

  const boost::json::object* object_ = nullptr;
  std::vector<std::string_view> taken_;
  std::optional<fs::Error> wrong_;
};

}  // namespace stationer::server
