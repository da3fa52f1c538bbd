#include "print/spool.h"

#include <condition_variable>
#include <filesystem>
#include <fstream>
#include <functional>
#include <mutex>
#include <set>

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "tests/support/test_volume.h"

using namespace stationer;
using namespace stationer::print;
using test::TestVolume;

namespace {

struct TestSpool {
  TestVolume room;
  std::string settings;
  std::unique_ptr<Spool> spool;

  explicit TestSpool(std::string text = "") : settings(std::move(text)) { open(); }

  void open() {
    auto opened = try_open();
    if (!opened) FAIL(opened.error().message);
    spool = std::move(*opened);
  }
  fs::Result<std::unique_ptr<Spool>> try_open() {
    auto fonts = Fonts::load();
    REQUIRE(fonts);
    const auto queues = read_queues(settings).value();
    return Spool::open(*room.volume, queues, render_in_place(queues, std::move(*fonts)));
  }
  void reopen() {
    spool.reset();
    room.reopen();
    open();
  }

  fs::Result<std::uint32_t> job(const fs::Caller& owner, std::string_view text,
                                std::string title = "a job", std::string_view queue = "") {
    auto incoming = spool->receive(queue, std::move(title), owner.account, "somebody", "test");
    if (!incoming) return incoming.error();
    if (auto written = incoming->write(text); !written) return written.error();
    return incoming->finish();
  }

  // Prints all that waits; returns how many.
  int print_all() {
    int count = 0;
    for (;;) {
      auto printed = spool->print_next();
      if (!printed) FAIL(printed.error().message);
      if (!*printed) return count;
      ++count;
    }
  }

  std::string state(std::uint32_t number) const {
    const auto view = spool->job(number);
    return view ? state_name(view->state) : "gone";
  }

  // How many folders of the spool a job lies in.
  std::size_t places(std::uint32_t number) const {
    std::size_t count = 0;
    for (const auto& each : std::filesystem::recursive_directory_iterator(room.path() + "/spool")) {
      if (each.is_directory() && each.path().filename() == fmt_number(number)) ++count;
    }
    return count;
  }
  static std::string fmt_number(std::uint32_t number) {
    std::string digits = std::to_string(number);
    return std::string(6 - digits.size(), '0') + digits;
  }
};

}  // namespace

TEST_CASE("a job becomes a printout in its owner's tray, under a readable name") {
  TestSpool test;
  const fs::Caller robin = test.room.add("robin");
  const auto number = test.job(robin, "High water 07:41\f", "Tide tables: spring");
  REQUIRE(number);
  CHECK(test.state(*number) == "waiting");
  CHECK(test.print_all() == 1);
  CHECK(test.state(*number) == "gone");
  const auto tray = test.room.desk().printouts(robin, false);
  REQUIRE(tray.size() == 1);
  CHECK(tray[0].title == "Tide tables: spring");
  CHECK(tray[0].pages == 1);
  CHECK(tray[0].path == "printouts/2027/01/15/000001-Tide-tables-spring.pdf");
  const auto pdf = fs::read_outside_file(test.room.path() + "/" + tray[0].path, 1u << 20);
  REQUIRE(pdf);
  CHECK(pdf->starts_with("%PDF-1."));
  CHECK(pdf->size() == tray[0].bytes);
  CHECK(test.places(*number) == 1);  // its bytes, to print it again
  CHECK(test.room.findings() == "");
}

namespace {

// Reads a job, and then tells of a page and looks at what the spool says meanwhile.
class Watched : public Renderer {
 public:
  explicit Watched(std::function<void()> look) : look_(std::move(look)) {}

  fs::Result<JobReport> render(const Order&, const ByteSource& source, const PartSink&,
                               const PageTold& on_page) override {
    std::string piece(5, '\0');
    look_();
    static_cast<void>(source(piece));
    on_page(12);
    look_();
    return fs::Error{fs::Code::bad_input, "The ribbon is torn."};
  }

 private:
  const std::function<void()> look_;
};

}  // namespace

