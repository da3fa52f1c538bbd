#include "admin/people_list.h"

#include <algorithm>
#include <array>
#include <map>
#include <optional>

#include <fmt/format.h>

#include "admin/csv.h"
#include "fs/plain_letters.h"
#include "fs/text.h"
#include "server/protocol/encoder.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

using fs::Code;
using fs::Error;

enum class Column { full_name, name, given, family, sign_in, klass, role, ends };

// What columns are called, in plain letters without spaces and signs.
struct Called {
  std::string_view word;
  Column column;
};
constexpr auto called = std::to_array<Called>({
    // The family name where there is a column for the given one, else the whole.
    {"name", Column::name},
    {"nom", Column::name},
    {"fullname", Column::full_name},
    {"person", Column::full_name},
    {"pupil", Column::full_name},
    {"student", Column::full_name},
    {"member", Column::full_name},
    {"vollername", Column::full_name},
    {"vornachname", Column::full_name},
    {"vornameundnachname", Column::full_name},
    {"vornamenachname", Column::full_name},
    {"nomcomplet", Column::full_name},
    {"given", Column::given},
    {"givenname", Column::given},
    {"givennames", Column::given},
    {"first", Column::given},
    {"firstname", Column::given},
    {"forename", Column::given},
    {"forenames", Column::given},
    {"vorname", Column::given},
    {"vornamen", Column::given},
    {"rufname", Column::given},
    {"prenom", Column::given},
    {"family", Column::family},
    {"familyname", Column::family},
    {"last", Column::family},
    {"lastname", Column::family},
    {"surname", Column::family},
    {"nachname", Column::family},
    {"familienname", Column::family},
    {"zuname", Column::family},
    {"nomdefamille", Column::family},
    {"signin", Column::sign_in},
    {"signinname", Column::sign_in},
    {"login", Column::sign_in},
    {"loginname", Column::sign_in},
    {"user", Column::sign_in},
    {"username", Column::sign_in},
    {"account", Column::sign_in},
    {"accountname", Column::sign_in},
    {"benutzer", Column::sign_in},
    {"benutzername", Column::sign_in},
    {"anmeldename", Column::sign_in},
    {"kennung", Column::sign_in},
    {"identifiant", Column::sign_in},
    {"compte", Column::sign_in},
    {"class", Column::klass},
    {"classname", Column::klass},
    {"group", Column::klass},
    {"form", Column::klass},
    {"course", Column::klass},
    {"klasse", Column::klass},
    {"gruppe", Column::klass},
    {"kurs", Column::klass},
    {"classe", Column::klass},
    {"groupe", Column::klass},
    {"cours", Column::klass},
    {"role", Column::role},
    {"rolle", Column::role},
    {"funktion", Column::role},
    {"fonction", Column::role},
    {"ends", Column::ends},
    {"end", Column::ends},
    {"enddate", Column::ends},
    {"until", Column::ends},
    {"validuntil", Column::ends},
    {"lastday", Column::ends},
    {"leaves", Column::ends},
    {"leavingdate", Column::ends},
    {"ende", Column::ends},
    {"enddatum", Column::ends},
    {"bis", Column::ends},
    {"gultigbis", Column::ends},
    {"fin", Column::ends},
    {"datedefin", Column::ends},
});

