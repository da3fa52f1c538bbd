#include "print/settings_words.h"

#include <fmt/format.h>

#include "print/charset.h"
#include "print/dress.h"
#include "print/language.h"
#include "print/paper.h"

namespace stationer::print {
namespace {

using fs::SettingWords;
using Words = std::vector<SettingWords>;

std::string choices(const auto& all) {
  std::string out;
  for (const auto& each : all) out += fmt::format("{}\"{}\"", out.empty() ? "" : "|", each.name);
  return out;
}

// What printers and queues both say; of a queue it is as its printer has it when it is not said.
Words common_words() {
  return {
      {"language", choices(languages()), "\"text\"", "what jobs are written in",
       "Look into the manual of the program that prints, for the printer it was made for."},
      {"charset", choices(charsets()), "\"utf-8\"", "the characters that bytes stand for",
       "Change it when letters come out as others. The sets are named at the end."},
      {"landscape", "true|false", "false", "the paper is turned"},
      {"look", choices(looks()), "\"plain\"",
       "letters, or the dots of a print head: \"dots\" of 9 needles, \"fine-dots\" of 24"},
      {"bars", "true|false", "false", "shaded bars, as on listing paper"},
      {"edges", "true|false", "false", "the strips of fanfold with their holes"},
      {"pages_a_sheet", "1|2|4", "1", "how many pages go on one sheet, made smaller"},
  };
}

Words without_defaults(Words words) {
  for (SettingWords& each : words) each.otherwise.clear();
  return words;
}

Words joined(std::initializer_list<Words> parts) {
  Words out;
  for (const Words& part : parts) out.insert(out.end(), part.begin(), part.end());
  return out;
}

}  // namespace

std::vector<fs::TableWords> settings_words() {
  return {
      {"print",
       "Printing as a whole.",
       {
           {"queue", "the NAME of a [queue.NAME]", "", "where a job goes that names no queue",
            "The first of the queues when it is not said.", "\"lists\""},
           {"printout_days", "0..36500 days", "0", "how long printouts are kept; 0 is for ever",
            "They lie in printouts/ and count for nobody: set it when the disk fills."},
           {"again_days", "0..36500 days", "7",
            "what came in is kept, to print it again; 0 is not at all"},
           {"again_mib", "0..1048576 MiB", "256", "and no more than that of it, the newest"},
           {"index_mib", "1..1048576 MiB", "1024",
            "room for the index that finds printouts by their words"},
           {"confined", "true|false", "true",
            "jobs are turned into pages in processes that can do nothing else",
            "false only on a system that can't do that, which status then tells."},
           {"forward_server", "a host, HOST:PORT or the path of a socket", "\"\"",
            "the host's print system, for queues that forward; \"\" is as the host is set up", "",
            "\"printserver:631\""},
       }},
      {"queue.NAME",
       "A print queue. NAME has 1 to 16 small letters, digits, dots, dashes or underscores. "
       "Without "
       "any queue there is one, paper.",
       joined(
           {{{"title", "a text", "", "what people are shown",
              "The title of its printer when it is not said.", "\"Lists of the mill\""},
             {"profile", "the name of a printer", "\"plain-80\"",
              "the printer it imitates; there are: stationer printer list", "", "\"plain-132\""},
             {"policy", "\"straight\"|\"owner\"|\"leader\"", "\"straight\"",
              "\"straight\" is at once; else held until its \"owner\" or a \"leader\" lets it go"},
             {"most_pages", "1..10000", "200", "pages in one job",
              "It stops a program that prints without end."},
             {"pages_per_day", "0..1000000", "0", "pages a day for each member; 0 is no limit"},
             {"pages_per_week", "0..1000000", "0", "pages a week for each member; 0 is no limit"},
             {"split_pages", "0..1000000", "0",
              "a job becomes several printouts of so many pages; 0 is one"},
             {"split_marker", "a text of one line", "\"\"",
              "a job is also split at lines that say this and nothing else", "", "\"NEXT PUPIL\""},
             {"banner", "true|false", "false", "a page in front that says whose it is",
              "It is not counted."},
             {"forward", "a printer of the host's print system", "\"\"",
              "a real printer that printouts go to as well", "", "\"laser\""},
             {"forward_when", "\"always\"|\"asked\"", "\"always\"",
              "\"asked\": only when somebody says so, by stationer printout forward"}},
            without_defaults(common_words())})},
      {"printer.NAME",
       "A printer of your own, for queues to imitate. NAME is as that of a queue, and not that of "
       "a ready-made printer.",
       joined(
           {{{"like", "the name of a ready-made printer", "",
              "what is not said is as this one has it",
              "stationer printer show tells all of it. Without it, paper has to be said.",
              "\"line-printer-132\""},
             {"title", "a text", "", "what people are shown",
              "That of the other one, or else NAME.", "\"The printer in the hall\""},
             {"paper", choices(papers()), "", "its paper"}},
            common_words(),
            {{"pitch", "5|6|10|12|15|17.14|20", "10", "characters an inch"},
             {"lines_an_inch", "6|8", "6", "lines an inch"},
             {"columns", "0..1000", "0", "columns of a line; 0 is as many as there is room for"},
             {"lines", "0..1000", "0", "lines of a page; 0 is as many as there is room for"},
             {"left", "0..1000", "", "columns to the left of the first",
              "In the middle when it is not said."},
             {"top", "0..1000", "", "lines above the first", "In the middle when it is not said."},
             {"skip", "0..1000", "0", "lines at the foot that stay free, for the perforation"},
             {"return_feeds", "true|false", "false", "a carriage return also feeds a line",
              "For texts whose lines come out upon each other."},
             {"feed_returns", "true|false", "true", "a line feed also returns to the left margin",
              "Without it, lines that end in a line feed alone stand like stairs."},
             {"seven_bits", "true|false", "false", "the eighth bit of each byte is parity"},
             {"control_z_ends", "true|false", "false", "control Z ends the text"},
             {"letter_quality", "true|false", "false",
              "dot-matrix printers begin with their best characters"},
             {"drop_neighbours", "true|false", "false",
              "in the densest images the second of two dots side by side is left out",
              "A real head is too slow for it."},
             {"minus_lines", "1..3", "3", "in listings: how many lines a minus sign feeds"},
             {"channels", "a list of up to 11 numbers of lines", "[]",
              "in listings: the lines of the control tape's channels 2, 3 and so on", "",
              "[10, 20]"}}})},
  };
}

}  // namespace stationer::print