TEST_CASE("a job says which page is being drawn while it is printing, and only then") {
  TestVolume room;
  std::unique_ptr<Spool> spool;
  std::vector<std::string> seen;
  const auto look = [&] {
    std::string line;
    for (const JobView& view : spool->jobs()) {
      CHECK(spool->job(view.job.number)->page == view.page);
      line += fmt::format("{} {} page {} read {}; ", view.job.number, state_name(view.state),
                          view.page, view.read);
    }
    seen.push_back(line);
  };
  spool =
      Spool::open(*room.volume, read_queues("").value(), std::make_unique<Watched>(look)).value();
  for (int i = 0; i < 2; ++i) {
    auto incoming = spool->receive("", "tides", fs::no_account, "", "test");
    REQUIRE(incoming);
    REQUIRE(incoming->write("High water"));
    REQUIRE(incoming->finish());
  }
  REQUIRE(spool->print_next());
  REQUIRE(spool->print_next());
  look();
  CHECK(seen == std::vector<std::string>{
                    "1 printing page 0 read 0; 2 waiting page 0 read 0; ",
                    "1 printing page 12 read 5; 2 waiting page 0 read 0; ",
                    "1 refused page 0 read 0; 2 printing page 0 read 0; ",
                    "1 refused page 0 read 0; 2 printing page 12 read 5; ",
                    "1 refused page 0 read 0; 2 refused page 0 read 0; ",
                });
}

TEST_CASE("an incoming job that is let go leaves nothing") {
  TestSpool test;
  {
    auto incoming = test.spool->receive("", "half", fs::no_account, "", "test");
    REQUIRE(incoming);
    REQUIRE(incoming->write("half a page"));
    CHECK(test.places(1) == 1);
  }
  CHECK(test.places(1) == 0);
  CHECK(test.spool->jobs().empty());
}

TEST_CASE(
    "invariant 5: every job is in one state and ends as a printout, held, or refused with a "
    "reason") {
  TestSpool test(
      "[queue.paper]\nmost_pages = 2\n[queue.mine]\npolicy = \"owner\"\n[queue.essays]\npolicy = "
      "\"leader\"\n"
      "[print]\nqueue = \"paper\"\n");
  TestVolume::done(test.room.people().add_class(test.room.keeper, "tuesday"));
  const fs::Caller robin = test.room.add("robin", fs::Role::member, "tuesday");
  const fs::Caller wren = test.room.add("wren", fs::Role::member, "tuesday");
  const fs::Caller sorrel = test.room.add("sorrel", fs::Role::leader, "tuesday");
  std::vector<std::string> told;
  test.spool->on_done([&](const JobView& view, bool printed) {
    told.push_back(std::to_string(view.job.number) + (printed ? " printed" : " refused"));
  });

  const auto fine = *test.job(robin, "text");
  const auto pages = *test.job(robin, "1\f2\f3\f");
  const auto empty = *test.job(robin, "");
  const auto script = *test.job(robin, "%!PS-Adobe-3.0\nshowpage\n");
  const auto mine = *test.job(robin, "text", "mine", "mine");
  const auto essay = *test.job(robin, "text", "essay", "ESSAYS");
  CHECK(test.job(robin, "x", "x", "nowhere").error().code == fs::Code::not_found);
  CHECK(test.print_all() == 3);
  CHECK(test.state(fine) == "gone");
  CHECK(test.state(pages) == "refused");
  CHECK(test.spool->job(pages)->job.reason.find('2') != std::string::npos);
  CHECK(test.state(empty) == "refused");
  CHECK(test.spool->job(empty)->job.reason == "There was nothing to print in it.");
  CHECK(test.state(script) == "refused");
  CHECK(test.spool->job(script)->job.reason.find("PostScript") != std::string::npos);
  CHECK(test.state(mine) == "held");
  CHECK(test.state(essay) == "held");
  for (const auto number : {pages, empty, script, mine, essay}) {
    CHECK(test.places(number) == 1);
    CHECK_FALSE(test.spool->job(number)->job.reason.empty());
  }

  CHECK(test.spool->release(wren, mine).error().code == fs::Code::denied);
  CHECK(test.spool->release(robin, essay).error().code == fs::Code::denied);
  CHECK(test.spool->release(robin, 99).error().code == fs::Code::not_found);
  CHECK(test.spool->release(robin, mine));
  CHECK(test.spool->release(sorrel, essay));
  CHECK(test.spool->hold(robin, mine, "Not yet."));
  CHECK(test.spool->hold(robin, mine, "Not yet.").error().code == fs::Code::bad_input);
  CHECK(test.print_all() == 1);
  CHECK(test.spool->refuse(robin, mine, "no").error().code == fs::Code::denied);
  CHECK(test.spool->refuse(sorrel, mine, "Too many pictures."));
  CHECK(test.spool->job(mine)->job.reason == "Too many pictures.");
  CHECK(told == std::vector<std::string>{"4 refused", "1 printed", "2 refused", "3 refused",
                                         "6 printed", "5 refused"});
  CHECK(test.spool->cancel(wren, mine).error().code == fs::Code::denied);
  CHECK(test.spool->cancel(robin, mine));
  CHECK(test.state(mine) == "gone");
  CHECK(test.places(mine) == 0);

  // All of it is so after opening again.
  test.reopen();
  CHECK(test.state(pages) == "refused");
  CHECK(test.spool->jobs().size() == 3);
  CHECK(test.room.desk().printouts(robin, false).size() == 2);
}

