// The tree as callers see it: every look and every change with the caller's rights checked, at the
// same moment and under the same lock as it is done.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fs/caller.h"
#include "fs/content.h"
#include "fs/hash.h"
#include "fs/host_files.h"
#include "fs/ids.h"
#include "fs/path.h"
#include "fs/records.h"
#include "fs/result.h"
#include "fs/ticket.h"

namespace stationer::fs {

class Engine;
class State;

// What a caller is shown of a node.
struct NodeView {
  NodeId id{};
  std::string name;
  std::string alias;  // 8.3; the name in capitals when that is one
  bool folder = false;
  Kind kind = Kind::data;
  std::string owner;  // the account's name; empty: nobody
  std::string klass;  // the class's name; empty: none
  Access access;
  std::optional<std::uint32_t> load_address;
  std::optional<std::uint32_t> entry_point;
  std::uint64_t size = 0;
  ContentId content{};  // of a file: another with each saving
  Time created{};
  Time modified{};
  bool may_read = false;
  bool may_write = false;
  // Whose work it is besides: of what was handed in, and of copies of that. Only look() tells.
  AccountId work_of{};
};

struct BinView {
  NodeId id{};
  std::string path;  // where it was
  bool folder = false;
  std::uint64_t size = 0;  // with all that is in it
  std::string owner;
  Time removed{};
};

// What something was that is brought back, so that it is that from its first moment on. Managers
// only.
struct Former {
  std::string owner;  // an account's name; nobody's if there is none (any more)
  std::string klass;  // the same of a class
  Access access;
  std::string alias;  // its short name, which it gets again if that is free
  std::string from;   // for the journal: "the snapshot of 2026-11-25"
};

// What is known of a file when it is saved.
struct SaveOptions {
  bool replace = false;  // else an existing file gives Code::exists
  Kind kind = Kind::data;
  std::optional<std::uint32_t> load_address{};
  std::optional<std::uint32_t> entry_point{};
  // What is brought back is refused for no quota. A file that it replaces must have the same owner,
  // else it gives Code::exists, and keeps of its access bits only those that the former ones give
  // too: nobody may read by this what they might not read before.
  std::optional<Former> former{};
  AccountId work_of{};  // as in NodeView
};

// How a copy of a file is saved: with its kind and addresses, and as the same person's work.
SaveOptions as_copy(const NodeView& file);

class Files;

// A file being saved. Nothing of it shows in the tree until finish() has been called; letting it go
// before leaves everything as it was. When it grows beyond small_content it is streamed to the
// disk, and write() and finish() may then wait for the disk.
class Upload {
 public:
  ~Upload();
  Upload(Upload&&) noexcept;
  Upload& operator=(Upload&&) = delete;

  // Refused when the owner's quota or the disk's space would not allow what has come so far.
  Status write(std::string_view bytes);
  // The two halves of write() for an upload that is streamed to the disk, so that two threads can
  // do them at the same time. Each half gets all pieces, in their order.
  bool is_streamed() const { return large_ != nullptr; }
  Status store(std::string_view bytes);
  void digest(std::string_view bytes);
  // The ticket is settled when the file is durable.
  Ticket finish();
  std::uint64_t size() const { return size_; }
  const Path& path() const { return path_; }
  // The receipt's number once finish() has been called, if this was handed in (fs/hand_ins.h); as
  // good as the ticket is.
  std::optional<std::uint32_t> receipt() const { return receipt_; }

 private:
  friend class Files;
  Upload(Files& files, Caller caller, Path path, SaveOptions options);
  Status spill();

  Files* files_;
  Caller caller_;
  Path path_;
  SaveOptions options_;
  std::string small_;
  std::unique_ptr<HostFile> large_;
  ContentId content_{};
  std::uint64_t size_ = 0;
  std::optional<std::uint32_t> receipt_;
  std::optional<Hasher> hasher_;  // of large_
};

class Files {
 public:
  // `grace`: how long an account may be over its soft limit.
  explicit Files(Engine& engine, std::chrono::hours grace = default_grace)
      : engine_(engine), grace_(grace) {}

  Result<NodeView> look(const Caller& caller, const Path& path) const;
  // What the caller may read or write in a folder, by name.
  Result<std::vector<NodeView>> list(const Caller& caller, const Path& folder) const;
  Result<Content> read(const Caller& caller, const Path& file) const;
  // Where `from` ends up when it is to be copied or moved to `to`: in a folder that is there, under
  // the name it really has; else at `to` itself.
  Path place_for(const Caller& caller, const Path& from, const Path& to) const;

  Result<Upload> save(const Caller& caller, const Path& file, const SaveOptions& options);
  Ticket make_folder(const Caller& caller, const Path& folder,
                     const std::optional<Former>& former = {});
  // Renames, moves or both. Nothing may be at `to`.
  Ticket move(const Caller& caller, const Path& from, const Path& to);
  // To the bin, with everything in it.
  Ticket remove(const Caller& caller, const Path& path);
  Ticket set_access(const Caller& caller, const Path& path, std::string_view changes);
  Ticket set_details(const Caller& caller, const Path& file, Kind kind,
                     std::optional<std::uint32_t> load_address,
                     std::optional<std::uint32_t> entry_point);
  // Managers only. An empty name is nobody's or no class's.
  Ticket set_owner(const Caller& caller, const Path& path, std::string_view account);
  Ticket set_class(const Caller& caller, const Path& path, std::string_view klass);

  // The caller's own removals, newest first; a manager's view is of all.
  std::vector<BinView> bin(const Caller& caller) const;
  // Puts a removal back: its owner may, and who removed it. Its place must be there and be free.
  Ticket restore(const Caller& caller, NodeId removal);
  // Takes removals away for good: the caller's own, or with all = true everybody's (managers).
  // What has the keep bit stays.
  Ticket empty_bin(const Caller& caller, bool all);

  // Usage, limits and what may still be written by an account.
  struct Space {
    Usage usage;
    Quota quota;
    std::optional<Time> over_since;
    std::uint64_t free_bytes = 0;  // the least of what the quota and the disk leave
    Fullness fullness = Fullness::roomy;
    std::chrono::hours grace = default_grace;
  };
  Result<Space> space(const Caller& caller) const;

  // The path of a node outside the bin.
  static Path path_of(const State& state, NodeId node);

 private:
  friend class Upload;
  struct Draft;
  struct Saved;

  Status check_save(const State& state, const Caller& caller, const Path& file,
                    const SaveOptions& options, std::uint64_t size, Time now) const;
  Ticket commit_save(const Caller& caller, const Path& file, const SaveOptions& options,
                     const Draft& draft, Saved& saved);

  Engine& engine_;
  std::chrono::hours grace_;
};

}  // namespace stationer::fs
