#include "admin/people_list.h"

#include <catch2/catch.hpp>

using namespace stationer;
using namespace stationer::admin;

namespace {

PeopleList read(std::string_view bytes) {
  auto list = read_people_list(bytes);
  INFO(std::string(bytes));
  if (!list) FAIL(list.error().message);
  return std::move(*list);
}

std::string refused(std::string_view bytes) {
  const auto list = read_people_list(bytes);
  REQUIRE_FALSE(list);
  return list.error().message;
}

std::string said(const ListedPerson& person) {
  std::string out = std::to_string(person.line);
  for (const auto* each : {&person.full_name, &person.sign_in, &person.klass, &person.role,
                           &person.ends, &person.problem}) {
    out += "|" + *each;
  }
  return out;
}

std::vector<std::string> all(std::string_view bytes) {
  std::vector<std::string> out;
  for (const auto& person : read(bytes).people) out.push_back(said(person));
  return out;
}

using Lines = std::vector<std::string>;

std::string utf_16(std::u16string_view text, bool high_first) {
  std::string out = high_first ? "\xFE\xFF" : "\xFF\xFE";
  for (const char16_t c : text) {
    const char high = static_cast<char>(c >> 8);
    const char low = static_cast<char>(c & 0xFF);
    out += high_first ? high : low;
    out += high_first ? low : high;
  }
  return out;
}

}  // namespace

TEST_CASE("columns are found by what they are called, in any order") {
  const Lines robin = {"2|Robin Fenn|rfenn|evening|member|2027-07-31|"};
  CHECK(all("Full name,Class,Sign-in name,Role,Ends\nRobin Fenn,evening,rfenn,member,2027-07-31") ==
        robin);
  CHECK(all("ENDS;role;CLASS;user name;Name\n2027-07-31;member;evening;rfenn;Robin Fenn\n") ==
        robin);
  CHECK(all("Family name\tGiven name\tGroup\tLogin\tROLE\tEnd date\r\n"
            "Fenn\tRobin\tevening\trfenn\tmember\t2027-07-31\r\n") == robin);
  CHECK(all("Name;Vorname;Klasse;Kennung;Rolle;G\u00fcltig bis\n"
            "Fenn;Robin;evening;rfenn;member;2027-07-31") == robin);
  CHECK(all("Nom,Pr\u00e9nom,Classe,Identifiant,Fonction,Date de fin\n"
            "Fenn,Robin,evening,rfenn,member,2027-07-31") == robin);
}

TEST_CASE("columns nobody asked for are named, and not read") {
  const auto list = read("Shoe size;Name;Telephone;\n38;Robin Fenn;none;\n");
  CHECK(list.unused == Lines{"Shoe size", "Telephone"});
  CHECK(list.read_as == "UTF-8, separated by semicolons");
  CHECK(said(list.people.at(0)) == "2|Robin Fenn|||||");
}

TEST_CASE("names alone stand one a line, with the family name behind a comma or not") {
  const Lines both = {"1|Robin Fenn|||||", "3|Wren van Rill|||||"};
  CHECK(all("Robin Fenn\n\nvan Rill, Wren\n") == both);
  CHECK(all("  Robin  Fenn\r\n\r\n\"van Rill, Wren\"\r\n") == both);
  CHECK(all("Name\nRobin Fenn\nvan Rill, Wren") ==
        Lines{"2|Robin Fenn|||||", "3|Wren van Rill|||||"});
  CHECK(read("Robin Fenn").read_as == "UTF-8, one name a line");
}

TEST_CASE("a list is read in whichever of its character sets it is") {
  const Lines jurgen = {"2|J\u00fcrgen \u017d\u00f3\u0142w|||||"};
  CHECK(all("name\nJ\u00fcrgen \u017d\u00f3\u0142w") == jurgen);
  CHECK(all("\xEF\xBB\xBFname\nJ\u00fcrgen \u017d\u00f3\u0142w") == jurgen);
  CHECK(all(utf_16(u"name\nJ\u00fcrgen \u017d\u00f3\u0142w", false)) == jurgen);
  CHECK(all(utf_16(u"name\nJ\u00fcrgen \u017d\u00f3\u0142w", true)) == jurgen);
  // Windows code page 1252, as registered with IANA: 80 is the euro, 8E Z with caron, FC u with
  // diaeresis.
  CHECK(all("name\nJ\xFCrgen \x8Eo\x80") == Lines{"2|J\u00fcrgen \u017do\u20ac|||||"});
  CHECK(read("name\nJ\xFCrgen").read_as == "code page 1252, one name a line");
  CHECK(read(utf_16(u"name;class\nWren;x", false)).read_as == "UTF-16, separated by semicolons");
  // Beyond the basic plane: two halves.
  CHECK(all(utf_16(u"name\n\U0001D50A", false)) == Lines{"2|\U0001D50A|||||"});
}

TEST_CASE("spaces and line ends within a value are one space") {
  CHECK(all("name,class\n\"  Robin\r\n  Fenn\xC2\xA0\",\" evening \"\n") ==
        Lines{"2|Robin Fenn||evening|||"});
}

TEST_CASE("a row that can't be read says why") {
  CHECK(all("name,class\nRobin,a,b\n,a\n\"Wren\" Rill,a\nBram\nTeasel,a,,\n") ==
        Lines{"2|Robin||a|||It has 3 values, and there are 2 columns.", "3|||a|||There is no name.",
              "4|Wren Rill||a|||Something stands behind a closing quote (\").", "5|Bram|||||",
              "6|Teasel||a|||"});
}

TEST_CASE("a list that can't be read as a whole says why") {
  CHECK(refused("") == "There is nobody in the list.");
  CHECK(refused("name,class\n") == "There is nobody in the list.");
  CHECK(refused("Robin;evening\n").find("Line 1 has several values") == 0);
  CHECK(refused("Robin\nRill, Wren, evening\n").find("Line 2 has several values") == 0);
  CHECK(refused("name,class,group\nRobin,a,b").find("Two columns of the list tell the same") == 0);
  CHECK(refused("name,class\n\"Robin,a\n").find("in line 2 is never closed") != std::string::npos);
  CHECK(refused(std::string_view("PK\x03\x04\0\0", 6)).find("no list in text") !=
        std::string::npos);
  CHECK(refused("name\nWr\x81n").find("no list in text") != std::string::npos);
  CHECK(refused(std::string(longest_people_list + 1, 'a')).find("at most 4 MiB") !=
        std::string::npos);
}

TEST_CASE("a list cut off anywhere is read up to there, or says why not") {
  const std::string whole =
      "\xEF\xBB\xBFName;Vorname;Klasse\r\nFenn;\"Robin \"\"Rob\"\"\";evening\r\n"
      "\u00d8rn;\"J\u00fcr\r\ngen\";day\r\nRill;Wren;day\r\n";
  const auto complete = read(whole);
  REQUIRE(complete.people.size() == 3);
  for (std::size_t cut = 0; cut <= whole.size(); ++cut) {
    const auto list = read_people_list(std::string_view(whole).substr(0, cut));
    if (!list) {
      CHECK_FALSE(list.error().message.empty());
      continue;
    }
    // Half a character makes all of it code page 1252; what is ASCII reads the same.
    REQUIRE(list->people.size() <= 3);
    if (list->people.size() > 1) CHECK(list->people[0].full_name == "Robin \"Rob\" Fenn");
  }
}
