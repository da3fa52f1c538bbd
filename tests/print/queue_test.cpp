#include "print/queue.h"

#include <catch2/catch.hpp>

#include "print/job.h"

using namespace stationer;
using namespace stationer::print;

namespace {

std::string complaint(const std::string& settings) {
  auto queues = read_queues(settings);
  return queues ? "none" : queues.error().message;
}

}  // namespace

TEST_CASE("a volume that says nothing about queues has one") {
  const auto queues = read_queues("");
  REQUIRE(queues);
  REQUIRE(queues->all.size() == 1);
  CHECK(queues->find("")->name == "paper");
  CHECK(queues->find("PAPER") == queues->find(""));
  CHECK(queues->find("")->policy == Policy::straight);
  CHECK(queues->find("other") == nullptr);
}

TEST_CASE("queues are read from the settings") {
  const auto queues = read_queues(
      "[print]\nqueue = \"listing\"\n"
      "[queue.listing]\nprofile = \"listing-132\"\ncharset = \"cp437\"\n"
      "language = \"listing\"\nmost_pages = 7\n"
      "[queue.essays]\ntitle = \"For marking\"\npolicy = \"leader\"\n");
  REQUIRE(queues);
  CHECK(queues->find("")->name == "listing");
  CHECK(queues->find("listing")->settings.text.charset == Charset::cp437);
  CHECK(queues->find("listing")->settings.text.most_pages == 7);
  CHECK(queues->find("listing")->settings.language == Language::listing);
  CHECK(queues->find("essays")->settings.language == Language::text);
  CHECK(queues->find("essays")->title == "For marking");
  CHECK(queues->find("essays")->policy == Policy::leader);
  CHECK(read_queues(new_queue_settings()));
}

TEST_CASE("a queue prints as one of the keeper's own printers") {
  const auto queues = read_queues(
      "[queue.letters]\nprofile = \"office\"\n"
      "[printer.office]\nlike = \"daisy-wheel-12\"\ntitle = \"The office\"\ncolumns = 60\n");
  REQUIRE(queues);
  CHECK(queues->find("letters")->title == "The office");
  CHECK(queues->find("letters")->settings.form.columns == 60);
  CHECK(complaint("[queue.paper]\nprofile = \"office\"").find("line 2") != std::string::npos);
  CHECK(complaint("[printer.office]\npaper = \"vellum\"").find("line 2") != std::string::npos);
}

TEST_CASE("what can't be right in the settings is told with its line") {
  CHECK(complaint("[queue.paper]\nprofil = \"x\"").find("line 2") != std::string::npos);
  CHECK(complaint("\n[queue.paper]\nprofile = \"x\"").find("plain-80") != std::string::npos);
  CHECK(complaint("[queue.paper]\npolicy = \"maybe\"").find("line 2") != std::string::npos);
  CHECK(complaint("[queue.paper]\ncharset = \"runes\"").find("line 2") != std::string::npos);
  CHECK(complaint("[queue.paper]\nlanguage = \"owl\"").find("line 2") != std::string::npos);
  CHECK(complaint("[queue.paper]\nmost_pages = 0").find("line 2") != std::string::npos);
  CHECK(complaint("[queue.paper]\nmost_pages = \"many\"").find("line 2") != std::string::npos);
  CHECK(complaint("[queue.Paper]\n").find("line 1") != std::string::npos);
  CHECK(complaint("queue = 3").find("line 1") != std::string::npos);
  CHECK(complaint("[print]\nqueue = \"none\"").find("no [queue.none]") != std::string::npos);
  CHECK(complaint("[print]\nprinter = \"none\"").find("line 2") != std::string::npos);
  CHECK(complaint("[queue").find("line 1") != std::string::npos);
}

TEST_CASE("a job's description comes back as it was written") {
  Job job;
  job.number = 42;
  job.queue = "paper";
  job.title = "Tide tables, \"spring\"\n";
  job.owner = fs::AccountId{7};
  job.owner_name = "robin";
  job.source = "lpd 10.0.0.7";
  job.received = fs::Time(std::chrono::milliseconds(1'800'000'000'123));
  job.bytes = 1u << 31;
  job.reason = "";
  const std::string text = write_job(job);
  const auto back = read_job(text);
  REQUIRE(back);
  CHECK(write_job(*back) == text);
  CHECK(back->title == job.title);
  CHECK(back->owner == job.owner);
  CHECK(back->received == job.received);
  CHECK(back->bytes == job.bytes);
  for (const char* bad : {"", "{}", "[]", "{\"number\": \"x\"}", "nonsense"})
    CHECK_FALSE(read_job(bad));
}

TEST_CASE("limits, splitting, banners and what is kept are read from the settings") {
  const auto queues = read_queues(
      "[print]\nprintout_days = 30\nagain_days = 3\nagain_mib = 2\nconfined = false\n"
      "[queue.paper]\npages_per_day = 5\npages_per_week = 20\nsplit_pages = 4\n"
      "split_marker = \"NEXT\"\nbanner = true\n");
  REQUIRE(queues);
  const Queue& paper = *queues->find("paper");
  CHECK(paper.limits.day == 5);
  CHECK(paper.limits.week == 20);
  CHECK(paper.split.pages == 4);
  CHECK(paper.split.marker == "NEXT");
  CHECK(paper.banner);
  CHECK(queues->keeping.printout_days == 30);
  CHECK(queues->keeping.again_days == 3);
  CHECK(queues->keeping.again_bytes == 2u << 20);
  CHECK_FALSE(queues->confined);
  const auto plain = read_queues("");
  CHECK_FALSE(plain->find("")->banner);
  CHECK(plain->find("")->limits.week == 0);
  CHECK(plain->keeping.printout_days == 0);
  CHECK(plain->confined);
  CHECK(complaint("[queue.paper]\npages_per_day = -1").find("line 2") != std::string::npos);
  CHECK(complaint("[queue.paper]\nsplit_marker = \"a\\nb\"").find("line 2") != std::string::npos);
  CHECK(complaint("[print]\nagain_days = \"long\"").find("line 2") != std::string::npos);
}

TEST_CASE("the lists among a job's fields come back, and nonsense in them is refused") {
  Job job;
  job.number = 42;
  job.starts = {10, 2000};
  job.joined = {40, 41};
  job.parts = {43};
  const auto back = read_job(write_job(job));
  REQUIRE(back);
  CHECK(back->starts == job.starts);
  CHECK(back->joined == job.joined);
  CHECK(back->parts == job.parts);
  std::string text = write_job(job);
  text.replace(text.find("[43]"), 4, "[-1]");
  CHECK_FALSE(read_job(text));
  text.replace(text.find("[-1]"), 4, "\"no\"");
  CHECK_FALSE(read_job(text));
}

TEST_CASE("a queue says how its pages look, where its printer says otherwise") {
  const auto queues = read_queues(
      "[queue.dots]\nprofile = \"fanfold-11\"\nlook = \"dots\"\nedges = true\n"
      "[queue.turned]\nlandscape = true\npages_a_sheet = 4\n");
  REQUIRE(queues);
  CHECK(queues->find("dots")->settings.dress.look == Look::dots);
  CHECK(queues->find("dots")->settings.dress.edges);
  CHECK(queues->find("turned")->settings.form.landscape);
  CHECK(queues->find("turned")->settings.dress.pages_a_sheet == 4);
  const auto wrong = read_queues("[queue.paper]\nedges = true\n");
  REQUIRE_FALSE(wrong);
  CHECK_THAT(wrong.error().message, Catch::Contains("has no strips with holes"));
}
