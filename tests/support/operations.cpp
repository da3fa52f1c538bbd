#include "tests/support/operations.h"

#include <algorithm>
#include <set>
#include <sstream>
#include <stdexcept>

#include <fmt/format.h>

#include "fs/snapshot_restore.h"

namespace stationer::test {
namespace {

using namespace fs;

constexpr const char* people[] = {"robin", "wren", "teasel", "sorrel", "heron", "bram"};
constexpr const char* rooms[] = {"tuesday", "night", "friday"};
constexpr const char* names[] = {
    "tide", "mill", "Letter to the weir.txt", "letter to wren", "sluice.bas", "\u00e9tude",
    "n",    "f"};

const char* person(Hand& hand) {
  return people[hand.below(std::size(people))];
}
const char* room(Hand& hand) {
  return rooms[hand.below(std::size(rooms))];
}

// One of the people, or the keeper; the keeper more often, so that most things can be done.
Caller somebody(Hand& hand) {
  if (hand.below(3) != 0) return keeper_at_the_box();
  const auto account = hand.volume.people().account(std::string_view(person(hand)));
  if (!account) return keeper_at_the_box();
  return {account->id, false, "test"};
}

struct Seen {
  Path path;
  NodeView view;
};

void see_below(Volume& volume, const Path& folder, std::vector<Seen>& out) {
  auto views = volume.files().list(keeper_at_the_box(), folder);
  if (!views) return;
  for (auto& view : *views) {
    Path path = folder / view.name;
    const bool is_folder = view.folder;
    out.push_back({path, std::move(view)});
    if (is_folder) see_below(volume, path, out);
  }
}

std::vector<Seen> see(Volume& volume) {
  std::vector<Seen> out;
  see_below(volume, {}, out);
  return out;
}

// Any node for which `fits`; of those nothing is said that the starting tree needs.
template <class Fits>
std::optional<Seen> pick(Hand& hand, Fits fits) {
  auto all = see(hand.volume);
  std::erase_if(all, [&](const Seen& each) { return !fits(each); });
  if (all.empty()) return std::nullopt;
  return all[hand.below(all.size())];
}
std::optional<Seen> any_file(Hand& hand) {
  return pick(hand, [](const Seen& each) { return !each.view.folder; });
}
std::optional<Seen> anything(Hand& hand) {
  return pick(hand, [](const Seen& each) { return each.path.names().size() > 2; });
}
Path any_folder(Hand& hand) {
  const auto found = pick(hand, [](const Seen& each) {
    return each.view.folder && each.path.names().size() < 6 && each.path != Path() / "classes";
  });
  return found ? found->path : Path();
}
Path new_place(Hand& hand) {
  return any_folder(hand) /
         fmt::format("{}{}", names[hand.below(std::size(names))], hand.below(4) == 0 ? " 2" : "");
}

Error nothing_to_do() {
  return {Code::not_found, "There is nothing to do that to."};
}

std::string contents(Hand& hand, std::size_t size) {
  std::string out = fmt::format("{} ", hand.below(1'000'000));
  while (out.size() < size) out += fmt::format("line {} of the log\n", hand.below(100'000));
  out.resize(size);
  return out;
}

Ticket save(Hand& hand, const Path& path, std::size_t size) {
  SaveOptions options;
  options.replace = true;
  options.kind = static_cast<Kind>(hand.below(3));
  if (options.kind == Kind::program) options.load_address = static_cast<std::uint32_t>(size);
  auto upload = hand.volume.files().save(somebody(hand), path, options);
  if (!upload) return upload.error();
  const std::string bytes = contents(hand, size);
  for (std::size_t at = 0; at < bytes.size(); at += 48'000) {
    if (auto written = upload->write(std::string_view(bytes).substr(at, 48'000)); !written) {
      return written.error();
    }
  }
  return upload->finish();
}

std::size_t small_size(Hand& hand) {
  return hand.below(4) == 0 ? 0 : hand.below(9000);
}
std::size_t large_size(Hand& hand) {
  return small_content + 1 + hand.below(20'000);
}

std::vector<std::uint32_t> all_jobs(Volume& volume) {
  std::vector<std::uint32_t> jobs;
  for (const auto& each : volume.desk().printouts(keeper_at_the_box(), true))
    jobs.push_back(each.job);
  return jobs;
}

Ticket carried_over(const Result<std::vector<Carried>>& carried) {
  if (!carried) return carried.error();
  for (const auto& each : *carried) {
    if (!each.problem.empty()) return Error{Code::io, each.problem};
  }
  return over(Status());
}

std::optional<Path> any_hand_in(Hand& hand) {
  const auto folders = hand.volume.hand_ins().folders(keeper_at_the_box());
  if (folders.empty()) return std::nullopt;
  return *Path::parse(folders[hand.below(folders.size())].path);
}

Ticket hand_something_in(Hand& hand) {
  const auto folder = any_hand_in(hand);
  const auto account = hand.volume.people().account(std::string_view(person(hand)));
  if (!folder || !account) return nothing_to_do();
  auto upload = hand.volume.files().save({account->id, false, "test"},
                                         *folder / (hand.below(2) == 0 ? "work" : "poem"), {});
  if (!upload) return upload.error();
  const std::size_t size = hand.below(6) == 0 ? large_size(hand) : small_size(hand);
  if (auto written = upload->write(contents(hand, size)); !written) return written.error();
  return upload->finish();
}

// An account that is closed, as those of leavers are; "" when there is none.
std::string somebody_closed(Hand& hand) {
  std::vector<std::string> names_of_closed;
  for (const auto& each : hand.volume.people().accounts()) {
    if (each.closed) names_of_closed.push_back(each.name);
  }
  return names_of_closed.empty() ? "" : names_of_closed[hand.below(names_of_closed.size())];
}

// The spool has a job's folder until its printout is known.
Status put_in_spool(HostFiles& files, std::uint32_t job) {
  const HostPath printing = HostPath() / "spool" / "printing";
  if (auto made = make_folders(files, printing / fmt::format("{:06}", job)); !made) return made;
  if (auto synced = files.sync_folder(HostPath() / "spool"); !synced) return synced;
  return files.sync_folder(printing);
}

Ticket submit(Hand& hand, const std::string& name, std::string_view queue, std::string_view bytes,
              bool whole = true) {
  auto spool = hand.spool();
  if (!spool) return spool.error();
  const auto owner = hand.volume.people().account(std::string_view(name));
  auto job = (*spool)->receive(queue, "tide table", owner ? owner->id : no_account, name, "test");
  if (!job) return job.error();
  if (auto written = job->write(bytes); !written) return written.error();
  if (!whole) job->refuse("It did not come whole.");
  return over(job->finish());
}

Ticket submit_job(Hand& hand) {
  // One in five is in a language that is refused, and now and then there is nothing in one.
  const std::string start = hand.below(5) == 0 ? "%!PS" : "";
  const std::string bytes = hand.below(8) == 0 ? "" : start + contents(hand, 1 + hand.below(900));
  return submit(hand, person(hand), hand.below(6) == 0 ? "mine" : "", bytes, hand.below(9) != 0);
}

Ticket print_job(Hand& hand) {
  auto spool = hand.spool();
  if (!spool) return spool.error();
  auto printed = (*spool)->print_next();
  if (!printed) return printed.error();
  return *printed ? over(Status()) : nothing_to_do();
}

// Any job that is in one of these states.
std::optional<std::uint32_t> any_job(Hand& hand, print::Spool& spool,
                                     std::initializer_list<print::JobState> states) {
  auto jobs = spool.jobs();
  std::erase_if(jobs, [&](const print::JobView& each) {
    return std::find(states.begin(), states.end(), each.state) == states.end();
  });
  if (jobs.empty()) return std::nullopt;
  return jobs[hand.below(jobs.size())].job.number;
}

using ActOnJob = Status (*)(print::Spool& spool, std::uint32_t job);

Ticket handle_job(Hand& hand, std::initializer_list<print::JobState> states, ActOnJob act) {
  auto spool = hand.spool();
  if (!spool) return spool.error();
  const auto job = any_job(hand, **spool, states);
  return job ? over(act(**spool, *job)) : nothing_to_do();
}

Ticket add_printout(Hand& hand) {
  hand.close_spool();
  Printout printout;
  hand.last_job = std::max(hand.last_job, hand.volume.desk().last_job()) + 1;
  printout.job = hand.last_job;
  const auto owner = hand.volume.people().account(std::string_view(person(hand)));
  if (owner) printout.owner = owner->id;
  printout.queue = "main";
  printout.title = "tide table";
  printout.source = "test";
  printout.pages = 2;
  printout.printed = hand.volume.now();
  const std::string name = fmt::format("{:06}-tide-table.pdf", printout.job);
  if (auto put = put_in_spool(hand.volume.host_files(), printout.job); !put) return put.error();
  printout.path = "printouts/" + name;
  auto written =
      write_durably(hand.volume.host_files(), HostPath() / "printouts" / name, contents(hand, 500));
  if (!written) return written.error();
  printout.bytes = 500;
  return hand.volume.desk().add_printouts({printout});
}

// Where a snapshot lies in the volume, or on the simulated disk, which has no folder for them.
HostPath place_of(const Volume& volume, const SnapshotFile& snapshot) {
  const std::string inside = volume.directory() + "/";
  const bool within = snapshot.path.starts_with(inside);
  const auto start = within ? inside.size() : snapshot.path.rfind('/') + 1;
  return HostPath::from_record(snapshot.path.substr(start)).value();
}

}  // namespace

Ticket over(Status status) {
  Ticket ticket;
  ticket.settle(std::move(status));
  return ticket;
}

Ticket return_from_newest_snapshot(Hand& hand, const ReturnWish& wish) {
  auto snapshots = hand.volume.snapshots().list();
  if (!snapshots) return snapshots.error();
  if (snapshots->empty()) return nothing_to_do();
  const HostPath place = place_of(hand.volume, snapshots->front());
  auto bytes = read_whole(hand.volume.host_files(), place, std::uint64_t{1} << 30);
  if (!bytes) return bytes.error();
  const std::string copy = hand.outside() + "/snapshot.tar.zst";
  if (auto written = write_outside_file(copy, *bytes); !written) return written.error();
  auto returned = return_from_snapshot(hand.volume, keeper_at_the_box(), copy, wish, {});
  if (!returned) return returned.error();
  if (returned->failed > 0) return Error{Code::io, returned->failures.front()};
  return over(Status());
}

Result<print::Spool*> Hand::spool() {
  if (!spool_) {
    auto fonts = print::Fonts::load();
    if (!fonts) return fonts.error();
    auto queues = print::read_queues("[queue.main]\n[queue.mine]\npolicy = \"owner\"\n");
    if (!queues) return queues.error();
    auto opened =
        print::Spool::open(volume, *queues, print::render_in_place(*queues, std::move(*fonts)));
    if (!opened) return opened.error();
    spool_ = std::move(*opened);
  }
  return spool_.get();
}

std::set<std::uint32_t> jobs_of(Volume& volume) {
  std::set<std::uint32_t> out;
  for (const char* state : {"waiting", "printing", "held", "refused"}) {
    const auto jobs = volume.host_files().list(HostPath() / "spool" / state);
    if (!jobs) continue;  // nothing was ever printed
    for (const auto& each : *jobs) out.insert(static_cast<std::uint32_t>(std::stoul(each.name)));
  }
  const auto printed = all_jobs(volume);
  out.insert(printed.begin(), printed.end());
  return out;
}

const std::vector<Operation>& operations() {
  static const std::vector<Operation> all = {
      {"save a new file", [](Hand& hand) { return save(hand, new_place(hand), small_size(hand)); }},
      {"save a new large file",
       [](Hand& hand) { return save(hand, new_place(hand), large_size(hand)); }},
      {"replace a file",
       [](Hand& hand) -> Ticket {
         const auto file = any_file(hand);
         if (!file) return nothing_to_do();
         return save(hand, file->path, small_size(hand));
       }},
      {"replace a file by a large one",
       [](Hand& hand) -> Ticket {
         const auto file = any_file(hand);
         if (!file) return nothing_to_do();
         return save(hand, file->path, large_size(hand));
       }},
      {"make a folder",
       [](Hand& hand) { return hand.volume.files().make_folder(somebody(hand), new_place(hand)); }},
      {"rename",
       [](Hand& hand) -> Ticket {
         const auto what = anything(hand);
         if (!what) return nothing_to_do();
         const Path to = what->path.parent() / names[hand.below(std::size(names))];
         return hand.volume.files().move(somebody(hand), what->path, to);
       }},
      {"move",
       [](Hand& hand) -> Ticket {
         const auto what = anything(hand);
         if (!what) return nothing_to_do();
         return hand.volume.files().move(somebody(hand), what->path, new_place(hand));
       }},
      {"remove",
       [](Hand& hand) -> Ticket {
         const auto what = anything(hand);
         if (!what) return nothing_to_do();
         return hand.volume.files().remove(somebody(hand), what->path);
       }},
      {"restore from the bin",
       [](Hand& hand) -> Ticket {
         const auto bin = hand.volume.files().bin(keeper_at_the_box());
         if (bin.empty()) return nothing_to_do();
         return hand.volume.files().restore(somebody(hand), bin[hand.below(bin.size())].id);
       }},
      {"empty the bin",
       [](Hand& hand) {
         return hand.volume.files().empty_bin(somebody(hand), hand.below(2) == 0);
       }},
      {"change access",
       [](Hand& hand) -> Ticket {
         constexpr const char* changes[] = {"c+r", "e+rw", "a-w", "o=rw,c=,e=", "e=r"};
         const auto what = anything(hand);
         if (!what) return nothing_to_do();
         return hand.volume.files().set_access(somebody(hand), what->path,
                                               changes[hand.below(std::size(changes))]);
       }},
      {"keep and let go",
       [](Hand& hand) -> Ticket {
         const auto what = any_file(hand);
         if (!what) return nothing_to_do();
         return hand.volume.files().set_access(somebody(hand), what->path,
                                               what->view.access.has(Access::keep) ? "-k" : "+k");
       }},
      {"change details",
       [](Hand& hand) -> Ticket {
         const auto what = any_file(hand);
         if (!what) return nothing_to_do();
         return hand.volume.files().set_details(somebody(hand), what->path, Kind::program,
                                                static_cast<std::uint32_t>(hand.below(65'536)),
                                                0x8000);
       }},
      {"give to an account",
       [](Hand& hand) -> Ticket {
         const auto what = anything(hand);
         if (!what) return nothing_to_do();
         return hand.volume.files().set_owner(keeper_at_the_box(), what->path, person(hand));
       }},
      {"give to a class",
       [](Hand& hand) -> Ticket {
         const auto what = anything(hand);
         if (!what) return nothing_to_do();
         return hand.volume.files().set_class(keeper_at_the_box(), what->path,
                                              hand.below(3) == 0 ? "" : room(hand));
       }},
      {"add an account",
       [](Hand& hand) {
         return hand.volume.people().add_account(
             keeper_at_the_box(),
             {person(hand), "", hand.below(3) == 0 ? Role::leader : Role::member, "", ""});
       }},
      {"change an account",
       [](Hand& hand) {
         AccountChange change;
         change.full_name = fmt::format("Number {}", hand.below(1000));
         change.closed = hand.below(4) == 0;
         if (hand.below(3) == 0) change.role = static_cast<Role>(hand.below(3));
         if (hand.below(3) == 0) change.klass = hand.below(3) == 0 ? "" : room(hand);
         change.quota = Quota{.soft_bytes = 50'000 + hand.below(200'000),
                              .hard_bytes = 400'000,
                              .soft_files = 0,
                              .hard_files = 30};
         return hand.volume.people().change_account(keeper_at_the_box(), person(hand), change);
       }},
      {"remove an account",
       [](Hand& hand) {
         return hand.volume.people().remove_account(keeper_at_the_box(), person(hand));
       }},
      {"set a password",
       [](Hand& hand) {
         return hand.volume.people().set_password(keeper_at_the_box(), person(hand),
                                                  "mill-race-at-night");
       }},
      // One may sign in though the journal can't be written; so the answer tells nothing of it.
      {"sign in",
       [](Hand& hand) {
         return over(hand.volume.people().sign_in(person(hand), "mill-race-at-night", "test"));
       },
       Operation::Sort::steps},
      {"add a station",
       [](Hand& hand) {
         StationChange station;
         station.segment = 1 + static_cast<std::uint32_t>(hand.below(2));
         station.number = 1 + static_cast<std::uint32_t>(hand.below(3));
         station.name = fmt::format("station{}", hand.below(5));
         station.address = fmt::format("10.0.0.{}", hand.below(5));
         return hand.volume.stations().add(keeper_at_the_box(), station);
       }},
      {"change a station",
       [](Hand& hand) -> Ticket {
         const auto stations = hand.volume.stations().all();
         if (stations.empty()) return nothing_to_do();
         StationChange change;
         change.number = 1 + static_cast<std::uint32_t>(hand.below(4));
         change.address = hand.below(3) == 0 ? "" : fmt::format("10.0.0.{}", hand.below(5));
         return hand.volume.stations().change(keeper_at_the_box(),
                                              stations[hand.below(stations.size())].name, change);
       }},
      {"set a boot name",
       [](Hand& hand) -> Ticket {
         const auto stations = hand.volume.stations().all();
         if (stations.empty()) return nothing_to_do();
         return hand.volume.stations().set_boot_name(
             keeper_at_the_box(), stations[hand.below(stations.size())].name,
             fmt::format("start{}", hand.below(3)), hand.below(4) == 0 ? "" : "/programs/menu");
       }},
      {"remove a station",
       [](Hand& hand) -> Ticket {
         const auto stations = hand.volume.stations().all();
         if (stations.empty()) return nothing_to_do();
         return hand.volume.stations().remove(keeper_at_the_box(),
                                              stations[hand.below(stations.size())].name);
       }},
      {"add a class",
       [](Hand& hand) { return hand.volume.people().add_class(keeper_at_the_box(), room(hand)); }},
      {"remove a class",
       [](Hand& hand) {
         return hand.volume.people().remove_class(keeper_at_the_box(), room(hand));
       }},
      {"join a class",
       [](Hand& hand) {
         return hand.volume.people().join(keeper_at_the_box(), room(hand), person(hand),
                                          hand.below(3) == 0);
       }},
      {"leave a class",
       [](Hand& hand) {
         return hand.volume.people().leave(keeper_at_the_box(), room(hand), person(hand));
       }},
      {"send a notice",
       [](Hand& hand) {
         const std::string to[] = {"@all", fmt::format("@{}", room(hand)), person(hand)};
         return hand.volume.desk().send_notice(keeper_at_the_box(), to[hand.below(3)],
                                               "The tide is in.");
       }},
      {"drop a notice",
       [](Hand& hand) -> Ticket {
         const auto account = hand.volume.people().account(std::string_view(person(hand)));
         if (!account) return nothing_to_do();
         const Caller caller{account->id, false, "test"};
         const auto notices = hand.volume.desk().notices(caller);
         if (notices.empty()) return nothing_to_do();
         return hand.volume.desk().drop_notices(caller, {notices.front().id});
       }},
      {"add a printout", add_printout},
      {"see a printout",
       [](Hand& hand) -> Ticket {
         const auto account = hand.volume.people().account(std::string_view(person(hand)));
         if (!account) return nothing_to_do();
         return hand.volume.desk().mark_seen({account->id, false, "test"}, all_jobs(hand.volume));
       }},
      {"give a printout",
       [](Hand& hand) -> Ticket {
         const auto jobs = all_jobs(hand.volume);
         if (jobs.empty()) return nothing_to_do();
         return hand.volume.desk().give_printout(keeper_at_the_box(), jobs[hand.below(jobs.size())],
                                                 person(hand));
       }},
      {"discard a printout",
       [](Hand& hand) -> Ticket {
         const auto jobs = all_jobs(hand.volume);
         if (jobs.empty()) return nothing_to_do();
         return hand.volume.desk().discard_printout(keeper_at_the_box(),
                                                    jobs[hand.below(jobs.size())]);
       }},
      {"note in the journal",
       [](Hand& hand) {
         return hand.volume.desk().note(keeper_at_the_box(), "looked in", "the mill");
       }},
      {"end an account",
       [](Hand& hand) {
         AccountChange change;
         change.ends =
             hand.below(2) == 0
                 ? std::optional<Time>()
                 : std::optional(hand.volume.now() +
                                 std::chrono::hours(24 * static_cast<int>(hand.below(20))));
         return hand.volume.people().change_account(somebody(hand), person(hand), change);
       }},
      {"move a class up",
       [](Hand& hand) {
         YearPlan plan{{{room(hand), hand.below(3) == 0 ? "" : room(hand)}}, {}};
         return hand.volume.years().apply(somebody(hand), plan);
       }},
      {"move a class back",
       [](Hand& hand) -> Ticket {
         const auto steps = hand.volume.years().steps();
         if (steps.empty()) return nothing_to_do();
         return hand.volume.years().undo(keeper_at_the_box(), steps.front().step);
       }},
      {"bring a version back",
       [](Hand& hand) -> Ticket {
         const auto file = pick(hand, [&](const Seen& each) {
           const auto versions = hand.volume.history().versions(keeper_at_the_box(), each.path);
           return versions && !versions->empty();
         });
         if (!file) return nothing_to_do();
         const auto versions = hand.volume.history().versions(keeper_at_the_box(), file->path);
         return hand.volume.history().restore(somebody(hand), file->path,
                                              (*versions)[hand.below(versions->size())].id);
       }},
      {"hand in", hand_something_in},
      {"set the times of a hand-in folder",
       [](Hand& hand) -> Ticket {
         const auto folder = any_hand_in(hand);
         if (!folder) return nothing_to_do();
         HandInTimes times;
         if (hand.below(2) == 0) times.closes = hand.volume.now() + std::chrono::hours(1);
         times.late_allowed = hand.below(2) == 0;
         return hand.volume.hand_ins().set_times(somebody(hand), *folder, times);
       }},
      {"make a hand-in folder",
       [](Hand& hand) -> Ticket {
         const auto folder = pick(hand, [](const Seen& each) {
           return each.view.folder && !each.view.klass.empty() && each.path.names().size() == 3;
         });
         if (!folder) return nothing_to_do();
         return hand.volume.hand_ins().set_times(keeper_at_the_box(), folder->path, {});
       }},
      {"make a hand-in folder ordinary",
       [](Hand& hand) -> Ticket {
         const auto folder = any_hand_in(hand);
         if (!folder) return nothing_to_do();
         return hand.volume.hand_ins().make_ordinary(keeper_at_the_box(), *folder);
       }},
      {"set the limits of a class",
       [](Hand& hand) {
         std::optional<Quota> quota;
         if (hand.below(3) != 0) quota = Quota{20'000 + hand.below(100'000), 300'000, 0, 40};
         return hand.volume.people().set_class_limits(keeper_at_the_box(), room(hand), quota);
       }},
      {"thin the history",
       [](Hand& hand) { return over(hand.volume.history().thin(1 + hand.below(5))); },
       Operation::Sort::whole},
      {"collect what was handed in",
       [](Hand& hand) -> Ticket {
         const auto folder = any_hand_in(hand);
         if (!folder) return nothing_to_do();
         return carried_over(
             hand.volume.hand_ins().collect(keeper_at_the_box(), *folder, new_place(hand)));
       },
       Operation::Sort::steps},
      {"hand work back",
       [](Hand& hand) -> Ticket {
         const auto folder = any_hand_in(hand);
         if (!folder) return nothing_to_do();
         return carried_over(hand.volume.hand_ins().hand_back(keeper_at_the_box(), *folder, {}));
       },
       Operation::Sort::steps},
      {"hand out a file",
       [](Hand& hand) -> Ticket {
         const auto file = pick(hand, [](const Seen& each) { return !each.view.folder; });
         if (!file) return nothing_to_do();
         return carried_over(
             hand.volume.hand_ins().hand_out(keeper_at_the_box(), file->path, {person(hand)}));
       },
       Operation::Sort::steps},
      {"tidy after visitors",
       [](Hand& hand) {
         // Where the box's clock is, the day ends up to a day ago.
         return over(hand.volume.visitors().tidy(std::chrono::hours(hand.below(24))));
       },
       Operation::Sort::whole},
      {"export a person",
       [](Hand& hand) {
         return over(hand.volume.leavers().export_person(keeper_at_the_box(), person(hand)));
       },
       Operation::Sort::steps},
      {"leave",
       [](Hand& hand) {
         return over(hand.volume.leavers().leave(
             keeper_at_the_box(), person(hand),
             hand.volume.now() + std::chrono::hours(static_cast<int>(hand.below(2)))));
       },
       Operation::Sort::steps},
      {"do what is due", [](Hand& hand) { return over(hand.volume.do_what_is_due()); },
       Operation::Sort::steps},
      {"erase a person",
       [](Hand& hand) -> Ticket {
         const std::string name = somebody_closed(hand);
         if (name.empty()) return nothing_to_do();
         return over(hand.volume.leavers().erase(keeper_at_the_box(), name));
       },
       Operation::Sort::steps},
      {"take a snapshot", [](Hand& hand) { return over(hand.volume.snapshots().take("")); },
       Operation::Sort::steps},
      {"bring work back out of a snapshot",
       [](Hand& hand) -> Ticket {
         const auto bin = hand.volume.files().bin(keeper_at_the_box());
         if (bin.empty()) return nothing_to_do();
         const auto path = Path::parse(bin[hand.below(bin.size())].path);
         const std::string account = hand.below(3) == 0 ? person(hand) : "";
         return return_from_newest_snapshot(hand, {{*path}, account});
       },
       Operation::Sort::steps},
      {"submit a print job", submit_job, Operation::Sort::steps},
      {"print a job", print_job, Operation::Sort::steps},
      {"hold a job",
       [](Hand& hand) {
         return handle_job(hand, {print::JobState::waiting}, [](auto& spool, auto job) {
           return spool.hold(keeper_at_the_box(), job, "The paper is out.");
         });
       },
       Operation::Sort::steps},
      {"release a job",
       [](Hand& hand) {
         return handle_job(hand, {print::JobState::held}, [](auto& spool, auto job) {
           return spool.release(keeper_at_the_box(), job);
         });
       },
       Operation::Sort::steps},
      {"refuse a job",
       [](Hand& hand) {
         return handle_job(hand, {print::JobState::waiting, print::JobState::held},
                           [](auto& spool, auto job) {
                             return spool.refuse(keeper_at_the_box(), job, "It is too long.");
                           });
       },
       Operation::Sort::steps},
      {"move a job",
       [](Hand& hand) {
         return handle_job(
             hand, {print::JobState::waiting, print::JobState::held, print::JobState::refused},
             [](auto& spool, auto job) {
               return spool.send_to(keeper_at_the_box(), job, spool.queues().find("")->name);
             });
       },
       Operation::Sort::steps},
      {"print a job again",
       [](Hand& hand) -> Ticket {
         auto spool = hand.spool();
         if (!spool) return spool.error();
         const auto printed = all_jobs(hand.volume);
         if (printed.empty()) return nothing_to_do();
         return over(
             (*spool)->print_again(keeper_at_the_box(), printed[hand.below(printed.size())]));
       },
       Operation::Sort::steps},
      {"claim a printout",
       [](Hand& hand) -> Ticket {
         const auto unclaimed = hand.volume.desk().unclaimed(keeper_at_the_box());
         const auto account = hand.volume.people().account(std::string_view(person(hand)));
         if (!account || !unclaimed || unclaimed->empty()) return nothing_to_do();
         return hand.volume.desk().claim_printout({account->id, false, "test"},
                                                  unclaimed->front().job);
       }},
      {"cancel a job",
       [](Hand& hand) {
         return handle_job(
             hand, {print::JobState::waiting, print::JobState::held, print::JobState::refused},
             [](auto& spool, auto job) { return spool.cancel(keeper_at_the_box(), job); });
       },
       Operation::Sort::steps},
  };
  return all;
}

void furnish(Volume& volume) {
  const Caller keeper = keeper_at_the_box();
  const auto done = [](const Ticket& ticket) {
    if (auto status = ticket.wait(); !status) throw std::runtime_error(status.error().message);
  };
  Hand hand(volume, 1);
  done(volume.people().add_class(keeper, "tuesday"));
  done(volume.people().add_class(keeper, "night"));
  for (const char* name : {"robin", "wren"}) {
    done(volume.people().add_account(keeper, {name, "", Role::member, "tuesday", ""}));
  }
  done(volume.people().add_account(keeper, {"sorrel", "", Role::leader, "tuesday", ""}));
  done(volume.people().add_account(keeper, {"heron", "", Role::manager, "", ""}));
  done(volume.people().set_password(keeper, "robin", "mill-race-at-night"));
  // A class that has moved up and can be moved back.
  done(volume.people().add_class(keeper, "dawn"));
  done(volume.people().add_class(keeper, "noon"));
  done(volume.people().add_account(keeper, {"dipper", "", Role::member, "dawn", ""}));
  done(volume.years().apply(keeper, {{{"dawn", "noon"}}, {}}));
  done(volume.stations().add(
      keeper, {.segment = 1, .number = 1, .name = "station1", .address = "10.0.0.1"}));
  done(volume.stations().set_boot_name(keeper, "station1", "start1", "/programs/start"));
  const auto at = [](std::string_view path) { return *Path::parse(path); };
  const auto put = [&](std::string_view path, std::size_t size, std::string_view owner) {
    auto upload = volume.files().save(keeper, at(path), {});
    if (!upload || !upload->write(contents(hand, size))) throw std::runtime_error("not saved");
    done(upload->finish());
    done(volume.files().set_owner(keeper, at(path), owner));
  };
  done(volume.files().make_folder(keeper, at("/public/tide")));
  done(volume.files().make_folder(keeper, at("/classes/tuesday/week2")));
  done(volume.files().make_folder(keeper, at("/public/tide/deep")));
  put("/public/tide/table.txt", 3000, "robin");
  put("/public/tide/deep/Log of the mill.txt", 200, "wren");
  put("/members/robin/sluice.bas", 1200, "robin");
  put("/members/wren/large", small_content + 5000, "wren");
  put("/programs/start", 700, "");
  put("/public/gone", 90, "robin");
  done(volume.files().remove(keeper, at("/public/gone")));
  done(volume.desk().send_notice(keeper, "robin", "The mill opens at two."));
  done(add_printout(hand));
  // Printed, and nobody's.
  done(submit(hand, "", "", contents(hand, 300)));
  done(print_job(hand));
  for (int i = 0; i < 3; ++i) done(submit(hand, person(hand), "", contents(hand, 300)));
  done(handle_job(hand, {print::JobState::waiting}, [](auto& spool, auto job) {
    return spool.hold(keeper_at_the_box(), job, "The paper is out.");
  }));
  // A file with more of a past than is kept.
  for (int i = 0; i < 26; ++i) {
    auto upload = volume.files().save(keeper, at("/public/tide/table.txt"), {.replace = true});
    if (!upload || !upload->write(contents(hand, 100))) throw std::runtime_error("not saved");
    done(upload->finish());
  }
  // Handed in, and the first again.
  for (const char* name : {"robin", "wren", "robin"}) {
    const auto account = volume.people().account(std::string_view(name));
    auto upload =
        volume.files().save({account->id, false, "test"}, at("/classes/tuesday/hand-in/work"), {});
    if (!upload || !upload->write(contents(hand, 300))) throw std::runtime_error("not handed in");
    done(upload->finish());
  }
  // One who has left, and one who wants to be forgotten.
  for (const char* name : {"plover", "stint"}) {
    done(volume.people().add_account(keeper, {name, "", Role::member, "tuesday", ""}));
    put(fmt::format("/members/{}/memoirs", name), 400, name);
    done(volume.desk().send_notice(keeper, name, "Farewell."));
  }
  if (auto left = volume.leavers().leave(keeper, "plover", volume.now()); !left) {
    throw std::runtime_error(left.error().message);
  }
  AccountChange closed;
  closed.closed = true;
  done(volume.people().change_account(keeper, "stint", closed));
  if (auto taken = volume.snapshots().take(""); !taken) {
    throw std::runtime_error(taken.error().message);
  }
  // What was and is no more since.
  done(volume.files().remove(keeper, at("/public/tide/deep")));
  if (auto settled = volume.drain(); !settled) throw std::runtime_error(settled.error().message);
}

std::string picture(Volume& volume) {
  std::string out;
  const Caller keeper = keeper_at_the_box();
  const auto when = [](Time time) { return time.time_since_epoch().count(); };
  const auto when_if = [&](std::optional<Time> time) { return time ? when(*time) : -1; };
  for (const auto& [path, view] : see(volume)) {
    out += fmt::format("node {} {} {} {} {} {} {} {} {} {} {} {} {}", number(view.id), path.text(),
                       view.alias, view.folder ? "folder" : kind_name(view.kind), view.owner,
                       view.klass, view.access.text(), view.load_address.value_or(0),
                       view.entry_point.value_or(0), view.size, when(view.created),
                       when(view.modified), view.load_address.has_value());
    if (!view.folder) {
      auto content = volume.files().read(keeper, path);
      // A damaged catalogue may tell of any size.
      const auto most = std::min<std::uint64_t>(view.size, std::uint64_t{16} << 20);
      std::string bytes(static_cast<std::size_t>(most) + 10, '\0');
      auto got = content ? content->read_at(0, bytes) : Result<std::size_t>(content.error());
      if (got) {
        bytes.resize(*got);
        out += fmt::format(" {} bytes {:x}", *got, std::hash<std::string>()(bytes));
      } else {
        out += " unreadable: " + got.error().message;
      }
    }
    out += '\n';
    const auto versions = volume.history().versions(keeper, path);
    for (const auto& each : versions ? *versions : std::vector<VersionView>()) {
      auto content = volume.history().read(keeper, path, each.id);
      const auto most = std::min<std::uint64_t>(each.size, std::uint64_t{16} << 20);
      std::string bytes(static_cast<std::size_t>(most) + 10, '\0');
      auto got = content ? content->read_at(0, bytes) : Result<std::size_t>(content.error());
      bytes.resize(got ? *got : 0);
      out += fmt::format("version {} of {} {} {} {} {} {} {} {:x}\n", number(each.id),
                         number(view.id), kind_name(each.kind), each.size, when(each.saved),
                         when(each.replaced), each.replaced_by,
                         got ? "readable" : got.error().message, std::hash<std::string>()(bytes));
    }
  }
  for (const auto& each : volume.stations().all()) {
    out += fmt::format("station {}.{} {} {} {}", each.segment, each.number, each.name, each.address,
                       when(each.created));
    for (const auto& boot : each.boot) out += fmt::format(" {}={}", boot.asked, boot.given);
    out += '\n';
  }
  for (const auto& each : volume.files().bin(keeper)) {
    out += fmt::format("bin {} {} {} {} {} {}\n", number(each.id), each.path, each.folder,
                       each.size, each.owner, when(each.removed));
  }
  for (const auto& each : volume.people().accounts()) {
    out += fmt::format(
        "account {} {} \"{}\" {} {} {} {} [{}] [{}] {} {} {} {} uses {} {} over {}\n",
        number(each.id), each.name, each.full_name, role_name(each.role), each.closed,
        each.has_password, each.klass, fmt::join(each.classes, " "), fmt::join(each.leads, " "),
        each.quota.soft_bytes, each.quota.hard_bytes, each.quota.soft_files, each.quota.hard_files,
        each.usage.bytes, each.usage.files, when_if(each.over_since));
    out += fmt::format("account {} own limits {} ends {} leaves {}\n", each.name, each.own_limits,
                       when_if(each.ends), when_if(each.leaves_after));
    for (const auto& receipt : volume.hand_ins().receipts({each.id, false, ""})) {
      out += fmt::format("receipt {} of {}: {} {} version {} {} {} {} {} {}\n", receipt.number,
                         each.name, receipt.place, receipt.name, receipt.version, receipt.size,
                         when(receipt.at), receipt.late, when_if(receipt.returned), receipt.there);
    }
    for (const auto& notice : volume.desk().notices({each.id, false, ""})) {
      out += fmt::format("notice {} to {} from {} at {}: {}\n", notice.id, each.name, notice.from,
                         when(notice.sent), notice.text);
    }
  }
  for (const auto& each : volume.people().classes()) {
    out += fmt::format("class {} [{}] [{}] {}\n", each.name, fmt::join(each.members, " "),
                       fmt::join(each.leaders, " "), each.quota ? each.quota->soft_bytes : 0);
  }
  for (const auto& each : volume.hand_ins().folders(keeper)) {
    out += fmt::format("hand-in {} {} {} {} {}\n", each.path, each.klass, when_if(each.times.opens),
                       when_if(each.times.closes), each.times.late_allowed);
  }
  for (const auto& each : volume.years().steps()) {
    out += fmt::format("step {} by {}: {}\n", each.step, each.by, each.words);
  }
  // One that has its name is whole.
  const auto snapshots = volume.snapshots().list();
  for (const auto& each : snapshots ? *snapshots : std::vector<SnapshotFile>()) {
    auto file = volume.host_files().open(place_of(volume, each));
    const SnapshotUse ignore = [](const ArchiveEntry&, ArchiveReader&) { return Status(); };
    const auto info = file ? read_snapshot(**file, ignore, {}) : Result<SnapshotInfo>(file.error());
    out += fmt::format("snapshot {} {}\n", when(each.taken), info ? "whole" : info.error().message);
  }
  // What is being received or printed is on its way between two states.
  for (const char* state : {"waiting", "held", "refused"}) {
    const HostPath place = HostPath() / "spool" / state;
    const auto jobs = volume.host_files().list(place);
    for (const auto& job : jobs ? *jobs : std::vector<HostEntry>()) {
      const auto words = read_whole(volume.host_files(), place / job.name / "job.json", 1 << 16);
      const auto data = read_whole(volume.host_files(), place / job.name / "data", 1 << 16);
      out += fmt::format("job {} {} {} {:x}\n", state, job.name, words ? *words : "unreadable",
                         std::hash<std::string>()(data ? *data : "none"));
    }
  }
  for (const auto& each : volume.desk().printouts(keeper, true)) {
    out += fmt::format("printout {} {} {} {} {} {}\n", each.job, each.owner, each.title, each.pages,
                       each.path, each.seen);
  }
  return out;
}

std::string difference(const std::string& was, const std::string& is) {
  const auto lines = [](const std::string& text) {
    std::set<std::string> out;
    std::istringstream in(text);
    for (std::string line; std::getline(in, line);) out.insert(line);
    return out;
  };
  const auto a = lines(was);
  const auto b = lines(is);
  std::string out;
  for (const auto& line : a) {
    if (b.count(line) == 0) out += "  - " + line + "\n";
  }
  for (const auto& line : b) {
    if (a.count(line) == 0) out += "  + " + line + "\n";
  }
  return out;
}

}  // namespace stationer::test