std::optional<Column> column_called(std::string_view title) {
  std::string plain;
  for (const char c : fs::plain_letters(title)) {
    if ((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9')) plain += c;
  }
  for (const Called& each : called) {
    if (each.word == plain) return each.column;
  }
  return std::nullopt;
}

bool is_name(Column column) {
  return column != Column::klass && column != Column::role && column != Column::ends;
}

// One space for each run of spaces and line ends, and none at the ends.
std::string tidy(std::string_view text) {
  std::string out;
  const auto blank = [&](std::size_t at) -> std::size_t {
    const std::string_view left = text.substr(at);
    if (left.starts_with("\xC2\xA0")) return 2;  // a no-break space
    return std::string_view(" \t\n\r").find(text[at]) == std::string_view::npos ? 0 : 1;
  };
  bool between = false;
  for (std::size_t at = 0; at < text.size();) {
    if (const auto length = blank(at); length != 0) {
      between = !out.empty();
      at += length;
      continue;
    }
    if (between) out += ' ';
    between = false;
    out += text[at++];
  }
  return out;
}

// "Fenn, Robin" is Robin Fenn.
std::string turned_around(const std::string& name) {
  const auto comma = name.find(',');
  if (comma == std::string::npos || name.find(',', comma + 1) != std::string::npos) return name;
  const std::string family = tidy(name.substr(0, comma));
  const std::string given = tidy(name.substr(comma + 1));
  if (family.empty() || given.empty()) return name;
  return given + " " + family;
}

struct Text {
  std::string text;
  std::string_view read_as;
};

Text from_utf_16(std::string_view bytes, bool high_first) {
  std::string out;
  const server::Encoder utf_8(print::Charset::utf_8);
  char32_t first_half = 0;
  for (std::size_t at = 0; at + 1 < bytes.size(); at += 2) {
    const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(bytes[at + i]); };
    char32_t c =
        static_cast<char32_t>(high_first ? byte(0) << 8 | byte(1) : byte(1) << 8 | byte(0));
    if (c >= 0xD800 && c < 0xDC00) {  // RFC 2781 §2.2
      first_half = c;
      continue;
    }
    if (c >= 0xDC00 && c < 0xE000) {
      c = first_half == 0 ? print::replacement_character
                          : 0x10000 + ((first_half - 0xD800) << 10) + (c - 0xDC00);
    }
    first_half = 0;
    utf_8.append(c, out);
  }
  return {std::move(out), "UTF-16"};
}

// ISO 8859-1 but for 80-9F, of which five mean nothing.
Text from_1252(std::string_view bytes) {
  static constexpr std::u32string_view own =
      U"€\uFFFD‚ƒ„…†‡ˆ‰Š‹Œ\uFFFDŽ\uFFFD\uFFFD‘’“”•–—˜™š›œ\uFFFDžŸ";
  static_assert(own.size() == 32);
  std::string out;
  const server::Encoder utf_8(print::Charset::utf_8);
  for (const char each : bytes) {
    const auto byte = static_cast<unsigned char>(each);
    utf_8.append(byte >= 0x80 && byte < 0xA0 ? own[byte - 0x80] : byte, out);
  }
  return {std::move(out), "code page 1252"};
}

fs::Result<Text> as_text(std::string_view bytes) {
  Text read;
  if (bytes.starts_with("\xEF\xBB\xBF")) bytes.remove_prefix(3);
  if (bytes.starts_with("\xFF\xFE") || bytes.starts_with("\xFE\xFF")) {
    read = from_utf_16(bytes.substr(2), bytes[0] == '\xFE');
  } else if (fs::is_utf8(bytes)) {
    read = {std::string(bytes), "UTF-8"};
  } else {
    read = from_1252(bytes);
  }
  bool strange = false;
  fs::each_character(read.text, [&](char32_t c) {
    strange = strange || (c < 0x20 && c != '\t' && c != '\n' && c != '\r') ||
              c == print::replacement_character;
  });
  if (strange) {
    return Error{Code::bad_input,
                 "This is no list in text. Save it as CSV, or paste the names into a text file."};
  }
  return read;
}

struct Separator {
  char sign;
  std::string_view words;
};
constexpr std::array<Separator, 3> separators = {
    {{',', "separated by commas"}, {';', "separated by semicolons"}, {'\t', "separated by tabs"}}};

// Which value of a row means what.
struct Columns {
  std::map<Column, std::size_t> at;
  std::size_t count = 0;
  std::vector<std::string> unused;

  bool name_people() const {
    return std::any_of(at.begin(), at.end(), [](const auto& each) { return is_name(each.first); });
  }
  std::string value(const CsvRecord& record, Column column) const {
    const auto found = at.find(column);
    if (found == at.end() || found->second >= record.values.size()) return "";
    return tidy(record.values[found->second]);
  }
};

fs::Result<Columns> columns_of(const CsvRecord& header) {
  Columns out;
  out.count = header.values.size();
  for (std::size_t i = 0; i < header.values.size(); ++i) {
    const std::string title = tidy(header.values[i]);
    const auto column = column_called(title);
    if (!column) {
      if (!title.empty()) out.unused.push_back(title);
    } else if (!out.at.emplace(*column, i).second) {
      return Error{Code::bad_input,
                   fmt::format("Two columns of the list tell the same; one is \"{}\". Rename or "
                               "remove the one that does not count.",
                               title)};
    }
  }
  // "Name, Vorname": the first of the two is the family's.
  if (const auto name = out.at.find(Column::name); name != out.at.end()) {
    const bool parts = out.at.count(Column::given) != 0 && out.at.count(Column::family) == 0;
    const auto means = parts ? Column::family : Column::full_name;
    const std::size_t place = name->second;
    out.at.erase(name);
    out.at.emplace(means, place);
  }
  return out;
}

ListedPerson person_in(const CsvRecord& record, const Columns& columns) {
  ListedPerson person;
  person.line = record.line;
  const std::string given = columns.value(record, Column::given);
  const std::string family = columns.value(record, Column::family);
  person.full_name = turned_around(columns.value(record, Column::full_name));
  if (person.full_name.empty()) person.full_name = tidy(given + " " + family);
  person.sign_in = columns.value(record, Column::sign_in);
  person.klass = columns.value(record, Column::klass);
  person.role = columns.value(record, Column::role);
  person.ends = columns.value(record, Column::ends);
  const bool more = std::any_of(
      record.values.begin() +
          static_cast<std::ptrdiff_t>(std::min(columns.count, record.values.size())),
      record.values.end(), [](const std::string& value) { return !tidy(value).empty(); });
  if (record.torn) {
    person.problem = "Something stands behind a closing quote (\").";
  } else if (more) {
    person.problem = fmt::format("It has {} values, and there are {}.", record.values.size(),
                                 server::counted(columns.count, "column"));
  } else if (person.full_name.empty() && person.sign_in.empty()) {
    person.problem = "There is no name.";
  }
  return person;
}

// Names alone, one a line.
fs::Result<std::vector<ListedPerson>> names_in(const std::string& text, bool skip_first) {
  auto records = read_csv(text, '\0');
  if (!records) return records.error();
  std::vector<ListedPerson> out;
  for (std::size_t i = skip_first ? 1 : 0; i < records->size(); ++i) {
    const CsvRecord& record = (*records)[i];
    const std::string& line = record.values.front();
    if (line.find_first_of(";\t") != std::string::npos ||
        std::count(line.begin(), line.end(), ',') > 1) {
      return Error{Code::bad_input,
                   fmt::format("Line {} has several values, and no line says what they are. Put a "
                               "first line with the names of the columns in front, such as "
                               "name;class.",
                               record.line)};
    }
    ListedPerson person;
    person.line = record.line;
    person.full_name = turned_around(tidy(line));
    out.push_back(std::move(person));
  }
  return out;
}

}  // namespace

