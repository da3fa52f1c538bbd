// Every command, as a process: straight on the volume, and through the service, with the same
// results word for word.
#include <filesystem>
#include <optional>
#include <regex>
#include <set>

#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <catch2/catch.hpp>

#include "tests/admin/process.h"
#include "tests/admin/tree.h"
#include "tests/support/serving.h"

using namespace stationer;
using test::Keeper;
using test::Said;

namespace {

struct Step {
  const char* line;
  int status = 0;
  const char* says = "";  // somewhere in what it says; in standard error when it fails
  const char* input = "";
};

// An evening's work of the keeper's, after which little is as it was. Jobs: 1 is a printout, 2 to 5
// are held.
const std::vector<Step> evening = {
    {"account list", 0, "wren  manager"},
    {"account list --json", 0, "\"name\":\"wren\""},
    {"why", 0, "tried to print job 2"},
    {"why --job 2", 0, "What would change it: stationer queue release 2"},
    {"why --job 2 --json", 0, "\"sentence\":\"It waits for a leader to release it.\""},
    {"why --account robin --station owl --count 3", 0, "Nothing of that kind was refused"},
    {"why --job 0", 2, "has to be a whole number from 1"},
    {"completion bash", 0, "complete -F _stationer stationer"},
    {"completion FISH", 0, "complete -c stationer"},
    {"completion owl", 2, "bash, fish"},
    {"class list", 0, "There are no classes yet"},
    {"class list --json", 0, "[]"},
    {"class add evening Tuesday"},
    {"class add evening", 1, "evening"},
    {"class add \"two words\"", 1, "The name of a class has"},
    {"class show evening", 0, "Nobody is in this class yet."},
    {"class show nobody", 1, "There is no class nobody."},
    {"account add robin --class evening --full-name \"Robin of the Mill\"", 0, "robin  "},
    {"account add sorrel bram teasel", 0, "teasel  "},
    {"account add robin", 1, "robin"},
    {"account add \"not a name\" ..", 1, "2 of 2 could not be done; see above."},
    {"account add dipper --class nowhere", 1, "There is no class nowhere."},
    {"account add dipper --password-stdin", 0, "", "mill-race-dipper\n"},
    {"account add crake --password-stdin", 1, "at least 8 characters", "short\n"},
    {"account add crake --password-stdin", 1, "Standard input is empty."},
    {"account import -", 0, "1 person: 1 new, 0 to change, 0 as they are, 0 wrong.",
     "Crake Rill\n"},
    {"account import - --json", 0, "\"becomes\":\"new\"", "Crake Rill\n"},
    {"account import - --apply", 1, "1 line is wrong. Nothing was done", "name;class\nA;week\n"},
    {"account import - --class evening --apply", 0, "craker", "Crake Rill\n"},
    {"account import - --class evening --apply", 0, "", "Rill, Crake\n"},
    {"account import - --class evening", 0, "0 as they are", "Crake Weir\n"},
    {"account import - --apply --slips there.pdf", 1, "already a file", "Lark Weir\n"},
    {"account import - --apply --slips slips.pdf --slips-paper letter", 0, "", "Lark Weir\n"},
    {"account import - --apply --slips none.pdf", 0, "", "Lark Weir\n"},
    {"account import - --without-wrong", 2, "--apply", "Lark\n"},
    {"account import - --slips-paper letter", 2, "--slips", "Lark\n"},
    {"account import - --apply --slips x.pdf --slips-paper a3", 2, "a4, letter", "Lark\n"},
    {"account import none", 1, "\"none\" could not be opened"},
    {"account import -", 1, "There is nobody in the list.", "\n"},
    {"account remove craker larkw"},
    {"account password dipper --slips dipper.pdf"},
    {"account password dipper --slips dipper.pdf", 1, "already a file"},
    {"account password dipper --slips x.pdf --password-stdin", 2, "that are made up"},
    {"account password dipper --password-stdin", 0, "", "mill-race-dipper\n"},
    {"account list --class evening", 0, "robin"},
    {"account show ROBIN", 0, "Robin of the Mill"},
    {"account show robin --json", 0, "\"classes\":[\"evening\"]"},
    {"account show nobody", 1, "There is no account nobody."},
    {"account change sorrel --role Leader --full-name Sorrel"},
    {"account change nobody --role leader", 1, "There is no account nobody."},
    {"account change sorrel", 2, "Say what is to change"},
    {"account quota robin sorrel --mib 10 --hard-mib 12 --files 50"},
    {"account quota robin --mib 10 --hard-mib 5", 1, "below the soft one"},
    {"account show robin", 0, "warned at 10.0M, stopped at 12.0M"},
    {"account password sorrel", 0, "sorrel  "},
    {"account password sorrel --password-stdin", 0, "", "mill-race-sorrel\r\n"},
    {"account close bram teasel"},
    {"account list", 0, "member, closed"},
    {"account open teasel"},
    {"account remove bram nobody", 1, "There is no account nobody."},
    {"class join evening sorrel --leader"},
    {"class join evening teasel dipper nobody", 1, "1 of 3"},
    {"class show evening", 0, "sorrel  leader"},
    {"class printed evening", 0, "3 members printed 0 printouts on 0 pages."},
    {"class printed evening --since 2026-01-01 --json", 0, "\"pages\":0"},
    {"class printed evening --since soon", 1, "\"soon\" is no date."},
    {"class printed nobody", 1, "There is no class nobody."},
    {"class show evening --json", 0, "\"leader\":true"},
    {"hand-in list", 0, "/classes/evening/hand-in"},
    {"hand-in list --json", 0, "\"class\":\"evening\""},
    {"hand-in set /classes/evening/hand-in --closes \"2026-12-01 15:30\" --late yes"},
    {"hand-in list", 0, "2026-12-01 15:30  0 of "},
    {"hand-in set /classes/evening/hand-in --closes soon", 1, "\"soon\" is no date."},
    {"hand-in set /classes/evening/hand-in --late perhaps", 2, "yes, no"},
    {"hand-in set /classes/evening/hand-in --closes never"},
    {"hand-in show /classes/evening/hand-in", 0, "not yet"},
    {"hand-in show /classes/evening/hand-in --json", 0, "\"receipts\":[]"},
    {"hand-in show /public", 1, "/public is not a hand-in folder."},
    {"hand-in collect /classes/evening/hand-in /public/essays", 1, "Nothing has been handed in"},
    {"hand-in back /classes/evening/hand-in", 1, "nothing to hand back"},
    {"hand-in back /classes/evening/hand-in --account nobody", 1, "There is no account nobody."},
    {"hand-in ordinary /classes/evening/hand-in"},
    {"hand-in ordinary /classes/evening/hand-in", 1, "is not a hand-in folder."},
    {"hand-in list", 0, "Handed in\n/classes/tuesday/hand-in"},
    {"hand-in set /classes/evening/hand-in --late no"},
    {"class leave evening dipper"},
    {"class quota evening --mib 8 --files 100"},
    {"class quota evening --mib 8 --none", 2, "Say what the limit is"},
    {"class quota evening", 2, "Say what the limit is"},
    {"class quota nobody --mib 8", 1, "There is no class nobody."},
    {"class list", 0, "warned at 8.0M, stopped at 10.0M"},
    {"account show robin", 0, "its own"},
    {"account quota robin --as-class"},
    {"account quota robin --as-class --mib 3", 2, "Say what the limit is"},
    {"account show robin", 0, "warned at 8.0M, stopped at 10.0M"},
    {"account quota robin --mib 10 --hard-mib 12"},
    {"class quota evening --none"},
    {"class remove evening", 1, "evening"},
    {"class remove Tuesday"},
    {"class list", 0, "evening"},

    {"file list", 0, "programs"},
    {"file list / --json", 0, "\"kind\":\"folder\""},
    {"file list /members/robin", 0, "This folder is empty."},
    {"file list /nowhere", 1, "There is no /nowhere."},
    {"file list /members --as robin", 0, "may look in and add to it"},
    {"file list / --as guest", 0, "A guest"},
    {"file list /members/wren --as robin", 1, "may not"},
    {"file list /members/robin --as robin", 0, "nothing in this folder that robin could see."},
    {"file list / --as nobody", 1, "nobody"},
    {"file list / --as \"\"", 2, "--as"},
    {"file put local.bas /programs --kind program --load 1900 --entry 0x1903"},
    {"file put local.bas /programs", 1, "already something called /programs/local.bas"},
    {"file put local.bas /programs --replace"},
    {"file put - \"/public/a name with spaces\" --kind text", 0, "", "Dear all\r\n"},
    {"file put - /public", 1, "is a folder"},
    {"file put none /public", 1, "\"none\" could not be opened"},
    {"file put . /public", 1, "is a folder"},
    {"file put local.bas /no/where", 1, "There is no /no."},
    {"file put local.bas /public/x --load 1G", 2, "is not an address"},
    {"file put local.bas /public/what?", 1, "can't hold"},
    {"file show /programs/LOCAL.BAS", 0, "1900 hex"},
    {"file show /programs/local.bas --json", 0, "\"load_address\":6400"},
    {"file put - /public/before", 0, "", "first\n"},
    {"file versions /public/before", 0, "It has never been replaced"},
    {"file put - /public/before --replace", 0, "", "second\n"},
    {"file versions /public/before", 0, "the keeper"},
    {"file versions /public/before --json", 0, "\"size\":6"},
    {"file versions /public/none", 1, "There is no /public/none."},
    {"file get /public/before - --version 999999", 1, "has no such version"},
    {"file revert /public/before 999999", 1, "has no such version"},
    {"file revert /public/before", 2, "NUMBER"},
    {"file get \"/public/a name with spaces\" -", 0, "Dear all\r\n"},
    {"file get /public", 1, "is a folder"},
    {"file get /public/none -", 1, "There is no /public/none."},
    {"file get /programs/local.bas none/there", 1, "could not be created"},
    {"file get /programs/local.bas local.bas", 1, "There is already a file \"local.bas\"."},
    {"file get /programs/local.bas local.bas --replace"},
    {"file folder /programs/games /programs/games", 1, "1 of 2"},
    {"file copy /programs/local.bas /programs/games"},
    {"file copy /programs/games /public", 1, "is a folder"},
    {"file move /programs/games/local.bas /programs/games/maze.bas"},
    {"file move /programs/games/none /public", 1, "There is no"},
    {"file access /programs/games/maze.bas e-r,a+k", 0, "k"},
    {"file access /programs/games/maze.bas z+r", 1, "is no change of access"},
    {"file remove /programs/games/maze.bas", 1, "keep"},
    {"file access /programs/games/maze.bas -- -k"},
    {"file details /programs/games/maze.bas --no-addresses --kind data"},
    {"file details /programs/games/maze.bas", 2, "Say what is to change"},
    {"file owner /programs/games/maze.bas robin"},
    {"file owner /programs/games/maze.bas nobody", 1, "There is no account nobody."},
    {"file class /programs/games evening"},
    {"file class /programs/games \"\""},
    {"file list /programs/games", 0, "robin"},
    {"file bin", 0, "The bin is empty."},
    {"file remove /programs/games /public/none", 1, "There is no /public/none."},
    {"file bin --json", 0, "\"path\":\"/programs/games\""},
    {"file restore 4000000", 1, "not in the bin"},
    {"file bin --empty", 2, "Add --yes"},
    {"file bin --empty --yes"},
    {"file bin", 0, "The bin is empty."},

    {"queue list", 0, "held for a leader"},
    {"queue list --json", 0, "\"policy\":\"leader\""},
    {"queue jobs", 0, "tides"},
    {"queue jobs held --json", 0, "\"state\":\"held\""},
    {"queue jobs nowhere", 1, "There is no print queue nowhere."},
    {"queue show 2", 0, "held"},
    {"queue show 2 --json", 0, "\"queue\":\"held\""},
    {"queue show 1", 1, "among the printouts"},
    {"queue refuse 2 3 --reason \"Two hundred pages are too many.\""},
    {"queue show 3", 0, "Two hundred pages"},
    {"queue hold 99", 1, "99"},
    {"queue again 2", 0, "job 6"},
    {"queue again 1 --queue held", 0, "job 7"},
    {"queue again 99", 1, "There is no job 99"},
    {"queue join 4 6", 0, "job 8"},
    {"queue join 8", 1, "Name two jobs or more"},
    {"queue move 8 held"},
    {"queue move 8 nowhere", 1, "There is no print queue"},
    {"queue end 8", 1, "No job 8 is coming in."},
    {"queue cancel 3 8"},
    {"queue cancel 4", 1, "4"},
    {"queue jobs", 0, "refused"},
    {"printer list", 0, "daisy-wheel-12"},
    {"printer list --json", 0, "\"ready_made\":true"},
    {"printer show nine-pin-80", 0, "paper = \"fanfold-11\""},
    {"printer show nine-pin-80 --json", 0, "\"columns\":80"},
    {"printer show owl", 1, "Choose one of: plain-80"},
    {"printer sheet plain-80 -", 0, "Printer     plain-80"},
    {"printer sheet ecma-48-80 sheet.pdf --pdf"},
    {"printer sheet owl -", 1, "There is no printer profile called \"owl\""},
    {"printer sheet plain-80", 2, "OUTPUT"},
    {"printer sheet plain-80 none/there", 1, "could not be created"},
    {"printout list", 0, "(unclaimed)"},
    {"printout list --json", 0, "\"owner\":\"\""},
    {"printout list --owner nobody", 1, "There is no account nobody."},
    {"printout list --owner robin", 0, "There are no printouts."},
    {"printout list --unclaimed", 0, "tides"},
    {"printout list --unclaimed", 0, "Code"},
    {"printout find tid*", 0, "tides"},
    {"printout find tides --json", 0, "\"line\":\""},
    {"printout find nothing-of-that-kind", 0, "No printout has that."},
    {"printout find --queue held", 0, "No printout has that."},
    {"printout find --class nowhere", 1, "There is no class nowhere."},
    {"printout find tides --since yesterday", 1, "\"yesterday\" is no date."},
    {"printout find tides --count 0", 2, "--count"},
    {"printout show 1", 0, "nobody yet"},
    {"printout show 1 --json", 0, "\"pages\":1"},
    {"printout show 7", 1, "7"},
    {"printout get 1 -", 0, "%PDF-"},
    {"printout get 1 out.pdf"},
    {"printout get 1 out.pdf", 1, "already a file"},
    {"printout picture 1 tides.png --page 1 --width 200"},
    {"printout picture 1 tides.png", 1, "already a file"},
    {"printout picture 1 - --page 2", 1, "Printout 1 has no page 2: it has 1."},
    {"printout picture 7", 1, "There is no printout 7."},
    {"printout picture 1 --width 7", 2, "--width"},
    {"printout export evening.pdf", 0},
    {"printout export evening.pdf --class evening", 1, "There are no such printouts."},
    {"printout export - --queue paper --since 2026-01-01", 0, "%PDF-1.7"},
    {"printout export", 2, "FILE"},
    {"printout forward 1", 1, "Name a printer"},
    {"printout forward 7 laser", 1, "There is no printout 7."},
    {"printout give 1 robin"},
    {"printout give 1 nobody", 1, "There is no account nobody."},
    {"printout list --owner robin", 0, "tides"},
    {"printout discard 1 7", 1, "1 of 2"},
    {"printout list", 0, "There are no printouts."},

    {"station connected", 0, "Nobody is connected."},
    {"station connected --json", 0, "[]"},
    {"station list", 0, "No station is registered."},
    {"station list --json", 0, "[]"},
    {"station add --segment 1 --number 12 --name Owl --address 10.0.0.7 --door tftp --door lpd"},
    {"station add --segment 1 --number 12 --name wren", 1, "is that of the station owl, 1.12."},
    {"station add --segment 128 --number 12 --name wren", 2, "127"},
    {"station add --segment 1 --name wren", 2, "--number"},
    {"station add --segment 1 --number 13 --name wren --profile none", 1, "no [profile.none]"},
    {"station add --segment 1 --number 13 --name wren --door window", 1,
     "There is no door window."},
    {"station add --segment 1 --number 13 --name wren --hardware 02-00-5E-00-00-01 --note \"by the "
     "window\""},
    {"station list", 0, "02:00:5e:00:00:01  all        by the window"},
    {"station list --json", 0, "\"doors\":[\"lpd\",\"tftp\"]"},
    {"station boot owl /programs/local.bas"},
    {"station boot owl /programs/maze --asked START"},
    {"station boot owl", 2, "Name the file that it gets"},
    {"station boot owl /programs/maze --none", 2, "Name the file that it gets"},
    {"station boot dipper /programs/maze", 1, "There is no station dipper."},
    {"station show 1.12", 0, "start gets /programs/maze"},
    {"station show owl --json", 0, "\"asked\":\"\""},
    {"station show dipper", 1, "There is no station dipper."},
    {"station boot owl --asked start --none"},
    {"station boot owl --asked start --none", 1, "has no boot name for start."},
    {"station change owl --number 14 --door all"},
    {"station change owl", 2, "Say what is to change."},
    {"station change dipper --note x", 1, "There is no station dipper."},
    {"station show owl", 0, "all"},
    {"station unknown", 0, "No unknown machine was here"},
    {"station unknown --json", 0, "[]"},
    {"station adopt 10.0.0.9 --segment 1 --number 15 --name dipper"},
    {"station adopt here --segment 1 --number 16 --name crake", 1, "is no network address"},
    {"station adopt 10.0.0.10 --by-hardware --segment 1 --number 16 --name crake", 1,
     "is not seen"},
    {"station remove wren 1.15"},
    {"station remove wren 1.15", 1, "2 of 2 could not be done"},
    {"station list", 0, "10.0.0.7"},
    {"plan example", 0, "[[segment]]"},
    {"plan show -", 0, "4  box, 2 sockets", "[[segment]]\nmore = 8\n"},
    {"plan show - --json --program 1000 --rate 9600", 0, "\"one_ms\":1075",
     "[[segment]]\nmore = 8\n"},
    {"plan show -", 1, "for 1 reason; see above", "[[segment]]\nmore = 300\n"},
    {"plan show -", 1, "standard input, line 2: there is no setting \"mroe\"",
     "[[segment]]\nmroe = 300\n"},
    {"plan show none", 1, "\"none\" could not be opened"},
    {"plan show - --rate 0", 2, "--rate"},
    {"plan draw - plan.pdf", 0, "", "[[segment]]\nmore = 8\n"},
    {"plan draw - plan.pdf", 1, "already a file", "[[segment]]\nmore = 8\n"},
    {"plan draw - plan.pdf --replace", 1, "for 1 reason", "[[segment]]\nmore = 300\n"},
    {"plan draw - - --paper letter", 0, "%PDF-", "[[segment]]\nmore = 8\n"},
    {"plan draw - - --paper bark", 1, "bark", "[[segment]]\nmore = 8\n"},
    {"plan compare -", 0, "missing  It is planned, and not registered.",
     "[[segment]]\n[[segment.station]]\nnumber = 20\nname = \"crake\"\n"},
    {"plan compare - --json", 0, "\"what\":\"extra\"",
     "[[segment]]\n[[segment.station]]\nnumber = 20\nname = \"crake\"\n"},
    {"plan compare -", 0, "are as they are planned.", "[[segment]]\nmore = 20\n"},
    {"plan register -", 1, "There is no [profile.none]",
     "[[segment]]\n[[segment.station]]\nname = \"crake\"\nprofile = \"none\"\n"},
    {"plan register -", 0, "1 station registered.",
     "[[segment]]\n[[segment.station]]\nnumber = 20\nname = \"crake\"\naddress = "
     "\"10.0.0.20\"\n"},
    {"plan register -", 0, "No station was registered.",
     "[[segment]]\n[[segment.station]]\nnumber = 20\nname = \"crake\"\n"},
    {"station show crake", 0, "10.0.0.20"},
    {"station remove crake"},
    {"cards telnet lpd", 0, "Tidewrack Mill: Network terminal, by Telnet"},
    {"cards", 0, "Machine with an FTP client"},
    {"cards serial-40 --json", 0, "[serial.bench]"},
    {"cards owl", 1, "There is no card for \"owl\". There are: serial-80"},
    {"cards --pdf cards.pdf"},
    {"cards --pdf cards.pdf", 1, "already a file"},
    {"cards --pdf - --paper letter", 0, "%PDF-"},
    {"notice send @evening We close at nine tonight."},
    {"notice send @all \"The mill is \xE2\x98\x83 closed.\""},
    {"notice send robin Hello"},
    {"notice send nobody Hello", 1, "There is no account nobody."},
    {"notice send @nowhere Hello", 1, "There is no class nowhere."},
    {"journal --count 1000", 0, "account added"},
    {"journal --about teasel --count 2", 0, "teasel"},
    {"journal --who robin", 0, "nothing of that kind"},
    {"journal --json --count 3", 0, "\"what\":"},
    {"journal --what \"class joined\"", 0, "nothing of that kind"},
    {"journal --what joined --station box --words \"teasel evening\"", 0, "teasel"},
    {"journal --since 2026-01-01 --until 2199-12-31 --count 1", 0, "the keeper"},
    {"journal --until 2020-12-31", 0, "nothing of that kind"},
    {"journal --since yesterday", 1, "\"yesterday\" is no date."},
    {"journal --verify", 0, "The journal is as it was written, from entry 1 to entry "},
    {"journal --verify --json", 0, "\"whole\":true"},

    {"report evening-of.pdf --since 2026-01-01"},
    {"report evening-of.pdf", 1, "already a file"},
    {"report evening-of.pdf --replace --paper letter --until 2199-12-31"},
    {"report --json --since 2026-01-01", 0, "\"classes\":["},
    {"report", 2, "Say where it goes"},
    {"report x.pdf --since soon", 1, "\"soon\" is no date."},
    {"report none/there", 1, "could not be created"},

    {"account change dipper --ends 2199-12-31"},
    {"account change dipper --ends soon", 1, "\"soon\" is no date."},
    {"account show dipper", 0, "2199-12-31"},
    {"account list", 0, "2199-12-31"},
    {"account change dipper --ends \"\""},
    {"class add second third"},
    {"year list", 0, "No classes were moved up yet."},
    {"year preview evening:nowhere", 1, "1 thing is in the way of this plan."},
    {"year preview evening", 1, "\"evening\" is no move: write it FROM:TO."},
    {"year preview evening:second --staying teasel", 0, "1 person from evening to second: robin."},
    {"year preview evening:second --json", 0, "\"people\":2"},
    {"year apply", 1, "The plan names no class."},
    {"year apply evening:second second:third"},
    {"year apply evening:second", 1, "There is nobody to move."},
    {"year list", 0, "evening to second, second to third"},
    {"class show second", 0, "robin"},
    {"year undo 1"},
    {"year undo 1", 1, "It was undone already."},
    {"year list --json", 0, "\"people\":0"},
    {"class show evening", 0, "robin"},
    {"year apply --leaving evening"},
    {"account show teasel", 0, "the account is closed"},
    {"account export robin", 0, "archives/robin/"},
    {"account export robin --json", 0, "\"archive\":\"archives/robin/"},
    {"account export nobody", 1, "There is no account nobody."},
    {"account leave teasel --after soon", 1, "\"soon\" is no date."},
    {"account leave teasel nobody --after 2020-01-31", 1, "There is no account nobody."},
    {"account list", 0, "2020-01-31"},
    {"account due"},
    {"account erase teasel", 0, "Nothing was changed."},
    {"account erase teasel --json", 0, "\"sentence\":"},
    {"account erase sorrel --yes", 1, "The account sorrel is open."},
    {"account erase teasel --yes"},
    {"account erase teasel --yes", 1, "There is no account teasel."},
    {"journal --words teasel", 0, "nothing of that kind"},
    {"journal --verify", 0, "had somebody's name erased"},
    {"snapshot list", 0, "There are no snapshots yet."},
    {"snapshot list --json", 0, "[]"},
    {"snapshot take", 0, "volume/snapshots/tidewrack-mill-"},
    {"snapshot take kept.tar.zst", 0, "/kept.tar.zst: "},
    {"snapshot take kept.tar.zst", 1, "\"kept.tar.zst\" exists already"},
    {"snapshot take other.tar.zst --json", 0, "\"lost\":0"},
    {"snapshot take none/there", 1, "none"},
    {"snapshot list", 0, "tidewrack-mill-"},
    {"snapshot show kept.tar.zst", 0, "It is whole."},
    {"snapshot show kept.tar.zst --json", 0, "\"volume\":\"Tidewrack Mill\""},
    {"snapshot show local.bas", 1, "This is no snapshot"},
    {"snapshot rehearse kept.tar.zst", 0, "in which nothing is wrong"},
    {"snapshot rehearse kept.tar.zst --in volume", 1, "is not empty"},
    {"snapshot restore kept.tar.zst restored", 0, "--volume restored"},
    {"snapshot restore kept.tar.zst restored", 1, "is not empty"},
    {"file remove /programs/local.bas"},
    {"snapshot return kept.tar.zst /programs/local.bas", 0, "1 file brought back, 0 files are"},
    {"file put local.bas /programs --replace --kind text"},
    {"file put - /programs/local.bas --replace", 0, "", "Another one\r\n"},
    {"snapshot return kept.tar.zst /programs/local.bas", 0,
     "what was there is kept as a version: /programs/local"},
    {"file owner /programs/local.bas robin"},
    {"file put - /programs/local.bas --replace", 0, "", "A third one\r\n"},
    {"snapshot return kept.tar.zst /programs/local.bas", 0,
     "beside another: /programs/local from "},
    {"snapshot return kept.tar.zst /nowhere", 1, "There is no /nowhere in the snapshot"},
    {"snapshot return kept.tar.zst --account robin", 0, "0 files brought back"},
    {"snapshot return kept.tar.zst", 2, "Say what is to be brought back"},
    {"check", 0, "nothing is wrong."},
    {"check --json", 0, "\"findings\":[]"},
    {"check --repair", 0, "nothing is wrong."},
    {"check --repair --accept-loss --json", 0, "\"repaired\":0"},
    {"check --accept-loss", 2, "--repair"},
    {"adopt", 0, "0 taken in, 0 changed, 0 moved, 0 gone, 0 left alone."},
    {"adopt --json", 0, "\"items\":[]"},
    {"adopt --accept-loss", 0, "0 gone"},
    {"adopt everything", 2},
    {"status --json", 0, "\"name\":\"Tidewrack Mill\""},
    {"status", 0, "All is well."},
    {"console", 1, "needs a terminal"},
    {"console everything", 2},
    {"queue release 5"},

    // Which need no volume.
    {"pdf local.bas -", 0, "%PDF-"},
    {"pdf --list papers", 0, "a4"},
    {"manual", 0, ".SH NAME"},
    {"--version", 0, "stationer "},
    {"account add --help", 0, "--full-name TEXT"},
};

// What differs from one run to the next, made the same.
std::string levelled(std::string text, const Keeper& keeper) {
  const std::vector<std::pair<std::regex, const char*>> all = {
      {std::regex(R"(\d{4}-\d\d-\d\d \d\d:\d\d)"), "TIME"},
      {std::regex(R"(\d{4}-\d\d-\d\dT[0-9:.]+Z)"), "TIME"},
      {std::regex(R"(\d{4}/\d\d/\d\d)"), "DAY"},
      {std::regex(R"([0-9a-f]{64})"), "HASH"},
      {std::regex(R"(\b[a-hjkmnp-z2-9]{4} [a-hjkmnp-z2-9]{4}\b)"), "CODE"},
      {std::regex(R"(\d{4}-\d\d-\d\d( \d)?\.tar)"), "DAY.tar"},
      {std::regex(R"("bytes":\d+)"), "\"bytes\":SIZE"},
      // A printout holds the moment it was made, packed with other things.
      {std::regex(R"(size +[0-9,]+ bytes\n(queue ))"), "size SIZE\n$1"},
      {std::regex(R"(tidewrack-mill-\d{4}-\d\d-\d\d-\d{6})"), "SNAPSHOT"},
      {std::regex(R"((robin|sorrel|bram|teasel|craker)  [a-z0-9]{10}\n)"), "$1  PASSWORD\n"}};
  for (const auto& [pattern, word] : all) text = std::regex_replace(text, pattern, word);
  for (std::size_t at = 0; (at = text.find(keeper.volume(), at)) != std::string::npos;) {
    text.replace(at, keeper.volume().size(), "VOLUME");
  }
  return text;
}

// What differs with the service, and what has a date in it.
bool is_compared(std::string_view line) {
  // Ports that are free are chosen when the service starts.
  return !line.starts_with("status") && !line.starts_with("cards") && !line.starts_with("pdf") &&
         !line.starts_with("printout get") && !line.starts_with("printout export -") &&
         (!line.starts_with("snapshot") || line.starts_with("snapshot return"));
}

bool is_json(std::string_view line, const std::string& text) {
  if (line.find("--json") == std::string_view::npos) return true;
  boost::json::error_code failed;
  const auto value = boost::json::parse(text, failed);
  return !failed && (value.is_array() || value.is_object()) && text.ends_with('\n') &&
         text.find('\n') == text.size() - 1;
}

std::vector<Said> play(const Keeper& keeper) {
  std::vector<Said> all;
  for (const Step& step : evening) {
    all.push_back(keeper.run(step.line, step.input));
    const Said& said = all.back();
    INFO("stationer " << step.line << "\n" << said.out << said.err);
    CHECK(said.status == step.status);
    CHECK((step.status == 0 ? said.out : said.err).find(step.says) != std::string::npos);
    if (step.status == 0) CHECK(is_json(step.line, said.out));
    if (step.status == 0 && !std::string_view(step.line).starts_with("pdf")) {
      CHECK(said.err.empty());
    }
    if (step.status != 0) CHECK(said.err.starts_with("stationer: "));
    if (said.err.find("Usage:") != std::string::npos) CHECK(step.status == 2);
  }
  return all;
}

void prepare(Keeper& keeper) {
  keeper.make_volume({"paper", "held", "held", "held", "held"});
  keeper.write("local.bas", "10 PRINT \"TIDES\"\r20 GOTO 10\r");
  keeper.write("there.pdf", "in the way");
}

}  // namespace

