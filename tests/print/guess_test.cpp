#include "print/guess.h"

#include <string>

using namespace stationer::print;
using namespace std::string_literals;

namespace {

using Looks = Guess::Looks;

std::string times(int count, const std::string& text) {
  std::string out;
  for (int i = 0; i < count; ++i) out += text;
  return out;
}

Looks looks(const std::string& job) {
  return guess(job).looks;
}

Settings settings(Language language, Charset charset = Charset::utf_8) {
  Settings out;
  out.language = language;
  out.text.charset = charset;
  return out;
}

const std::string letter =
    "Dear keeper,\r\nthe tide table says high water at 3:15,\r\nand my feet say it came at "
    "three.\r\n";
const std::string rents =
    "1TIDEWRACK MILL                 PEG RENTS\n"
    "+TIDEWRACK MILL                 PEG RENTS\n"
    "0NAME            PEG     RENT\n"
    " ROBIN            12     3.50\n"
    " WREN             14     4.00\n"
    " SORREL            3     1.25\n"
    "0TOTAL                   8.75\n";

}  // namespace

TEST_CASE("ordinary text is never taken for anything else") {
  // One of each kind that has what listings or codes have.
  const std::string texts[] = {
      "",
      "x",
      letter,
      // Indented, as a poem or a quotation is.
      " The mill wheel turns,\n  the river learns\n to go around.\n\n  It makes no sound.\n end\n",
      times(40, "    indented by four\n"),
      times(40, "\tindented by a tab\n"),
      // Programs with line numbers.
      "10 REM TIDES\n20 INPUT H\n100 LET T=H*2\n110 PRINT T\n120 GOTO 20\n",
      "100 REM A\n110 REM B\n120 REM C\n130 REM D\n140 REM E\n150 END\n",
      "1 REM\n10 PRINT\n11 PRINT\n12 PRINT\n13 GOTO 1\n",
      // Lists of several habits.
      "1. Close the sluice\n1. Grease the shaft\n1. Ring the bell\n1. Sweep\n1. Go home\n",
      "1) flour\n1) salt\n0) water\n1) yeast\n1) time\n",
      "- flour\n- salt\n- water\n- yeast\n- time\n- patience\n",
      "+ flour\n+ salt\n+ water\n+ yeast\n+ time\n+ patience\n",
      " - flour\n - salt\n - water\n - yeast\n - time\n",
      "1 egg\n1 cup of flour\n0 sugar\n  (really)\n  mix well\n1 pinch of salt\n",
      "1st place: robin\n 12 points\n1st runner-up: wren\n 11 points\n  and a half\n",
      // Lists of changes.
      " one\n-two\n+three\n four\n+five\n six\n seven\n",
      "+int main() {\n+  return 0;\n+}\n \n \n",
      " void grind() {\n+  open();\n   turn();\n+  close();\n }\n",
      "--- old\n+++ new\n one\n-two\n+two and a half\n three\n",
      // Tables of numbers.
      "0.50 1.25\n1.00 2.50\n1.50 3.75\n 2.00\n 2.50\n 3.00\n",
      " 1.0 2.0\n-1.5 2.5\n 0.5 0.25\n-0.1 0.2\n 9.0 1.0\n",
      "1\n0\n1\n1\n0\n0\n1\n",
      "0 0 1 1\n1 0 0 1\n0 1 1 0\n1 1 1 1\n0 0 0 0\n",
      "1234 5678\n1111 2222\n0000 1111\n 333 4444\n 555 6666\n",
      "101010\n010101\n111000\n000111\n110011\n",
      "1,robin,3.50\n1,wren,4.00\n0,sorrel,1.25\n1,bram,0\n0,teasel,9\n",
      "00000000  48 69 67 68\n00000010  20 77 61 74\n00000020  65 72 0a 0a\n00000030  "
      "00\n0000003f\n",
      // Drawn with characters.
      "+-----+\n|     |\n| mill|\n|     |\n+-----+\n",
      "+----+----+\n+ a  + b  +\n+----+----+\n+ c  + d  +\n+----+----+\n",
      "-----\n a b \n-----\n c d \n-----\n",
      // Mail, a play, a receipt, a telephone list.
      "> You said:\n> > no\n> yes\nSo be it.\n> Well.\n",
      "01 555 0101 robin\n01 555 0102 wren\n01 555 0103 bram\n01 555 0104\n01 555 0105\n",
      "1 x flour   2.00\n1 x salt    0.40\n0 x bags    0.00\n            ----\n            2.40\n",
      " 1 January\n11 June\n10 July\n12 August\n 1 May\n",
      "-5 degrees\n-3 degrees\n 0 degrees\n+4 degrees\n+6 degrees\n",
      // Struck over, padded, with form feeds, with a control Z at the end.
      "T\bT_\bi_\bt\r\ntitle\rtitle\r\n\x0C page\r\n",
      letter + "\x1A" + times(100, "\x1A"s),
      times(20, "a line"s + std::string(8, '\0') + "\r\n"),
      // In other characters.
      times(20, "caf\xC3\xA9 na\xC3\xAFve\n"),
      times(20, "caf\xE9 na\xEFve\n"),
      times(20, "M\x81hle \x84hnlich\r\n"),
      "\xDA\xC4\xC4\xC4\xBF\r\n\xB3mil\xB3\r\n\xC0\xC4\xC4\xC4\xD9\r\n",
      // Codes that are too few, or the ones of several.
      "a\x1B"
      "E bold? or next line\r\n",
      "\x0E"
      "WIDE\x14 \x0Fsmall\x12\r\n",
  };
  for (const std::string& text : texts) {
    CAPTURE(text);
    CHECK(looks(text) == Looks::text);
    Settings fitting = settings(Language::text);
    const TextGuess seen = guess(text).text;
    if (seen.charset) fitting.text.charset = *seen.charset;
    CHECK(advice(text, fitting) == "");
  }
}