fs::Result<PeopleList> read_people_list(std::string_view bytes) {
  if (bytes.size() > longest_people_list) {
    return Error{Code::bad_input,
                 fmt::format("The list is too long: at most {} MiB.", longest_people_list >> 20)};
  }
  auto text = as_text(bytes);
  if (!text) return text.error();

  // The separator by which the first line names the most columns.
  const Separator* separator = nullptr;
  std::vector<CsvRecord> records;
  Columns columns;
  std::optional<Error> unclosed;
  for (const Separator& each : separators) {
    auto read = read_csv(text->text, each.sign);
    if (!read) unclosed = read.error();
    if (!read || read->empty()) continue;
    auto found = columns_of(read->front());
    if (!found) return found.error();
    const bool better = found->at.size() > columns.at.size() ||
                        (found->at.size() == columns.at.size() && found->count > columns.count);
    if (found->name_people() && (separator == nullptr || better)) {
      separator = &each;
      records = std::move(*read);
      columns = std::move(*found);
    }
  }
  PeopleList list;
  const bool one_column = separator != nullptr && columns.count == 1;
  if (separator == nullptr || (one_column && columns.at.count(Column::full_name) != 0)) {
    if (unclosed) return *unclosed;
    auto names = names_in(text->text, one_column);
    if (!names) return names.error();
    list.people = std::move(*names);
    list.read_as = fmt::format("{}, one name a line", text->read_as);
  } else {
    for (std::size_t i = 1; i < records.size(); ++i) {
      list.people.push_back(person_in(records[i], columns));
    }
    list.read_as = fmt::format("{}, {}", text->read_as, separator->words);
    list.unused = std::move(columns.unused);
  }
  if (list.people.empty()) return Error{Code::bad_input, "There is nobody in the list."};
  if (list.people.size() > most_people_listed) {
    return Error{Code::bad_input,
                 fmt::format("The list is too long: at most {} people.", most_people_listed)};
  }
  return list;
}

}  // namespace stationer::admin
