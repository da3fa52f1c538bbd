// A volume in a temporary folder, with cheap password hashes and a clock that the test moves.
#pragma once

#include <memory>
#include <string>
#include <string_view>

#include <catch2/catch.hpp>

#include "fs/volume.h"
#include "tests/support/failing_files.h"
#include "tests/support/temp_folder.h"

namespace stationer::test {

// The least that Argon2id can be asked for: RFC 9106 §3.1 has at least 8 KiB and one pass.
inline constexpr fs::PasswordCost cheap_password{1, 8192};

struct TestVolume {
  TempFolder folder;
  std::shared_ptr<fs::Time> now =
      std::make_shared<fs::Time>(std::chrono::milliseconds(1'800'000'000'000));
  std::shared_ptr<Failure> failure = std::make_shared<Failure>();
  std::unique_ptr<fs::Volume> volume;
  fs::Caller keeper = fs::keeper_at_the_box();

  explicit TestVolume(std::string_view more_settings = "") {
    auto made = fs::Volume::create(path(), "Test room", surroundings(), more_settings);
    REQUIRE(made);
    volume = std::move(*made);
  }

  std::string path() const { return folder / "volume"; }

  fs::Surroundings surroundings() {
    fs::Surroundings out;
    out.clock = [now = now] { return *now; };
    out.password_cost = cheap_password;
    out.seed = 1;
    out.wrap_files = [failure = failure](std::unique_ptr<fs::HostFiles> inner) {
      return std::make_unique<FailingFiles>(std::move(inner), failure);
    };
    return out;
  }

  fs::Result<std::unique_ptr<fs::Volume>> try_open() {
    return fs::Volume::open(path(), surroundings());
  }

  void reopen() {
    volume.reset();
    auto opened = try_open();
    if (!opened) FAIL(opened.error().message);
    volume = std::move(*opened);
  }

  fs::Files& files() { return volume->files(); }
  fs::People& people() { return volume->people(); }
  fs::Desk& desk() { return volume->desk(); }

  // An account, with a password that says nothing; returns it as a caller.
  fs::Caller add(const std::string& name, fs::Role role = fs::Role::member,
                 const std::string& klass = "") {
    done(people().add_account(keeper, {name, "", role, klass, "mill-race-" + name}));
    return caller(name);
  }
  fs::Caller caller(const std::string& name) {
    return {people().account(std::string_view(name))->id, false, "test"};
  }

  static void done(const fs::Ticket& ticket) {
    auto outcome = ticket.wait();
    if (!outcome) FAIL(outcome.error().message);
  }
  static fs::Code refused(const fs::Ticket& ticket) {
    auto outcome = ticket.wait();
    REQUIRE_FALSE(outcome);
    CHECK_FALSE(outcome.error().message.empty());
    return outcome.error().code;
  }

  // Throws for what is no path: assertions are for one thread, this for any.
  static fs::Path at(std::string_view path) { return fs::Path::parse(path).value(); }

  fs::Status save(const fs::Caller& caller, std::string_view path, std::string_view bytes,
                  bool replace = false) {
    fs::SaveOptions options;
    options.replace = replace;
    auto upload = files().save(caller, at(path), options);
    if (!upload) return upload.error();
    if (auto written = upload->write(bytes); !written) return written;
    return upload->finish().wait();
  }

  fs::Result<std::string> read(const fs::Caller& caller, std::string_view path) {
    auto content = files().read(caller, at(path));
    if (!content) return content.error();
    std::string bytes;
    std::string piece(65536, '\0');
    for (;;) {
      auto got = content->read_at(bytes.size(), piece);
      if (!got) return got.error();
      if (*got == 0) return bytes;
      bytes.append(piece, 0, *got);
    }
  }

  // What the check says, one finding a line.
  std::string findings() {
    auto report = volume->check();
    if (!report) return report.error().message;
    std::string out;
    for (const auto& finding : report->findings) {
      out += std::string(fs::finding_name(finding.kind)) + " " + finding.path + ": " +
             finding.sentence + "\n";
    }
    return out;
  }
};

}  // namespace stationer::test
