#include "server/protocol/lpd_control.h"

#include <random>

#include <catch2/catch.hpp>

#include "fs/text.h"

using namespace stationer::server;

TEST_CASE("control file: who, what and how") {
  const auto control = parse_lpd_control(
      "Hmill\nProbin\nJreport\nCmill\nLrobin\nMrobin\nI4\nW80\nTWeekly\nfdfA017mill\nUdfA017mill\n"
      "Nreport.txt\n");
  CHECK(control.host == "mill");
  CHECK(control.user == "robin");
  CHECK(control.job == "report");
  CHECK(control.class_name == "mill");
  CHECK(control.banner == "robin");
  CHECK(control.mail == "robin");
  REQUIRE(control.files.size() == 1);
  const auto& file = control.files[0];
  CHECK(file.data_file == "dfA017mill");
  CHECK(file.format == 'f');
  CHECK(file.copies == 1);
  CHECK(file.source == "report.txt");
  CHECK(file.title == "Weekly");
  CHECK(file.width == 80u);
  CHECK(file.indent == 4u);
}

TEST_CASE("control file: every small letter is a way to print, repetition is copies") {
  // RFC 1179 §7.17 to §7.29; one line for each copy is common practice, no source.
  for (char letter = 'a'; letter <= 'z'; ++letter) {
    const std::string line = letter + std::string("dfA001mill\n");
    const auto control = parse_lpd_control(line + line + line);
    REQUIRE(control.files.size() == 1);
    CHECK(control.files[0].format == letter);
    CHECK(control.files[0].copies == 3);
  }
  const auto two_ways = parse_lpd_control("fdfA1m\nrdfA1m\n");
  CHECK(two_ways.files.size() == 2);
}

TEST_CASE("control file: source names stand before or after their file") {
  const auto after = parse_lpd_control("fdfA\nUdfA\nNone\nfdfB\nUdfB\nNtwo\n");
  CHECK(after.files[0].source == "one");
  CHECK(after.files[1].source == "two");
  const auto before = parse_lpd_control("None\nfdfA\nUdfA\n");
  CHECK(before.files[0].source == "one");
}

TEST_CASE("control file: texts are cut to the lengths of the RFC") {
  const std::string x(200, 'x');
  const auto control = parse_lpd_control("H" + x + "\nP" + x + "\nJ" + x + "\nC" + x + "\nL" + x +
                                         "\nT" + x + "\nfdfA\nN" + x + "\n");
  // RFC 1179 §7.2, §7.10, §7.4, §7.1, §7.5, §7.11, §7.8.
  CHECK(control.host.size() == 31);
  CHECK(control.user.size() == 31);
  CHECK(control.job.size() == 99);
  CHECK(control.class_name.size() == 31);
  CHECK(control.banner.size() == 31);
  CHECK(control.files[0].title.size() == 79);
  CHECK(control.files[0].source.size() == 131);
  // Never inside a character.
  CHECK(parse_lpd_control("P" + std::string(30, 'x') + "é\n").user == std::string(30, 'x'));
}

TEST_CASE("control file: texts come out clean whatever went in") {
  CHECK(parse_lpd_control("Jcaf\xC3\xA9\n").job == "café");
  CHECK(parse_lpd_control("Jcaf\xE9\n").job == "café");  // Latin-1, as old hosts have it
  CHECK(parse_lpd_control("Ja\x1B[2Jb\x7F\n").job == "a?[2Jb?");
  CHECK(parse_lpd_control("Prob\0in\n").user == "rob");  // a C string ends there, by itself
  CHECK(parse_lpd_control("Probin\r\nfdfA1m\r\n").user == "robin");
  CHECK(parse_lpd_control("W99999999999\nfdfA\n").files[0].width == std::nullopt);
  CHECK(parse_lpd_control("W-1\nfdfA\n").files[0].width == std::nullopt);
}

TEST_CASE("control file: what means nothing is passed over") {
  const auto control = parse_lpd_control("\n\nX\nS8 123\n1font\n2font\n?\nf\nPwren\nfdfA");
  CHECK(control.user == "wren");
  REQUIRE(control.files.size() == 1);  // a lone f names no file; a last line may lack its LF
  CHECK(control.files[0].data_file == "dfA");
  CHECK(parse_lpd_control("").files.empty());
}

TEST_CASE("a printout is called by its job, its file or its title, without the folders") {
  const auto called = [](const std::string& octets) {
    const auto control = parse_lpd_control(octets + "\nfdfA001mill\n");
    return title_of(control, control.files.at(0));
  };
  CHECK(called("JEvening roster\nNroster.txt") == "Evening roster");
  CHECK(called("J/home/wren/papers/roster.txt") == "roster.txt");
  CHECK(called("NC:\\PAPERS\\ROSTER.TXT") == "ROSTER.TXT");
  CHECK(called("TThe roster") == "The roster");
  CHECK(called("JTides 1/2 and 3\\4") == "Tides 1/2 and 3\\4");
  CHECK(called("J/") == "/");
  CHECK(called("J/tides/") == "/tides/");
  CHECK(called("H") == "");
}

TEST_CASE("invariant 6: a control file of rubbish gives bounded, clean texts") {
  const unsigned seed = std::random_device{}();
  CAPTURE(seed);
  std::mt19937 random(seed);
  for (int round = 0; round < 300; ++round) {
    std::string octets;
    for (int i = 0; i < 2000; ++i) {
      constexpr std::string_view likely = "\nHPJCLMNTIWUSfplr1";
      octets +=
          random() % 3 == 0 ? likely[random() % likely.size()] : static_cast<char>(random() % 256);
    }
    const auto control = parse_lpd_control(octets);
    for (const auto* text : {&control.host, &control.user, &control.job, &control.class_name,
                             &control.banner, &control.mail}) {
      REQUIRE(stationer::fs::is_utf8(*text));
      REQUIRE(text->size() <= 2 * 99);
      REQUIRE(std::none_of(text->begin(), text->end(), [](char c) { return c >= 0 && c < ' '; }));
    }
  }
  std::string many;
  for (int i = 0; many.size() < 64 * 1024; ++i) many += "f" + std::to_string(i) + "\n";
  CHECK(parse_lpd_control(many).files.size() == 256);
}