// Killed at each call to the host, through receiving and printing: an acknowledged job is printed
// exactly once in the end.
TEST_CASE("a job for another kind of printer is told which one the queue imitates") {
  TestSpool test("[queue.paper]\n[queue.dots]\nprofile = \"nine-pin-80\"\n");
  const fs::Caller robin = test.room.add("robin", fs::Role::member);
  const auto reason = [&](const char* queue, std::string_view bytes) {
    const auto number = *test.job(robin, std::string(bytes), "drawing", queue);
    CHECK(test.state(number) == "refused");
    return test.spool->job(number)->job.reason;
  };
  CHECK(reason("paper", "%!PS-Adobe-3.0\nshowpage\n") ==
        "The job is a PostScript program, and this queue imitates a text-only printer. Choose such "
        "a printer on the machine that sent it.");
  CHECK(reason("dots", "%PDF-1.7\n") ==
        "The job is a PDF document, and this queue imitates a dot-matrix printer with 9 pins. "
        "Choose such a printer on the machine that sent it.");
}

TEST_CASE("invariant 5: killed at any host call, a job is neither lost nor doubled") {
  bool got_through = false;
  for (long n = 1; !got_through; ++n) {
    REQUIRE(n < 300);
    INFO("call " << n);
    TestSpool test;
    const fs::Caller robin = test.room.add("robin");
    REQUIRE(test.room.volume->drain());
    auto& failure = *test.room.failure;
    failure.calls = 0;
    failure.failed = false;
    failure.stay_dead = true;
    failure.fail_at = n;
    const auto number = test.job(robin, "once and once only\n");
    static_cast<void>(test.spool->print_next());
    static_cast<void>(test.room.volume->drain());
    got_through = !failure.failed;
    test.spool.reset();
    test.room.volume.reset();
    failure.fail_at = 0;
    test.room.reopen();
    test.open();
    test.print_all();
    const auto tray = test.room.desk().printouts(robin, false);
    CHECK(test.spool->jobs().empty());
    if (number) {
      REQUIRE(tray.size() == 1);
    } else {
      CHECK(tray.size() <= 1);
    }
    std::size_t pdfs = 0;
    for (const auto& each :
         std::filesystem::recursive_directory_iterator(test.room.path() + "/printouts")) {
      if (each.is_regular_file()) ++pdfs;
    }
    CHECK(pdfs == tray.size());
    CHECK(test.room.findings() == "");
  }
}

TEST_CASE("invariant 5: the Nth failing host call delays a job, and it is printed once") {
  bool got_through = false;
  for (long n = 1; !got_through; ++n) {
    REQUIRE(n < 300);
    INFO("call " << n);
    TestSpool test;
    const fs::Caller robin = test.room.add("robin");
    REQUIRE(test.room.volume->drain());
    auto& failure = *test.room.failure;
    failure.calls = 0;
    failure.failed = false;
    failure.fail_at = n;
    const auto number = test.job(robin, "once and once only\n");
    static_cast<void>(test.spool->print_next());
    got_through = !failure.failed;
    failure.fail_at = 0;
    test.print_all();
    test.reopen();
    test.print_all();
    CHECK(test.room.desk().printouts(robin, false).size() == (number ? 1 : 0));
    CHECK(test.spool->jobs().empty());
    CHECK(test.room.findings() == "");
  }
}

TEST_CASE("invariant 7: the same job gives the same printout, byte for byte") {
  std::set<std::string> pdfs;
  for (int i = 0; i < 2; ++i) {
    TestSpool test;
    const fs::Caller robin = test.room.add("robin");
    REQUIRE(test.job(robin, "the same\f", "same"));
    test.print_all();
    pdfs.insert(*fs::read_outside_file(
        test.room.path() + "/" + test.room.desk().printouts(robin, false)[0].path, 1u << 20));
  }
  CHECK(pdfs.size() == 1);
}

TEST_CASE("a job whose description was lost is refused, not forgotten") {
  TestSpool test;
  const auto number = *test.job(test.room.add("robin"), "text");
  test.spool.reset();
  std::ofstream(test.room.path() + "/spool/waiting/000001/job.json") << "rubbish";
  test.open();
  CHECK(test.state(number) == "refused");
  CHECK(test.spool->job(number)->job.reason.find("lost") != std::string::npos);
  CHECK(std::filesystem::exists(test.room.path() + "/spool/refused/000001/data"));
}

