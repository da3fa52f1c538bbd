// FTP servers for ftp_bench: one that answers from memory and does nothing else, which is the
// limit, and the usual ones, where they are installed. Each on a free loopback port, ended with its
// object.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include <sys/types.h>

namespace stationer::bench {

struct FtpServer {
  std::string name;
  std::uint16_t port = 0;
  std::string user, password;
  std::string idle_user;     // for those who do nothing; empty: the same
  std::string small, large;  // files to get
  std::string fresh;         // where to put one
  pid_t pid = -1;            // leads a group of its own

  FtpServer() = default;
  FtpServer(const FtpServer&) = delete;
  FtpServer& operator=(const FtpServer&) = delete;
  ~FtpServer();
};

// Proportional memory of a process and all that it started (smaps_rollup, proc(5)).
double proportional_mib(pid_t pid);
// Of the processor, that they have taken so far.
double processor_seconds(pid_t pid);

std::uint16_t free_port();

std::unique_ptr<FtpServer> bare_server(const std::string& small, std::size_t large_size);
// Those that are on the PATH; says which are not. `folder` is theirs to use.
std::vector<std::unique_ptr<FtpServer>> usual_servers(const std::string& folder,
                                                      const std::string& small,
                                                      const std::string& large);

}  // namespace stationer::bench
