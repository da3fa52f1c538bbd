#include "tests/server/bootstrap/far_end.h"

#include <stdexcept>
#include <utility>

namespace stationer::tests {

FarEnd::FarEnd(server::Transfer& transfer, std::vector<CarriedFile> files, LineKind line)
    : player_(transfer, std::move(files)), line_(std::move(line)), begun_(player_.now()) {}

// The sender sends, and the receiver answers: whichever this is, `forth` is what comes from it.
void FarEnd::collect() {
  if (!std::exchange(started_, true)) player_.begin();
  std::string sent = player_.take_sent();
  if (line_.forth) sent = line_.forth(sent);
  coming_.insert(coming_.end(), sent.begin(), sent.end());
}

bool FarEnd::came() {
  collect();
  if (!coming_.empty()) return true;
  player_.sleep(a_look);
  collect();
  return false;
}

std::uint8_t FarEnd::take() {
  if (coming_.empty()) throw std::logic_error("the machine takes a byte that has not come");
  const char byte = coming_.front();
  coming_.pop_front();
  return static_cast<std::uint8_t>(byte);
}

void FarEnd::give(std::uint8_t byte) {
  collect();
  std::string heard(1, static_cast<char>(byte));
  if (line_.back) heard = line_.back(heard);
  if (!heard.empty()) player_.hear(heard);
}

}  // namespace stationer::tests
