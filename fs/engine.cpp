#include "fs/engine.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/cause.h"
#include "fs/journal.h"
#include "fs/way_out.h"

namespace stationer::fs {
namespace {

std::string caller_name(const State& state, const Caller& caller) {
  if (caller.itself) return "Stationer";
  if (caller.keeper) return "the keeper";
  const Account* account = state.account(caller.account);
  return account == nullptr ? "guest" : account->name;
}

}  // namespace

HostPath held_path(ContentId content) {
  return HostPath() / "held" / fmt::format("{}", number(content));
}

HostPath held_path(const Printout& printout) {
  return HostPath() / "held" / fmt::format("printout {}", printout.job);
}

Transaction::Transaction(State& state, Time now, const Hash& secret, bool holding)
    : state_(state),
      now_(now),
      secret_(secret),
      holding_(holding),
      submission_(std::make_shared<Submission>()) {}

void Transaction::put(Record record) {
  apply(fs::put(std::move(record)));
}

void Transaction::drop(Record record) {
  apply(fs::drop(std::move(record)));
}

void Transaction::deed(Deed deed) {
  submission_->commit.deeds.push_back(std::move(deed));
}

void Transaction::apply(Change change) {
  submission_->undo.push_back(state_.apply(change));
  submission_->commit.changes.push_back(std::move(change));
}

void Transaction::undo() {
  for (auto change = submission_->undo.rbegin(); change != submission_->undo.rend(); ++change) {
    static_cast<void>(state_.apply(*change));
  }
}

void Transaction::remove_file(HostPath path, HostPath held) {
  if (holding_) {
    deed(MovePath{std::move(path), std::move(held)});
  } else {
    deed(RemovePath{std::move(path), false});
  }
}

std::uint32_t Transaction::next_number(Series series) {
  const std::uint32_t number = state_.last_number(series) + 1;
  put(LastNumber{series, number});
  return number;
}

std::uint64_t Transaction::journal(const Caller& caller, std::string what, std::string subject,
                                   std::string detail) {
  JournalEntry entry;
  entry.at = now_;
  entry.who = caller_name(state_, caller);
  entry.where = caller.where;
  entry.what = std::move(what);
  entry.subject = std::move(subject);
  entry.detail = std::move(detail);
  JournalHead head = state_.journal;
  append(head, entry, secret_);
  put(std::move(entry));
  put(head);
  return head.last;
}

Engine::Engine(Parts parts) : parts_(std::move(parts)), state_(parts_.seed) {}

Engine::~Engine() = default;

Result<std::unique_ptr<Engine>> Engine::open(Parts parts) {
  std::unique_ptr<Engine> engine(new Engine(std::move(parts)));
  if (auto recovered = engine->recover(); !recovered) return recovered.error();
  return engine;
}

Status Engine::recover() {
  auto settled = parts_.catalog->settled();
  if (!settled) return settled.error();
  std::vector<std::unique_ptr<Commit>> waiting;
  auto log = CommitLog::open(
      *parts_.files, {*settled, parts_.seed, parts_.accept_loss},
      [&](Commit commit) { waiting.push_back(std::make_unique<Commit>(std::move(commit))); });
  if (!log) return log.error();

  // Settled before anybody is served, so that memory starts from the catalogue alone.
  std::vector<const Commit*> left;
  for (const auto& each : waiting) left.push_back(each.get());
  SettleEvents events;
  events.while_deeds = [](std::span<const Deed* const>, const std::function<Status()>& act) {
    return act();
  };
  events.trouble = [this](std::string words) { opening_troubles_.push_back(std::move(words)); };
  while (!left.empty()) {
    const auto end = left.begin() + static_cast<std::ptrdiff_t>(group_length(left));
    const std::vector<const Commit*> group(left.begin(), end);
    auto done = settle_group(*parts_.files, *parts_.catalog, group, events);
    if (!done) return done;
    (*log)->release(group.back()->number);
    left.erase(left.begin(), end);
  }

  if ((*log)->loss()) {
    if (auto accepted = accept_loss(**log); !accepted) return accepted;
  }
  for (const char* folder : {"incoming", "held"}) {
    if (auto emptied = empty_folder(HostPath() / folder); !emptied) return emptied;
  }

  std::uint64_t last_content = 0;
  auto loaded = parts_.catalog->load([&](Record record) {
    if (const auto* node = std::get_if<Node>(&record)) {
      last_content = std::max(last_content, number(node->content));
    } else if (const auto* version = std::get_if<Version>(&record)) {
      last_content = std::max(last_content, number(version->content));
    } else if (const auto* receipt = std::get_if<Receipt>(&record)) {
      // Told apart by their contents' numbers, which may be gone.
      last_content =
          std::max({last_content, number(receipt->content), number(receipt->returned_content)});
    }
    state_.load(std::move(record));
  });
  if (!loaded) return loaded;
  state_.finish_loading();
  if (!state_.lost.empty()) {
    opening_troubles_.push_back(
        fmt::format("The catalogue is damaged: {} of its files and folders have lost their place. "
                    "To put them back, run: stationer check --repair",
                    state_.lost.size()));
  }
  if (!state_.tree.has(files_root) || !state_.tree.has(bin_root)) {
    return Error{Code::damaged, fmt::format("The catalogue has lost its top folder. {}.", way_out)};
  }
  next_content_ = last_content + 1;
  auto journal = parts_.catalog->last_journal_id();
  if (!journal) return journal.error();
  // Entries that the head does not know of were put in, or the head was set back. They are not
  // written over: the verification tells of them.
  state_.journal.last = std::max(state_.journal.last, *journal);

  Committer::Hooks hooks;
  hooks.failed = [this](std::vector<SubmissionPtr> submissions, const Error& why) {
    failed(std::move(submissions), why);
  };
  hooks.while_deeds = [this](std::span<const Deed* const> deeds,
                             const std::function<Status()>& act) { return do_deeds(deeds, act); };
  hooks.settled = [this](const std::vector<SubmissionPtr>& submissions) {
    this->settled(submissions);
  };
  committer_ = std::make_unique<Committer>(*parts_.files, *parts_.catalog, std::move(*log),
                                           std::move(hooks));
  if (!loss_) return {};
  return change([&](Transaction& change) -> Status {
           change.journal(keeper_at_the_box(), "repaired", "log", *loss_);
           return {};
         })
      .wait();
}

// The large contents of what is left out wait in incoming/; they are kept with the log.
Status Engine::accept_loss(CommitLog& log) {
  const HostPath incoming = HostPath() / "incoming";
  auto waiting = parts_.files->list(incoming);
  if (!waiting) return waiting.error();
  for (const auto& entry : *waiting) {
    auto moved = move_to_rescued(*parts_.files, incoming / entry.name, "incoming " + entry.name);
    if (!moved) return moved;
  }
  if (auto aside = log.set_damaged_aside(); !aside) return aside;
  loss_ = fmt::format(
      "{} could not be read, and neither they nor any later ones are in the volume; the log was "
      "moved to rescued/",
      log.loss()->words());
  return {};
}

Status Engine::empty_folder(const HostPath& folder) {
  auto abandoned = parts_.files->list(folder);
  if (!abandoned) {
    if (abandoned.error().code == Code::not_found) return {};
    return abandoned.error();
  }
  for (const auto& entry : *abandoned) {
    if (entry.type != HostEntry::Type::file) continue;
    if (auto removed = parts_.files->remove_file(folder / entry.name); !removed) return removed;
  }
  return {};
}

Result<Engine::Hold> Engine::hold() {
  if (being_held_.exchange(true)) {
    return Error{Code::busy, "A snapshot is being taken already. Wait until it is complete."};
  }
  Hold hold(*this);
  {
    const std::unique_lock lock(state_mutex_);
    holding_ = true;
  }
  // What was removed before is gone from the catalogue, too, when this returns.
  if (auto settled = drain(); !settled) return settled.error();
  return hold;
}

void Engine::end_hold() {
  {
    const std::unique_lock lock(state_mutex_);
    holding_ = false;
  }
  // What can't be taken away now goes at the next start.
  if (drain()) static_cast<void>(empty_folder(HostPath() / "held"));
  being_held_ = false;
}

Ticket Engine::change(const std::function<Status(Transaction&)>& make) {
  const std::unique_lock lock(state_mutex_);
  Transaction transaction(state_, parts_.clock(), parts_.secret, holding_);
  if (auto made = make(transaction); !made) {
    transaction.undo();
    return made.error();
  }
  const Ticket ticket = transaction.submission_->ticket;
  submitted(*transaction.submission_);
  committer_->submit(std::move(transaction.submission_));
  return ticket;
}

void Engine::submitted(const Submission& submission) {
  for (const auto& deed : submission.commit.deeds) {
    if (const auto* placed = std::get_if<PlaceFile>(&deed)) {
      unplaced_[number(placed->content)] = placed->bytes;
      if (placed->aside) {
        outstanding_asides_[placed->aside->to.text()] = {next_turn_++, &*placed->aside};
      }
    } else if (const auto* moved = std::get_if<MovePath>(&deed)) {
      outstanding_moves_.push_back({next_turn_++, moved});
    } else if (const auto* made = std::get_if<MakeFolder>(&deed)) {
      outstanding_places_.emplace(made->path.text(), &deed);
    } else if (const auto* removed = std::get_if<RemovePath>(&deed)) {
      outstanding_places_.emplace(removed->path.text(), &deed);
    }
  }
}

void Engine::failed(std::vector<SubmissionPtr> submissions, const Error& why) {
  {
    const std::unique_lock lock(state_mutex_);
    // Whatever was decided after these was decided on what is now taken back.
    for (auto& later : committer_->take_queue()) submissions.push_back(std::move(later));
    for (auto each = submissions.rbegin(); each != submissions.rend(); ++each) {
      for (auto change = (*each)->undo.rbegin(); change != (*each)->undo.rend(); ++change) {
        static_cast<void>(state_.apply(*change));
      }
      for (const auto& deed : (*each)->commit.deeds) forget(deed);
    }
  }
  for (const auto& each : submissions) {
    for (const auto& deed : each->commit.deeds) {
      const auto* placed = std::get_if<PlaceFile>(&deed);
      if (placed != nullptr && !placed->bytes) {
        static_cast<void>(parts_.files->remove_file(incoming_path(placed->content)));
      }
    }
    each->ticket.settle(why);
  }
}

void Engine::forget(const Deed& deed) {
  if (const auto* placed = std::get_if<PlaceFile>(&deed)) {
    unplaced_.erase(number(placed->content));
    if (placed->aside) outstanding_asides_.erase(placed->aside->to.text());
  } else if (const auto* moved = std::get_if<MovePath>(&deed)) {
    std::erase_if(outstanding_moves_, [&](const Outstanding& each) { return each.move == moved; });
  } else {
    const auto* made = std::get_if<MakeFolder>(&deed);
    const HostPath& path = made != nullptr ? made->path : std::get<RemovePath>(deed).path;
    auto [at, end] = outstanding_places_.equal_range(path.text());
    while (at != end && at->second != &deed) ++at;
    if (at != end) outstanding_places_.erase(at);
  }
}

Status Engine::do_deeds(std::span<const Deed* const> deeds, const std::function<Status()>& act) {
  const std::unique_lock place(place_mutex_);
  auto done = act();
  if (!done) return done;
  const std::unique_lock lock(state_mutex_);
  for (const Deed* deed : deeds) forget(*deed);
  return {};
}

void Engine::settled(const std::vector<SubmissionPtr>& submissions) {
  const std::unique_lock lock(state_mutex_);
  for (const auto& each : submissions) {
    for (const auto& deed : each->commit.deeds) forget(deed);
  }
}

void Engine::recount() {
  const std::unique_lock lock(state_mutex_);
  state_.tree.recount();
}

bool Engine::awaits_move(const HostPath& path) const {
  const auto touches = [&](const HostPath& other) {
    return path.is_within(other) || other.is_within(path);
  };
  return std::any_of(
      outstanding_moves_.begin(), outstanding_moves_.end(),
      [&](const Outstanding& each) { return touches(each.move->from) || touches(each.move->to); });
}

bool Engine::is_under_way(const HostPath& path) const {
  return outstanding_places_.count(path.text()) != 0 || awaits_move(path);
}

HostPath Engine::host_path(const State& state, NodeId node) {
  if (node == files_root) return HostPath() / "files";
  if (node == bin_root) return HostPath() / "bin";
  return host_path(state, state.tree.parent(node)) / state.tree.name(node);
}

// Where something is on the host now that will be at `path` once all moves are done there.
HostPath Engine::located(HostPath path) const {
  std::uint64_t before = next_turn_;
  if (const auto aside = outstanding_asides_.find(path.text());
      aside != outstanding_asides_.end()) {
    path = aside->second.move->from;
    before = aside->second.turn;
  }
  for (auto each = outstanding_moves_.rbegin(); each != outstanding_moves_.rend(); ++each) {
    if (each->turn < before) path = path.moved(each->move->to, each->move->from);
  }
  return path;
}

Result<Content> Engine::open_content(const std::function<Result<NodeId>(const State&)>& which) {
  return open_lying([&](const State& state) -> Result<Lying> {
    auto id = which(state);
    if (!id) return id.error();
    const ContentId content = state.tree.get(*id).content;
    if (content == ContentId{}) {
      return Error{Code::damaged,
                   "The file's contents were lost. Save it anew, or ask the keeper for a copy."};
    }
    return Lying{content, host_path(state, *id)};
  });
}

Result<Content> Engine::open_version(const std::function<Result<Version>(const State&)>& which) {
  return open_lying([&](const State& state) -> Result<Lying> {
    auto version = which(state);
    if (!version) return version.error();
    return Lying{version->content, version_path(version->content, version->name)};
  });
}

Result<Content> Engine::open_held(NodeId node, ContentId content) {
  const auto where = [&](const State& state) -> Result<Lying> {
    if (state.tree.has(node) && state.tree.get(node).content == content) {
      return Lying{content, host_path(state, node)};
    }
    const auto version = state.versions.find({node, content});
    if (version != state.versions.end()) {
      return Lying{content, version_path(content, version->second.name)};
    }
    return Lying{content, held_path(content)};
  };
  auto opened = open_lying(where);
  if (opened || opened.error().code != Code::damaged) return opened;
  // Removed before it was even in its place: it is where it belongs once all is settled.
  if (auto settled = drain(); !settled) return settled.error();
  return open_lying(where);
}

Result<Content> Engine::open_held(const Printout& printout) {
  auto path = HostPath::from_record(printout.path);
  if (!path) return path.error();
  const auto where = [&](const State& state) -> Result<Lying> {
    return Lying{ContentId{0},
                 state.printouts.count(printout.job) != 0 ? *path : held_path(printout)};
  };
  auto opened = open_lying(where);
  if (opened || opened.error().code != Code::damaged) return opened;
  if (auto settled = drain(); !settled) return settled.error();
  return open_lying(where);
}

Result<Content> Engine::open_lying(const std::function<Result<Lying>(const State&)>& which) {
  const std::shared_lock place(place_mutex_);
  HostPath path;
  ContentId id{};
  {
    const std::shared_lock lock(state_mutex_);
    auto found = which(state_);
    if (!found) return found.error();
    id = found->content;
    const auto waiting = unplaced_.find(number(found->content));
    if (waiting != unplaced_.end() && waiting->second) return Content(waiting->second, id);
    path = waiting != unplaced_.end() ? incoming_path(found->content)
                                      : located(std::move(found->path));
  }
  auto file = parts_.files->open(path);
  if (!file) {
    if (file.error().code != Code::not_found) return file.error();
    return Error{
        Code::damaged,
        "The file's contents are missing on the host. Tell the keeper; the check says more."};
  }
  return Content(std::move(*file), id);
}

Status Engine::check_space(std::uint64_t bytes, bool by_keeper) {
  auto there = parts_.files->space();
  if (!there) return there.error();
  if (there->free_bytes < (by_keeper ? 0 : parts_.reserve) + bytes) {
    return because(DiskFull{there->free_bytes, parts_.reserve}, Code::no_space,
                   "The disk is nearly full, so nothing more can be saved. Tell the keeper.");
  }
  return {};
}

Result<HostSpace> Engine::space() {
  auto there = parts_.files->space();
  if (!there) return there;
  there->free_bytes -= std::min(there->free_bytes, parts_.reserve);
  return there;
}

std::vector<std::string> Engine::troubles() const {
  std::vector<std::string> out = opening_troubles_;
  for (auto& each : committer_->troubles()) out.push_back(std::move(each));
  return out;
}

}  // namespace stationer::fs