TEST_CASE("invariant 5: of jobs that have one number none is lost, and the spool opens") {
  TestSpool test;
  const fs::Caller robin = test.room.add("robin");
  REQUIRE(*test.job(robin, "the first\f", "first") == 1);
  REQUIRE(*test.job(robin, "the second\f", "second") == 2);
  test.spool.reset();
  namespace host = std::filesystem;
  const host::path spool = test.room.path() + "/spool";
  for (const char* other : {"printing", "held", "refused"}) {
    host::copy(spool / "waiting/000001", spool / other / "000001", host::copy_options::recursive);
  }
  std::ofstream(spool / "held/000001/job.json") << "rubbish";
  host::copy(spool / "waiting/000002", spool / "refused/000002", host::copy_options::recursive);
  std::ofstream(spool / "waiting/000002/job.json") << "rubbish";
  host::create_directory(spool / "printing/3");  // named as none of ours is
  for (int opening = 0; opening < 3; ++opening) {
    test.reopen();
    const std::vector<std::pair<std::string, std::string>> expected = {
        {"waiting", "the first\f"}, {"refused", "the second\f"}, {"held", "the first\f"},
        {"refused", "the first\f"}, {"refused", "the first\f"},  {"refused", "the second\f"}};
    CHECK(test.spool->jobs().size() == expected.size());
    for (std::uint32_t number = 1; number <= expected.size(); ++number) {
      INFO("job " << number);
      const auto& [state, bytes] = expected[number - 1];
      CHECK(test.state(number) == state);
      CHECK(test.places(number) == 1);
      const host::path data = spool / state / test.fmt_number(number) / "data";
      CHECK(fs::read_outside_file(data, 100).value() == bytes);
    }
    CHECK(test.spool->job(3)->job.title == "first");
    CHECK(test.spool->job(3)->job.reason.find("Two jobs had the number 1") == 0);
  }
  REQUIRE(test.spool->release(robin, 3));
  CHECK(test.print_all() == 2);
  CHECK(*test.job(robin, "the next") == 7);
}

TEST_CASE("invariant 5: an opening that fails amid jobs of one number is taken up again") {
  for (long n = 1; n < 200; ++n) {
    TestSpool test;
    REQUIRE(*test.job(test.room.add("robin"), "the first\f", "first") == 1);
    test.spool.reset();
    const std::filesystem::path spool = test.room.path() + "/spool";
    std::filesystem::copy(spool / "waiting/000001", spool / "printing/000001",
                          std::filesystem::copy_options::recursive);
    test.room.failure->fail_at = test.room.failure->calls + n;
    static_cast<void>(test.try_open());
    const bool struck = test.room.failure->failed;
    test.room.failure->fail_at = 0;
    INFO("call " << n);
    test.reopen();
    const auto jobs = test.spool->jobs();
    CHECK(jobs.size() == 2);
    for (const auto& each : jobs) CHECK(test.places(each.job.number) == 1);
    if (!struck) break;
  }
}

TEST_CASE("a job that is too large is refused while it comes") {
  TestSpool test;
  auto incoming = test.spool->receive("", "huge", fs::no_account, "", "test");
  REQUIRE(incoming);
  const std::string piece(4u << 20, 'x');
  fs::Status status;
  std::uint64_t sent = 0;
  while (status && sent < 2 * Spool::largest_job) {
    status = incoming->write(piece);
    sent += piece.size();
  }
  REQUIRE_FALSE(status);
  CHECK(status.error().code == fs::Code::over_quota);
  CHECK(sent <= Spool::largest_job + piece.size());
}

TEST_CASE("the spool prints by itself once started") {
  TestSpool test;
  const fs::Caller robin = test.room.add("robin");
  std::mutex mutex;
  std::condition_variable changed;
  int done = 0;
  test.spool->on_done([&](const JobView&, bool) {
    const std::lock_guard lock(mutex);
    ++done;
    changed.notify_all();
  });
  REQUIRE(test.job(robin, "before"));
  test.spool->start();
  REQUIRE(test.job(robin, "after"));
  std::unique_lock lock(mutex);
  CHECK(changed.wait_for(lock, std::chrono::seconds(20), [&] { return done == 2; }));
  lock.unlock();
  CHECK(test.room.desk().printouts(robin, false).size() == 2);
  CHECK(test.spool->trouble().empty());
}

TEST_CASE("job numbers go on after opening again") {
  TestSpool test;
  const fs::Caller robin = test.room.add("robin");
  CHECK(*test.job(robin, "one") == 1);
  test.print_all();
  CHECK(*test.job(robin, "two") == 2);
  test.reopen();
  CHECK(*test.job(robin, "three") == 3);
}