TEST_CASE("every command does the same with the service and without") {
  Keeper straight;
  prepare(straight);
  const auto without = play(straight);

  Keeper served;
  prepare(served);
  test::Serving service(STATIONER_PROGRAM, served.volume());
  REQUIRE(service.is_ready());
  const auto with = play(served);

  for (std::size_t i = 0; i < evening.size(); ++i) {
    if (!is_compared(evening[i].line)) continue;
    INFO("stationer " << evening[i].line);
    CHECK(levelled(with[i].out, served) == levelled(without[i].out, straight));
    CHECK(levelled(with[i].err, served) == levelled(without[i].err, straight));
  }
  CHECK(served.done("status").find("service    runs since ") != std::string::npos);
  CHECK(straight.done("status").find("service    does not run") != std::string::npos);
  CHECK(service.stop() == 0);
  // What the service did is there without it.
  CHECK(served.done("account list") == straight.done("account list"));
  CHECK(served.done("check") == straight.done("check"));
}

TEST_CASE("no command is left out of that") {
  std::set<std::string> played;
  for (const Step& step : evening) {
    test::Tree tree;
    try {
      tree.parse(test::words_of(step.line));
    } catch (const CLI::Error&) {
      continue;
    }
    const CLI::App* command = &tree.app;
    while (!command->get_subcommands().empty()) command = command->get_subcommands().front();
    played.insert(admin::path_of(*command));
  }
  // These have tests of their own.
  played.insert("stationer init");
  played.insert("stationer serve");
  played.insert("stationer line test");
  const test::Tree tree;
  for (const CLI::App* command : tree.commands()) {
    INFO(admin::path_of(*command));
    CHECK(played.count(admin::path_of(*command)) == 1);
  }
}