TEST_CASE("a listing is known by what its first column does") {
  CHECK(looks(rents) == Looks::listing);
  CHECK(looks("1PAGE ONE\n ROBIN\n WREN\n0TOTAL\n DONE\n1PAGE TWO\n BRAM\n") == Looks::listing);
  CHECK(looks("1     TIDES\n\n  3.15\n  9.20\n\n 15.40\n 21.50\n0     END\n") == Looks::listing);
  CHECK(looks(" MILL\n+____\n\n  3.15\n  9.20\n 15.40\n") == Looks::listing);
  std::string returns;
  for (const char each : rents) returns += each == '\n' ? "\r\n" : std::string(1, each);
  CHECK(looks(returns) == Looks::listing);
  CHECK(
      advice(rents, settings(Language::text)) ==
      "It looks like a listing: the first column of its lines moves the paper; but it was read as "
      "text. Try the language listing.");
  CHECK(advice(rents, settings(Language::listing)) == "");
}

TEST_CASE("text that is read as a listing is told of") {
  CHECK(advice("one\ntwo\nthree\n four\nfive\nsix\n", settings(Language::listing)) ==
        "5 of its first 6 lines begin with what moves no paper; but it was read as a listing. Try "
        "the language text.");
  CHECK(advice("one\ntwo\n", settings(Language::listing)) == "");
}

TEST_CASE("dot-matrix codes are known by those that no other language has") {
  const std::string job =
      "\x1B@\x1B"
      "ETitle\x1B"
      "F\r\n" +
      times(5,
            "\x1B"
            "Eword\x1B"
            "F and \x1B-1under\x1B-0\r\n");
  CHECK(looks(job) == Looks::dot_codes);
  CHECK(guess(job).evidence == "ESC @ at byte 0, ESC - 10 times, ESC E 6 times");
  CHECK(looks("\x1B"
              "3\x18\x1BK\x04\x00\x1B[1m\r\n"s +
              "\x1B"
              "2done") == Looks::dot_codes);
  CHECK(guess("\x1B*\x27\x02\x00"
              "123456\r\n\x1B+\x30"s)
            .what == "dot-matrix codes of a 24-pin printer");
  CHECK(guess("\x1B*\x05\x02\x00"
              "12\r\n\x1B"
              "3\x18"s)
            .what == "dot-matrix codes");
  // Data that looks like codes is data.
  CHECK(looks("\x1B*\x01\x06\x00\x1B[5m\x1B[\r\n"s) == Looks::dot_codes);
}

TEST_CASE("ECMA-48 is known by its control sequences") {
  const std::string job = "\x1B[1mTitle\x1B[0m\r\n\x1B[4mword\x1B[0m\x1B[3;5fhere";
  CHECK(looks(job) == Looks::ecma48);
  CHECK(guess(job).evidence == "CSI m at byte 0 and 4 times in all, CSI f once");
  CHECK(looks("\x1B[120;72 G\x1B"
              "Eline\x1BM") == Looks::ecma48);
  CHECK(guess("x\x1B[2 K").evidence == "CSI SP K at byte 1");
  CHECK(advice(job, settings(Language::text)) ==
        "It looks like ECMA-48 control sequences: CSI m at byte 0 and 4 times in all, CSI f once; "
        "but it was read as text. Try the language ecma-48.");
  CHECK(advice(job, settings(Language::ecma48)) == "");
}