TEST_CASE("the number of a job that is gone is no other's, after opening again too") {
  TestSpool test;
  const fs::Caller robin = test.room.add("robin");
  const auto refused = test.job(robin, "%!PS-Adobe-3.0");
  CHECK(*refused == 1);
  REQUIRE(test.spool->cancel(test.room.keeper, 1));
  {
    auto cut_short = test.spool->receive("", "", robin.account, "robin", "test");
    REQUIRE(cut_short);
  }
  test.reopen();
  CHECK(*test.job(robin, "one") == 3);

  // A job that is newer than the rows, as a snapshot may have it.
  test.spool.reset();
  std::filesystem::rename(test.room.path() + "/spool/waiting/000003",
                          test.room.path() + "/spool/waiting/000017");
  test.room.reopen();
  test.open();
  CHECK(test.room.desk().last_job() == 17);
  CHECK(*test.job(robin, "two") == 18);
}

namespace {

// A step of the spool's, killed at each call to the host, and then each call failing once:
// `prepare` comes before, `act` is the step, `judge` looks at it all after opening again and
// printing.
template <class Prepare, class Act, class Judge>
void at_every_call(const std::string& settings, Prepare prepare, Act act, Judge judge) {
  for (const bool dead : {true, false}) {
    bool got_through = false;
    for (long n = 1; !got_through; ++n) {
      REQUIRE(n < 400);
      INFO("call " << n << (dead ? ", killed" : ", fails"));
      TestSpool test(settings);
      prepare(test);
      REQUIRE(test.room.volume->drain());
      auto& failure = *test.room.failure;
      failure.calls = 0;
      failure.failed = false;
      failure.stay_dead = dead;
      failure.fail_at = n;
      const bool acknowledged = act(test);
      static_cast<void>(test.room.volume->drain());
      got_through = !failure.failed;
      if (dead) {
        test.spool.reset();
        test.room.volume.reset();
      }
      failure.fail_at = 0;
      test.reopen();
      test.print_all();
      judge(test, acknowledged);
      CHECK(test.room.findings() == "");
    }
  }
}

}  // namespace

TEST_CASE("invariant 5: a job goes to another queue, and is received there as any other") {
  TestSpool test(
      "[queue.paper]\n[queue.essays]\npolicy = \"leader\"\n[print]\nqueue = \"paper\"\n");
  TestVolume::done(test.room.people().add_class(test.room.keeper, "tuesday"));
  const fs::Caller robin = test.room.add("robin", fs::Role::member, "tuesday");
  const fs::Caller wren = test.room.add("wren", fs::Role::member, "tuesday");
  const auto job = *test.job(robin, "text");
  CHECK(test.spool->send_to(robin, job, "nowhere").error().code == fs::Code::not_found);
  CHECK(test.spool->send_to(robin, job, "").error().code == fs::Code::not_found);
  CHECK(test.spool->send_to(wren, job, "essays").error().code == fs::Code::denied);
  CHECK(test.spool->send_to(robin, 99, "essays").error().code == fs::Code::not_found);
  REQUIRE(test.spool->send_to(robin, job, "ESSAYS"));
  CHECK(test.state(job) == "held");
  CHECK(test.spool->job(job)->job.reason == "It waits for a leader to release it.");
  CHECK(test.spool->job(job)->job.queue == "essays");
  REQUIRE(test.spool->send_to(robin, job, "essays"));  // where it is
  CHECK(test.places(job) == 1);
  test.reopen();
  CHECK(test.spool->job(job)->job.queue == "essays");
  REQUIRE(test.spool->send_to(robin, job, "paper"));
  CHECK(test.state(job) == "waiting");
  CHECK(test.spool->job(job)->job.reason.empty());
  // What no queue prints stays refused.
  const auto script = *test.job(robin, "%!PS-Adobe-3.0\n");
  REQUIRE(test.spool->send_to(robin, script, "essays"));
  CHECK(test.state(script) == "refused");
  CHECK(test.print_all() == 1);
  CHECK(test.room.desk().printouts(robin, false)[0].queue == "paper");
}

TEST_CASE(
    "invariant 5: cut short at any host call, a job that moves is in one queue and printed once") {
  at_every_call(
      "[queue.paper]\n[queue.essays]\npolicy = \"leader\"\n[print]\nqueue = \"essays\"\n",
      [](TestSpool& test) { REQUIRE(test.job(test.room.add("robin"), "once and once only\n")); },
      [](TestSpool& test) {
        return test.spool->send_to(test.room.caller("robin"), 1, "paper").has_value();
      },
      [](TestSpool& test, bool acknowledged) {
        const auto printed = test.room.desk().printouts(test.room.caller("robin"), false).size();
        const auto left = test.spool->jobs().size();
        CHECK(printed + left == 1);
        if (acknowledged) CHECK(printed == 1);
      });
}

