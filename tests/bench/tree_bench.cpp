// What it costs to know a million nodes: loading them beside merely reading their rows, memory,
// lookups beside SQLite's own, listing beside the host's and SQLite's, and reading small files
// beside bare open, read, close. Each figure is a median of five rounds, each round beside its peer
// of the same moment. Times are the processor's.
//
//   tree_bench [FOLDER] [NODES]
//
// FOLDER is on the disk to be measured; the default is here.
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <ctime>
#include <filesystem>
#include <functional>
#include <memory>
#include <random>
#include <stdexcept>
#include <string>
#include <vector>

#include <dirent.h>
#include <fcntl.h>
#include <malloc.h>
#include <sqlite3.h>
#include <sys/stat.h>
#include <unistd.h>

#include "fs/catalog.h"
#include "fs/node_name.h"
#include "fs/state.h"
#include "fs/text.h"
#include "fs/volume.h"

using namespace stationer;

namespace {

constexpr std::uint32_t first_node = 100;  // below: the starting tree
constexpr std::uint32_t in_a_folder = 100;
constexpr std::uint32_t in_the_large_folder = 10'000;
constexpr int rounds = 5;

void must(bool fine, const char* what) {
  if (!fine) throw std::runtime_error(what);
}

// Of the processor's time, which a busy machine changes less than the clock's.
double seconds_of(const std::function<void()>& work) {
  const auto now = [] {
    timespec time{};
    ::clock_gettime(CLOCK_THREAD_CPUTIME_ID, &time);
    return static_cast<double>(time.tv_sec) + static_cast<double>(time.tv_nsec) / 1e9;
  };
  const double start = now();
  work();
  return now() - start;
}

double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

// Medians of ours, the peer's, and the ratio of the two in each round.
struct Comparison {
  std::vector<double> ours, peer, ratio;
  void add(double our, double other) {
    ours.push_back(our);
    peer.push_back(other);
    ratio.push_back(our / other);
  }
};

struct Closer {
  void operator()(sqlite3* database) const { sqlite3_close_v2(database); }
  void operator()(sqlite3_stmt* statement) const { sqlite3_finalize(statement); }
};
using Database = std::unique_ptr<sqlite3, Closer>;
using Statement = std::unique_ptr<sqlite3_stmt, Closer>;

Database open_database(const std::string& path) {
  sqlite3* opened = nullptr;
  const int result = sqlite3_open_v2(path.c_str(), &opened,
                                     SQLITE_OPEN_READWRITE | SQLITE_OPEN_FULLMUTEX, nullptr);
  Database database(opened);
  must(result == SQLITE_OK, "the database does not open");
  return database;
}

Statement prepare(sqlite3* database, const char* sql) {
  sqlite3_stmt* statement = nullptr;
  must(sqlite3_prepare_v2(database, sql, -1, &statement, nullptr) == SQLITE_OK, sql);
  return Statement(statement);
}

// A volume's nodes: folders of a hundred files, and at the end one of ten thousand.
struct Nodes {
  std::vector<fs::Node> all;
  fs::NodeId large_folder{};
  std::size_t names = 0;  // bytes of names and aliases

  explicit Nodes(std::uint32_t count) {
    static const char* words[] = {"letter", "sluice", "Tide table", "game", "notes", "mill"};
    std::mt19937 random(1);
    fs::NodeId folder = fs::NodeId{6};  // public
    std::uint32_t left = 0;
    const std::uint32_t large_from = count - in_the_large_folder;
    for (std::uint32_t i = 0; i < count; ++i) {
      fs::Node node;
      node.id = fs::NodeId{first_node + i};
      const bool is_large = i == large_from - 1;
      node.folder = left == 0 || is_large;
      node.name = std::string(words[random() % std::size(words)]) + " " + std::to_string(i);
      node.parent = node.folder ? fs::NodeId{6} : folder;
      if (!fs::is_short_name(node.name)) {
        // As the real ones are: six characters and a number.
        const std::string number = std::to_string(i % 1'000'000);
        node.alias =
            fs::ascii_upper(node.name.substr(0, 7 - std::min<std::size_t>(number.size(), 6))) +
            "~" + number;
      }
      node.owner = fs::AccountId{1 + i % 500};
      node.access = fs::Access(0x3A);
      node.size = node.folder ? 0 : random() % 20'000;
      node.content = fs::ContentId{node.folder ? 0 : i + 1};
      node.created = node.modified = fs::Time(std::chrono::milliseconds(1'800'000'000'000 + i));
      if (node.folder) {
        folder = node.id;
        left = is_large ? in_the_large_folder : in_a_folder;
        if (is_large) large_folder = node.id;
      } else {
        --left;
      }
      names += node.name.size() + node.alias.size();
      all.push_back(std::move(node));
    }
  }

