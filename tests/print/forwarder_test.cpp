#include "print/forwarder.h"

#include <filesystem>

#include <catch2/catch.hpp>

#include "tests/support/open_spool.h"
#include "tests/support/test_volume.h"

using namespace stationer;
using namespace stationer::print;
using test::TestVolume;

namespace {

constexpr const char* settings =
    "[queue.paper]\n"
    "[queue.laser]\nforward = \"Room laser\"\n"
    "[queue.asked]\nforward = \"Room laser\"\nforward_when = \"asked\"\n"
    "[queue.held]\nforward = \"Room laser\"\npolicy = \"leader\"\n"
    "[queue.parts]\nforward = \"Room laser\"\nsplit_marker = \"NEXT\"\n";

// A room whose host has a printer, as the test likes it.
struct Office {
  TestVolume room;
  std::unique_ptr<Spool> spool;
  std::unique_ptr<Forwarder> forwarder;
  fs::Caller robin;
  std::vector<std::string> paper;  // "Room laser: letter, 1234 bytes"
  fs::Status printer;              // what it says

  Office() : robin(room.add("robin")) { open(); }

  void open() {
    spool = test::open_spool(*room.volume, settings);
    forwarder = std::make_unique<Forwarder>(
        *room.volume, read_forwarding(settings).value(),
        [this](const std::string& where, const std::string& title, const OpenContent& open) {
          return hand(where, title, open);
        });
    spool->on_done([this](const JobView& view, bool printed) {
      if (printed) forwarder->expect(view.job);
    });
  }
  void reopen() {
    spool.reset();
    forwarder.reset();
    room.reopen();
    open();
  }

  fs::Status hand(const std::string& where, const std::string& title, const OpenContent& open) {
    if (!printer) return printer;
    auto content = open();
    if (!content) return content.error();
    auto size = content->size();
    if (!size) return size.error();
    paper.push_back(where + ": " + title + ", " + std::to_string(*size) + " bytes");
    return {};
  }

  std::uint32_t print(std::string_view queue, const std::string& title = "letter",
                      std::string_view text = "Dear Wren\r\n") {
    auto job = spool->receive(queue, title, robin.account, "robin", "test");
    REQUIRE(job);
    REQUIRE(job->write(text));
    const auto number = job->finish();
    REQUIRE(number);
    static_cast<void>(spool->print_next());
    return *number;
  }

  std::size_t notes() const {
    const std::filesystem::path folder = room.path() + "/spool/forwarding";
    if (!std::filesystem::exists(folder)) return 0;
    return static_cast<std::size_t>(std::distance(std::filesystem::directory_iterator(folder), {}));
  }
  std::string journal(const std::string& what) const {
    std::string out;
    fs::JournalQuery query;
    query.what = what;
    for (const auto& entry : room.volume->desk().journal(query).value()) {
      out += entry.subject + ": " + entry.detail + "\n";
    }
    return out;
  }
};

const fs::Error jammed{fs::Code::busy, "The printer is jammed."};

}  // namespace

TEST_CASE("a queue forwards its printouts, and no other does") {
  Office office;
  office.print("paper");
  office.print("asked");
  const auto job = office.print("laser");
  CHECK(office.notes() == 1);
  REQUIRE(office.forwarder->try_all());
  const auto printout = office.room.desk().printout(office.robin, job);
  REQUIRE(printout);
  CHECK(office.paper == std::vector<std::string>{"Room laser: letter, " +
                                                 std::to_string(printout->bytes) + " bytes"});
  CHECK(office.notes() == 0);
  CHECK(office.journal("printout forwarded") == "3: Room laser\n");
  REQUIRE(office.forwarder->try_all());
  CHECK(office.paper.size() == 1);
}

TEST_CASE("what is held is forwarded when it is printed, and not before") {
  Office office;
  const auto job = office.print("held");
  REQUIRE(office.forwarder->try_all());
  CHECK(office.paper.empty());
  REQUIRE(office.spool->release(office.room.keeper, job));
  REQUIRE(office.spool->print_next());
  REQUIRE(office.forwarder->try_all());
  CHECK(office.paper.size() == 1);
}

TEST_CASE("while the printer does not take it, it is tried again, and the printout is there") {
  Office office;
  office.printer = jammed;
  const auto job = office.print("laser");
  office.print("laser", "another");
  CHECK_FALSE(office.forwarder->try_all());
  CHECK(office.forwarder->trouble() ==
        "Printout 1 could not be forwarded. The printer is jammed. It is tried again.");
  CHECK(office.room.desk().printout(office.robin, job));
  CHECK(office.notes() == 2);
  // Over a restart, too.
  office.reopen();
  CHECK_FALSE(office.forwarder->try_all());
  office.printer = {};
  REQUIRE(office.forwarder->try_all());
  CHECK(office.forwarder->trouble() == "");
  REQUIRE(office.paper.size() == 2);
  CHECK(office.paper[0].starts_with("Room laser: letter"));
  CHECK(office.paper[1].starts_with("Room laser: another"));
}

