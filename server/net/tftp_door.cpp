#include "server/net/tftp_door.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/cause.h"
#include "fs/text.h"
#include "server/net/door_address.h"
#include "server/protocol/clean_text.h"

namespace stationer::server {

namespace asio = boost::asio;
using fs::Code;
using fs::Error;
using fs::Status;

namespace {

constexpr std::size_t rounds = 4;             // of hearing, before others have their turn
constexpr std::size_t request_rounds = 32;    // of requests, most of which come again in a crowd
constexpr std::size_t datagrams_a_turn = 16;  // of one transfer
constexpr std::size_t turns_at_once = 64;
constexpr std::chrono::milliseconds deadline_interval{50};
// Blocks that stations may send: they, and what goes before them on the wire, fit one packet of an
// Ethernet (1,500 octets; 20 of IP, 8 of UDP, 4 of TFTP).
constexpr std::size_t largest_block_heard = 1468;
constexpr std::size_t longest_file_shown = 100;  // bytes

// What stands at the front of a path that is meant to begin at the folder.
std::string_view without_slashes(std::string_view name) {
  return name.substr(std::min(name.find_first_not_of('/'), name.size()));
}

// Stations that divide by \ alone mean what others mean by /.
std::string divided(std::string_view name) {
  std::string out(name);
  if (out.find('/') == std::string::npos) std::replace(out.begin(), out.end(), '\\', '/');
  return out;
}

bool lies_in(const Session& session, const fs::Path& path, const fs::Path& folder) {
  if (path.names().size() <= folder.names().size()) return false;
  fs::Path above = path;
  while (above.names().size() > folder.names().size()) above = above.parent();
  const auto one = session.look(above);
  const auto other = session.look(folder);
  return one && other && one->id == other->id;
}

// Where the file is that a station asks for: within the folder, which it may name or not.
fs::Result<fs::Path> meant(Session& session, std::string_view asked, const fs::Path& folder) {
  const std::string name = divided(asked);
  if (name.starts_with('/')) {
    auto whole = session.path(name);
    if (whole && lies_in(session, *whole, folder)) return whole;
  }
  if (auto there = session.go(folder); !there) return there.error();
  auto path = session.path(without_slashes(name));
  if (path && !lies_in(session, *path, folder)) {
    return fs::because(fs::NotForStations{folder.text(), path->text()}, Code::denied,
                       fmt::format("Stations may load from {} only.", folder.text()));
  }
  return path;
}

}  // namespace

std::size_t TftpDoor::HashEndpoint::operator()(const Endpoint& endpoint) const {
  const auto address = endpoint.address();
  const std::size_t host =
      address.is_v4() ? address.to_v4().to_uint() : std::hash<asio::ip::address>()(address);
  return std::hash<std::uint64_t>()(std::uint64_t{host} * 0x9E3779B97F4A7C15U + endpoint.port());
}

TftpDoor::TftpDoor(AsioLoop& loop, Room& room, SharedContents& contents,
                   const TftpDoorConfig& config)
    : loop_(loop),
      room_(room),
      contents_(contents),
      config_(config),
      timer_(loop.context()),
      self_(std::make_shared<TftpDoor*>(this)) {}

TftpDoor::~TftpDoor() {
  *self_ = nullptr;
}

fs::Result<std::unique_ptr<TftpDoor>> TftpDoor::open(AsioLoop& loop, Room& room,
                                                     SharedContents& contents,
                                                     const TftpDoorConfig& config) {
  std::unique_ptr<TftpDoor> door(new TftpDoor(loop, room, contents, config));
  auto main = Datagrams::open(loop, door->datagrams_, "tftp", config, config.port);
  if (!main) return main.error();
  door->door_ = std::move(*main);
  for (std::size_t i = 0; i < ports; ++i) {
    auto further = Datagrams::open(loop, door->datagrams_, "tftp", config, 0);
    if (!further) return further.error();
    door->ports_.push_back(std::move(*further));
  }
  door->listen();
  for (std::size_t i = 0; i < ports; ++i) door->listen(i);
  return door;
}

std::string TftpDoor::address() const {
  return door_->local().address().to_string();
}

std::uint16_t TftpDoor::port() const {
  return door_->local().port();
}

void TftpDoor::close() {
  door_->close();
}

void TftpDoor::listen() {
  door_->wait([self = self_] {
    if (*self == nullptr) return;
    TftpDoor& door = **self;
    for (std::size_t round = 0; round < request_rounds; ++round) {
      // What is heard is kept where the next hearing puts its own; nothing in between hears.
      const auto heard = door.door_->hear();
      for (const auto& each : heard) door.request(each);
      door.door_->flush();
      if (heard.size() < DatagramRoom::most) break;
    }
    door.listen();
  });
}

void TftpDoor::listen(std::size_t port) {
  ports_[port]->wait([self = self_, port] {
    if (*self == nullptr) return;
    TftpDoor& door = **self;
    Datagrams& socket = *door.ports_[port];
    for (std::size_t round = 0; round < rounds; ++round) {
      const auto heard = socket.hear();
      for (const auto& each : heard) door.packet(socket, each);
      socket.flush();
      if (heard.size() < DatagramRoom::most) break;
    }
    door.listen(port);
  });
}

void TftpDoor::request(const Datagrams::Heard& heard) {
  if (turns_away(config_, heard.at)) return;
  const auto packet = tftp::read(heard.octets);
  if (std::holds_alternative<tftp::Error>(packet)) return;
  const TftpLine line{ports_[pick_() % ports].get(), heard.from, heard.at};
  const auto* request = std::get_if<tftp::Request>(&packet);
  if (request == nullptr || heard.octets.size() > tftp::most_request) {
    const auto* malformed = std::get_if<tftp::Malformed>(&packet);
    line.say(tftp::error(tftp::ErrorCode::illegal,
                         malformed != nullptr ? malformed->why : "Begin with a request."));
    return;
  }
  if (const auto there = by_peer_.find(heard.from); there != by_peer_.end()) {
    const HeldPtr held = all_[there->second->index];
    if (held->transfer->is_begun_by(*request, loop_.now())) return;
    end(held);
  }
  const std::string address = heard.from.address().to_string();
  if (auto begun = begin(*request, address, line); !begun) {
    line.say(tftp::error(tftp_code(begun.error()), begun.error().message));
    note_failure(address, std::string(request->file), request->write, begun.error());
  }
}

Status TftpDoor::begin(const tftp::Request& request, const std::string& address,
                       const TftpLine& line) {
  const auto there = by_address_.find(address);
  if (all_.size() >= config_.most ||
      (there != by_address_.end() && there->second >= config_.most_per_address)) {
    return Error{Code::busy, "Too many transfers are going on. Try again in a minute."};
  }
  if (auto fine = room_.stations.admit(address, "tftp"); !fine) return fine;
  const Profile& profile = room_.stations.profile_at(address);
  auto session = std::make_unique<Session>(room_, "tftp", address);
  TftpLimits limits;
  limits.block_after_last = profile.block_after_last;
  session->use_names(fs::StationNames(*profile.names));
  auto held = std::make_shared<Held>();
  held->address = address;
  auto transfer = request.write ? begin_receiving(request, std::move(session), line, held, limits)
                                : begin_sending(request, *session, line, held, limits);
  if (!transfer) return transfer.error();
  held->transfer = std::move(*transfer);
  held->index = all_.size();
  by_peer_[line.peer] = held.get();
  ++by_address_[address];
  all_.push_back(held);
  go_on(held);
  watch_deadlines();
  return {};
}

fs::Result<std::unique_ptr<TftpTransfer>> TftpDoor::begin_sending(const tftp::Request& request,
                                                                  Session& session,
                                                                  const TftpLine& line,
                                                                  const HeldPtr& held,
                                                                  const TftpLimits& limits) {
  // What the keeper gives to a station may lie anywhere.
  const auto station = room_.stations.at(session.address());
  const std::string* given = station ? station->given(request.file) : nullptr;
  const auto path =
      given != nullptr ? session.path(*given) : meant(session, request.file, config_.folder);
  if (!path) return path.error();
  const auto view = session.look(*path);
  if (!view) {
    // The keeper hears it when the file lies elsewhere; the station has no business there.
    const auto elsewhere = session.path(divided(request.file));
    const bool is_there = request.file.starts_with('/') && elsewhere && session.look(*elsewhere);
    if (given != nullptr || !is_there) return view.error();
    return fs::because(fs::NotForStations{config_.folder.text(), elsewhere->text()}, view.error());
  }
  // Who else reads it has it open.
  SharedContents::OpenPtr content = view->may_read ? contents_.find(view->content) : nullptr;
  if (!content) {
    auto opened = session.open(*path);
    if (!opened) return opened.error();
    const auto size = opened->size();
    if (!size) return size.error();
    content = contents_.add(std::move(*opened), *size);
  }
  return send_by_tftp(contents_, std::move(content), request, limits, line, loop_.now(),
                      wake(held));
}

fs::Result<std::unique_ptr<TftpTransfer>> TftpDoor::begin_receiving(
    const tftp::Request& request, std::unique_ptr<Session> session, const TftpLine& line,
    const HeldPtr& held, const TftpLimits& limits) {
  if (!config_.hand_in) {
    return fs::because(fs::SettingSays{"hand_in under [door.tftp]", "names no hand-in folder"},
                       Code::denied, "Stations may only load here, not save.");
  }
  if (!room_.stations.at(session->address())) {
    return fs::because(fs::DoorShut{"", session->address(), "tftp"}, Code::denied,
                       "This station is not known, and may only load. Ask the keeper to add it.");
  }
  // Whoever sits there hands it in; else it is taken for the account that the settings name.
  fs::AccountId account = room_.person_at(session->address());
  if (account == fs::no_account && !config_.hand_in_for.empty()) {
    const auto named = room_.volume.people().account(config_.hand_in_for);
    if (named) account = named->id;
  }
  if (account == fs::no_account) {
    return fs::because(
        fs::SettingSays{"hand_in_for under [door.tftp]", "names no account to hand in for"},
        Code::denied, "Nobody is signed in at this station, so it is nobody's work.");
  }
  if (auto allowed = session->work_for(account); !allowed) return allowed.error();
  if (const auto size = announced_size(request)) {
    const auto space = session->space();
    if (!space) return space.error();
    if (*size > space->free_bytes) {
      return Error{Code::over_quota, "The file is larger than what is free."};
    }
  }
  const auto folder = session->hand_in_folder(config_.hand_in->text());
  if (!folder) return folder.error();
  if (auto there = session->go(*config_.hand_in); !there) return there.error();
  const std::string name = divided(request.file);
  const auto path = session->path(std::string_view(name).substr(name.find_last_of('/') + 1));
  if (!path) return path.error();
  fs::SaveOptions options;
  options.replace = true;
  options.kind = request.netascii ? fs::Kind::text : fs::Kind::data;
  auto upload = session->save(*path, options);
  if (!upload) return upload.error();
  return receive_by_tftp(std::move(session), std::move(*upload), request, limits, line, loop_.now(),
                         wake(held));
}

void TftpDoor::packet(Datagrams& socket, const Datagrams::Heard& heard) {
  const auto packet = tftp::read(heard.octets);
  const auto there = by_peer_.find(heard.from);
  if (there == by_peer_.end() || there->second->transfer->line().socket != &socket) {
    // The last word of a transfer may be heard after the request for the next one, which went to
    // another port of ours.
    if (there != by_peer_.end() && there->second->transfer->is_new()) return;
    // RFC 1350 §4: told, and the transfer it may disturb is not. What is an error itself gets none.
    if (!std::holds_alternative<tftp::Error>(packet)) {
      socket.say(heard.from, heard.at,
                 tftp::error(tftp::ErrorCode::unknown_transfer, "There is no such transfer."));
    }
    return;
  }
  const HeldPtr held = all_[there->second->index];
  held->transfer->heard(packet, loop_.now());
  go_on(held);
}

void TftpDoor::go_on(const HeldPtr& held) {
  const bool more = held->transfer->say(datagrams_a_turn, loop_.now());
  if (held->transfer->state() != TftpTransfer::State::going) return end(held);
  if (!more || held->waits_for_turn) return;
  held->waits_for_turn = true;
  turns_.push_back(held);
  if (turns_.size() == 1) give_turns_soon();
}

void TftpDoor::give_turns_soon() {
  loop_.post([self = self_] {
    if (*self != nullptr) (*self)->give_turns();
  });
}

// Those that have much to say, one after the other, and between them everything else of the loop.
void TftpDoor::give_turns() {
  for (std::size_t i = std::min(turns_.size(), turns_at_once); i > 0; --i) {
    const HeldPtr held = std::move(turns_.front());
    turns_.pop_front();
    held->waits_for_turn = false;
    if (!held->gone) go_on(held);
  }
  door_->flush();
  if (!turns_.empty()) give_turns_soon();
}

TftpWake TftpDoor::wake(const HeldPtr& held) {
  return [self = self_, weak = std::weak_ptr<Held>(held)] {
    const HeldPtr woken = weak.lock();
    if (*self == nullptr || !woken || woken->gone) return;
    woken->transfer->woken();
    (*self)->go_on(woken);
    (*self)->flush_soon();
  };
}

// Many are woken one after the other.
void TftpDoor::flush_soon() {
  if (std::exchange(flush_due_, true)) return;
  loop_.post([self = self_] {
    if (*self == nullptr) return;
    (*self)->flush_due_ = false;
    (*self)->door_->flush();
  });
}

void TftpDoor::end(const HeldPtr& held) {
  const TftpTransfer& transfer = *held->transfer;
  if (transfer.state() == TftpTransfer::State::failed) {
    note_failure(held->address, transfer.file(), transfer.writes(), {Code::io, transfer.failure()});
  }
  held->gone = true;
  by_peer_.erase(transfer.line().peer);
  const auto address = by_address_.find(held->address);
  if (--address->second == 0) by_address_.erase(address);
  all_.back()->index = held->index;
  std::swap(all_[held->index], all_.back());
  all_.pop_back();
}

void TftpDoor::note_failure(const std::string& address, const std::string& file, bool saving,
                            const fs::Error& error) {
  std::string shown(fs::clip(clean_text(file), longest_file_shown));
  const fs::Time now = room_.volume.now();
  Refusal refusal{now, fs::no_account, "tftp", address, saving ? "save" : "load", shown, error};
  room_.refusals.add_if_new(std::move(refusal));
  if (!room_.refusals.is_for_journal(address, now)) return;
  const fs::Caller station{fs::no_account, false, "tftp " + address};
  static_cast<void>(room_.volume.desk().note(station, saving ? "saving failed" : "loading failed",
                                             std::move(shown), error.message));
}

void TftpDoor::watch_deadlines() {
  if (watching_ || all_.empty()) return;
  watching_ = true;
  timer_.expires_after(deadline_interval);
  timer_.async_wait([self = self_](const boost::system::error_code& failed) {
    if (failed || *self == nullptr) return;
    TftpDoor& door = **self;
    const Time now = door.loop_.now();
    // From the end, because those that end are replaced by the last.
    for (std::size_t i = door.all_.size(); i > 0; --i) {
      const HeldPtr held = door.all_[i - 1];
      if (held->transfer->deadline() > now) continue;
      held->transfer->tick(now);
      door.go_on(held);
    }
    door.door_->flush();
    door.watching_ = false;
    door.watch_deadlines();
  });
}

}  // namespace stationer::server
