// TLS (RFC 8446, and 5246 for older clients) over a connection that is there already. The only part
// that knows OpenSSL.
#pragma once

#include <memory>
#include <string>

#include "fs/result.h"
#include "server/net/stream.h"
#include "server/task.h"

namespace stationer::server {

class Tls {
 public:
  // Files in PEM form: a certificate with those above it, and its key. Code::bad_input, in a
  // sentence, when they can't be used.
  static fs::Result<std::unique_ptr<Tls>> open(const std::string& certificate,
                                               const std::string& key);
  ~Tls();

  // The server's end over `plain`, which is a socket's; nothing when both ends did not agree by
  // `until`.
  Task<std::unique_ptr<Stream>> begin(std::unique_ptr<Stream> plain, Time until);

 private:
  struct Context;
  explicit Tls(std::unique_ptr<Context> context);
  std::unique_ptr<Context> context_;
};

}  // namespace stationer::server
