// Below the store's own interface: every other call of the host's is interrupted by a signal
// (EINTR), and no read or write does more than a part of its work, as POSIX allows. All operations
// must end exactly as they do undisturbed. The linker puts the calls below in place of the C
// library's for the store alone.
#include <algorithm>
#include <atomic>
#include <cerrno>
#include <cstdarg>
#include <string>

#include <fmt/format.h>
#include <sys/types.h>

#include "tests/support/operations.h"
#include "tests/support/temp_folder.h"

using namespace stationer;

namespace {

std::atomic<bool> disturbed{false};
std::atomic<long> calls{0};
std::atomic<long> interruptions{0};
std::atomic<long> shortened{0};

bool interrupted() {
  if (!disturbed || ++calls % 2 == 0) return false;
  ++interruptions;
  errno = EINTR;
  return true;
}

std::size_t part_of(std::size_t size) {
  if (!disturbed || size < 2) return size;
  ++shortened;
  return std::max<std::size_t>(1, size * 2 / 3);
}

}  // namespace

// NOLINTBEGIN(bugprone-reserved-identifier): the names are the linker's (ld, --wrap)
extern "C" {
ssize_t __real_pwrite(int fd, const void* bytes, std::size_t size, off_t at);
ssize_t __real_pread(int fd, void* into, std::size_t size, off_t at);
int __real_fdatasync(int fd);
int __real_fsync(int fd);
int __real_syncfs(int fd);
long __real_syscall(long number, ...);

ssize_t __wrap_pwrite(int fd, const void* bytes, std::size_t size, off_t at) {
  return interrupted() ? -1 : __real_pwrite(fd, bytes, part_of(size), at);
}
ssize_t __wrap_pread(int fd, void* into, std::size_t size, off_t at) {
  return interrupted() ? -1 : __real_pread(fd, into, part_of(size), at);
}
int __wrap_fdatasync(int fd) {
  return interrupted() ? -1 : __real_fdatasync(fd);
}
int __wrap_fsync(int fd) {
  return interrupted() ? -1 : __real_fsync(fd);
}
int __wrap_syncfs(int fd) {
  return interrupted() ? -1 : __real_syncfs(fd);
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
  return interrupted() ? -1 : __real_syscall(number, a, b, c, d);
}
}
// NOLINTEND(bugprone-reserved-identifier)

namespace {

// What comes of the same work, and what was refused of it.
std::string work(bool disturb) {
  test::TempFolder folder;
  fs::Surroundings surroundings;
  auto now = fs::Time(std::chrono::milliseconds(1'800'000'000'000));
  surroundings.clock = [now] { return now; };
  surroundings.password_cost = {1, 8192};
  surroundings.seed = 1;
  disturbed = disturb;
  auto volume = fs::Volume::create(folder / "volume", "Tidewrack Mill", surroundings);
  if (!volume) return volume.error().message;
  test::furnish(**volume);
  std::string out;
  for (std::uint64_t seed = 1; seed <= 3; ++seed) {
    test::Hand hand(**volume, seed);
    for (const auto& operation : test::operations()) {
      const auto status = operation.begin(hand).wait();
      out += fmt::format("{} {}: {}\n", seed, operation.name,
                         status ? "done" : status.error().message);
    }
    volume->reset();
    volume = fs::Volume::open(folder / "volume", surroundings);
    if (!volume) return volume.error().message;
  }
  out += test::picture(**volume);
  auto report = (*volume)->check();
  if (!report) return report.error().message;
  for (const auto& each : report->findings) out += each.path + ": " + each.sentence + '\n';
  volume->reset();
  disturbed = false;
  return out;
}

}  // namespace

int main() {
  const std::string undisturbed = work(false);
  const std::string found = work(true);
  fmt::print("{} interruptions, {} reads and writes done by parts\n", interruptions.load(),
             shortened.load());
  if (interruptions < 100 || shortened < 100) {
    fmt::print("the calls did not come by here\n");
    return 1;
  }
  if (found == undisturbed) return 0;
  fmt::print("it makes a difference:\n{}", test::difference(undisturbed, found));
  return 1;
}