TEST_CASE("invariant 5: what was printed is printed again as a job of its own, while it is kept") {
  TestSpool test(
      "[print]\nagain_days = 2\nqueue = \"paper\"\n[queue.paper]\nmost_pages = 1\n"
      "[queue.mine]\npolicy = \"owner\"\n");
  const fs::Caller robin = test.room.add("robin");
  const fs::Caller wren = test.room.add("wren");
  const auto first = *test.job(robin, "High water", "tides");
  test.print_all();
  CHECK(test.places(first) == 1);
  CHECK(test.spool->jobs().empty());
  CHECK_FALSE(test.spool->job(first));
  test.reopen();
  CHECK(test.spool->print_again(wren, first).error().code == fs::Code::not_found);
  CHECK(test.spool->print_again(robin, 99).error().code == fs::Code::not_found);
  const auto again = test.spool->print_again(robin, first);
  REQUIRE(again);
  CHECK(*again == 2);
  CHECK(test.spool->print_again(robin, *again).error().code == fs::Code::bad_input);
  REQUIRE(test.spool->print_again(robin, first, "mine"));
  CHECK(test.state(3) == "held");
  CHECK(test.spool->print_again(robin, first, "nowhere").error().code == fs::Code::not_found);
  test.print_all();
  const auto tray = test.room.desk().printouts(robin, false);
  REQUIRE(tray.size() == 2);
  CHECK(tray[0].title == "tides");

  // It belongs to whom the printout belongs.
  TestVolume::done(test.room.desk().give_printout(test.room.keeper, first, "wren"));
  CHECK(test.spool->print_again(robin, first).error().code == fs::Code::not_found);
  REQUIRE(test.spool->print_again(wren, first));
  CHECK(test.spool->job(4)->job.owner == wren.account);
  test.print_all();

  // What was refused, too.
  const auto refused = *test.job(robin, "1\f2\f");
  test.print_all();
  CHECK(test.state(refused) == "refused");
  CHECK(test.spool->print_again(wren, refused).error().code == fs::Code::denied);
  CHECK(test.spool->print_again(robin, refused, "mine"));

  // Discarded is discarded, and old is old.
  TestVolume::done(test.room.desk().discard_printout(wren, first));
  test.spool->drop_old_bytes();
  CHECK(test.places(first) == 0);
  *test.room.now += std::chrono::hours(49);
  REQUIRE(test.spool->do_what_is_due());
  const auto late = test.spool->print_again(robin, 2);
  REQUIRE_FALSE(late);
  CHECK(late.error().message.find("not kept any more") != std::string::npos);
  CHECK(test.room.findings() == "");
}

TEST_CASE("no more bytes are kept to print again than the settings say") {
  TestSpool test("[print]\nagain_mib = 1\n");
  const fs::Caller robin = test.room.add("robin");
  REQUIRE(test.job(robin, "one\f" + std::string(600 * 1024, '\0')));
  REQUIRE(test.job(robin, "two\f" + std::string(600 * 1024, '\0')));
  test.print_all();
  CHECK(test.places(1) == 0);
  CHECK(test.places(2) == 1);
  TestSpool none("[print]\nagain_days = 0\n");
  REQUIRE(none.job(none.room.add("robin"), "one"));
  none.print_all();
  CHECK(none.places(1) == 0);
}

TEST_CASE("invariant 5: cut short at any host call, printing again makes one job or none") {
  at_every_call(
      "",
      [](TestSpool& test) {
        REQUIRE(test.job(test.room.add("robin"), "twice\n"));
        test.print_all();
      },
      [](TestSpool& test) {
        return test.spool->print_again(test.room.caller("robin"), 1).has_value();
      },
      [](TestSpool& test, bool acknowledged) {
        const auto printed = test.room.desk().printouts(test.room.caller("robin"), false).size();
        CHECK(printed <= 2);
        if (acknowledged) CHECK(printed == 2);
        CHECK(test.spool->jobs().empty());
      });
}

