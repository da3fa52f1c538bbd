#include "print/queue.h"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "fs/account.h"
#include "fs/settings_table.h"
#include "fs/text.h"
#include "print/choice.h"
#include "print/dress_settings.h"
#include "print/settings_words.h"

namespace stationer::print {
namespace {

struct PolicyName {
  std::string_view name;
  Policy policy;
};
constexpr std::array<PolicyName, 3> policies = {{
    {"straight", Policy::straight},
    {"owner", Policy::owner},
    {"leader", Policy::leader},
}};

constexpr std::int64_t default_most_pages = 200;
constexpr std::int64_t most_pages_allowed = 10'000;
constexpr std::int64_t most_limit = 1'000'000;  // pages
constexpr std::size_t longest_marker = 80;
constexpr std::int64_t most_days = 36'500;
constexpr std::int64_t most_mib = 1 << 20;

fs::Result<Queue> read_queue(std::string_view name, const toml::table& table,
                             std::span<const PrinterProfile> printers) {
  auto keys = fs::check_keys(
      table, fmt::format("queue.{}", name),
      {"title", "profile", "charset", "language", "landscape", "look", "bars", "edges",
       "pages_a_sheet", "policy", "most_pages", "pages_per_day", "pages_per_week", "split_pages",
       "split_marker", "banner", "forward", "forward_when"});
  if (!keys) return keys.error();
  Queue queue;
  auto stored = fs::class_name(name);  // the same rule
  if (!stored || *stored != name) {
    return fs::wrong_setting(table,
                             "the name of a queue has 1 to 16 small letters, digits, dots, "
                             "dashes or underscores.");
  }
  queue.name = *stored;
  auto profile_name = fs::text_setting(table, "profile", "plain-80");
  if (!profile_name) return profile_name.error();
  auto profile = choose(printers, *profile_name, "printer profile");
  if (!profile) return fs::wrong_setting(*table.get("profile"), profile.error().message);
  queue.profile = profile->name;
  queue.settings = profile->settings;
  auto title = fs::text_setting(table, "title", profile->title);
  if (!title) return title.error();
  queue.title = *title;
  auto charset_name = fs::text_setting(table, "charset", name_of(queue.settings.text.charset));
  if (!charset_name) return charset_name.error();
  auto charset = find_charset(*charset_name);
  if (!charset) return fs::wrong_setting(*table.get("charset"), charset.error().message);
  queue.settings.text.charset = *charset;
  auto language_name = fs::text_setting(table, "language", name_of(queue.settings.language));
  if (!language_name) return language_name.error();
  auto language = find_language(*language_name);
  if (!language) return fs::wrong_setting(*table.get("language"), language.error().message);
  queue.settings.language = *language;
  if (fs::Status dressed = read_dress(table, queue.settings); !dressed) return dressed.error();
  auto policy = fs::text_setting(table, "policy", "straight");
  if (!policy) return policy.error();
  const auto found = std::find_if(policies.begin(), policies.end(),
                                  [&](const PolicyName& each) { return each.name == *policy; });
  if (found == policies.end()) {
    return fs::wrong_setting(*table.get("policy"), "policy is one of straight, owner, leader.");
  }
  queue.policy = found->policy;
  auto pages = fs::number_setting(table, "most_pages", default_most_pages, 1, most_pages_allowed);
  if (!pages) return pages.error();
  queue.settings.text.most_pages = static_cast<std::uint64_t>(*pages);
  for (const auto& [key, into] : {std::pair("pages_per_day", &queue.limits.day),
                                  {"pages_per_week", &queue.limits.week},
                                  {"split_pages", &queue.split.pages}}) {
    auto number = fs::number_setting(table, key, 0, 0, most_limit);
    if (!number) return number.error();
    *into = static_cast<std::uint64_t>(*number);
  }
  auto marker = fs::text_setting(table, "split_marker", "");
  if (!marker) return marker.error();
  if (auto fine = fs::check_line(*marker, longest_marker, "split_marker"); !fine) {
    return fs::wrong_setting(*table.get("split_marker"), fine.error().message);
  }
  queue.split.marker = *marker;
  auto banner = fs::switch_setting(table, "banner", false);
  if (!banner) return banner.error();
  queue.banner = *banner;
  return queue;
}

fs::Status read_keeping(const toml::table& table, Keeping& keeping) {
  auto days = fs::number_setting(table, "printout_days", keeping.printout_days, 0, most_days);
  if (!days) return days.error();
  keeping.printout_days = static_cast<std::uint32_t>(*days);
  auto again = fs::number_setting(table, "again_days", keeping.again_days, 0, most_days);
  if (!again) return again.error();
  keeping.again_days = static_cast<std::uint32_t>(*again);
  auto mib = fs::number_setting(table, "again_mib",
                                static_cast<std::int64_t>(keeping.again_bytes >> 20), 0, most_mib);
  if (!mib) return mib.error();
  keeping.again_bytes = static_cast<std::uint64_t>(*mib) << 20;
  return {};
}

}  // namespace

const Queue* Queues::find(std::string_view name) const {
  const std::string wanted = name.empty() ? otherwise : fs::ascii_lower(name);
  const auto found =
      std::find_if(all.begin(), all.end(), [&](const Queue& each) { return each.name == wanted; });
  return found == all.end() ? nullptr : &*found;
}

fs::Result<Queues> read_queues(std::string_view settings_text) {
  auto file = fs::parse_settings(settings_text);
  if (!file) return file.error();
  auto tables = fs::settings_table(*file, "queue");
  if (!tables) return tables.error();
  auto printers = read_printers(settings_text);
  if (!printers) return printers.error();
  Queues queues;
  queues.printers = std::move(*printers);
  for (const auto& [name, node] : **tables) {
    auto table = fs::settings_table(**tables, name.str());
    if (!table) return table.error();
    auto queue = read_queue(name.str(), **table, queues.printers);
    if (!queue) return queue.error();
    queues.all.push_back(std::move(*queue));
  }
  if (queues.all.empty()) {
    auto queue = read_queue("paper", {}, queues.printers);
    if (!queue) return queue.error();
    queues.all.push_back(std::move(*queue));
  }
  auto print = fs::settings_table(*file, "print");
  if (!print) return print.error();
  if (auto keys = fs::check_keys(**print, "print",
                                 {"queue", "confined", "printout_days", "again_days", "again_mib",
                                  "index_mib", "forward_server"});
      !keys) {
    return keys.error();
  }
  auto otherwise = fs::text_setting(**print, "queue", queues.all.front().name);
  if (!otherwise) return otherwise.error();
  queues.otherwise = *otherwise;
  if (auto kept = read_keeping(**print, queues.keeping); !kept) return kept.error();
  auto confined = fs::switch_setting(**print, "confined", true);
  if (!confined) return confined.error();
  queues.confined = *confined;
  if (queues.find(*otherwise) == nullptr) {
    return fs::wrong_setting(*(*print)->get("queue"),
                             fmt::format("there is no [queue.{}].", *otherwise));
  }
  return queues;
}

std::string new_queue_settings(std::string_view profile) {
  const auto words = settings_words();
  return '\n' +
         fs::write_settings(fs::table_words(words, "print"), {{"queue", "\"paper\""},
                                                              {"printout_days", ""},
                                                              {"again_days", ""},
                                                              {"index_mib", ""}}) +
         '\n' +
         fs::write_settings(
             fs::TableWords{"queue.paper", "", fs::table_words(words, "queue.NAME").settings},
             {{"title", "\"Plain paper\""},
              {"profile", fmt::format("\"{}\"", profile)},
              {"policy", ""},
              {"most_pages", ""},
              {"pages_per_day", ""},
              {"pages_per_week", ""},
              {"banner", ""}});
}

}  // namespace stationer::print