TEST_CASE("invariant 8: no password and no hash is in what commands say or keep") {
  Keeper keeper;
  keeper.make_volume();
  keeper.done("account add robin --password-stdin", "tidewrack-secret\n");
  std::string all;
  for (const char* line : {"account list --json", "account show robin --json", "account show robin",
                           "journal --json", "journal", "status --json"}) {
    all += keeper.done(line);
  }
  CHECK(all.find("tidewrack-secret") == std::string::npos);
  CHECK(all.find("argon2") == std::string::npos);
  // A made-up one is said once, on a line of its own.
  const std::string said = keeper.done("account password robin");
  const std::string made_up = said.substr(said.find("  ") + 2, 10);
  CHECK(said == "robin  " + made_up + "\n");
  CHECK(keeper.done("journal --json").find(made_up) == std::string::npos);
  CHECK(keeper.done("account show robin --json").find(made_up) == std::string::npos);
}

TEST_CASE("invariant 9: the journal has what commands change, and which user was at the box") {
  Keeper keeper;
  keeper.make_volume();
  const auto newest = [&](const std::string& what) {
    const auto entries = boost::json::parse(keeper.done("journal --json --count 1"));
    const auto& entry = entries.as_array().at(0).as_object();
    INFO(boost::json::serialize(entry));
    CHECK(entry.at("what").as_string() == what);
    CHECK(entry.at("who").as_string() == "the keeper");
    CHECK(entry.at("where").as_string().starts_with("the box, user "));
  };
  const auto change = [&](const std::string& name) {
    keeper.done("account add " + name);
    newest("account added");
    keeper.done("account close " + name);
    newest("account closed");
    keeper.done("file owner /public " + name);
    newest("owner changed");
    keeper.done("file access /public c-w");
    newest("access changed");
    keeper.done("file access /public c+w");
    keeper.done("file owner /public \"\"");
    keeper.done("account remove " + name);
    newest("account removed");
  };
  change("robin");
  test::Serving service(STATIONER_PROGRAM, keeper.volume());
  REQUIRE(service.is_ready());
  change("sorrel");
  CHECK(service.stop() == 0);
}

