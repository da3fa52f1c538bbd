// What a door makes of one connection. run() is the whole of its life; when it is done, or the
// service stops, the connection is let go with all that it has begun.
#pragma once

#include <string>

#include "server/task.h"

namespace stationer::server {

class Connection {
 public:
  virtual ~Connection() = default;
  virtual Task<void> run() = 0;
  // The service stops: a last word, if one can be sent at once.
  virtual void stopping() {}
};

}  // namespace stationer::server
