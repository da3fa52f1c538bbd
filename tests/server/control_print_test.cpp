// Queues, jobs and printouts by control methods.
#include <catch2/catch.hpp>

#include "tests/support/test_control.h"

using namespace stationer;
using server::OpenJobs;
using test::TestControl;
namespace json = boost::json;
using fs::Code;

namespace {

constexpr const char* settings =
    "[print]\nqueue = \"paper\"\n"
    "[queue.paper]\n"
    "[queue.wide]\ntitle = \"Wide listings\"\nprofile = \"listing-132\"\ncharset = \"cp437\"\n"
    "policy = \"leader\"\nmost_pages = 7\n";

std::uint32_t receive(TestControl& control, const std::string& queue, const fs::Caller& owner,
                      const std::string& name, const std::string& bytes = "A letter\r\n") {
  auto job = control.room.spool->receive(queue, "A letter", owner.account, name, "test 10.0.0.7");
  REQUIRE(job);
  REQUIRE(job->write(bytes));
  auto number = job->finish();
  REQUIRE(number);
  return *number;
}

}  // namespace

TEST_CASE("queues are listed as the settings have them") {
  TestControl control(settings);
  const auto queues = control.done("queue.list").at("items").as_array();
  REQUIRE(queues.size() == 2);
  CHECK(queues[0].at("name") == "paper");
  CHECK(queues[0].at("default") == true);
  CHECK(queues[0].at("policy") == "straight");
  CHECK(queues[1].at("title") == "Wide listings");
  CHECK(queues[1].at("profile") == "listing-132");
  CHECK(queues[1].at("charset") == "cp437");
  CHECK(queues[1].at("policy") == "leader");
  CHECK(queues[1].at("most_pages") == 7);
  CHECK(queues[1].at("default") == false);
}

TEST_CASE("jobs are held, released, refused and cancelled") {
  TestControl control(settings);
  const fs::Caller robin = control.store().add("robin");
  const auto waiting = receive(control, "paper", robin, "robin");
  const auto held = receive(control, "wide", robin, "robin");
  CHECK(control.listed("job.list", "state") == "waiting held");
  CHECK(control.listed("job.list", "state", {{"queue", "WIDE"}}) == "held");
  CHECK(control.refused("job.list", {{"queue", "narrow"}}) == Code::not_found);
  CHECK(control.listed("queue.list", "jobs") == "1 1");

  const auto shown = control.done("job.show", {{"job", held}});
  CHECK(shown.at("owner") == "robin");
  CHECK(shown.at("title") == "A letter");
  CHECK(shown.at("source") == "test 10.0.0.7");
  CHECK(shown.at("bytes") == 10);
  CHECK(shown.at("reason") == "It waits for a leader to release it.");

  control.done("job.hold", {{"job", waiting}, {"reason", "Ask me first."}});
  CHECK(control.text("job.show", "reason", {{"job", waiting}}) == "Ask me first.");
  CHECK(control.refused("job.hold", {{"job", waiting}}) == Code::bad_input);
  control.done("job.release", {{"job", waiting}});
  CHECK(control.refused("job.release", {{"job", waiting}}) == Code::bad_input);
  control.done("job.refuse", {{"job", waiting}});
  CHECK(control.text("job.show", "reason", {{"job", waiting}}) == "The keeper refused it.");
  CHECK(control.refused("job.refuse", {{"job", held}, {"reason", "two\nlines"}}) ==
        Code::bad_input);
  control.done("job.cancel", {{"job", waiting}});
  control.done("job.cancel", {{"job", held}});
  CHECK(control.listed("job.list", "job") == "");
  for (const char* method : {"job.show", "job.hold", "job.release", "job.refuse", "job.cancel"}) {
    CHECK(control.refused(method, {{"job", held}}) == Code::not_found);
  }
  CHECK(control.refused("job.show", {{"job", 1LL << 32}}) == Code::bad_input);
}

