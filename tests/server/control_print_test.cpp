// Queues, jobs and printouts by control methods.
#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "server/control/views.h"
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

TEST_CASE("printers are listed: the ready-made ones, and the keeper's own") {
  TestControl control(
      "[queue.paper]\nprofile = \"office\"\n"
      "[printer.office]\nlike = \"daisy-wheel-12\"\ntitle = \"The office\"\ncolumns = 60\n");
  const auto printers = control.done("printer.list").at("items").as_array();
  REQUIRE(printers.size() == print::printer_profiles().size() + 1);
  CHECK(printers.front().at("name") == "plain-80");
  CHECK(printers.front().at("ready_made") == true);
  const auto& office = printers.back();
  CHECK(office.at("name") == "office");
  CHECK(office.at("title") == "The office");
  CHECK(office.at("ready_made") == false);
  CHECK(office.at("columns") == 60);
  CHECK(office.at("language") == "text");
  const auto read = print::read_profile("office", office.at("profile").as_string());
  REQUIRE(read);
  CHECK(read->settings.form.pitch == 180);
}

TEST_CASE("a job that is being printed shows its page") {
  print::JobView view;
  view.state = print::JobState::printing;
  view.page = 12;
  view.read = 4096;
  const auto shown = server::show(view);
  CHECK(shown.at("state") == "printing");
  CHECK(shown.at("page") == 12);
  CHECK(shown.at("read") == 4096);
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
  CHECK(shown.at("page") == 0);
  CHECK(shown.at("read") == 0);

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

TEST_CASE("why tells of held jobs that came in one moment, the newest first") {
  TestControl control(settings);
  const fs::Caller robin = control.store().add("robin");
  std::string newest_first;
  for (int i = 0; i < 5; ++i) {
    const auto job = receive(control, "wide", robin, "robin");
    newest_first = fmt::format("job {}{}{}", job, newest_first.empty() ? "" : " ", newest_first);
  }
  CHECK(control.listed("why.list", "subject") == newest_first);
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

TEST_CASE("printouts are found by their words") {
  TestControl control(settings);
  const fs::Caller robin = control.store().add("robin");
  receive(control, "paper", robin, "robin", "High water at noon\r\n");
  receive(control, "paper", {}, "", "Low water\r\n\fand the noon bell\r\n");
  control.room.print_all();
  CHECK(control.listed("printout.find", "job", {{"words", "water"}}) == "2 1");
  CHECK(control.listed("printout.find", "line", {{"words", "noon"}}) ==
        "and the noon bell High water at noon");
  CHECK(control.listed("printout.find", "page", {{"words", "noon"}}) == "2 1");
  CHECK(control.listed("printout.find", "job", {{"words", "\"water at\""}}) == "1");
  CHECK(control.listed("printout.find", "job", {{"words", "wat*"}, {"owner", "robin"}}) == "1");
  CHECK(control.listed("printout.find", "job", {{"queue", "paper"}, {"until", "2027-01-15"}}) ==
        "2 1");
  CHECK(control.listed("printout.find", "job", {{"words", "water"}, {"since", "2027-01-16"}}) ==
        "");
  const auto some = control.done("printout.find", {{"words", "water"}, {"most", 1}});
  CHECK(some.at("more") == true);
  CHECK(some.at("unread") == 0);
  CHECK(control.refused("printout.find", {{"class", "nowhere"}}) == Code::not_found);
  CHECK(control.refused("printout.find", {{"words", 7}}) == Code::bad_input);
  control.done("printout.discard", {{"job", 1}});
  CHECK(control.listed("printout.find", "job", {{"words", "water"}}) == "2");
}

TEST_CASE("a page of a printout is fetched as a picture") {
  TestControl control(settings);
  receive(control, "paper", {}, "", "one\r\n\ftwo\r\n");
  control.room.print_all();
  const std::string png = control.get("printout.picture", {{"job", 1}}, 100);
  CHECK(png.starts_with("\x89PNG"));
  CHECK(control.get("printout.picture", {{"job", 1}, {"page", 2}, {"width", 100}}) != png);
  CHECK(control.text("printout.picture", "name", {{"job", 1}, {"page", 2}}) ==
        "000001-A-letter-2.png");
  CHECK(control.refused("printout.picture", {{"job", 1}, {"page", 3}}) == Code::not_found);
  CHECK(control.refused("printout.picture", {{"job", 1}, {"page", 0}}) == Code::not_found);
  CHECK(control.refused("printout.picture", {{"job", 1}, {"width", 3}}) == Code::bad_input);
  CHECK(control.refused("printout.picture", {{"job", 2}}) == Code::not_found);
}

TEST_CASE("printouts are collected into one PDF") {
  TestControl control(settings);
  const fs::Caller robin = control.store().add("robin");
  receive(control, "paper", robin, "robin");
  receive(control, "paper", {}, "");
  control.room.print_all();
  const auto made = control.done("printout.collect", {{"owner", "robin"}});
  CHECK(made.at("printouts") == 1);
  CHECK(made.at("pages") == 2);
  CHECK(made.at("missing").as_array().empty());
  const std::string pdf = control.get("printout.collect", {});
  CHECK(pdf.starts_with("%PDF-1.7"));
  CHECK(control.refused("printout.collect", {{"queue", "wide"}}) == Code::not_found);
  CHECK(control.refused("printout.collect", {{"class", "nowhere"}}) == Code::not_found);
  CHECK(control.store().findings() == "");
}

TEST_CASE("a printout is forwarded by hand") {
  TestControl control("[queue.paper]\nforward = \"laser\"\nforward_when = \"asked\"\n");
  receive(control, "paper", {}, "");
  control.room.print_all();
  control.done("printout.forward", {{"job", 1}});
  control.done("printout.forward", {{"job", 1}, {"printer", "attic"}});
  CHECK(control.room.forwarded == std::vector<std::string>{"laser", "attic"});
  CHECK(control.refused("printout.forward", {{"job", 9}}) == Code::not_found);
}
