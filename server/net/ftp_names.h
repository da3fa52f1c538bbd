// The names that an FTP client asked to have listed, and their lines.
#pragma once

#include <cstddef>
#include <string>
#include <utility>
#include <vector>

#include "fs/volume.h"
#include "server/net/ftp_hall.h"
#include "server/protocol/ftp.h"
#include "server/protocol/text_out.h"
#include "server/session.h"

namespace stationer::server {

// Counted among those of all connections as long as they are held.
class FtpNames {
 public:
  // What a folder holds, or the one thing that was meant, or those that a pattern fits; "" is where
  // the session is. Both must outlive it.
  static fs::Result<FtpNames> find(const Session& session, FtpHall& hall, const std::string& typed);

  FtpNames(FtpNames&& other) noexcept;
  FtpNames& operator=(FtpNames&&) = delete;
  ~FtpNames();

  std::size_t count() const { return nodes_.size(); }
  // Whether these are too many; one alone never is.
  bool are_too_many() const;

  // How a line is written.
  struct Form {
    Ftp::Transfer::What what;
    const FtpFacts& facts;
    LineEnding ending;
    fs::Time now;
  };
  // Lines from the name numbered `next` on, one piece of them, and the number of the one after it.
  std::pair<std::string, std::size_t> lines(const Form& form, std::size_t next) const;

 private:
  FtpNames(const Session& session, FtpHall& hall, std::vector<fs::NodeView> nodes);
  static fs::Result<FtpNames> fitting(const Session& session, FtpHall& hall,
                                      const std::string& above, const std::string& pattern);
  std::string line(const Form& form, const fs::NodeView& node) const;

  const Session* session_;
  FtpHall* hall_;
  std::vector<fs::NodeView> nodes_;
  bool may_write_folder_ = false;
  std::string prefix_;  // before each name, so that it can be used as it stands
};

}  // namespace stationer::server