TEST_CASE("what no language here is, is told by name") {
  CHECK(guess("\x1B"
              "E\x1B&l0O\x1B(s10Htext")
            .what == "the codes of laser printers");
  CHECK(guess("\x1B*t300R\x1B*r1A\x1B*b3Wabc").what == "the codes of laser printers");
  CHECK(guess("%!\n/mill 1 def\n").what == "a PostScript program");
  CHECK(guess("%PDF-1.7\n").what == "a PDF document");
  CHECK(guess("\x1F\x8B\x08").what == "a packed file");
  CHECK(guess("\x89PNG\r\n\x1A\n").what == "a picture");
  CHECK(guess(times(20, "\x01\x02\x03\x04"s)).what == "a program or a picture");
  CHECK(advice("%PDF-1.7\n", settings(Language::text)) ==
        "It looks like a PDF document: it begins as one; nothing here prints that.");
}

TEST_CASE("the character set is guessed from the bytes above 7F") {
  const auto charset = [](const std::string& text) { return guess(text).text.charset; };
  CHECK_FALSE(charset(letter));
  CHECK(charset("caf\xC3\xA9") == Charset::utf_8);
  CHECK(charset("caf\xC3\xA9 \xE2\x82") == Charset::utf_8);  // cut in the midst
  CHECK(charset("Gru\xDF aus der M\xFChle") == Charset::iso_8859_1);
  CHECK(charset("Gru\xE1 aus der M\x81hle") == Charset::cp437);
  CHECK(charset("\xC9\xCD\xCD\xBB\r\n\xBAok\xBA\r\n\xC8\xCD\xCD\xBC") == Charset::cp437);
  CHECK(charset("S\xC6o Jo\xC6o, 5 \x87\x87") == Charset::cp850);
  CHECK_FALSE(charset("20 \xA3 or \xA7 5"));

  CHECK(advice("Gru\xE1 aus der M\x81hle\n", settings(Language::text)) ==
        "Its bytes above 7F look like the character set cp437, and were read as utf-8.");
  CHECK(advice("Gru\xE1 aus der M\x81hle\n", settings(Language::text, Charset::cp850)) == "");
  CHECK(advice("Gru\xDF \xFC"
               "ber\n",
               settings(Language::text, Charset::iso_8859_15)) == "");
  CHECK(advice("caf\xC3\xA9\n", settings(Language::text, Charset::cp437)) ==
        "Its bytes above 7F look like the character set utf-8, and were read as cp437.");
}

TEST_CASE("parity in the eighth bit is noticed") {
  std::string even = letter;
  std::string mark = letter;
  for (char& each : even) {
    if (__builtin_parity(static_cast<unsigned char>(each)) != 0)
      each = static_cast<char>(each | 0x80);
  }
  for (char& each : mark) each = static_cast<char>(each | 0x80);
  for (const std::string& job : {even, mark}) {
    CHECK(guess(job).text.parity);
    CHECK(guess(job).text.line_end == LineEnd::cr_lf);
    CHECK(advice(job, settings(Language::text)) ==
          "Every byte has its eighth bit as parity: say that there are seven bits.");
  }
  CHECK_FALSE(guess(letter).text.parity);
}

TEST_CASE("line ends that don't fit the settings are told of") {
  CHECK(guess("a\nb\n").text.line_end == LineEnd::lf);
  CHECK(guess("a\r\nb\r\n").text.line_end == LineEnd::cr_lf);
  CHECK(guess("a\rb\rc").text.line_end == LineEnd::cr);
  CHECK(guess("abc").text.line_end == LineEnd::none);
  Settings plain = settings(Language::text);
  CHECK(advice("one\rtwo\rthree", plain) ==
        "Its lines end with a carriage return alone: say that a return also feeds.");
  plain.text.return_feeds = true;
  CHECK(advice("one\rtwo\rthree", plain) == "");
  CHECK(advice("one\r\ntwo\r\n", plain) ==
        "Its lines end with a carriage return and a line feed: say that a return does not feed.");
  Settings strict = settings(Language::ecma48);
  strict.text.feed_returns = false;
  CHECK(advice("one\ntwo\n", strict) ==
        "Its lines end with a line feed alone: say that a feed also returns.");
}

TEST_CASE("only the beginning of a job is looked at, and it may be cut anywhere") {
  const std::string long_text = times(2000, "Nothing but text.\n");
  CHECK(looks(long_text + "\x1B@\x1B@") == Looks::text);
  const std::string job = rents +
                          "\x1B[1m\x1B@\x1B*\x01\x06\x00"
                          "abcdef\xC3\xA9"s;
  for (std::size_t at = 0; at <= job.size(); ++at) {
    const Guess seen = guess(job.substr(0, at));
    CHECK((seen.looks != Looks::text) == !seen.evidence.empty());
  }
}
