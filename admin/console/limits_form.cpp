#include "admin/console/limits_form.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include <fmt/format.h>

#include "fs/size_words.h"

namespace stationer::admin::console {
namespace {

constexpr double mib = 1 << 20;
constexpr double most_mib = 1ull << 40;

struct LimitLine {
  const char* key;
  const char* label;
  bool in_mib;
};
constexpr std::array<LimitLine, 4> limit_table = {{{"soft_bytes", "Warned at, MiB", true},
                                                   {"hard_bytes", "Stopped at, MiB", true},
                                                   {"soft_files", "Warned at, files", false},
                                                   {"hard_files", "Stopped at, files", false}}};

std::string as_typed(const Item& item, const LimitLine& line) {
  const std::uint64_t limit = number_of(item, line.key);
  return line.in_mib ? fmt::format("{:.7g}", static_cast<double>(limit) / mib)
                     : fmt::format("{}", limit);
}

// Of two limits of which 0 is none, the one that is met first.
std::uint64_t nearest(const Item& item, std::string_view soft, std::string_view hard) {
  const std::uint64_t first = number_of(item, soft);
  return first != 0 ? first : number_of(item, hard);
}

std::uint64_t percent(std::uint64_t used, std::uint64_t limit) {
  return static_cast<std::uint64_t>(100.0 * static_cast<double>(used) / static_cast<double>(limit));
}

}  // namespace

std::string limits_of(const Item& item) {
  const std::string bytes = limit_of(item, "soft_bytes", "hard_bytes", size_of);
  const std::string files = limit_of(item, "soft_files", "hard_files", text_of);
  return files == "no limit" ? bytes : fmt::format("{}; files: {}", bytes, files);
}

std::string kept_of(const Item& account) {
  const auto of = [](std::uint64_t used, std::uint64_t limit, const std::string& word) {
    return limit == 0 ? "" : fmt::format(" of {} ({} %)", word, percent(used, limit));
  };
  const std::uint64_t bytes = number_of(account, "bytes");
  const std::uint64_t files = number_of(account, "files");
  const std::uint64_t most_bytes = nearest(account, "soft_bytes", "hard_bytes");
  const std::uint64_t most_files = nearest(account, "soft_files", "hard_files");
  return fmt::format("{}{}, {} {}{}", fs::size_in_words(bytes),
                     of(bytes, most_bytes, fs::size_in_words(most_bytes)), files,
                     files == 1 ? "file or folder" : "files and folders",
                     of(files, most_files, fmt::format("{}", most_files)));
}

std::string fullness_of(const Item& account) {
  std::optional<std::uint64_t> most;
  const auto look = [&](std::string_view used, std::string_view soft, std::string_view hard) {
    const std::uint64_t limit = nearest(account, soft, hard);
    if (limit != 0) most = std::max(most.value_or(0), percent(number_of(account, used), limit));
  };
  look("bytes", "soft_bytes", "hard_bytes");
  look("files", "soft_files", "hard_files");
  return most ? fmt::format("{} %", *most) : "";
}

std::vector<Form::Line> limit_lines(const Item& item) {
  std::vector<Form::Line> lines;
  for (const LimitLine& each : limit_table) {
    lines.push_back({each.label, as_typed(item, each), "0: no limit"});
  }
  return lines;
}

std::optional<boost::json::object> typed_limits(const Item& item,
                                                const std::vector<std::string>& values) {
  if (std::all_of(values.begin(), values.end(), [](const auto& each) { return each.empty(); })) {
    return std::nullopt;
  }
  boost::json::object params;
  for (std::size_t i = 0; i < limit_table.size(); ++i) {
    const LimitLine& line = limit_table[i];
    const std::string& typed = values[i];
    if (typed == as_typed(item, line)) continue;
    if (typed.empty()) {
      params[line.key] = 0;
      continue;
    }
    double value = 0;
    const char* end = typed.data() + typed.size();
    const auto read = std::from_chars(typed.data(), end, value, std::chars_format::fixed);
    const bool fits = read.ec == std::errc() && read.ptr == end && value >= 0 && value < most_mib;
    const double number = line.in_mib ? std::round(value * mib) : value;
    if (fits && number == std::round(number)) {
      params[line.key] = static_cast<std::int64_t>(number);
    } else {
      params[line.key] = typed;
    }
  }
  return params;
}

std::string limits_to_type(const Item& item) {
  std::string out;
  for (const LimitLine& each : limit_table) {
    out += (out.empty() ? "" : ", ") + as_typed(item, each);
  }
  return out;
}

}  // namespace stationer::admin::console
