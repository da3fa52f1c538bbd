#include "tests/support/odd_people.h"

#include <algorithm>
#include <array>
#include <random>
#include <vector>

#include "fs/text.h"

namespace stationer::test {
namespace {

enum class Set { utf_8, marked_utf_8, utf_16, cp1252 };

constexpr std::array given = {"Robin", "Wren",     "R\u00f8bin", "Anne-Wr\u00e9n", "Te\u00e4sel",
                              "Bram",  "Zo\u00eb", "d'Orrel",    "\u00c6sk",       "Maximiliana"};
// What code page 1252 lacks.
constexpr std::array far_given = {"\u0141ucja", "Ng\u1ecdc", "\u0130\u015f\u0131k", "Wre\u0301n"};
constexpr std::array family = {"Fenn",     "Rill",           "M\u00fchlgraben",
                               "\u00d8re", "Stra\u00dfwehr", "van der Weir"};
constexpr std::array classes = {"evening", "Year 9", "year-10 B", "Caf\u00e9", "7.b"};
constexpr std::array syllables = {"ba", "do", "ke", "li", "mu", "na", "po", "ri", "su", "to"};

std::string utf_16(const std::string& text) {
  std::string out = "\xFF\xFE";
  fs::each_character(text, [&](char32_t c) {
    out += static_cast<char>(c & 0xFF);
    out += static_cast<char>(c >> 8 & 0xFF);
  });
  return out;
}

std::string cp1252(const std::string& text) {
  std::string out;
  fs::each_character(text, [&](char32_t c) { out += static_cast<char>(c); });
  return out;
}

class Maker {
 public:
  Maker(std::size_t rows, std::uint32_t seed)
      : random_(seed),
        set_(static_cast<Set>(seed % 4)),
        separator_(std::array{',', ';', '\t'}.at(seed / 4 % 3)),
        end_(std::array<const char*, 3>{"\r\n", "\n", "\r"}.at(seed / 2 % 3)),
        whole_names_(seed % 5 < 2) {
    columns_ = whole_names_
                   ? std::vector<std::string>{"Full name", "",         "Class",    "Sign-in name",
                                              "Role",      "End date", "Shoe size"}
                   : std::vector<std::string>{"Family name", "GIVEN  names", "Group",    "Login",
                                              "role",        "Until",        "Telephone"};
    for (std::size_t i = 0; i < columns_.size(); ++i) order_.push_back(i);
    std::shuffle(order_.begin(), order_.end(), random_);
    put(columns_);
    while (made_.good + made_.wrong < rows) put_some();
  }

  OddPeople made() {
    switch (set_) {
      case Set::utf_8: made_.list = text_; break;
      case Set::marked_utf_8: made_.list = "\xEF\xBB\xBF" + text_; break;
      case Set::utf_16: made_.list = utf_16(text_); break;
      case Set::cp1252: made_.list = cp1252(text_); break;
    }
    return std::move(made_);
  }

 private:
  struct Person {
    std::string given, family, klass, sign_in, role, ends, more;
  };

  std::size_t below(std::size_t bound) { return random_() % bound; }
  bool once_in(std::size_t times) { return below(times) == 0; }

  Person somebody() {
    Person person;
    const bool far = set_ != Set::cp1252 && once_in(4);
    person.given = far ? far_given.at(below(far_given.size())) : given.at(below(given.size()));
    if (once_in(15)) person.given += " \"Rob\"";  // in quotes, and a part of the name
    // No two alike but where they are meant to be.
    person.family = family.at(below(family.size()));
    for (std::size_t left = ++people_; left != 0; left /= 10) {
      person.family += syllables.at(left % 10);
    }
    person.klass = classes.at(below(classes.size()));
    if (once_in(10)) person.sign_in = "S-" + std::to_string(people_);
    if (once_in(6)) person.role = std::array{"member", "Pupil", "TEACHER"}.at(below(3));
    if (once_in(3)) person.ends = once_in(2) ? "2031-07-31" : "31.7.2031";
    return person;
  }

  void good(const Person& person) {
    ++made_.good;
    put(person);
  }
  void wrong(const Person& person) {
    ++made_.wrong;
    put(person);
  }

  void put_some() {
    Person person = somebody();
    switch (below(40)) {
      case 0: person.role = "boss"; return wrong(person);
      case 1: person.ends = "31/07/2031"; return wrong(person);
      case 2: person.family = std::string(61, 'x'); return wrong(person);
      case 3: person.sign_in = "two words"; return wrong(person);
      case 4: person.more = std::string(1, separator_) + "one too many"; return wrong(person);
      case 5:  // the same row twice
        person.sign_in = "";
        wrong(person);
        return wrong(person);
      case 6:  // two people, told apart
        person.sign_in = "a-" + std::to_string(people_);
        good(person);
        person.sign_in = "b-" + std::to_string(people_);
        return good(person);
      case 7:  // two people in two classes
        person.sign_in = "";
        person.klass = classes[0];
        good(person);
        person.klass = classes[1];
        return good(person);
      case 8: person.given = person.family = person.sign_in = ""; return wrong(person);
      case 9: text_ += once_in(2) ? end_ : std::string("   ") + end_; return good(person);
      case 10:
        if (set_ == Set::cp1252) return good(person);
        person.given = "\u6c34";
        person.family = "\u706b" + std::string(people_ % 50, '.');
        person.sign_in = "";
        return wrong(person);
      default: return good(person);
    }
  }

  // What stands for one name in a list.
  std::string odd(std::string name) {
    if (once_in(12)) name = "  " + name + " ";
    const auto space = name.find(' ', 3);
    if (space != std::string::npos && once_in(5)) {
      name.replace(space, 1, once_in(2) ? end_ : std::string("\u00a0"));
    }
    return name;
  }

  void put(const Person& person) {
    const bool whole = whole_names_ && !person.family.empty();
    const std::string name = whole && once_in(3) ? person.family + ", " + person.given
                             : whole             ? person.given + " " + person.family
                                                 : person.family;
    put({odd(name), whole_names_ ? std::string() : odd(person.family.empty() ? "" : person.given),
         person.klass, person.sign_in, person.role, person.ends, once_in(2) ? "39" : ""},
        person.more);
  }

  void put(const std::vector<std::string>& values, const std::string& more = "") {
    for (std::size_t i = 0; i < order_.size(); ++i) {
      if (i > 0) text_ += separator_;
      text_ += quoted(values[order_[i]]);
    }
    text_ += more + end_;
  }

  // RFC 4180 §2: in quotes where it must be, and sometimes where it need not.
  std::string quoted(const std::string& value) {
    const bool must = value.find_first_of(std::string("\"\r\n") + separator_) != std::string::npos;
    if (!must && !once_in(7)) return value;
    std::string out = "\"";
    for (const char c : value) out += c == '"' ? "\"\"" : std::string(1, c);
    return out + "\"";
  }

  std::mt19937 random_;
  Set set_;
  char separator_;
  std::string end_;
  bool whole_names_;
  std::vector<std::string> columns_;
  std::vector<std::size_t> order_;
  std::size_t people_ = 0;
  std::string text_;
  OddPeople made_;
};

}  // namespace

OddPeople odd_people(std::size_t rows, std::uint32_t seed) {
  return Maker(rows, seed).made();
}

}  // namespace stationer::test
