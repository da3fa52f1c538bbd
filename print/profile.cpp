#include "print/profile.h"

#include <algorithm>
#include <array>
#include <sstream>
#include <stdexcept>

#include <fmt/format.h>

#include "fs/account.h"
#include "fs/settings_table.h"
#include "print/choice.h"
#include "print/dress_settings.h"
#include "print/ready_made.h"

namespace stationer::print {
namespace {

std::string quoted(std::string_view text) {
  std::ostringstream out;
  out << toml::toml_formatter(toml::value<std::string>(text), toml::format_flags::none);
  return out.str();
}

// What a profile may say, besides "title" and "like": how it is read when it is there, and how it
// is written; empty when there is nothing to be said.
struct Key {
  std::string_view name;
  fs::Status (*read)(const toml::table& table, std::string_view key, Settings& settings);
  std::string (*write)(const Settings& settings);
};

// The named thing that `find` knows.
template <class T>
fs::Status read_name(const toml::table& table, std::string_view key,
                     fs::Result<T> (*find)(std::string_view), T& into) {
  const auto name = fs::text_setting(table, key, "");
  if (!name) return name.error();
  fs::Result<T> found = find(*name);
  if (!found) return fs::wrong_setting(*table.get(key), found.error().message);
  into = std::move(*found);
  return {};
}

// So many an inch.
fs::Status read_spacing(const toml::table& table, std::string_view key,
                        fs::Result<Units> (*find)(std::string_view), Units& into) {
  const toml::node& node = *table.get(key);
  const auto number = node.value<double>();
  if (!number) return fs::wrong_setting(node, fmt::format("{} must be a number.", key));
  const fs::Result<Units> found = find(fmt::format("{}", *number));
  if (!found) return fs::wrong_setting(node, found.error().message);
  into = *found;
  return {};
}

template <auto Member>  // of the form, a number
constexpr Key count_key(std::string_view name) {
  return {name,
          [](const toml::table& table, std::string_view key, Settings& settings) -> fs::Status {
            const auto number = fs::number_setting(table, key, 0, 0, most_in_form);
            if (!number) return number.error();
            settings.form.*Member = static_cast<int>(*number);
            return {};
          },
          [](const Settings& settings) {
            const std::optional<int> number = settings.form.*Member;
            return number ? fmt::format("{}", *number) : "";
          }};
}

template <auto Part, auto Member>  // of some rules, a bool
constexpr Key switch_key(std::string_view name) {
  return {name,
          [](const toml::table& table, std::string_view key, Settings& settings) -> fs::Status {
            const auto value = fs::switch_setting(table, key, false);
            if (!value) return value.error();
            settings.*Part.*Member = *value;
            return {};
          },
          [](const Settings& settings) { return fmt::format("{}", settings.*Part.*Member); }};
}

fs::Status read_channels(const toml::table& table, std::string_view key, Settings& settings) {
  constexpr std::size_t most = 11;
  const toml::node& node = *table.get(key);
  const toml::array* array = node.as_array();
  const auto wrong = [&](const toml::node& where) {
    return fs::wrong_setting(where, fmt::format("{} must be up to {} numbers of lines, as in "
                                                "[10, 20].",
                                                key, most));
  };
  if (array == nullptr || array->size() > most) return wrong(node);
  settings.listing.channels.clear();
  for (const toml::node& each : *array) {
    const auto line = each.value<std::int64_t>();
    if (!line || *line < 1 || *line > most_in_form) return wrong(each);
    settings.listing.channels.push_back(static_cast<int>(*line));
  }
  return {};
}

// Those that say how pages look.
constexpr std::array looks_keys = {
    Key{"landscape",
        [](const toml::table& table, std::string_view key, Settings& settings) -> fs::Status {
          const auto value = fs::switch_setting(table, key, false);
          if (!value) return value.error();
          turn(settings.form, *value);
          return {};
        },
        [](const Settings& settings) { return fmt::format("{}", settings.form.landscape); }},
    Key{"look",
        [](const toml::table& table, std::string_view key, Settings& settings) {
          return read_name(table, key, find_look, settings.dress.look);
        },
        [](const Settings& settings) { return quoted(name_of(settings.dress.look)); }},
    switch_key<&Settings::dress, &Dress::bars>("bars"),
    switch_key<&Settings::dress, &Dress::edges>("edges"),
    Key{"pages_a_sheet",
        [](const toml::table& table, std::string_view key, Settings& settings) -> fs::Status {
          const auto number = fs::number_setting(table, key, 1, 1, 4);
          if (!number) return number.error();
          settings.dress.pages_a_sheet = static_cast<int>(*number);
          return {};
        },
        [](const Settings& settings) { return fmt::format("{}", settings.dress.pages_a_sheet); }},
};

// The others.
constexpr std::array keys = {
    Key{"language",
        [](const toml::table& table, std::string_view key, Settings& settings) {
          return read_name(table, key, find_language, settings.language);
        },
        [](const Settings& settings) { return quoted(name_of(settings.language)); }},
    Key{"charset",
        [](const toml::table& table, std::string_view key, Settings& settings) {
          return read_name(table, key, find_charset, settings.text.charset);
        },
        [](const Settings& settings) { return quoted(name_of(settings.text.charset)); }},
    Key{"paper",
        [](const toml::table& table, std::string_view key, Settings& settings) {
          return read_name(table, key, find_paper, settings.form.paper);
        },
        [](const Settings& settings) { return quoted(settings.form.paper.name); }},
    Key{"pitch",
        [](const toml::table& table, std::string_view key, Settings& settings) {
          return read_spacing(table, key, find_pitch, settings.form.pitch);
        },
        [](const Settings& settings) { return std::string(name_of_pitch(settings.form.pitch)); }},
    Key{"lines_an_inch",
        [](const toml::table& table, std::string_view key, Settings& settings) {
          return read_spacing(table, key, find_line_spacing, settings.form.line);
        },
        [](const Settings& settings) {
          return std::string(name_of_line_spacing(settings.form.line));
        }},
    count_key<&Form::columns>("columns"),
    count_key<&Form::lines>("lines"),
    count_key<&Form::left>("left"),
    count_key<&Form::top>("top"),
    count_key<&Form::skip>("skip"),
    switch_key<&Settings::text, &PlainTextRules::return_feeds>("return_feeds"),
    switch_key<&Settings::text, &PlainTextRules::feed_returns>("feed_returns"),
    switch_key<&Settings::text, &PlainTextRules::seven_bits>("seven_bits"),
    switch_key<&Settings::text, &PlainTextRules::control_z_ends>("control_z_ends"),
    switch_key<&Settings::dots, &DotRules::near_letter_quality>("letter_quality"),
    switch_key<&Settings::dots, &DotRules::drop_neighbours>("drop_neighbours"),
    Key{"minus_lines",
        [](const toml::table& table, std::string_view key, Settings& settings) -> fs::Status {
          const auto number = fs::number_setting(table, key, 3, 1, 3);
          if (!number) return number.error();
          settings.listing.minus_lines = static_cast<int>(*number);
          return {};
        },
        [](const Settings& settings) { return fmt::format("{}", settings.listing.minus_lines); }},
    Key{"channels", read_channels,
        [](const Settings& settings) {
          return fmt::format("[{}]", fmt::join(settings.listing.channels, ", "));
        }},
};

// Refuses what is not among `also`, "title" and the keys.
fs::Status check_keys(const toml::table& table, std::string_view of, std::string_view also) {
  std::vector<std::string_view> known = {"title"};
  if (!also.empty()) known.insert(known.begin(), also);
  for (const Key& key : looks_keys) known.push_back(key.name);
  for (const Key& key : keys) known.push_back(key.name);
  for (const auto& [name, node] : table) {
    if (std::find(known.begin(), known.end(), name.str()) != known.end()) continue;
    return fs::wrong_setting(node, fmt::format("there is no setting \"{}\" in [{}]; there are: {}.",
                                               name.str(), of, fmt::join(known, ", ")));
  }
  return {};
}

fs::Status read_keys(std::span<const Key> known, const toml::table& table, Settings& settings) {
  for (const Key& key : known) {
    if (!table.contains(key.name)) continue;
    if (fs::Status read = key.read(table, key.name, settings); !read) return read;
  }
  return {};
}

// Whether the form fits the paper, and the paper what it is dressed in.
fs::Status check_fit(const toml::table& table, const Settings& settings) {
  if (const fs::Result<Layout> layout = lay_out(settings.form); !layout) {
    return fs::wrong_setting(table, layout.error().message);
  }
  if (const fs::Status fits = check(settings.dress, paper_of(settings.form)); !fits) {
    return fs::wrong_setting(table, fits.error().message);
  }
  return {};
}

// What `table` says, into a profile that begins as another one.
fs::Status read_onto(const toml::table& table, PrinterProfile& profile) {
  auto title = fs::text_setting(table, "title", profile.title);
  if (!title) return title.error();
  profile.title = std::move(*title);
  // The paper is turned before columns and lines are counted.
  if (fs::Status read = read_keys(looks_keys, table, profile.settings); !read) return read;
  if (fs::Status read = read_keys(keys, table, profile.settings); !read) return read;
  if (profile.settings.form.paper.name.empty()) {
    return fs::wrong_setting(table,
                             "say what paper it has, or what ready-made printer it is like.");
  }
  return check_fit(table, profile.settings);
}

fs::Result<PrinterProfile> read_printer(std::string_view name, const toml::table& table) {
  const auto known = check_keys(table, fmt::format("printer.{}", name), "like");
  if (!known) return known.error();
  const auto stored = fs::class_name(name);  // the same rule
  if (!stored || *stored != name) {
    return fs::wrong_setting(table,
                             "the name of a printer has 1 to 16 small letters, digits, dots, "
                             "dashes or underscores.");
  }
  if (find_printer_profile(name)) {
    return fs::wrong_setting(
        table, fmt::format("there is a ready-made printer called {}; give yours another name, and "
                           "say like = \"{}\".",
                           name, name));
  }
  PrinterProfile profile;
  if (table.contains("like")) {
    if (fs::Status read = read_name(table, "like", find_printer_profile, profile); !read) {
      return read.error();
    }
  } else {
    profile.title = name;
  }
  profile.name = name;
  if (fs::Status read = read_onto(table, profile); !read) return read.error();
  return profile;
}

PrinterProfile ready_made(const ProfileText& file) {
  auto profile = read_profile(file.name, file.text);
  if (!profile) throw std::logic_error(fmt::format("{}: {}", file.name, profile.error().message));
  return std::move(*profile);
}

}  // namespace

fs::Status read_dress(const toml::table& table, Settings& settings) {
  if (fs::Status read = read_keys(looks_keys, table, settings); !read) return read;
  return check_fit(table, settings);
}

std::span<const PrinterProfile> printer_profiles() {
  static const std::vector<PrinterProfile> profiles = [] {
    std::vector<PrinterProfile> all;
    for (const ProfileText& file : ready_made_profiles()) all.push_back(ready_made(file));
    return all;
  }();
  return profiles;
}

fs::Result<PrinterProfile> find_printer_profile(std::string_view name) {
  return choose(printer_profiles(), name, "printer profile");
}

fs::Result<std::vector<PrinterProfile>> read_printers(std::string_view settings_text) {
  auto file = fs::parse_settings(settings_text);
  if (!file) return file.error();
  auto tables = fs::settings_table(*file, "printer");
  if (!tables) return tables.error();
  std::vector<PrinterProfile> printers(printer_profiles().begin(), printer_profiles().end());
  for (const auto& [name, node] : **tables) {
    auto table = fs::settings_table(**tables, name.str());
    if (!table) return table.error();
    auto printer = read_printer(name.str(), **table);
    if (!printer) return printer.error();
    printers.push_back(std::move(*printer));
  }
  return printers;
}

std::string write_profile(const PrinterProfile& profile) {
  std::string out = fmt::format("title = {}\n", quoted(profile.title));
  const auto write = [&](std::span<const Key> known) {
    for (const Key& key : known) {
      const std::string value = key.write(profile.settings);
      if (!value.empty()) out += fmt::format("{} = {}\n", key.name, value);
    }
  };
  write(keys);
  write(looks_keys);
  return out;
}

fs::Result<PrinterProfile> read_profile(std::string_view name, std::string_view text) {
  const auto table = fs::parse_settings(text);
  if (!table) return table.error();
  if (const auto known = check_keys(*table, name, ""); !known) return known.error();
  PrinterProfile profile;
  profile.name = name;
  if (fs::Status read = read_onto(*table, profile); !read) return read.error();
  return profile;
}

}  // namespace stationer::print