TEST_CASE("printouts are listed, fetched, given away and discarded") {
  TestControl control(settings);
  const fs::Caller robin = control.store().add("robin");
  control.store().add("wren");
  const auto claimed = receive(control, "paper", robin, "robin");
  const auto unclaimed = receive(control, "paper", {}, "");
  control.room.print_all();
  CHECK(control.listed("printout.list", "owner") == " robin");  // newest first
  CHECK(control.listed("printout.list", "job", {{"owner", "robin"}}) == std::to_string(claimed));
  CHECK(control.listed("printout.list", "job", {{"owner", ""}}) == std::to_string(unclaimed));
  CHECK(control.listed("printout.list", "job", {{"owner", "wren"}}) == "");
  CHECK(control.refused("printout.list", {{"owner", "bram"}}) == Code::not_found);

  const auto shown = control.done("printout.show", {{"job", claimed}});
  CHECK(shown.at("pages") == 1);
  CHECK(shown.at("queue") == "paper");
  const std::string pdf = control.get("printout.open", {{"job", claimed}}, 1000);
  CHECK(pdf.size() == static_cast<std::size_t>(shown.at("bytes").as_int64()));
  CHECK(pdf.starts_with("%PDF-1.7"));

  const auto opened = control.done("printout.open", {{"job", claimed}});
  CHECK(opened.at("name") == "000001-A-letter.pdf");
  CHECK(opened.at("size") == pdf.size());

  control.done("printout.give", {{"job", unclaimed}, {"account", "wren"}});
  CHECK(control.listed("printout.list", "job", {{"owner", "wren"}}) == std::to_string(unclaimed));
  CHECK(control.refused("printout.give", {{"job", unclaimed}, {"account", "bram"}}) ==
        Code::not_found);
  control.done("printout.discard", {{"job", claimed}});
  for (const char* method : {"printout.show", "printout.open", "printout.discard"}) {
    CHECK(control.refused(method, {{"job", claimed}}) == Code::not_found);
  }
  CHECK(control.store().findings() == "");
}

TEST_CASE("jobs are moved, printed again, joined, and ended while they come in") {
  TestControl control(settings);
  const fs::Caller robin = control.store().add("robin");
  const auto first = receive(control, "paper", robin, "robin");
  const auto second = receive(control, "paper", robin, "robin");
  control.done("job.move", {{"job", first}, {"queue", "wide"}});
  CHECK(control.text("job.show", "state", {{"job", first}}) == "held");
  CHECK(control.refused("job.move", {{"job", first}, {"queue", "narrow"}}) == Code::not_found);
  CHECK(control.refused("job.move", {{"job", first}}) == Code::bad_input);
  control.done("job.move", {{"job", first}, {"queue", "paper"}});
  CHECK(control.refused("job.join", {{"jobs", "one two"}}) == Code::bad_input);
  CHECK(control.refused("job.join", {{"jobs", "1"}}) == Code::bad_input);
  const auto joined = control.done("job.join", {{"jobs", "1 2"}}).at("job");
  CHECK(joined == 3);
  control.room.print_all();
  CHECK(control.text("printout.show", "pages", {{"job", joined}}) == "2");
  CHECK(control.text("job.again", "job", {{"job", joined}}) == "4");
  CHECK(control.text("job.again", "job", {{"job", joined}, {"queue", "wide"}}) == "5");
  CHECK(control.refused("job.again", {{"job", second}}) == Code::not_found);
  control.room.print_all();
  control.done("printout.discard", {{"job", joined}});
  CHECK(control.refused("job.again", {{"job", joined}}) == Code::not_found);

  bool ended = false;
  print::Job coming;
  coming.number = 9;
  coming.queue = "paper";
  OpenJobs::Place place(control.room.room->open_jobs, {coming, "10.0.0.7", [&] { ended = true; }});
  CHECK(control.listed("job.list", "state") == "held receiving");
  CHECK(control.refused("job.end", {{"job", joined}}) == Code::not_found);
  control.done("job.end", {{"job", 9}});
  CHECK(ended);
}

TEST_CASE("an unclaimed printout has a code, a claimed one has none") {
  TestControl control(settings);
  const auto unclaimed = receive(control, "paper", {}, "");
  control.room.print_all();
  const std::string code = control.text("printout.show", "code", {{"job", unclaimed}});
  CHECK(code == control.room.spool->code_of(unclaimed));
  CHECK(control.listed("printout.list", "code", {{"owner", ""}}) == code);
  control.store().add("robin");
  control.done("printout.give", {{"job", unclaimed}, {"account", "robin"}});
  CHECK(control.text("printout.show", "code", {{"job", unclaimed}}) == "");
}
