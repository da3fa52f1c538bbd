#include "server/settings_words.h"

#include <fmt/format.h>

#include "fs/name_style.h"
#include "print/charset.h"

namespace stationer::server {
namespace {

using fs::SettingWords;
using Words = std::vector<SettingWords>;

Words joined(std::initializer_list<Words> parts) {
  Words out;
  for (const Words& part : parts) out.insert(out.end(), part.begin(), part.end());
  return out;
}

std::string choices(const auto& all) {
  std::string out;
  for (const auto& each : all) out += fmt::format("{}\"{}\"", out.empty() ? "" : "|", each.name);
  return out;
}

// What a screen can show.
Words screen_words() {
  return {
      {"charset", choices(print::charsets()), "\"ascii\"", "the characters that it can show",
       "What it can't is shown by something like it. The sets are named at the end."},
      {"capitals", "true|false", "false", "true for machines without small letters"},
      {"columns", "20..255", "80", "how wide its screen is"},
      {"rows", "0..255", "24", "how many lines its screen has; 0 never stops between screens",
       "0 suits a printing terminal."},
      {"names", choices(fs::name_styles()), "\"long\"", "how names of files are shown",
       "Choose the one that the machine's own system can take; a file's true name stays as it "
       "is."},
  };
}

// Who may be there without an account, and for how long one may say nothing.
Words visit_words() {
  return {
      {"guests", "true|false", "true", "may one look around without an account?"},
      {"sign_on", "a name under accounts of [visitors]", "\"\"",
       "the visitors' account that everybody there has, instead of being asked for a name",
       "For open days.", "\"visitor\""},
      {"idle_minutes", "0..1440 minutes", "60",
       "who types nothing for so long is signed off; 0 is never",
       "They are asked a minute before."},
  };
}

SettingWords port_words(std::uint16_t port, std::string usual) {
  return {"port", "0..65535", fmt::format("{}", port), "where it listens; 0 picks a free port",
          std::move(usual)};
}

}  // namespace

std::vector<fs::TableWords> settings_words() {
  constexpr std::string_view low =
      "Set {} for clients that can't name a port; the installed service may use it.";
  const auto usual = [&](int port) { return fmt::format(low, port); };
  return {
      {"door.NAME",
       "What each door has: terminal, lpd, raw, tftp, ftp, time, daytime and http.",
       {
           {"open", "true|false", "true", "false where nothing in the room needs it"},
           {"address", "\"loopback\", \"private\" or an address of this machine", "\"private\"",
            "\"loopback\" is this machine only, \"private\" that and private networks",
            "An address of the box's own keeps a door to one network.", "\"loopback\""},
           {"public", "true|false", "false",
            "true allows an address that the whole Internet can reach",
            "Old protocols are not made for that; leave it."},
           {"most", "1..40000", "2000", "how many connections at once"},
           {"most_per_address", "1..40000", "64", "how many of them from one address",
            "Raise it where many machines come by one address, as behind a gateway."},
       }},
      {"door.terminal", "Terminals over the network, by Telnet or by a plain line.",
       joined({{port_words(8023, usual(23)),
                {"telnet", "\"auto\"|\"always\"|\"never\"", "\"auto\"",
                 "whether who comes speaks Telnet",
                 "\"auto\" finds out; choose for a client that is mistaken for the other."}},
               visit_words(),
               screen_words()})},
      {"door.terminal.station.\"ADDRESS\"",
       "Other than that for the machine with this address.",
       {{"sign_on", "a name under accounts of [visitors]", "",
         "as above; \"\" asks for a name there", "The door's own when it is not said.",
         "\"visitor\""}}},
      {"serial.NAME",
       "A serial line, by a name of your own. A terminal is on it, so it has all that says what a "
       "terminal is like.",
       joined(
           {{{"device", "a path on the host", "", "its port, which has to be said",
              "Best one of /dev/serial/by-id, which stays with its adapter.", "\"/dev/ttyUSB1\""},
             {"speed", "50..4000000 bit/s", "9600", "its rate, any that the port can do"},
             {"bits", "7..8", "8", "bits of a character",
              "7 with parity suits many old terminals."},
             {"parity", "\"none\"|\"even\"|\"odd\"", "\"none\"", "the parity bit"},
             {"stop_bits", "1..2", "1", "stop bits"},
             {"flow", "\"none\"|\"rts-cts\"|\"xon-xoff\"", "\"none\"",
              "how either end tells the other to wait",
              "stationer line test finds out whether it works."},
             {"carrier", "true|false", "false",
              "true: the carrier tells whether somebody is there, as of a modem"},
             {"character_ms", "0..10000 ms", "0",
              "a pause after each character, for stations that are slow to show what comes"},
             {"line_ms", "0..10000 ms", "0", "a pause after each line, likewise"}},
            visit_words(),
            screen_words()})},
      {"door.lpd",
       "Print jobs by LPD (RFC 1179).",
       {port_words(8515, usual(515)),
        {"believe_names", "true|false", "true",
         "a job goes to the tray of the account that the sender names",
         "The protocol has no passwords. With false it goes to whoever is signed in at the same "
         "machine, or is there to be claimed."}}},
      {"door.raw",
       "Print jobs as bytes and nothing else.",
       {port_words(9100, ""),
        {"queue", "the NAME of a [queue.NAME]", "\"\"", "where they go; \"\" is the default queue",
         "", "\"lists\""},
        {"idle_seconds", "1..86400 seconds", "60", "the silence that ends a job",
         "Raise it for programs that think between pages."}}},
      {"door.raw.station.\"ADDRESS\"",
       "Other than that for the machine with this address; what is not said is as the door has it.",
       {{"queue", "the NAME of a [queue.NAME]", "", "where its jobs go, whatever its profile says",
         "", "\"lists\""},
        {"idle_seconds", "1..86400 seconds", "", "the silence that ends a job of its"}}},
      {"door.tftp",
       "Stations load programs here without an account.",
       {port_words(8069, usual(69)),
        {"most", "1..40000", "40000", "how many transfers at once"},
        {"folder", "a folder on the volume", "\"/programs\"",
         "what they load lies in here; what everyone may read of it", "", "\"/public\""},
        {"hand_in", "a hand-in folder on the volume", "\"\"",
         "where registered stations may save; \"\" is nowhere", "", "\"/classes/evening/hand-in\""},
        {"hand_in_for", "an account's name", "\"\"",
         "whose work that is when nobody is signed in at the station", "", "\"robin\""}}},
      {"door.ftp",
       "Files by FTP.",
       {port_words(8021, usual(21)),
        {"guests", "true|false", "true", "may one look around without an account?"},
        {"idle_minutes", "1..1440 minutes", "15",
         "who asks for nothing, or a transfer that stands still, is let go"},
        {"certificate", "a path on the host", "\"\"",
         "a file in PEM form: a certificate and those above it",
         "With it and its key, FTP goes by TLS for clients that ask for it.",
         "\"/etc/ssl/room.pem\""},
        {"key", "a path on the host", "\"\"", "a file in PEM form: the certificate's key",
         "The service's user has to be able to read it.", "\"/etc/ssl/room.key\""},
        {"needs_tls", "true|false", "false", "true: names, passwords and data go by TLS only",
         "Not for old machines, which have none."}}},
      {"door.time",
       "The time as a number (RFC 868), by TCP and UDP.",
       {port_words(8037, usual(37))}},
      {"door.daytime",
       "The time as text (RFC 867), by TCP and UDP.",
       {port_words(8013, usual(13))}},
      {"door.http",
       "What everyone may read, for browsers.",
       {port_words(8080, usual(80)),
        {"idle_seconds", "1..86400 seconds", "300",
         "who takes nothing for so long is hung up on"}}},
      {"profile.NAME",
       "What a kind of machine needs. stationer station gives each machine one; a machine that has "
       "none has [profile.usual]. What somebody sets at a terminal goes before it, and it goes "
       "before what the door says.",
       joined({{{"line_end", "\"cr-lf\"|\"cr\"|\"lf\"", "\"cr-lf\"",
                 "how lines end on its screen and in texts that it gets"}},
               screen_words(),
               {{"queue", "the NAME of a [queue.NAME]", "\"\"",
                 "where its raw print jobs go; \"\" is where the door says", "", "\"lists\""},
                {"block_after_last", "0..1", "0", "the TFTP block that follows 65,535",
                 "No RFC decides it: try 1 when long loads break off there."}}})},
      {"stations",
       "Which machines may come.",
       {{"unknown", "true|false", "true", "may machines use the doors that are not registered?",
         "false once all are registered: then no other gets in."}}},
  };
}

}  // namespace stationer::server
