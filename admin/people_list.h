// A list of people, as an office or a spreadsheet gives it: UTF-8 (with its mark or without),
// UTF-16 with its mark, or else code page 1252, of which ISO 8859-1 is a part; separated by commas,
// semicolons or tabs (admin/csv.h), which is found out; with a line that names the columns, in any
// order. Or names alone, one a line. Pure.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fs/result.h"

namespace stationer::admin {

inline constexpr std::size_t longest_people_list = std::size_t{4} << 20;  // bytes
inline constexpr std::size_t most_people_listed = 20'000;

// One row. What has no column or nothing in it is empty; spaces and line ends are one space.
struct ListedPerson {
  std::size_t line = 0;   // where it begins, from 1
  std::string full_name;  // given and family name put together, "Fenn, Robin" turned around
  std::string sign_in;
  std::string klass;
  std::string role;
  std::string ends;
  std::string problem;  // why the row can't be read
};

struct PeopleList {
  std::vector<ListedPerson> people;
  std::string read_as;              // "UTF-8, separated by semicolons"
  std::vector<std::string> unused;  // columns nobody asked for, as they are called there
};

// Code::bad_input when it can't be read as a whole: what is no text, a quote that is not closed, a
// column that is there twice, several columns without a line that names them.
fs::Result<PeopleList> read_people_list(std::string_view bytes);

}  // namespace stationer::admin
