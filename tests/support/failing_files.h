// Host files that fail when told to: the Nth call only, or every call from the Nth on, as when the
// process is killed or the disk goes away.
#pragma once

#include <atomic>
#include <memory>
#include <utility>

#include "fs/host_files.h"

namespace stationer::test {

struct Failure {
  std::atomic<long> calls{0};
  std::atomic<long> fail_at{0};  // 0: never
  std::atomic<bool> stay_dead{false};
  std::atomic<bool> failed{false};
  fs::Code code = fs::Code::io;

  bool strikes() {
    const long call = ++calls;
    const long at = fail_at;
    const bool hit = at != 0 && (stay_dead ? call >= at : call == at);
    if (hit) failed = true;
    return hit;
  }
  fs::Error error() const { return {code, "The test's disk failed."}; }
};

class FailingFile : public fs::HostFile {
 public:
  FailingFile(std::unique_ptr<fs::HostFile> inner, std::shared_ptr<Failure> failure)
      : inner_(std::move(inner)), failure_(std::move(failure)) {}

  fs::Status write_at(std::uint64_t offset, std::string_view bytes) override {
    if (failure_->strikes()) {
      // A write that fails may have done a part of its work.
      static_cast<void>(inner_->write_at(offset, bytes.substr(0, bytes.size() / 2)));
      return failure_->error();
    }
    return inner_->write_at(offset, bytes);
  }
  fs::Result<std::size_t> read_at(std::uint64_t offset, std::span<char> into) override {
    if (failure_->strikes()) return failure_->error();
    return inner_->read_at(offset, into);
  }
  std::optional<std::size_t> read_now(std::uint64_t offset, std::span<char> into) override {
    return inner_->read_now(offset, into);
  }
  fs::Result<std::size_t> send_to(int socket, std::uint64_t offset, std::size_t count) override {
    if (failure_->strikes()) return failure_->error();
    return inner_->send_to(socket, offset, count);
  }
  fs::Status sync() override {
    if (failure_->strikes()) return failure_->error();
    return inner_->sync();
  }
  fs::Result<std::uint64_t> size() override {
    if (failure_->strikes()) return failure_->error();
    return inner_->size();
  }
  fs::Status set_modified(fs::Time modified) override {
    if (failure_->strikes()) return failure_->error();
    return inner_->set_modified(modified);
  }
  fs::Result<bool> has_writer() override {
    if (failure_->strikes()) return failure_->error();
    return inner_->has_writer();
  }

 private:
  std::unique_ptr<fs::HostFile> inner_;
  std::shared_ptr<Failure> failure_;
};

class FailingFiles : public fs::HostFiles {
 public:
  FailingFiles(std::unique_ptr<fs::HostFiles> inner, std::shared_ptr<Failure> failure)
      : inner_(std::move(inner)), failure_(std::move(failure)) {}

  using OpenedFile = fs::Result<std::unique_ptr<fs::HostFile>>;
  OpenedFile open(const fs::HostPath& path) override {
    return wrap([&] { return inner_->open(path); });
  }
  OpenedFile open_write(const fs::HostPath& path) override {
    return wrap([&] { return inner_->open_write(path); });
  }
  OpenedFile create(const fs::HostPath& path) override {
    return wrap([&] { return inner_->create(path); });
  }
  fs::Status rename(const fs::HostPath& from, const fs::HostPath& to, bool replace) override {
    if (failure_->strikes()) return failure_->error();
    return inner_->rename(from, to, replace);
  }
  fs::Status link(const fs::HostPath& from, const fs::HostPath& to) override {
    if (failure_->strikes()) return failure_->error();
    return inner_->link(from, to);
  }
  fs::Status remove_file(const fs::HostPath& path) override {
    if (failure_->strikes()) return failure_->error();
    return inner_->remove_file(path);
  }
  fs::Status remove_folder(const fs::HostPath& path) override {
    if (failure_->strikes()) return failure_->error();
    return inner_->remove_folder(path);
  }
  fs::Status make_folder(const fs::HostPath& path) override {
    if (failure_->strikes()) return failure_->error();
    return inner_->make_folder(path);
  }
  fs::Result<std::optional<fs::HostEntry>> look(const fs::HostPath& path) override {
    if (failure_->strikes()) return failure_->error();
    return inner_->look(path);
  }
  fs::Result<std::vector<fs::HostEntry>> list(const fs::HostPath& folder) override {
    if (failure_->strikes()) return failure_->error();
    return inner_->list(folder);
  }
  fs::Status sync_folder(const fs::HostPath& folder) override {
    if (failure_->strikes()) return failure_->error();
    return inner_->sync_folder(folder);
  }
  fs::Status sync_everything() override {
    if (failure_->strikes()) return failure_->error();
    return inner_->sync_everything();
  }
  fs::Result<fs::HostSpace> space() override {
    if (failure_->strikes()) return failure_->error();
    return inner_->space();
  }

 private:
  template <class Open>
  OpenedFile wrap(Open open) {
    if (failure_->strikes()) return failure_->error();
    auto file = open();
    if (!file) return file;
    return std::unique_ptr<fs::HostFile>(std::make_unique<FailingFile>(std::move(*file), failure_));
  }

  std::unique_ptr<fs::HostFiles> inner_;
  std::shared_ptr<Failure> failure_;
};

}  // namespace stationer::test
