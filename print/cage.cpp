#include "print/cage.h"

#include <cerrno>
#include <cstring>
#include <memory>

#include <fmt/format.h>
#include <seccomp.h>
#include <sys/mman.h>
#include <sys/resource.h>
#include <unistd.h>

// The sanitizers' own memory is more than any limit, and their reports need more calls.
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
#define STATIONER_SANITIZED 1
#else
#define STATIONER_SANITIZED 0
#endif

namespace stationer::print {
namespace {

fs::Error refused(std::string_view what, int error) {
  return {fs::Code::io, fmt::format("This system can't {}: {}.", what,
                                    std::strerror(error < 0 ? -error : error))};
}

fs::Status limit(__rlimit_resource which, rlim_t most) {
  const rlimit both{most, most};
  if (::setrlimit(which, &both) == 0) return {};
  return refused("limit what a process may use", errno);
}

fs::Status lower_limits(const CageLimits& limits) {
  for (const auto which : {RLIMIT_NOFILE, RLIMIT_FSIZE, RLIMIT_CORE, RLIMIT_NPROC}) {
    if (auto done = limit(which, 0); !done) return done;
  }
  if (STATIONER_SANITIZED == 0) {
    if (auto done = limit(RLIMIT_AS, limits.memory); !done) return done;
  }
  // The signal that can be told apart comes at the lower of the two.
  const auto seconds = static_cast<rlim_t>(limits.processor.count());
  const rlimit processor{seconds, seconds + 1};
  if (::setrlimit(RLIMIT_CPU, &processor) != 0) return refused("limit processor time", errno);
  return {};
}

struct Free {
  void operator()(void* filter) const { ::seccomp_release(filter); }
};

fs::Status load_filter() {
  const std::unique_ptr<void, Free> filter(::seccomp_init(SCMP_ACT_KILL_PROCESS));
  if (!filter) return refused("filter calls", ENOMEM);
  int failed = 0;
  const auto allow = [&](int call, auto... conditions) {
    const int added = ::seccomp_rule_add(filter.get(), SCMP_ACT_ALLOW, call, sizeof...(conditions),
                                         conditions...);
    if (added != 0) failed = added;
  };
  // To read and write what is open, and to end.
  allow(SCMP_SYS(read));
  allow(SCMP_SYS(write));
  allow(SCMP_SYS(exit));
  allow(SCMP_SYS(exit_group));
  allow(SCMP_SYS(rt_sigreturn));
  // Memory, but none that can be run.
  const auto never_run = SCMP_A2_64(SCMP_CMP_MASKED_EQ, PROT_EXEC, 0);
  allow(SCMP_SYS(brk));
  allow(SCMP_SYS(mmap), never_run, SCMP_A3_64(SCMP_CMP_MASKED_EQ, MAP_ANONYMOUS, MAP_ANONYMOUS));
  allow(SCMP_SYS(mprotect), never_run);
  allow(SCMP_SYS(munmap));
  allow(SCMP_SYS(mremap));
  allow(SCMP_SYS(madvise));
  allow(SCMP_SYS(futex));
  // abort(), so that it can be told from a forbidden call.
  allow(SCMP_SYS(getpid));
  allow(SCMP_SYS(gettid));
  allow(SCMP_SYS(rt_sigprocmask));
  allow(SCMP_SYS(tgkill), SCMP_A0_64(SCMP_CMP_EQ, static_cast<scmp_datum_t>(::getpid())));
  if (STATIONER_SANITIZED != 0) {
    allow(SCMP_SYS(sigaltstack));
    allow(SCMP_SYS(sched_yield));
    allow(SCMP_SYS(clock_gettime));
  }
  if (failed != 0) return refused("filter calls", failed);
  const int loaded = ::seccomp_load(filter.get());
  return loaded == 0 ? fs::Status() : fs::Status(refused("filter calls", loaded));
}

}  // namespace

fs::Status lock_cage(const CageLimits& limits) {
  if (auto done = lower_limits(limits); !done) return done;
  return load_filter();
}

}  // namespace stationer::print