TEST_CASE("invariant 5: jobs of one owner become one") {
  TestSpool test("[queue.paper]\n[queue.mine]\npolicy = \"owner\"\n[print]\nqueue = \"paper\"\n");
  const fs::Caller robin = test.room.add("robin");
  const fs::Caller wren = test.room.add("wren");
  REQUIRE(test.job(robin, "one", "tides"));
  REQUIRE(test.job(robin, "two"));
  REQUIRE(test.job(wren, "other"));
  REQUIRE(test.job(robin, "mine", "mine", "mine"));
  const auto refused = [&](std::vector<std::uint32_t> numbers, const fs::Caller& who) {
    return test.spool->join(who, numbers).error().code;
  };
  CHECK(refused({1}, robin) == fs::Code::bad_input);
  CHECK(refused({1, 1}, robin) == fs::Code::bad_input);
  CHECK(refused({1, 4}, robin) == fs::Code::bad_input);
  CHECK(refused({1, 3}, test.room.keeper) == fs::Code::bad_input);
  CHECK(refused({1, 3}, robin) == fs::Code::denied);
  CHECK(refused({1, 99}, robin) == fs::Code::not_found);
  REQUIRE(test.spool->hold(robin, 1, "Not yet."));
  const auto joined = test.spool->join(test.room.keeper, {2, 1});
  REQUIRE(joined);
  CHECK(test.state(1) == "gone");
  CHECK(test.state(2) == "gone");
  CHECK(test.places(1) + test.places(2) == 0);
  CHECK(test.state(*joined) == "held");
  CHECK(test.spool->job(*joined)->job.reason == "Not yet.");
  CHECK(test.spool->job(*joined)->job.title == "a job and 1 more");
  test.reopen();
  REQUIRE(test.spool->release(robin, *joined));
  CHECK(test.print_all() == 2);
  const auto tray = test.room.desk().printouts(robin, false);
  REQUIRE(tray.size() == 1);
  CHECK(tray[0].pages == 2);
  CHECK(test.room.findings() == "");
}

TEST_CASE(
    "invariant 5: cut short at any host call, jobs that are joined are printed once, all or "
    "apart") {
  at_every_call(
      "",
      [](TestSpool& test) {
        const fs::Caller robin = test.room.add("robin");
        REQUIRE(test.job(robin, "one\n"));
        REQUIRE(test.job(robin, "two\n"));
      },
      [](TestSpool& test) {
        return test.spool->join(test.room.caller("robin"), {1, 2}).has_value();
      },
      [](TestSpool& test, bool acknowledged) {
        std::uint32_t pages = 0;
        const auto tray = test.room.desk().printouts(test.room.caller("robin"), false);
        for (const auto& printout : tray) pages += printout.pages;
        CHECK(pages == 2);
        if (acknowledged) CHECK(tray.size() == 1);
        CHECK(test.spool->jobs().empty());
      });
}

TEST_CASE("invariant 5: a job that is split becomes printouts that belong together") {
  TestSpool test("[queue.paper]\nsplit_pages = 2\nsplit_marker = \"NEXT\"\n");
  const fs::Caller robin = test.room.add("robin");
  REQUIRE(test.job(robin, "1\f2\f3\nNEXT\n4", "tides"));
  REQUIRE(test.job(robin, "only one"));
  CHECK(test.print_all() == 2);
  const auto tray = test.room.desk().printouts(robin, false);
  REQUIRE(tray.size() == 4);
  CHECK(tray[3].title == "tides");
  CHECK(tray[3].pages == 2);
  CHECK(tray[1].title == "tides (part 2)");
  CHECK(tray[0].title == "tides (part 3)");
  CHECK(tray[0].path == "printouts/2027/01/15/000001-3-tides.pdf");
  CHECK(tray[0].job == 4);
  // Any part stands for the whole job, as it came in.
  REQUIRE(test.spool->print_again(robin, 4));
  CHECK(test.print_all() == 1);
  CHECK(test.room.desk().printouts(robin, false).size() == 7);
  CHECK(test.room.findings() == "");
}

TEST_CASE("invariant 5: cut short at any host call, a split job's printouts are all there, once") {
  at_every_call(
      "[queue.paper]\nsplit_pages = 1\n",
      [](TestSpool& test) { REQUIRE(test.job(test.room.add("robin"), "1\f2\f3\f")); },
      [](TestSpool& test) { return test.spool->print_next().has_value(); },
      [](TestSpool& test, bool) {
        CHECK(test.room.desk().printouts(test.room.caller("robin"), false).size() == 3);
        std::size_t pdfs = 0;
        for (const auto& each :
             std::filesystem::recursive_directory_iterator(test.room.path() + "/printouts")) {
          if (each.is_regular_file()) ++pdfs;
        }
        CHECK(pdfs == 3);
        CHECK(test.spool->jobs().empty());
      });
}