TEST_CASE("the option --volume goes before STATIONER_VOLUME, wherever it stands") {
  Keeper keeper;
  keeper.make_volume();
  keeper.named = "/not/there";
  CHECK(keeper.failed("account list").find("There is no folder \"/not/there\"") !=
        std::string::npos);
  CHECK(keeper.done("account list --volume volume").find("wren") != std::string::npos);
  CHECK(keeper.done("--volume volume account list").find("wren") != std::string::npos);
  keeper.named = "volume";
  CHECK(keeper.done("account list").find("wren") != std::string::npos);
}

TEST_CASE("what can't be said is a failure") {
  Keeper keeper;
  keeper.make_volume();
  keeper.output = "/dev/full";
  for (const char* line : {"account list", "account list --json", "status", "manual", "--help",
                           "--version", "file list --help", "pdf --list printers"}) {
    INFO(line);
    CHECK(keeper.run(line).status == 1);
  }
}

TEST_CASE("a check that finds something ends with 1 and says what, also as JSON") {
  Keeper keeper;
  keeper.make_volume();
  keeper.done("file put - /public/letter", "Dear all");
  keeper.done("account list");  // opens and closes it, so that all is settled
  keeper.write("volume/files/public/letter", "Dear none, and more");
  const Said plain = keeper.run("check");
  INFO(plain.out << plain.err);
  CHECK(plain.status == 1);
  CHECK(plain.out.find("/public/letter: ") != std::string::npos);
  CHECK(plain.err.find("1 thing is wrong.") != std::string::npos);
  const Said json = keeper.run("check --json");
  CHECK(json.status == 1);
  CHECK(boost::json::parse(json.out).at("findings").as_array().size() == 1);

  const Said mended = keeper.run("check --repair --json");
  INFO(mended.out << mended.err);
  CHECK(mended.status == 0);
  const auto report = boost::json::parse(mended.out);
  CHECK(report.at("repaired") == 1);
  CHECK(report.at("findings").at(0).at("repaired") == true);
  CHECK(keeper.done("file get /public/letter -") == "Dear none, and more");
  CHECK(keeper.done("check --repair").find("nothing is wrong.") != std::string::npos);
}

