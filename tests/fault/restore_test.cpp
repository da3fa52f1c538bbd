// Restoring a snapshot and rehearsing one, while each call of the host's in turn fails: there is a
// whole volume afterwards, or none and nothing left of it. The linker puts the calls below in place
// of the C library's for the store alone, because where one restores to is no volume yet, and so
// not yet behind what a test could put in between.
#include <atomic>
#include <cerrno>
#include <cstdarg>
#include <filesystem>
#include <string>

#include <fmt/format.h>
#include <sys/types.h>

#include "fs/snapshot_restore.h"
#include "tests/support/operations.h"
#include "tests/support/temp_folder.h"

using namespace stationer;

namespace {

std::atomic<long> calls{0};
std::atomic<long> fail_at{0};  // 0: never
std::atomic<int> fail_with{0};
std::atomic<bool> struck{false};

bool fails() {
  if (fail_at == 0 || ++calls != fail_at) return false;
  struck = true;
  errno = fail_with;
  return true;
}

}  // namespace

// NOLINTBEGIN(bugprone-reserved-identifier): the names are the linker's (ld, --wrap)
extern "C" {
ssize_t __real_pwrite(int fd, const void* bytes, std::size_t size, off_t at);
ssize_t __real_pread(int fd, void* into, std::size_t size, off_t at);
int __real_fdatasync(int fd);
int __real_fsync(int fd);
int __real_syncfs(int fd);
int __real_mkdirat(int folder, const char* name, mode_t mode);
int __real_renameat2(int from, const char* name, int to, const char* new_name, unsigned flags);
int __real_unlinkat(int folder, const char* name, int flags);
long __real_syscall(long number, ...);

ssize_t __wrap_pwrite(int fd, const void* bytes, std::size_t size, off_t at) {
  return fails() ? -1 : __real_pwrite(fd, bytes, size, at);
}
ssize_t __wrap_pread(int fd, void* into, std::size_t size, off_t at) {
  return fails() ? -1 : __real_pread(fd, into, size, at);
}
int __wrap_fdatasync(int fd) {
  return fails() ? -1 : __real_fdatasync(fd);
}
int __wrap_fsync(int fd) {
  return fails() ? -1 : __real_fsync(fd);
}
int __wrap_syncfs(int fd) {
  return fails() ? -1 : __real_syncfs(fd);
}
int __wrap_mkdirat(int folder, const char* name, mode_t mode) {
  return fails() ? -1 : __real_mkdirat(folder, name, mode);
}
int __wrap_renameat2(int from, const char* name, int to, const char* new_name, unsigned flags) {
  return fails() ? -1 : __real_renameat2(from, name, to, new_name, flags);
}
int __wrap_unlinkat(int folder, const char* name, int flags) {
  return fails() ? -1 : __real_unlinkat(folder, name, flags);
}
// openat2(), which the C library has no name for.
long __wrap_syscall(long number, ...) {
  va_list rest;
  va_start(rest, number);
  const long a = va_arg(rest, long);
  const long b = va_arg(rest, long);
  const long c = va_arg(rest, long);
  const long d = va_arg(rest, long);
  va_end(rest);
  return fails() ? -1 : __real_syscall(number, a, b, c, d);
}
}
// NOLINTEND(bugprone-reserved-identifier)