TEST_CASE("a member's pages a day and a week are limited, in words that help") {
  TestSpool test("[queue.paper]\npages_per_day = 3\npages_per_week = 4\n[queue.free]\n");
  const fs::Caller robin = test.room.add("robin");
  const fs::Caller sorrel = test.room.add("sorrel", fs::Role::leader);
  const auto reason = [&](std::uint32_t job) { return test.spool->job(job)->job.reason; };
  REQUIRE(test.job(robin, "1\f2\f", "", "paper"));
  const auto too_many = *test.job(robin, "1\f2\f", "", "paper");
  REQUIRE(test.job(sorrel, "1\f2\f3\f4\f", "", "paper"));
  REQUIRE(test.job(robin, "1\f2\f3\f4\f", "", "free"));
  test.print_all();
  CHECK(test.state(too_many) == "refused");
  CHECK(
      reason(too_many).starts_with("In the queue paper a member may print 3 pages a day. 2 are "
                                   "used, and 1 is left."));
  CHECK(reason(too_many).ends_with("This job has more pages than that."));
  CHECK(test.room.desk().printouts(sorrel, false).size() == 1);
  REQUIRE(test.job(robin, "3", "", "paper"));
  const auto none_left = *test.job(robin, "4", "", "paper");
  test.print_all();
  CHECK(reason(none_left).find("All of them are used.") != std::string::npos);
  // The next day the week's limit counts, and the week after neither.
  *test.room.now += std::chrono::hours(24);
  CHECK(test.spool->allowance(robin.account, *test.spool->queues().find("paper"))->left == 1);
  *test.room.now += std::chrono::hours(7 * 24);
  REQUIRE(test.spool->print_again(robin, none_left));
  test.print_all();
  CHECK(test.room.desk().printouts(robin, false).size() == 4);
}

TEST_CASE("titles and reasons are for a job's owner and those who look after them") {
  TestSpool test;
  TestVolume::done(test.room.people().add_class(test.room.keeper, "tuesday"));
  const fs::Caller robin = test.room.add("robin", fs::Role::member, "tuesday");
  const fs::Caller wren = test.room.add("wren", fs::Role::member, "tuesday");
  const fs::Caller sorrel = test.room.add("sorrel", fs::Role::leader, "tuesday");
  const fs::Caller teasel = test.room.add("teasel", fs::Role::leader);
  REQUIRE(test.job(robin, "text", "Dear diary"));
  REQUIRE(test.spool->hold(robin, 1, "Private."));
  REQUIRE(test.job({}, "text", "of nobody"));
  const auto seen = [&](const fs::Caller& who) {
    std::string out;
    for (const auto& view : test.spool->jobs_as_seen(who)) {
      out += view.job.title + view.job.reason + "|";
    }
    return out;
  };
  CHECK(seen(robin) == "Dear diaryPrivate.||");
  CHECK(seen(sorrel) == "Dear diaryPrivate.||");
  CHECK(seen(test.room.keeper) == "Dear diaryPrivate.|of nobody|");
  CHECK(seen(wren) == "||");
  CHECK(seen(teasel) == "||");
  CHECK(seen({}) == "||");
}

TEST_CASE("an unclaimed printout is found by its code alone, which stays the same") {
  TestSpool test;
  REQUIRE(test.job({}, "text"));
  REQUIRE(test.job({}, "text"));
  REQUIRE(test.job(test.room.add("robin"), "text"));
  test.print_all();
  const std::string code = test.spool->code_of(2);
  CHECK(test.spool->printout_of(code) == 2u);
  test.reopen();
  CHECK(test.spool->code_of(2) == code);
  CHECK(test.spool->printout_of(code) == 2u);
  CHECK_FALSE(test.spool->printout_of(test.spool->code_of(3)));  // robin's
  CHECK_FALSE(test.spool->printout_of(test.spool->code_of(99)));
  CHECK_FALSE(test.spool->printout_of(""));
}

TEST_CASE("printouts go when they are too old, and the journal tells of each") {
  TestSpool test("[print]\nprintout_days = 30\n");
  const fs::Caller robin = test.room.add("robin");
  REQUIRE(test.job(robin, "old"));
  test.print_all();
  *test.room.now += std::chrono::hours(24 * 20);
  REQUIRE(test.job(robin, "new"));
  test.print_all();
  REQUIRE(test.spool->do_what_is_due());
  CHECK(test.room.desk().printouts(robin, false).size() == 2);
  *test.room.now += std::chrono::hours(24 * 11);
  REQUIRE(test.spool->do_what_is_due());
  const auto tray = test.room.desk().printouts(robin, false);
  REQUIRE(tray.size() == 1);
  CHECK(tray[0].job == 2);
  fs::JournalQuery query;
  query.what = "printout expired";
  const auto entries = test.room.desk().journal(query);
  REQUIRE(entries);
  REQUIRE(entries->size() == 1);
  CHECK(entries->front().subject == "1");
  CHECK(entries->front().detail.find("robin") != std::string::npos);
  CHECK(test.room.findings() == "");
}