TEST_CASE("after a day it is given up, which the journal tells") {
  Office office;
  office.printer = jammed;
  office.print("laser");
  CHECK_FALSE(office.forwarder->try_all());
  *office.room.now += std::chrono::hours(25);
  REQUIRE(office.forwarder->try_all());
  CHECK(office.forwarder->trouble() == "");
  CHECK(office.notes() == 0);
  CHECK(office.journal("printout not forwarded") == "1: The printer is jammed.\n");
  CHECK(office.room.desk().printout(office.robin, 1));
}

TEST_CASE("what was discarded is not forwarded any more") {
  Office office;
  office.printer = jammed;
  const auto job = office.print("laser");
  CHECK_FALSE(office.forwarder->try_all());
  TestVolume::done(office.room.desk().discard_printout(office.robin, job));
  office.printer = {};
  REQUIRE(office.forwarder->try_all());
  CHECK(office.paper.empty());
  CHECK(office.notes() == 0);
}

TEST_CASE("a printout is forwarded by hand to any printer, or to its queue's") {
  Office office;
  const auto plain = office.print("paper");
  const auto asked = office.print("asked");
  REQUIRE(office.forwarder->forward(office.room.keeper, plain, "Attic"));
  REQUIRE(office.forwarder->forward(office.room.keeper, asked, ""));
  REQUIRE(office.paper.size() == 2);
  CHECK(office.paper[0].starts_with("Attic: letter"));
  CHECK(office.paper[1].starts_with("Room laser: letter"));
  CHECK(office.journal("printout forwarded") == "2: Room laser\n1: Attic\n");
  CHECK(office.forwarder->forward(office.room.keeper, plain, "").error().code ==
        fs::Code::bad_input);
  CHECK(office.forwarder->forward(office.room.keeper, 99, "Attic").error().code ==
        fs::Code::not_found);
  CHECK(office.forwarder->forward(office.room.add("wren"), plain, "Attic").error().code ==
        fs::Code::not_found);
  office.printer = jammed;
  CHECK(office.forwarder->forward(office.room.keeper, plain, "Attic").error().message ==
        "The printer is jammed.");
}

TEST_CASE("no forwarding is forgotten, whichever call of the host's fails") {
  for (long n = 1;; ++n) {
    INFO("call " << n);
    Office office;
    auto job = office.spool->receive("laser", "letter", office.robin.account, "robin", "test");
    REQUIRE(job);
    REQUIRE(job->write("Dear Wren\r\n"));
    REQUIRE(job->finish());
    office.room.failure->calls = 0;
    office.room.failure->fail_at = n;
    static_cast<void>(office.spool->print_next());
    static_cast<void>(office.forwarder->try_all());
    office.room.failure->fail_at = 0;
    const bool failed = office.room.failure->failed;
    office.reopen();
    static_cast<void>(office.spool->print_next());
    CHECK(office.room.desk().printout(office.robin, 1));
    REQUIRE(office.forwarder->try_all());
    // Handed over twice is better than not at all.
    CHECK(office.paper.size() >= 1);
    CHECK(office.paper.size() <= 2);
    CHECK(office.notes() == 0);
    if (!failed) break;
  }
}

TEST_CASE("each printout of a job that was split is forwarded, and what is printed again") {
  Office office;
  const auto number = office.print("parts", "letters", "one\nNEXT\ntwo\n");
  CHECK(office.notes() == 2);
  REQUIRE(office.forwarder->try_all());
  REQUIRE(office.paper.size() == 2);
  CHECK(office.paper[0].starts_with("Room laser: letters, "));
  CHECK(office.paper[1].starts_with("Room laser: letters (part 2), "));
  REQUIRE(office.spool->print_again(office.robin, number));
  REQUIRE(office.spool->print_next());
  REQUIRE(office.forwarder->try_all());
  CHECK(office.paper.size() == 4);
  CHECK(office.notes() == 0);
}

TEST_CASE("a thread of its own forwards what comes") {
  Office office;
  std::atomic<int> count = 0;
  Forwarder forwarder(*office.room.volume, read_forwarding(settings).value(),
                      [&](const std::string&, const std::string&, const OpenContent&) {
                        ++count;
                        return fs::Status();
                      });
  forwarder.start();
  office.spool->on_done([&](const JobView& view, bool) { forwarder.expect(view.job); });
  office.print("laser");
  forwarder.nudge();
  const auto until = std::chrono::steady_clock::now() + std::chrono::seconds(20);
  while (count == 0 && std::chrono::steady_clock::now() < until) {
    std::this_thread::sleep_for(std::chrono::milliseconds(2));
  }
  CHECK(count == 1);
  office.spool.reset();
}

TEST_CASE("what is wrong about forwarding in the settings is told") {
  CHECK(read_forwarding("").value().queues.empty());
  const auto right =
      read_forwarding(std::string("[print]\nforward_server = \"box:631\"\n") + settings);
  REQUIRE(right);
  CHECK(right->server == "box:631");
  CHECK(right->queues.size() == 4);
  CHECK(right->queues.at("asked").asked);
  CHECK_FALSE(right->queues.at("laser").asked);
  for (const char* wrong : {"[queue.a]\nforward = 7\n", "[print]\nforward_server = true\n",
                            "[queue.a]\nforward = \"b\"\nforward_when = \"never\"\n"}) {
    CHECK(read_forwarding(wrong).error().code == fs::Code::bad_input);
  }
}
