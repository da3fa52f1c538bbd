// What the answers to a keeper's first questions mean.
#include "admin/first_run.h"

#include <catch2/catch.hpp>

#include "print/queue.h"
#include "server/config.h"

using namespace stationer;
using namespace stationer::admin;

namespace {

std::string kinds(std::string_view typed) {
  const auto found = machine_kinds(typed);
  if (!found) return found.error().message;
  std::string out;
  for (const CardKind& each : *found) out += std::string(each.name) + ' ';
  return out;
}

}  // namespace

TEST_CASE("kinds of machines are named with blanks or commas, in any case, and once") {
  CHECK(kinds("telnet") == "telnet ");
  CHECK(kinds(" TELNET,lpd  telnet,,") == "telnet lpd ");
  CHECK(kinds("all") == "serial-80 serial-40 serial-20 telnet tftp ftp lpd raw http ");
  CHECK(kinds("") == "Name one kind of machine, or all.");
  CHECK(kinds("telnet all").starts_with("\"all\" is no kind of machine. There are: serial-80, "));
}

TEST_CASE("who may connect is the room, the box, or an address that is not the Internet's") {
  CHECK(door_reach("room").value() == "private");
  CHECK(door_reach("Private").value() == "private");
  CHECK(door_reach("box").value() == "loopback");
  CHECK(door_reach("192.168.1.5").value() == "192.168.1.5");
  CHECK(door_reach("fd00::1").value() == "fd00::1");
  CHECK_FALSE(door_reach(""));
  CHECK_FALSE(door_reach("1.1.1.1"));
  CHECK_FALSE(door_reach("192.168.1"));
}

TEST_CASE("whatever is answered makes settings that are read without complaint") {
  for (const char* machines : {"all", "telnet", "serial-20", "tftp raw", "http ftp lpd"}) {
    for (const char* address : {"private", "loopback", "10.0.0.7"}) {
      for (const char* paper : {"a4", "letter"}) {
        INFO(machines << ' ' << address << ' ' << paper);
        FirstAnswers answers;
        answers.machines = machine_kinds(machines).value();
        answers.address = address;
        answers.paper = paper;
        const std::string settings = first_settings(answers);
        const auto queues = print::read_queues(settings);
        REQUIRE(queues);
        const print::Queue* queue = queues->find("");
        REQUIRE(queue != nullptr);
        CHECK(queue->settings.form.paper.name == paper);
        const auto config = server::read_config(settings, *queues);
        REQUIRE(config);
        CHECK(config->terminal.address == address);
        const auto has = [&](std::string_view word) {
          return std::string(machines) == "all" ||
                 std::string_view(machines).find(word) != std::string_view::npos;
        };
        CHECK(config->terminal.open == has("telnet"));
        CHECK(config->tftp.open ==
              (std::string(machines) == "all" || std::string_view(machines).starts_with("tftp")));
        CHECK(config->lpd.open == has("lpd"));
        CHECK(config->raw.open == has("raw"));
        CHECK(config->http.open == has("http"));
        CHECK(config->time.open);
      }
    }
  }
}

TEST_CASE("what is not answered leaves all doors open, as before there were questions") {
  const std::string settings = first_settings({});
  CHECK(settings.find("open = false") == std::string::npos);
  CHECK(settings.find("plain-80\"") != std::string::npos);
}
