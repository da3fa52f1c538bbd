// Command lines that are wrong: exit status 2, a sentence, how it goes, and nothing is touched.
#include "admin/wrong_usage.h"

#include <catch2/catch.hpp>

#include "tests/admin/process.h"
#include "tests/admin/tree.h"

using namespace stationer;
using namespace stationer::admin;

namespace {

struct Wrong {
  const char* line;
  const char* why;
};

std::string said_to(const std::vector<std::string>& words) {
  std::vector<const char*> pointers{"stationer"};
  for (const std::string& word : words) pointers.push_back(word.c_str());
  const test::Overheard heard;
  const int status = run_program(static_cast<int>(pointers.size()), pointers.data());
  CHECK(status == exit_wrong_usage);
  CHECK(heard.out().empty());
  return heard.err();
}

}  // namespace

TEST_CASE("what is wrong with a command line is said in a sentence") {
  const std::vector<Wrong> all = {
      {"--nonsense", "There is no option --nonsense here."},
      {"account --json", "There is no option --json here."},
      {"frobnicate", "There is no command frobnicate. There are: init, serve, status, console, "},
      {"queue print 3", "There is no command print. There are: list, jobs, show, hold, "},
      {"file access /public -w",
       "There is no option -w here. If it is meant as something else, put it last, behind --."},
      {"file list /public extra",
       "\"extra\" is one word too many. A name with spaces in it needs quotes."},
      {"file put My Letter.txt /public", "\"/public\" is one word too many. "},
      {"account add", "NAME is missing."},
      {"notice send @all", "TEXT is missing."},
      {"account add bram --role boss",
       "--role has to be one of member, leader, manager; \"boss\" is not."},
      {"account add bram --role", "--role needs something after it: --role member|leader|manager."},
      {"account add bram --ask-password --password-stdin",
       "--ask-password and --password-stdin don't go together."},
      {"account quota bram --mib much",
       "--mib has to be a whole number from 0 to 1099511627776; \"much\" is not."},
      {"account quota bram --mib -1", "--mib has to be a whole number"},
      {"account quota bram --hard-mib 3", "--hard-mib goes only with --mib NUMBER."},
      {"file bin --yes", "--yes goes only with --empty."},
      {"printout list --owner robin --unclaimed", "--owner and --unclaimed don't go together."},
      {"queue release three", "NUMBER has to be a whole number, and \"three\" is none"},
      {"printout show 99999999999", "NUMBER has to be a whole number"},
      {"journal --count 0", "--count has to be a whole number from 1 to 10000; \"0\" is not."},
      {"status --volume \"\"", "--volume can't be empty."},
      {"status --volume a --volume b", "--volume was given more than once."},
      {"pdf --list fonts",
       "--list has to be one of printers, languages, papers, charsets; \"fonts\" is not."},
      // What only the commands themselves can tell.
      {"account add robin bram --full-name Robin --volume none", "one account at a time."},
      {"account add robin bram --password-stdin --volume none", "one account at a time."},
      {"pdf only-one", "Name the input and the output: INPUT OUTPUT."},
      {"init none --password-stdin", "Add --manager NAME."},
  };
  for (const Wrong& wrong : all) {
    const std::string said = said_to(test::words_of(wrong.line));
    INFO(wrong.line << "\n" << said);
    CHECK(said.starts_with("stationer: "));
    CHECK(said.find(wrong.why) != std::string::npos);
    CHECK(said.find("\nUsage: stationer ") != std::string::npos);
    CHECK(said.find(" --help\n") != std::string::npos);
  }
}

TEST_CASE("a group without its command shows its help") {
  CHECK(said_to({}).starts_with("Usage: stationer COMMAND ...\n"));
  CHECK(said_to({"file"}).find("\n  restore ") != std::string::npos);
}

TEST_CASE("what was typed is shown clipped and harmless") {
  const std::string said = said_to({"account", "list", "--\x1b[2J" + std::string(5000, 'x')});
  CHECK(said.size() < 400);
  CHECK(said.find('\x1b') == std::string::npos);
}

TEST_CASE("nonsense on the command line ends with 2, whatever it is") {
  for (const std::string& word :
       {std::string("-"), std::string("--"), std::string("---"), std::string("-="),
        std::string("="), std::string("--="), std::string("--volume="), std::string(""),
        std::string(100'000, 'y'), std::string("\xff\xfe")}) {
    for (const std::vector<std::string>& before :
         {std::vector<std::string>{}, {"account"}, {"account", "quota"}, {"journal", "--count"}}) {
      auto words = before;
      words.push_back(word);
      INFO(fmt::format("{}", fmt::join(words, " ")).substr(0, 100));
      CHECK_FALSE(said_to(words).empty());
    }
  }
}

TEST_CASE("a volume that nobody named is asked for") {
  test::Keeper keeper;
  keeper.named = "";
  const test::Said said = keeper.run("account list");
  CHECK(said.status == 2);
  CHECK(said.err.find("Add --volume DIRECTORY, or set STATIONER_VOLUME") != std::string::npos);
  CHECK(said.out.empty());
}