TEST_CASE("adopt says what it took over, and refuses when most of all is gone") {
  Keeper keeper;
  keeper.make_volume();
  keeper.done("file put - /public/letter", "Dear all");
  keeper.done("account list");  // opens and closes it, so that all is settled
  keeper.write("volume/files/public/letter", "Dear none, and more");
  keeper.write("volume/files/public/new", "put in");
  keeper.write("volume/files/public/LETTER", "clashes");
  const std::string said = keeper.done("adopt");
  INFO(said);
  CHECK(said.find("files/public/letter: changed. ") != std::string::npos);
  CHECK(said.find("files/public/new: taken in. 6 bytes.") != std::string::npos);
  CHECK(said.find("files/public/LETTER: left alone. ") != std::string::npos);
  CHECK(said.find("1 taken in, 1 changed, 0 moved, 0 gone, 1 left alone.") != std::string::npos);
  CHECK(keeper.done("file get /public/new -") == "put in");

  std::filesystem::rename(keeper / "volume/files", keeper / "disk");
  const Said refused = keeper.run("adopt");
  CHECK(refused.status == 1);
  CHECK(refused.err.find("--accept-loss") != std::string::npos);
  CHECK(keeper.run("adopt --json").status == 1);
  CHECK(keeper.done("adopt --accept-loss").find(" 0 left alone.") != std::string::npos);
  CHECK(keeper.done("check").find("nothing is wrong.") != std::string::npos);
}
