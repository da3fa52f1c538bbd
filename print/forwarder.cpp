#include "print/forwarder.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/settings_table.h"
#include "fs/text.h"
#include "print/host_printer.h"

namespace stationer::print {
namespace {

using fs::Code;
using fs::Error;
using fs::HostPath;
using fs::Status;

constexpr std::uint64_t longest_note = 1024;

HostPath notes_folder() {
  return HostPath() / "spool" / "forwarding";
}

}  // namespace

fs::Result<Forwarding> read_forwarding(std::string_view settings_text) {
  auto file = fs::parse_settings(settings_text);
  if (!file) return file.error();
  Forwarding out;
  auto print = fs::settings_table(*file, "print");
  if (!print) return print.error();
  auto server = fs::text_setting(**print, "forward_server", "");
  if (!server) return server.error();
  out.server = *server;
  auto queues = fs::settings_table(*file, "queue");
  if (!queues) return queues.error();
  for (const auto& [name, node] : **queues) {
    auto table = fs::settings_table(**queues, name.str());
    if (!table) return table.error();
    auto printer = fs::text_setting(**table, "forward", "");
    if (!printer) return printer.error();
    auto when = fs::text_setting(**table, "forward_when", "always");
    if (!when) return when.error();
    if (*when != "always" && *when != "asked") {
      return fs::wrong_setting(*(*table)->get("forward_when"),
                               "forward_when is one of always, asked.");
    }
    if (!printer->empty()) out.queues[std::string(name.str())] = {*printer, *when == "asked"};
  }
  return out;
}

Forwarder::Forwarder(fs::Volume& volume, Forwarding forwarding, Hand hand)
    : volume_(volume), forwarding_(std::move(forwarding)), hand_(std::move(hand)) {}

Status Forwarder::note(std::uint32_t job, const std::string& printer) {
  auto& host = volume_.host_files();
  if (auto made = fs::make_folders(host, notes_folder()); !made) return made;
  return fs::write_durably(host, notes_folder() / fmt::format("{}", job), printer);
}

void Forwarder::expect(const Job& job) {
  const auto found = forwarding_.queues.find(job.queue);
  if (found == forwarding_.queues.end() || found->second.asked) return;
  for (const std::uint32_t number : job.printouts()) {
    if (note(number, found->second.printer)) continue;
    const std::lock_guard lock(mutex_);
    left_[number] = found->second.printer;
  }
}

Status Forwarder::note_what_is_left() {
  std::map<std::uint32_t, std::string> left;
  {
    const std::lock_guard lock(mutex_);
    left = left_;
  }
  for (const auto& [job, printer] : left) {
    if (auto noted = note(job, printer); !noted) return noted;
    const std::lock_guard lock(mutex_);
    left_.erase(job);
  }
  return {};
}

Status Forwarder::hand_over(const fs::PrintoutView& printout, const std::string& printer) {
  auto path = HostPath::from_record(printout.path);
  if (!path) return path.error();
  return hand_(printer, printout.title, [&]() -> fs::Result<fs::Content> {
    auto file = volume_.host_files().open(*path);
    if (!file) return file.error();
    return fs::Content(std::move(*file));
  });
}

Status Forwarder::forward(const fs::Caller& caller, std::uint32_t job, const std::string& printer) {
  auto printout = volume_.desk().printout(caller, job);
  if (!printout) return printout.error();
  std::string where = printer;
  if (where.empty()) {
    const auto queue = forwarding_.queues.find(printout->queue);
    if (queue != forwarding_.queues.end()) where = queue->second.printer;
  }
  if (where.empty()) {
    return Error{Code::bad_input,
                 fmt::format("Name a printer: the queue {} has none.", printout->queue)};
  }
  if (auto handed = hand_over(*printout, where); !handed) return handed;
  return volume_.desk().note(caller, "printout forwarded", fmt::format("{}", job), where).wait();
}

fs::Result<bool> Forwarder::is_in_spool(std::uint32_t job) {
  for (const char* state : {"waiting", "printing", "held", "refused"}) {
    auto there =
        volume_.host_files().look(HostPath() / "spool" / state / fmt::format("{:06}", job));
    if (!there) return there.error();
    if (*there) return true;
  }
  return false;
}

// An error is one that is worth another try.
Status Forwarder::try_one(const fs::HostEntry& note) {
  auto& host = volume_.host_files();
  const auto job = fs::whole_number(note.name);
  if (!job) return {};  // not ours
  auto printer = fs::read_whole(host, notes_folder() / note.name, longest_note);
  if (!printer) return printer.error();
  const auto caller = fs::stationer_itself();
  const auto settle = [&](const char* what, std::string why) -> Status {
    if (auto told = volume_.desk().note(caller, what, note.name, std::move(why)).wait(); !told) {
      return told;
    }
    if (auto gone = host.remove_file(notes_folder() / note.name); !gone) return gone;
    return host.sync_folder(notes_folder());
  };
  // Asked first: a job leaves the spool when its printout is known.
  const auto is_job = is_in_spool(*job);
  if (!is_job) return is_job.error();
  auto printout = volume_.desk().printout(caller, *job);
  if (!printout) {
    if (*is_job) return {};
    return host.remove_file(notes_folder() / note.name);  // discarded
  }
  auto handed = hand_over(*printout, *printer);
  if (handed) return settle("printout forwarded", *printer);
  const std::string why =
      fmt::format("Printout {} could not be forwarded. {}", *job, handed.error().message);
  if (volume_.now() - printout->printed < patience) return Error{handed.error().code, why};
  return settle("printout not forwarded", handed.error().message);
}

Status Forwarder::try_all() {
  const std::lock_guard trying(trying_mutex_);
  Status first = note_what_is_left();
  auto notes = volume_.host_files().list(notes_folder());
  if (!notes) {
    if (notes.error().code != Code::not_found && first) first = notes.error();
  } else {
    std::sort(notes->begin(), notes->end(), [](const auto& a, const auto& b) {
      return std::make_pair(a.name.size(), std::string_view(a.name)) <
             std::make_pair(b.name.size(), std::string_view(b.name));
    });
    for (const auto& note : *notes) {
      if (worker_.stopping()) break;
      auto tried = try_one(note);
      if (!tried && first) first = tried;
    }
  }
  const std::lock_guard lock(mutex_);
  trouble_ = first ? "" : first.error().message + " It is tried again.";
  return first;
}

void Forwarder::start() {
  worker_.start([this, pause = first_pause]() mutable -> std::optional<std::chrono::seconds> {
    if (try_all()) {
      pause = first_pause;
      return std::nullopt;
    }
    const auto now = pause;
    pause = std::min(2 * pause, longest_pause);
    return now;
  });
}

std::string Forwarder::trouble() const {
  const std::lock_guard lock(mutex_);
  return trouble_;
}

Forwarder::Hand to_host_printers(const std::string& server) {
  return [server](const std::string& printer, const std::string& title, const OpenContent& open) {
    return hand_to_printer(server, printer, title, open);
  };
}

}  // namespace stationer::print