namespace {

fs::Surroundings surroundings() {
  fs::Surroundings out;
  out.clock = [] { return fs::Time(std::chrono::milliseconds(1'800'000'000'000)); };
  out.password_cost = {1, 8192};  // RFC 9106 §3.1: the least there is
  out.seed = 1;
  return out;
}

// What is in a volume and what is wrong with it; "" when there is none.
std::string look(const std::string& directory) {
  auto volume = fs::Volume::open(directory, surroundings());
  if (!volume) return volume.error().code == fs::Code::not_found ? "" : volume.error().message;
  std::string out = test::picture(**volume);
  auto report = (*volume)->check();
  if (!report) return report.error().message;
  for (const auto& each : report->findings) out += each.path + ": " + each.sentence + '\n';
  return out;
}

void furnish(fs::Volume& volume) {
  const fs::Caller keeper = fs::keeper_at_the_box();
  const auto keep = [](const fs::Ticket& ticket) {
    if (auto done = ticket.wait(); !done) throw std::runtime_error(done.error().message);
  };
  const auto save = [&](const char* path, std::size_t size) {
    auto upload = volume.files().save(keeper, *fs::Path::parse(path), {.replace = true});
    if (!upload || !upload->write(std::string(size, 'm'))) throw std::runtime_error(path);
    keep(upload->finish());
  };
  keep(volume.people().add_account(keeper, {"robin", "", fs::Role::member, "", ""}));
  save("/members/robin/letter", 40);
  save("/members/robin/letter", 90);
  save("/members/robin/large", 200'000);
  save("/public/gone", 10);
  keep(volume.files().remove(keeper, *fs::Path::parse("/public/gone")));
}

bool is_bare(const std::string& directory) {
  return !std::filesystem::exists(directory) || std::filesystem::is_empty(directory);
}

// What is wrong after one failing call; empty when nothing is.
std::string restoring(fs::HostFile& snapshot, const std::string& place,
                      const std::string& expected) {
  auto restored = fs::restore_snapshot(snapshot, place, {});
  fail_at = 0;
  if (!restored && restored.error().message.empty()) return "it fails without a word";
  if (!restored && !struck) return "it fails without a fault: " + restored.error().message;
  if (!restored) return is_bare(place) ? "" : "it failed and left something behind";
  return look(place) == expected ? "" : "it is not what it was: " + look(place);
}

std::string rehearsing(fs::HostFile& snapshot, const std::string& place, const std::string&) {
  auto rehearsal = fs::rehearse_snapshot(snapshot, place, {});
  fail_at = 0;
  if (!rehearsal && rehearsal.error().message.empty()) return "it fails without a word";
  if (!rehearsal && !struck) return "it fails without a fault: " + rehearsal.error().message;
  // What can't be taken away is told, and is the keeper's to take away.
  if (!rehearsal) return "";
  if (!is_bare(place)) return "it left something behind and did not say so";
  const auto& findings = rehearsal->report.findings;
  return findings.empty() || struck ? "" : findings[0].path + ": " + findings[0].sentence;
}

}  // namespace

int main() {
  test::TempFolder folder;
  const std::string original = folder / "volume";

  {
    auto volume = fs::Volume::create(original, "Tidewrack Mill", surroundings());
    if (!volume) throw std::runtime_error(volume.error().message);
    furnish(**volume);
    auto taken = (*volume)->snapshots().take(folder / "taken.tar.zst");
    if (!taken) throw std::runtime_error(taken.error().message);
  }
  const std::string before = look(original);
  auto outside = fs::open_host_folder(folder.path());
  if (!outside) throw std::runtime_error(outside.error().message);
  auto file = (*outside)->open(fs::HostPath() / "taken.tar.zst");
  if (!file) throw std::runtime_error(file.error().message);

  // Snapshots are not in snapshots.
  const std::string undisturbed = folder / "undisturbed";
  if (auto restored = fs::restore_snapshot(**file, undisturbed, {}); !restored) {
    throw std::runtime_error(restored.error().message);
  }
  const std::string expected = look(undisturbed);

  long failures = 0;
  using One = std::string (*)(fs::HostFile&, const std::string&, const std::string&);
  constexpr std::pair<const char*, One> ways[] = {{"restoring", restoring},
                                                  {"rehearsing", rehearsing}};
  for (const auto& [what, one] : ways) {
    for (const int error : {EIO, ENOSPC, EMFILE}) {
      struck = true;
      for (long n = 1; struck; n += error == EIO ? 1 : 5, ++failures) {
        const std::string place = folder / "again";
        struck = false;
        calls = 0;
        fail_with = error;
        fail_at = n;
        const std::string words = one(**file, place, expected);
        std::filesystem::remove_all(place);
        if (words.empty()) continue;
        fmt::print("{}, error {} at call {}: {}\n", what, error, n, words);
        return 1;
      }
    }
  }
  if (failures < 50) {
    fmt::print("the calls did not come by here\n");
    return 1;
  }
  if (look(original) != before) {
    fmt::print("the volume that it was taken of has changed\n");
    return 1;
  }
  fmt::print("{} failures: a whole volume afterwards, or none\n", failures);
  return 0;
}
