#include "admin/roff.h"

#include <fmt/format.h>

#include "fs/text.h"

namespace stationer::admin {

std::string roff(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == '\\') {
      out += "\\e";
    } else if (c == '-') {
      out += "\\-";
    } else {
      out += c;
    }
  }
  if (out.starts_with('.') || out.starts_with('\'')) out.insert(0, "\\&");
  return out;
}

std::string roff_argument(std::string_view text) {
  std::string out = "\"";
  for (const char c : roff(text)) out += c == '"' ? "\"\"" : std::string(1, c);
  return out + '"';
}

std::string roff_head(std::string_view page, int section, std::string_view about) {
  return fmt::format(".TH {} {} \"\" \"Stationer {}\" \"{}\"\n.nh\n.ad l\n.SH NAME\n{} \\- {}\n",
                     roff(fs::ascii_upper(page)), section, STATIONER_VERSION,
                     section == 1 ? "User Commands" : "File Formats", roff(page), roff(about));
}

std::string roff_reference(std::string_view page, int section, std::string_view behind) {
  return fmt::format(".BR {} ({}){}\n", roff(page), section, behind);
}

}  // namespace stationer::admin
