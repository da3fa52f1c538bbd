// The files of a transfer as the store has them: what goes to a station and what comes from one,
// with texts turned into the station's own on the way. Asks the session for everything.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "server/protocol/transfer.h"
#include "server/session.h"
#include "server/terminal/station_text.h"

namespace stationer::server {

class Cargo {
 public:
  struct Rules {
    Screen screen;                               // the station's character set
    LineEnding text_ending = LineEnding::cr_lf;  // in texts on the line
    bool exact = false;                          // nothing is turned into anything
    bool text = false;               // what comes is text, unless the far end says otherwise
    bool replace = false;            // what comes may take the place of what is there
    fs::Path folder;                 // where files go that come with a name
    std::optional<fs::Path> target;  // where a file goes, whatever its name
  };

  Cargo(Session& session, Rules rules) : session_(session), rules_(std::move(rules)) {}

  // To the station.
  void add(const fs::Path& file) { to_send_.push_back(file); }
  // A file that the far end asks for by a name; its refusal is for the far end's eyes.
  fs::Status find(std::string_view name);
  Task<std::optional<FileFacts>> next();
  Task<fs::Result<std::string>> read(std::size_t most);
  void sent(const std::string& refusal);

  // From the station.
  fs::Status open(const FileFacts& facts);
  Task<fs::Status> write(std::string bytes);
  Task<fs::Status> close();
  void abandon();

  // What came of it, a sentence for each file.
  const std::vector<std::string>& report() const { return report_; }
  std::size_t carried() const { return carried_; }

 private:
  Task<fs::Result<std::string>> converted(std::uint64_t& offset, TextToStation& text, bool& ended);
  std::string wire_name(const fs::Path& file) const;

  Session& session_;
  const Rules rules_;
  std::vector<std::string> report_;
  std::size_t carried_ = 0;

  std::vector<fs::Path> to_send_;
  std::size_t next_ = 0;
  std::optional<fs::Content> content_;
  std::uint64_t offset_ = 0;
  std::optional<TextToStation> to_station_;
  std::string converted_;  // and not read yet
  bool ended_ = false;

  Session::UploadPtr upload_;
  fs::Path upload_path_;
  std::optional<TextFromStation> from_station_;
};

}  // namespace stationer::server
