#include "tests/support/mends.h"

#include <stdexcept>
#include <string>
#include <string_view>

#include <fmt/format.h>

#include "tests/support/catalogue_damage.h"

namespace stationer::test {
namespace {

using namespace fs;
using Disk = std::shared_ptr<SimulatedDisk>;
using Sort = Operation::Sort;

constexpr const char* home = "files/members/robin/";

template <class T>
void keep(const Result<T>& result) {
  if (!result) throw std::runtime_error(result.error().message);
}
void keep(const Ticket& ticket) {
  keep(ticket.wait());
}

// ---- what is done to a volume behind its back ----

HostPath host(std::string_view path) {
  auto parsed = HostPath::from_record(path);
  keep(parsed);
  return *parsed;
}

void put(const Disk& disk, const std::string& path, std::string_view bytes) {
  const auto files = disk->files();
  auto file = files->create(host(path));
  keep(file);
  keep((*file)->write_at(0, bytes));
  keep(files->sync_everything());
}
void move(const Disk& disk, const std::string& from, const std::string& to) {
  const auto files = disk->files();
  keep(files->rename(host(from), host(to), false));
  keep(files->sync_everything());
}
void make_folder(const Disk& disk, const std::string& path) {
  const auto files = disk->files();
  keep(fs::make_folders(*files, host(path)));
  keep(files->sync_everything());
}
void take_away(const Disk& disk, const std::string& path) {
  const auto files = disk->files();
  auto there = files->look(host(path));
  keep(there);
  if (!*there) throw std::runtime_error("there is no " + path);
  if ((*there)->type == HostEntry::Type::folder) {
    keep(remove_below(*files, host(path)));
    keep(files->remove_folder(host(path)));
  } else {
    keep(files->remove_file(host(path)));
  }
  keep(files->sync_everything());
}
std::string former(const Disk& disk) {
  auto entries = disk->files()->list(host("versions"));
  keep(entries);
  return "versions/" + entries->at(0).name;
}

void sql(MountPoint& place, const Disk& disk, const std::string& statements) {
  disk->mount(place.path());
  run_sql(place.path(), statements);
  keep(disk->files()->sync_everything());
}

// Something that is done in the volume first.
template <class Use>
void serve(MountPoint& place, const Disk& disk, Use use) {
  auto volume = place.open(disk);
  keep(volume);
  use(**volume);
  keep((*volume)->drain());
}

void save(Volume& volume, const Caller& caller, const std::string& path, std::string_view bytes) {
  auto upload = volume.files().save(caller, *Path::parse(path), {.replace = true});
  keep(upload);
  keep(upload->write(bytes));
  keep(upload->finish());
}

std::string contents(std::string_view name) {
  return fmt::format("the contents of {}", name);
}

// ---- what is done about it ----

// Says no when nothing was mended.
Ticket repair(Hand& hand) {
  CheckOptions options;
  options.repair = true;
  auto report = hand.volume.check(options);
  if (!report) return report.error();
  if (report->mended > 0 || report->findings.empty()) return over(Status());
  return Error{Code::io, report->findings[0].remedy};
}

Ticket look(Hand& hand, bool accept_loss) {
  AdoptOptions options;
  options.patience = std::chrono::milliseconds(0);
  options.accept_loss = accept_loss;
  auto looked = hand.volume.adoption().look_at_all(options);
  if (!looked) return looked.error();
  const bool waits = !looked->items.empty() || !looked->again.empty() || looked->vanished != 0;
  if (looked->any() || !waits) return over(Status());
  return Error{Code::io, looked->items.empty() ? "It is to be looked at once more."
                                               : looked->items[0].sentence};
}
Ticket adopt(Hand& hand) {
  return look(hand, false);
}
Ticket adopt_with_loss(Hand& hand) {
  return look(hand, true);
}

// ---- the rows ----

Mend in_rows(const char* name, const char* statements, Sort sort = Sort::whole) {
  return {{name, repair, sort},
          [statements](MountPoint& place, const Disk& disk) { sql(place, disk, statements); }};
}
Mend on_host(const char* name, void (*harm)(const Disk&), Sort sort = Sort::whole) {
  return {{name, repair, sort}, [harm](MountPoint&, const Disk& disk) { harm(disk); }};
}
Mend adopted(const char* name, void (*change)(const Disk&), Sort sort = Sort::whole) {
  return {{name, adopt, sort}, [change](MountPoint&, const Disk& disk) { change(disk); }};
}

std::vector<Mend> repairs() {
  return {
      in_rows("repair: a wrong short name", "UPDATE node SET alias = 'WRONG' WHERE name = 'b'"),
      in_rows("repair: a neighbour's short name",
              "UPDATE node SET alias = 'B' WHERE name = 'a long name.text'"),
      in_rows("repair: an owner that is gone", "UPDATE node SET owner = 99 WHERE name = 'b'"),
      in_rows("repair: a class that is gone", "UPDATE node SET class = 99 WHERE name = 'b'"),
      in_rows("repair: an account's class that is gone",
              "UPDATE account SET class = 99 WHERE name = 'robin'"),
      in_rows("repair: a membership of nobody", "INSERT INTO membership VALUES (55, 66, 1)"),
      in_rows("repair: a hand-in folder that is gone",
              "INSERT INTO hand_in VALUES (777, NULL, NULL, 0)"),
      in_rows("repair: a receipt of nobody's for nothing",
              "INSERT INTO receipt VALUES (1, 99, 777, '/x', 'a', 1, 778, 1, 3, 0, 0, NULL, 0)"),
      in_rows("repair: a note of whose work nothing is", "INSERT INTO collected VALUES (777, 1)"),
      in_rows("repair: a boot name of no station",
              "INSERT INTO boot_name VALUES (3, 4, 'a', '/b')"),
      in_rows("repair: two stations at one address",
              "INSERT INTO station VALUES (1, 1, 'owl', '', '10.0.0.7', '', '', '', '', 0), "
              "(1, 2, 'wren', '', '10.0.0.7', '', '', '', '', 0)"),
      in_rows("repair: nobody is to leave",
              "INSERT INTO leaving VALUES (99, 0, 0, 'archives/x/y', zeroblob(32))"),
      in_rows("repair: a notice to nobody", "UPDATE notice SET to_account = 99"),
      in_rows("repair: a printout of nobody", "UPDATE printout SET owner = 99"),
      in_rows("repair: a removal of nobody", "UPDATE bin SET owner = 99"),
      in_rows("repair: a bin record of nothing",
              "INSERT INTO bin VALUES (777, 1, 1, 0, '/members/robin/gone')"),
      in_rows("repair: a removal that nothing tells of", "DELETE FROM bin"),
      in_rows("repair: two accounts of one name", "UPDATE account SET name = 'robin'"),
      in_rows("repair: two files with one content number",
              "UPDATE node SET content = (SELECT content FROM node WHERE name = 'b') WHERE name = "
              "'c'",
              Sort::resumed),
      in_rows("repair: a hash of nothing", "INSERT INTO digest VALUES (777, zeroblob(32))"),
      in_rows("repair: a missing hash",
              "DELETE FROM digest WHERE content = (SELECT content FROM node WHERE name = 'b')"),
      in_rows("repair: a former content's missing hash",
              "DELETE FROM digest WHERE content = (SELECT content FROM version)"),
      in_rows("repair: a folder with a size", "UPDATE node SET size = 5 WHERE name = 'f'"),
      in_rows("repair: a former content of nothing", "UPDATE version SET node = 777",
              Sort::resumed),
      in_rows("repair: a file in no folder", "UPDATE node SET parent = 5000 WHERE name = 'b'",
              Sort::resumed),
      in_rows("repair: a folder that is gone", "DELETE FROM node WHERE name = 'f'", Sort::steps),
      in_rows("repair: folders in a circle",
              "UPDATE node SET parent = (SELECT id FROM node WHERE name = 'g') WHERE name = 'f'; "
              "UPDATE node SET parent = (SELECT id FROM node WHERE name = 'f') WHERE name = 'g'",
              Sort::steps),
      in_rows("repair: a file below a file",
              "UPDATE node SET parent = (SELECT id FROM node WHERE name = 'a') WHERE name = 'b'",
              Sort::resumed),
      in_rows("repair: a name that is none", "UPDATE node SET name = '' WHERE name = 'b'",
              Sort::resumed),
      {{"repair: a name that stations can't use", repair, Sort::resumed},
       [](MountPoint& place, const Disk& disk) {
         sql(place, disk, "UPDATE node SET name = 'b?' WHERE name = 'b'");
         move(disk, std::string(home) + "b", std::string(home) + "b?");
       }},
      {{"repair: two with one name, each in its place", repair, Sort::resumed},
       [](MountPoint& place, const Disk& disk) {
         sql(place, disk, "UPDATE node SET name = 'A' WHERE name = 'b'");
         move(disk, std::string(home) + "b", std::string(home) + "A");
       }},
      in_rows("repair: two with one name and one place",
              "UPDATE node SET name = 'a' WHERE name = 'b'", Sort::resumed),

      on_host("repair: an empty folder is missing",
              [](const Disk& disk) { take_away(disk, std::string(home) + "g"); }),
      on_host(
          "repair: a folder is missing with what is in it",
          [](const Disk& disk) { take_away(disk, std::string(home) + "f"); }, Sort::resumed),
      on_host("repair: contents are under another name",
              [](const Disk& disk) {
                move(disk, std::string(home) + "b", std::string(home) + "elsewhere");
              }),
      on_host("repair: contents are missing, another file has the same",
              [](const Disk& disk) { take_away(disk, std::string(home) + "c"); }),
      on_host("repair: contents are nowhere",
              [](const Disk& disk) { take_away(disk, std::string(home) + "b"); }),
      {{"repair: lost contents are put back", repair, Sort::whole},
       [](MountPoint& place, const Disk& disk) {
         take_away(disk, std::string(home) + "b");
         serve(place, disk, [](Volume& volume) { keep(volume.check({.repair = true})); });
         put(disk, std::string(home) + "b", contents("b"));
       }},
      on_host("repair: contents are others",
              [](const Disk& disk) { put(disk, std::string(home) + "b", "rotten"); }),
      on_host(
          "repair: contents are others, another file has the right ones",
          [](const Disk& disk) { put(disk, std::string(home) + "c", "rotten"); }, Sort::resumed),
      on_host("repair: a former content is missing",
              [](const Disk& disk) { take_away(disk, former(disk)); }),
      on_host(
          "repair: a former content is another",
          [](const Disk& disk) { put(disk, former(disk), "rotten"); }, Sort::resumed),
      on_host("repair: something among the versions",
              [](const Disk& disk) { put(disk, "versions/stray", "nobody's"); }),
      on_host("repair: a file that no row knows",
              [](const Disk& disk) { put(disk, std::string(home) + "stray", "put in"); }),
      on_host(
          "repair: a folder that no row knows, with a file in it",
          [](const Disk& disk) {
            make_folder(disk, std::string(home) + "new");
            put(disk, std::string(home) + "new/stray", "put in");
          },
          Sort::resumed),
      on_host("repair: a file whose name can't be",
              [](const Disk& disk) { put(disk, std::string(home) + "no?", "put in"); }),
      on_host(
          "repair: a folder in a file's place",
          [](const Disk& disk) {
            move(disk, std::string(home) + "b", std::string(home) + "away");
            make_folder(disk, std::string(home) + "b");
          },
          Sort::steps),
      on_host("repair: a printout without its PDF",
              [](const Disk& disk) { take_away(disk, "printouts/000001-map.pdf"); }),
      on_host("repair: a PDF without its printout",
              [](const Disk& disk) { put(disk, "printouts/000007-tide.pdf", "pdf"); }),
  };
}

std::vector<Mend> adoptions() {
  return {
      adopted("adopt: a new file",
              [](const Disk& disk) { put(disk, std::string(home) + "new", "put in"); }),
      adopted(
          "adopt: a new folder with a file in it",
          [](const Disk& disk) {
            make_folder(disk, std::string(home) + "new");
            put(disk, std::string(home) + "new/in it", "put in");
          },
          Sort::resumed),
      adopted("adopt: other contents",
              [](const Disk& disk) { put(disk, std::string(home) + "b", "changed by the owner"); }),
      adopted(
          "adopt: another time",
          [](const Disk& disk) {
            const std::string path = std::string(home) + "b";
            disk->set_modified(*disk->open(path),
                               Time(std::chrono::milliseconds(1'790'000'000'000)));
          },
          Sort::resumed),
      adopted("adopt: a file under another name",
              [](const Disk& disk) {
                move(disk, std::string(home) + "b", std::string(home) + "f/renamed");
              }),
      adopted("adopt: a folder in another place",
              [](const Disk& disk) { move(disk, std::string(home) + "f", "files/public/f"); }),
      adopted("adopt: a file that was never anything else is gone",
              [](const Disk& disk) { take_away(disk, std::string(home) + "b"); }),
      adopted("adopt: a file that was something else before is gone",
              [](const Disk& disk) { take_away(disk, std::string(home) + "a"); }),
      adopted("adopt: an empty folder is gone",
              [](const Disk& disk) { take_away(disk, std::string(home) + "g"); }),
      adopted(
          "adopt: a folder is gone with what was in it",
          [](const Disk& disk) { take_away(disk, std::string(home) + "f"); }, Sort::resumed),
      adopted("adopt: a folder of the room's is gone",
              [](const Disk& disk) { take_away(disk, "files/programs"); }),
      adopted("adopt: a former content was changed",
              [](const Disk& disk) { put(disk, former(disk), "as the owner made it"); }),
      {{"adopt: everything is gone, and is to be", adopt_with_loss, Sort::steps},
       [](MountPoint&, const Disk& disk) {
         keep(remove_below(*disk->files(), HostPath() / "files"));
         keep(disk->files()->sync_everything());
       }},
  };
}

// A snapshot is taken, something happens, and some of what was is brought back.
Mend returned(const char* name, ReturnWish wish, void (*happens)(Volume&),
              Sort sort = Sort::whole) {
  const auto bring = [wish = std::move(wish)](Hand& hand) {
    return return_from_newest_snapshot(hand, wish);
  };
  return {{name, bring, sort}, [happens](MountPoint& place, const Disk& disk) {
            serve(place, disk, [&](Volume& volume) {
              keep(volume.snapshots().take(""));
              happens(volume);
            });
          }};
}

std::vector<Mend> returns() {
  const Path b = *Path::parse("/members/robin/b");
  const auto remove_b = [](Volume& volume) {
    keep(volume.files().remove(keeper_at_the_box(), *Path::parse("/members/robin/b")));
  };
  return {
      returned("return: a file that was removed", {{b}, ""}, remove_b),
      returned(
          "return: a file that is another by now", {{b}, ""},
          [](Volume& volume) { save(volume, keeper_at_the_box(), "/members/robin/b", "new"); }),
      returned("return: a file beside what is kept", {{b}, ""},
               [](Volume& volume) {
                 save(volume, keeper_at_the_box(), "/members/robin/b", "new");
                 keep(volume.files().set_access(keeper_at_the_box(),
                                                *Path::parse("/members/robin/b"), "+k"));
               }),
      returned(
          "return: a folder with what was in it", {{*Path::parse("/members/robin/f")}, ""},
          [](Volume& volume) {
            keep(volume.files().remove(keeper_at_the_box(), *Path::parse("/members/robin/f")));
          },
          Sort::resumed),
      returned(
          "return: all of one account", {{}, "robin"},
          [](Volume& volume) {
            keep(volume.files().remove(keeper_at_the_box(), *Path::parse("/members/robin/b")));
            save(volume, keeper_at_the_box(), "/members/robin/c", "new");
          },
          Sort::resumed),
  };
}

std::vector<Mend> limits() {
  return {
      {{"shorten the journal",
        [](Hand& hand) { return over(hand.volume.desk().shorten_journal()); }, Sort::whole},
       [](MountPoint& place, const Disk& disk) {
         serve(place, disk, [](Volume& volume) {
           for (int i = 0; i < 50; ++i) {
             keep(volume.desk().note(keeper_at_the_box(), "looked in", "the mill"));
           }
         });
       }},
      {{"thin the history for a short disk",
        [](Hand& hand) { return over(hand.volume.history().thin_when_due()); }, Sort::whole},
       [](MountPoint&, const Disk& disk) { disk->set_free_bytes(65u << 20); }},
      {{"let the files of a leaver go",
        [](Hand& hand) { return over(hand.volume.do_what_is_due()); }, Sort::steps},
       [](MountPoint& place, const Disk& disk) {
         serve(place, disk, [](Volume& volume) {
           keep(volume.leavers().leave(keeper_at_the_box(), "robin", volume.now()));
           // Archived once more, then.
           save(volume, keeper_at_the_box(), "/members/robin/b", "the last word");
         });
       }},
      {{"thin the snapshots",
        [](Hand& hand) { return over(hand.volume.snapshots().thin(std::chrono::seconds(0))); },
        Sort::whole},
       [](MountPoint& place, const Disk& disk) {
         for (int hours : {1, 2}) {
           put(disk, snapshot_name("Tidewrack Mill", *place.now - std::chrono::hours(hours)),
               "old");
         }
       }},
  };
}

}  // namespace

const std::vector<Mend>& mends() {
  static const std::vector<Mend> all = [] {
    std::vector<Mend> out;
    for (auto& group : {repairs(), adoptions(), returns(), limits()}) {
      out.insert(out.end(), group.begin(), group.end());
    }
    return out;
  }();
  return all;
}

Disk furnish_for_mends(MountPoint& place) {
  auto disk = SimulatedDisk::create();
  auto made = place.create(disk);
  keep(made);
  made->reset();
  // A journal that is soon too long.
  auto settings = read_whole(*disk->files(), HostPath() / "volume.toml", 1u << 20);
  keep(settings);
  const std::string_view entries = "entries = 100000";
  const auto at = settings->find(entries);
  if (at == std::string::npos) throw std::runtime_error("volume.toml is not as it was");
  settings->replace(at, entries.size(), "entries = 40");
  keep(write_durably(*disk->files(), HostPath() / "volume.toml", *settings));
  serve(place, disk, [&](Volume& volume) {
    const Caller keeper = keeper_at_the_box();
    keep(volume.people().add_class(keeper, "tuesday"));
    for (const char* name : {"robin", "wren"}) {
      keep(volume.people().add_account(keeper, {name, "", Role::member, "tuesday", ""}));
    }
    const Caller robin{volume.people().account(std::string_view("robin"))->id, false, "test"};
    const auto at_home = [](std::string_view name) {
      return "/members/robin/" + std::string(name);
    };
    for (const char* folder : {"f", "g"}) {
      keep(volume.files().make_folder(robin, *Path::parse(at_home(folder))));
    }
    for (const char* name : {"a", "b", "c", "f/d", "x", "a long name.text"}) {
      save(volume, robin, at_home(name), contents(name));
    }
    save(volume, robin, at_home("f/twin of c"), contents("c"));
    save(volume, robin, at_home("a"), "replaced");
    keep(volume.files().remove(robin, *Path::parse(at_home("x"))));
    keep(volume.desk().send_notice(keeper, "robin", "The mill opens at two."));
    Printout printout;
    printout.job = 1;
    printout.owner = robin.account;
    printout.title = "map";
    printout.path = "printouts/000001-map.pdf";
    printout.bytes = 3;
    keep(write_durably(volume.host_files(), host(printout.path), "pdf"));
    keep(volume.desk().add_printouts({printout}));
  });
  *place.now += std::chrono::days(2);
  return disk;
}

}  // namespace stationer::test