  void write_to(fs::Catalog& catalog) const {
    std::vector<fs::Change> changes;
    const auto flush = [&] {
      std::vector<const fs::Change*> pointers;
      for (const auto& change : changes) pointers.push_back(&change);
      must(catalog.apply(pointers, 0).has_value(), "the rows are not taken");
      changes.clear();
    };
    for (const auto& node : all) {
      changes.push_back(fs::put(node));
      if (changes.size() == 50'000) flush();
    }
    flush();
  }
};

// Every column of every node, as SQLite gives it.
double merely_read(const std::string& path) {
  const Database database = open_database(path);
  const Statement rows = prepare(database.get(), "SELECT * FROM node");
  std::int64_t sum = 0;
  const double seconds = seconds_of([&] {
    while (sqlite3_step(rows.get()) == SQLITE_ROW) {
      const int columns = sqlite3_column_count(rows.get());
      for (int at = 0; at < columns; ++at) {
        if (sqlite3_column_type(rows.get(), at) == SQLITE_TEXT) {
          sum += sqlite3_column_text(rows.get(), at)[0];
          sum += sqlite3_column_bytes(rows.get(), at);
        } else {
          sum += sqlite3_column_int64(rows.get(), at);
        }
      }
    }
  });
  must(sum != 0, "nothing was read");
  return seconds;
}

std::unique_ptr<fs::State> load(const std::string& path, double& seconds) {
  auto catalog = fs::Catalog::open(path);
  must(catalog.has_value(), "the catalogue does not open");
  auto state = std::make_unique<fs::State>(1);
  seconds = seconds_of([&] {
    must((*catalog)->load([&](fs::Record record) { state->load(std::move(record)); }).has_value(),
         "the catalogue does not load");
    state->finish_loading();
    must(state->lost.empty(), "nodes are lost");
  });
  return state;
}

void compare_lookups(const std::string& path, const fs::State& state, const Nodes& nodes,
                     Comparison& out) {
  constexpr std::size_t lookups = 200'000;
  const Database database = open_database(path);
  const Statement find =
      prepare(database.get(), "SELECT id FROM node WHERE parent = ?1 AND name = ?2");
  for (int round = 0; round < rounds; ++round) {
    std::mt19937 random(static_cast<unsigned>(round));
    // At hand one after another, as names come in from stations.
    struct Wanted {
      fs::NodeId parent;
      fs::NodeId id;
      std::string_view name;
    };
    std::string text;
    text.reserve(lookups * 40);
    std::vector<Wanted> wanted;
    for (std::size_t i = 0; i < lookups; ++i) {
      const fs::Node& node = nodes.all[random() % nodes.all.size()];
      text += node.name;
      wanted.push_back(
          {node.parent, node.id, std::string_view(text).substr(text.size() - node.name.size())});
    }
    std::size_t found = 0;
    const double ours = seconds_of([&] {
      for (const auto& each : wanted) found += state.tree.child(each.parent, each.name) == each.id;
    });
    const double theirs = seconds_of([&] {
      for (const auto& each : wanted) {
        sqlite3_bind_int64(find.get(), 1, fs::number(each.parent));
        sqlite3_bind_text(find.get(), 2, each.name.data(), static_cast<int>(each.name.size()),
                          SQLITE_STATIC);
        if (sqlite3_step(find.get()) == SQLITE_ROW) {
          found += sqlite3_column_int64(find.get(), 0) == fs::number(each.id);
        }
        sqlite3_reset(find.get());
      }
    });
    must(found == 2 * lookups, "a node was not found");
    out.add(lookups / ours, lookups / theirs);
  }
}

// The large folder's nodes by name, as SQLite gives them.
double list_by_sqlite(sqlite3_stmt* rows, fs::NodeId folder) {
  sqlite3_bind_int64(rows, 1, fs::number(folder));
  std::vector<std::string> names;
  const double seconds = seconds_of([&] {
    while (sqlite3_step(rows) == SQLITE_ROW) {
      names.emplace_back(reinterpret_cast<const char*>(sqlite3_column_text(rows, 0)));
    }
  });
  sqlite3_reset(rows);
  must(names.size() == in_the_large_folder, "the folder is not whole");
  return seconds;
}

// As `ls -l` would: names, a look at each, sorted.
double list_by_host(const std::string& folder) {
  std::vector<std::pair<std::string, struct stat>> entries;
  return seconds_of([&] {
    DIR* stream = ::opendir(folder.c_str());
    must(stream != nullptr, "the folder does not open");
    while (const dirent* next = ::readdir(stream)) {
      struct stat info {};
      if (next->d_name[0] == '.') continue;
      must(::fstatat(::dirfd(stream), next->d_name, &info, AT_SYMLINK_NOFOLLOW) == 0, "no look");
      entries.emplace_back(next->d_name, info);
    }
    ::closedir(stream);
    std::sort(entries.begin(), entries.end(),
              [](const auto& a, const auto& b) { return a.first < b.first; });
    must(entries.size() == in_the_large_folder, "the folder is not whole");
  });
}

void compare_reads(fs::Volume& volume, const std::string& volume_path, Comparison& out) {
  constexpr int files = 1000;
  constexpr int reads = 20'000;
  const std::string bytes(4096, 'r');
  const auto keeper = fs::keeper_at_the_box();
  must(volume.files().make_folder(keeper, *fs::Path::parse("/programs/reads")).wait().has_value(),
       "no folder");
  std::vector<fs::Path> paths;
  std::vector<std::string> host_paths;
  for (int i = 0; i < files; ++i) {
    const std::string name = "/programs/reads/file" + std::to_string(i);
    paths.push_back(*fs::Path::parse(name));
    host_paths.push_back(volume_path + "/files" + name);
    auto upload = volume.files().save(keeper, paths.back(), {});
    must(upload && upload->write(bytes), "not saved");
    auto saved = upload->finish();
    if (i + 1 == files) must(saved.wait().has_value(), "not saved");
  }
  must(volume.drain().has_value(), "not settled");
  std::string into(8192, '\0');
  for (int round = 0; round < rounds; ++round) {
    std::size_t got = 0;
    const double ours = seconds_of([&] {
      for (int i = 0; i < reads; ++i) {
        auto content = volume.files().read(keeper, paths[static_cast<std::size_t>(i % files)]);
        must(content.has_value(), "not read");
        got += *content->read_at(0, into);
      }
    });
    const double bare = seconds_of([&] {
      for (int i = 0; i < reads; ++i) {
        const int file = ::open(host_paths[static_cast<std::size_t>(i % files)].c_str(), O_RDONLY);
        // To the end, as a program must that does not know the length.
        ssize_t size = 0;
        ssize_t all = 0;
        while ((size = ::read(file, into.data(), into.size())) > 0) all += size;
        got += static_cast<std::size_t>(all);
        ::close(file);
      }
    });
    must(got == 2 * bytes.size() * reads, "not everything was read");
    out.add(reads / ours, reads / bare);
  }
}

void show(const char* what, const char* unit, const Comparison& comparison, const char* peer,
          const char* aim) {
  std::printf("%-28s %12.4g %-10s %-34s %12.4g   ratio %6.2f   %s\n", what, median(comparison.ours),
              unit, peer, median(comparison.peer), median(comparison.ratio), aim);
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  const std::string base =
      std::string(argc > 1 ? argv[1] : ".") + "/tree-bench." + std::to_string(::getpid());
  const auto count =
      static_cast<std::uint32_t>(argc > 2 ? std::strtoul(argv[2], nullptr, 10) : 1'000'000);
  if (count < 2 * in_the_large_folder) {
    std::printf("At least %u nodes, please.\n", 2 * in_the_large_folder);
    return 2;
  }
  std::filesystem::create_directories(base);
  const std::string volume_path = base + "/volume";
  const std::string catalog_path = volume_path + "/catalog.db";
  const Nodes nodes(count);
  {
    auto volume = fs::Volume::create(volume_path, "bench");
    must(volume.has_value(), "no volume");
  }
  {
    auto catalog = fs::Catalog::open(catalog_path);
    must(catalog.has_value(), "no catalogue");
    nodes.write_to(**catalog);
  }
  std::printf("%u nodes, medians of %d rounds\n", count, rounds);

  Comparison loading;
  std::unique_ptr<fs::State> state;
  double bytes_a_node = 0;
  for (int round = 0; round < rounds; ++round) {
    state.reset();
    ::malloc_trim(0);
    const double rows = merely_read(catalog_path);
    const auto before = ::mallinfo2();
    double seconds = 0;
    state = load(catalog_path, seconds);
    const auto after = ::mallinfo2();
    bytes_a_node =
        (static_cast<double>(after.uordblks + after.hblkhd) -
         static_cast<double>(before.uordblks + before.hblkhd) - static_cast<double>(nodes.names)) /
        count;
    loading.add(seconds, rows);
  }
  show("loading", "s", loading, "merely reading the rows, s", "aim: at most 2");
  std::printf(
      "%-28s %12.4g bytes a node beside its names, on the heap                  aim: at most 100\n",
      "memory", bytes_a_node);

  // SQLite's own lookups get the index that they need.
  const std::string indexed = base + "/indexed.db";
  std::filesystem::copy_file(catalog_path, indexed);
  const Database database = open_database(indexed);
  must(sqlite3_exec(database.get(), "CREATE INDEX by_name ON node (parent, name)", nullptr, nullptr,
                    nullptr) == SQLITE_OK,
       "no index");
  Comparison lookups;
  compare_lookups(indexed, *state, nodes, lookups);
  show("lookups by name", "a second", lookups, "SQLite's, a second", "aim: at least 15");
  state.reset();

  const std::string host_folder = base + "/host";
  std::filesystem::create_directory(host_folder);
  for (std::uint32_t i = 0; i < in_the_large_folder; ++i) {
    ::close(
        ::open((host_folder + "/letter " + std::to_string(i)).c_str(), O_CREAT | O_WRONLY, 0600));
  }
  auto volume = fs::Volume::open(volume_path);
  must(volume.has_value(), "the volume does not open");
  const auto folder =
      fs::Path() / "public" / nodes.all[fs::number(nodes.large_folder) - first_node].name;
  const Statement rows = prepare(
      database.get(),
      "SELECT name, alias, folder, kind, owner, class, access, size, created, modified FROM node "
      "WHERE parent = ?1 ORDER BY name");
  Comparison by_sqlite, by_host;
  for (int round = 0; round < rounds; ++round) {
    const double ours = seconds_of([&] {
      auto views = (*volume)->files().list(fs::keeper_at_the_box(), folder);
      must(views && views->size() == in_the_large_folder, "the folder is not whole");
    });
    by_sqlite.add(ours * 1000, list_by_sqlite(rows.get(), nodes.large_folder) * 1000);
    by_host.add(ours * 1000, list_by_host(host_folder) * 1000);
  }
  show("listing 10,000", "ms", by_sqlite, "SQLite's rows in order, ms", "");
  show("listing 10,000", "ms", by_host, "the host: names, stat, sort, ms", "");

  Comparison reads;
  compare_reads(**volume, volume_path, reads);
  show("reading 4 KiB", "a second", reads, "open, read, close, a second", "");
  volume->reset();
  std::filesystem::remove_all(base);
}
