#include "server/net/discard.h"

namespace stationer::server {

Task<void> discard_input(Stream& stream, Time until) {
  for (;;) {
    const auto read = co_await stream.read(until);
    if (read.end != Stream::Read::End::none) co_return;
  }
}

}  // namespace stationer::server
