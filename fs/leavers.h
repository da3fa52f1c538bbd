// What becomes of a person's things: taken along (export), kept in one file when they leave, or
// erased. Archives lie in archives/NAME/ in the volume, in the form of fs/archive.h:
//
//   account.txt    what is known of the account (never the password's hash)
//   files/…        the files they own, by their paths     files.txt      their details
//   printouts/…    their PDFs                             printouts.txt  their details
//   versions/…     their files' former contents           versions.txt   their details
//   notices.txt    what waits for them                    journal.txt    the entries naming them
//
// Lists are UTF-8 with a tab between fields and a line of titles. Managers only. Everything here
// may take long and waits for the disk.
#pragma once

#include <cstdint>
#include <mutex>
#include <string>
#include <string_view>
#include <vector>

#include "fs/caller.h"
#include "fs/desk.h"
#include "fs/files.h"
#include "fs/ids.h"
#include "fs/result.h"

namespace stationer::fs {

class Engine;

struct PersonArchive {
  std::string path;  // host path inside the volume
  std::uint64_t files = 0;
  std::uint64_t printouts = 0;
  std::uint64_t bytes = 0;  // of the archive
};

class Leavers {
 public:
  Leavers(Engine& engine, Files& files, Desk& desk) : engine_(engine), files_(files), desk_(desk) {}

  // All of one person's in an archive, which was read back before this returns.
  Result<PersonArchive> export_person(const Caller& caller, std::string_view name);

  // Archives, closes the account, and notes that its files go to the bin after `after`. Opening the
  // account again takes that back. Done again, it archives anew.
  Result<PersonArchive> leave(const Caller& caller, std::string_view name, Time after);

  // Puts the files of those to the bin whose time has come. What has changed since it was archived
  // is archived first, and the archive is read again before anything goes.
  Status do_what_is_due();

  // What erasing would take away, in sentences, and what it can't reach.
  Result<std::vector<std::string>> erasure_preview(const Caller& caller, std::string_view name);
  // Takes the account away with all that is theirs: files here and in the bin, printouts, notices,
  // archives; their name goes from other people's notices and from the journal (fs/journal.h). The
  // account has to be closed. What others keep in their folders stays, and nobody owns the folder.
  Status erase(const Caller& caller, std::string_view name);

 private:
  struct Work;
  struct Person;
  Result<Person> person(const Caller& caller, std::string_view name) const;
  Result<PersonArchive> archive(const Person& person);
  Status take_from_journal(const Caller& caller, const std::string& name);

  Engine& engine_;
  Files& files_;
  Desk& desk_;
  std::mutex mutex_;  // one archive or erasure at a time
};

}  // namespace stationer::fs
