// Everything that changes the store, as a table: what a test does to all of it (cut the power, make
// the Nth call fail) is written once. Add a row for each new way to change the store.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <random>
#include <set>
#include <string>
#include <vector>

#include "fs/snapshot_return.h"
#include "fs/volume.h"
#include "print/spool.h"
#include "tests/support/temp_folder.h"

namespace stationer::test {

// Somebody at work in a volume, at random but told by the seed.
struct Hand {
  fs::Volume& volume;
  std::mt19937_64 random;
  std::uint32_t last_job;  // a job's number comes only once

  Hand(fs::Volume& where, std::uint64_t seed)
      : volume(where), random(seed), last_job(where.desk().last_job()) {}
  std::uint64_t below(std::uint64_t limit) { return random() % limit; }
  // The spool of that volume, opened when it is first asked for.
  fs::Result<print::Spool*> spool();
  // For what puts a job in its place without it; it is opened anew when it is asked for again.
  void close_spool() { spool_.reset(); }
  // A folder of the host's outside the volume.
  const std::string& outside() const { return outside_.path(); }

 private:
  TempFolder outside_;
  std::unique_ptr<print::Spool> spool_;
};

// The outcome of what was waited for already.
fs::Ticket over(fs::Status status);
template <class T>
fs::Ticket over(const fs::Result<T>& result) {
  return over(result ? fs::Status() : fs::Status(result.error()));
}

// Brings what is wished for back out of the newest snapshot; an error if any of it could not be.
fs::Ticket return_from_newest_snapshot(Hand& hand, const fs::ReturnWish& wish);

struct Operation {
  enum class Sort {
    begun,    // one commit, on its way when begin() returns
    whole,    // one commit that begin() waits for
    steps,    // several, one after the other, all of them by the time begin() returns; what was cut
              // short leaves nothing by half, and can be done again
    resumed,  // the same, and done again it ends as if nothing had been in its way
  };
  const char* name;
  // Begins it with whatever is there; may well be refused. The ticket tells when it is durable.
  std::function<fs::Ticket(Hand& hand)> begin;
  Sort sort = Sort::begun;
};

const std::vector<Operation>& operations();

// A few accounts, a class, some files, something in the bin, notices and printouts: enough for
// every operation to find something to work on.
void furnish(fs::Volume& volume);

// All that the keeper can see, with the contents; a line for everything. Doesn't wait for the disk
// but to read.
std::string picture(fs::Volume& volume);

// The print jobs that are not lost: in the spool, or printed and not discarded.
std::set<std::uint32_t> jobs_of(fs::Volume& volume);

// The lines of `is` and `was` that the other does not have.
std::string difference(const std::string& was, const std::string& is);

}  // namespace stationer::test
