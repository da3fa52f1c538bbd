#include "admin/settings_manual.h"

#include <algorithm>
#include <cctype>
#include <string>

#include <fmt/format.h>

#include "admin/roff.h"
#include "print/charset.h"
#include "print/settings_words.h"
#include "server/settings_words.h"

namespace stationer::admin {
namespace {

constexpr int most_choices = 12;  // that are told each time

std::string sentence(std::string text) {
  if (text.empty()) return text;
  text[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(text[0])));
  return text.ends_with('?') ? text : text + '.';
}

void append_words(const std::string& words, std::string& out) {
  if (!words.empty()) out += (out.empty() ? "" : " ") + words;
}

void append_setting(const fs::SettingWords& setting, std::string& out) {
  const std::string usual = setting.otherwise.empty() ? "" : " = " + setting.otherwise;
  std::string text = sentence(setting.remark);
  append_words(setting.more, text);
  append_words(values_sentence(setting), text);
  out += fmt::format(".TP\n.B {}\n{}\n", roff_argument(setting.key + usual), roff(text));
}

}  // namespace

std::vector<fs::TableWords> all_settings_words() {
  std::vector<fs::TableWords> out = fs::settings_words();
  for (auto& part : {print::settings_words(), server::settings_words()}) {
    out.insert(out.end(), part.begin(), part.end());
  }
  return out;
}

std::string values_sentence(const fs::SettingWords& setting) {
  const std::string& values = setting.values;
  if (values == "true|false") return "";
  if (const auto dots = values.find(".."); dots != std::string::npos) {
    return fmt::format("From {} to {}.", values.substr(0, dots), values.substr(dots + 2));
  }
  if (values.find('|') == std::string::npos) {
    std::string out = sentence(values);
    if (!setting.example.empty()) {
      out.back() = ',';
      out += fmt::format(" as in {} = {}.", setting.key, setting.example);
    }
    return out;
  }
  if (std::count(values.begin(), values.end(), '|') >= most_choices) return "";
  std::string out = "One of ";
  for (const char c : values) out += c == '|' ? ", " : std::string(1, c);
  const auto last = out.rfind(", ");
  return out.replace(last, 2, " or ") + '.';
}

std::string_view settings_example() {
  return "[volume]\n"
         "format = 2\n"
         "name = \"Tidewrack Mill\"\n"
         "\n"
         "[limits]\n"
         "account_mib = 16        # a small disk\n"
         "\n"
         "[snapshots]\n"
         "folder = \"/mnt/second\"  # another disk\n"
         "\n"
         "[queue.paper]\n"
         "title = \"Plain paper\"\n"
         "\n"
         "[queue.lists]\n"
         "title = \"Lists, held for a leader\"\n"
         "profile = \"listing-132\"\n"
         "policy = \"leader\"\n"
         "pages_per_day = 40\n"
         "\n"
         "[print]\n"
         "queue = \"paper\"\n"
         "printout_days = 400\n"
         "\n"
         "[door.terminal]\n"
         "port = 23\n"
         "guests = false\n"
         "\n"
         "[door.tftp]\n"
         "port = 69\n"
         "hand_in = \"/classes/evening/hand-in\"\n"
         "\n"
         "[serial.bench]\n"
         "device = \"/dev/ttyUSB0\"\n"
         "speed = 1200\n"
         "capitals = true\n"
         "columns = 40\n"
         "\n"
         "[profile.micro]\n"
         "names = \"micro10\"\n"
         "columns = 40\n"
         "queue = \"lists\"\n"
         "\n"
         "[stations]\n"
         "unknown = false         # all of ours are registered\n";
}

std::string settings_manual_page() {
  std::string out = roff_head(settings_page, 5, "the settings of a volume, volume.toml");
  out +=
      ".SH SYNOPSIS\n.I VOLUME/volume.toml\n"
      ".SH DESCRIPTION\n"
      "The settings of a volume are a text in TOML: tables, whose names stand in brackets, and\n"
      "below each its settings, one a line. What stands behind # is a remark. stationer init\n"
      "writes those that are most often changed; all others may be added.\n"
      ".PP\n"
      "The service reads it when it starts: after a change, sudo systemctl restart stationer. "
      "What\n"
      "can't be right is refused then, with its line and what would be right.\n"
      ".PP\n"
      "Each setting stands here with the value it has when nothing is said. NAME is a name that\n"
      "you give, ADDRESS a machine's, as 10.0.0.7.\n"
      ".SH SETTINGS\n";
  for (const fs::TableWords& table : all_settings_words()) {
    out += fmt::format(".SS {}\n{}\n", roff_argument('[' + table.name + ']'), roff(table.what));
    for (const fs::SettingWords& setting : table.settings) append_setting(setting, out);
  }
  out += ".SS \"Character sets\"\n";
  const auto sets = print::charsets();
  for (const auto& set : sets) {
    out += fmt::format("\"{}\"{}\n", roff(set.name), &set == &sets.back() ? "." : ",");
  }
  out += ".SH EXAMPLES\nA room on a box with a small disk:\n.PP\n.nf\n.RS 4\n";
  for (std::string_view rest = settings_example(); !rest.empty();) {
    const auto end = rest.find('\n') + 1;
    out += roff(rest.substr(0, end));
    rest.remove_prefix(end);
  }
  out += ".RE\n.fi\n.SH SEE ALSO\n" + roff_reference("stationer", 1, ",");
  return out + roff_reference("stationer-init", 1, ",") + roff_reference("stationer-printer", 1);
}

}  // namespace stationer::admin
