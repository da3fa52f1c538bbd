#include "server/net/ftp_door.h"

#include <algorithm>
#include <utility>

#include <fmt/format.h>
#include <spdlog/spdlog.h>

#include "fs/text.h"
#include "server/net/ftp_data.h"
#include "server/net/ftp_names.h"
#include "server/protocol/ftp.h"
#include "server/protocol/ftp_text.h"
#include "server/saving_behind.h"
#include "server/session.h"
#include "server/terminal/space_words.h"

namespace stationer::server {
namespace {

using fs::Code;
using fs::Error;

constexpr std::chrono::seconds connecting{30};  // until a data connection is there
constexpr std::size_t piece_size = std::size_t{256} * 1024;
constexpr std::size_t most_by_host = std::size_t{4} << 20;  // at a time, for others to have theirs
constexpr std::size_t small_file = 64 * 1024;  // sent at once, where the system has room for it
constexpr std::size_t most_in_reply = 1000;    // names, where a listing comes as a reply
constexpr std::uint64_t most_counted = std::uint64_t{64} << 20;  // of a text, to tell its size
constexpr int most_tried = 999;                                  // names for STOU

boost::asio::ip::address address_of(const std::string& text) {
  boost::system::error_code ignored;
  const auto address = boost::asio::ip::make_address(text, ignored);
  if (!address.is_v6() || !address.to_v6().is_v4_mapped()) return address;
  return boost::asio::ip::make_address_v4(boost::asio::ip::v4_mapped, address.to_v6());
}

// How a transfer went.
struct Outcome {
  explicit Outcome(Ftp::End how_) : how(how_) {}
  explicit Outcome(Error error_) : how(Ftp::End::failed), error(std::move(error_)) {}

  Ftp::End how;
  std::string text;
  std::optional<Error> error;
};

class FtpConnection : public Connection {
 public:
  FtpConnection(Room& room, FtpHall& hall, const Profile& profile, std::unique_ptr<Stream> stream)
      : room_(room),
        hall_(hall),
        profile_(profile),
        stream_(std::move(stream)),
        session_(room, "ftp", stream_->address()),
        ftp_(setup(), room.loop.now()),
        data_(hall.loop().context(), address_of(stream_->own_address()),
              address_of(stream_->address())) {
    // UTF-8 as it is; a kind of machine that can't have that has a style that says so.
    session_.use_names(fs::StationNames(*profile.names, {}, profile.screen.capitals));
    session_.on_sent_home = [this](const std::string& why) {
      sent_home_ = why;
      end_transfer();
      later_wake();
    };
  }

  Task<void> run() override {
    stream_->watch_urgent();
    stream_->give_up_after(hall_.config().idle);
    if (auto fine = room_.stations.admit(stream_->address(), "ftp"); !fine) {
      co_await act_on(ftp_.say_good_bye(fine.error().message));
      stream_->end_output();
      co_return;
    }
    co_await send(ftp_.greeting());
    while (open_) {
      if (!sent_home_.empty()) {
        co_await act_on(ftp_.say_good_bye(sent_home_));
        break;
      }
      if (outcome_) {
        co_await act_on(transfer_ended());
        continue;
      }
      if (!input_.empty() && ftp_.takes_input()) {
        auto step = ftp_.feed(input_, room_.loop.now());
        input_.erase(0, step.used);
        co_await act_on(std::move(step));
        continue;
      }
      if (no_more_input_ && !ftp_.transferring()) break;
      co_await hear();
    }
    end_transfer();
    if (stream_) stream_->end_output();
  }

  void stopping() override {
    if (sending_) return;
    static_cast<void>(stream_->write("421 The service is stopping. Good-bye.\r\n"));
  }

 private:
  Ftp::Setup setup() const {
    Ftp::Setup setup;
    setup.greeting = fmt::format("{}. Sign in by USER and PASS.", room_.volume.name());
    setup.peer = {address_of(stream_->address()), stream_->port()};
    setup.guests = hall_.config().guests;
    setup.idle = hall_.config().idle;
    setup.tls = hall_.tls() != nullptr;
    setup.needs_tls = hall_.config().needs_tls;
    return setup;
  }

  // ---- the control connection ----

  // What comes by it, or the end of a transfer.
  Task<void> hear() {
    if (!ftp_.takes_input() || no_more_input_) {
      co_await stream_->pause(room_.loop.now() + hall_.config().idle);
      co_return;
    }
    auto read = co_await stream_->read(ftp_.deadline());
    switch (read.end) {
      case Stream::Read::End::none: input_ += read.bytes; break;
      case Stream::Read::End::orderly:
        // Whoever has gone is not there to hear that an upload is complete; and what looks like its
        // end may be that of the client.
        no_more_input_ = true;
        if (uploading_) open_ = false;
        break;
      case Stream::Read::End::broken: open_ = false; break;
      case Stream::Read::End::deadline: co_await act_on(ftp_.tick(room_.loop.now())); break;
      case Stream::Read::End::woken: break;
    }
  }

  // Sends, does what is asked for, and goes on with the step that the answer brings.
  Task<void> act_on(Ftp::Step step) {
    while (open_) {
      if (step.close) open_ = false;
      if (!step.send.empty()) co_await send(std::move(step.send));
      // Not before its reply is out.
      if (std::exchange(begins_, false)) transfer_.start();
      if (!step.request) co_return;
      auto request = std::move(*step.request);
      auto answered = std::visit([this](auto& each) { return answer(each); }, request);
      step = co_await std::move(answered);
    }
  }

  Task<void> send(std::string bytes) {
    sending_ = true;
    const bool sent = co_await stream_->write(std::move(bytes));
    sending_ = false;
    if (!sent) open_ = false;
  }

  Time now() const { return room_.loop.now(); }

  Ftp::Step refuse(const Error& error) {
    session_.told(error);
    return ftp_.refuse(error, now());
  }

  Ftp::Step answer_to(const fs::Status& status) {
    return status ? ftp_.accept(now()) : refuse(status.error());
  }

  // What was told since, a line each.
  std::string told() {
    std::string out;
    for (const auto& each : session_.take_told()) out += "\n" + each;
    return out;
  }

  // ---- who, and where ----

  Task<Ftp::Step> answer(Ftp::SignIn& request) {
    session_.doing("signing in");
    const auto proved =
        co_await session_.sign_in(std::move(request.name), std::move(request.password));
    session_.doing("");
    if (!proved) co_return refuse(proved.error());
    std::string text = fmt::format("Welcome, {}.", session_.name());
    const auto space = session_.space();
    if (space && space->fullness != fs::Fullness::roomy) text += "\n" + space_warning(*space);
    co_return ftp_.accept(now(), text + told());
  }

  Task<Ftp::Step> answer(Ftp::SignOut&) {
    session_.sign_out();
    co_return Ftp::Step();
  }

  Task<Ftp::Step> answer(Ftp::OpenPort&) {
    const auto port = data_.listen();
    if (!port) co_return refuse(port.error());
    co_return ftp_.listening(*port, now());
  }

  Task<Ftp::Step> answer(Ftp::StartTls&) {
    session_.sign_out();
    // What came in the clear behind AUTH may be somebody else's.
    input_.clear();
    sending_ = true;
    stream_ = co_await hall_.tls()->begin(std::move(stream_), now() + connecting);
    sending_ = false;
    if (!stream_) open_ = false;
    co_return Ftp::Step();
  }

  // ---- the tree ----

  fs::Result<fs::Path> path(std::string_view typed) const {
    if (typed.empty()) return session_.here();
    return session_.path(typed);
  }

  Task<Ftp::Step> answer(Ftp::Ask& ask) {
    using What = Ftp::Ask::What;
    const auto at = path(ask.path);
    if (!at) co_return refuse(at.error());
    switch (ask.what) {
      case What::change_folder: co_return answer_to(session_.go(*at));
      case What::where: co_return ftp_.answer(session_.shown(*at).text(), now());
      case What::make_folder: {
        const auto made = co_await session_.make_folder(*at);
        if (!made) co_return refuse(made.error());
        co_return ftp_.answer(session_.shown(*at).text(), now());
      }
      case What::remove_folder: {
        if (auto fine = check_removable(*at); !fine) co_return answer_to(fine);
        const auto removed = co_await session_.remove(*at);
        co_return answer_to(removed);
      }
      default: break;
    }
    const auto view = session_.look(*at);
    if (!view) co_return refuse(view.error());
    switch (ask.what) {
      case What::find: co_return ftp_.accept(now());
      case What::facts: {
        const std::string facts = ftp_.facts().of(*view, may_write(at->parent()));
        co_return ftp_.answer(facts + " " + session_.shown(*at).text(), now());
      }
      case What::listing: co_return answer_listing(ask.path);
      default: break;
    }
    if (view->folder) {
      const Error is_folder(Code::is_a_folder, fmt::format("{} is a folder.", at->text()));
      co_return refuse(is_folder);
    }
    if (ask.what == What::time) co_return ftp_.answer(ftp_time(view->modified), now());
    if (ask.what == What::remove_file) {
      const auto removed = co_await session_.remove(*at);
      co_return answer_to(removed);
    }
    std::uint64_t size = view->size;
    if (ask.ascii) {
      const auto counted = co_await text_size(*at);
      if (!counted) co_return refuse(counted.error());
      size = *counted;
    }
    co_return ftp_.answer(fmt::format("{}", size), now());
  }

  Task<Ftp::Step> answer(Ftp::Rename& request) {
    const auto from = path(request.from);
    if (!from) co_return refuse(from.error());
    const auto to = path(request.to);
    if (!to) co_return refuse(to.error());
    const auto moved = co_await session_.move(*from, *to);
    co_return answer_to(moved);
  }

  bool may_write(const fs::Path& folder) const {
    const auto view = session_.look(folder);
    return view && view->may_write;
  }

  // Other systems' clients count on a folder that holds something to stay.
  fs::Status check_removable(const fs::Path& folder) const {
    const auto view = session_.look(folder);
    if (!view) return view.error();
    if (!view->folder) {
      return Error{Code::not_a_folder, fmt::format("{} is a file.", folder.text())};
    }
    const auto inside = session_.list(folder);
    if (inside && !inside->empty()) {
      return Error{Code::denied, fmt::format("{} is not empty.", folder.text())};
    }
    return {};
  }

  // How long a text is on its way.
  Task<fs::Result<std::uint64_t>> text_size(fs::Path file) {
    const auto content = session_.open(file);
    if (!content) co_return content.error();
    FtpTextSize text(profile_.screen.ending);
    for (std::uint64_t at = 0;;) {
      if (at > most_counted) {
        co_return Error(Code::busy, "That is too long to count as a text. Ask again in type I.");
      }
      auto piece = co_await session_.read(*content, at, piece_size);
      if (!piece) co_return piece.error();
      if (piece->empty()) co_return text.size();
      text.feed(*piece);
      at += piece->size();
    }
  }

  // ---- transfers ----

  Task<Ftp::Step> answer(Ftp::Transfer& request) {
    using What = Ftp::Transfer::What;
    switch (request.what) {
      case What::send: co_return co_await begin_send(request);
      case What::save:
      case What::append:
      case What::save_new: co_return begin_save(request);
      default: co_return begin_list(request);
    }
  }

  Task<Ftp::Step> answer(Ftp::Abort&) {
    end_transfer();
    co_return Ftp::Step();
  }

  Ftp::Step begin(std::string_view text, Task<Outcome> transfer) {
    transfer_ = carry(std::move(transfer));
    begins_ = true;
    return ftp_.begin(text);
  }

  Task<void> carry(Task<Outcome> transfer) {
    Outcome outcome(Ftp::End::failed);
    try {
      outcome = co_await std::move(transfer);
    } catch (const std::exception& bug) {
      spdlog::error("A transfer at the ftp door ended by a fault in the program: {}", bug.what());
      outcome.text = "That failed for a fault in the program.";
    }
    outcome_ = std::move(outcome);
    later_wake();
  }

  Ftp::Step transfer_ended() {
    const auto outcome = std::exchange(outcome_, std::nullopt);
    end_transfer();
    if (outcome->error) return ftp_.end(*outcome->error, now());
    return ftp_.end(outcome->how, outcome->text, now());
  }

  void end_transfer() {
    transfer_ = {};
    data_.close();
    begins_ = false;
    outcome_.reset();
    uploading_ = false;
    session_.doing("");
  }

  // Not from inside what has ended.
  void later_wake() {
    room_.loop.post([alive = std::weak_ptr<int>(alive_), this] {
      if (!alive.expired() && stream_) stream_->wake();
    });
  }

  Task<std::unique_ptr<Stream>> open_data(const Ftp::Transfer& request) {
    auto data = co_await data_.open(request.active, now() + connecting);
    if (data && request.secret) {
      data = co_await hall_.tls()->begin(std::move(data), now() + connecting);
    }
    if (data) {
      data->carry(true);
      data->give_up_after(hall_.config().idle);
    }
    co_return data;
  }

  // ---- to the client ----

  Task<Ftp::Step> begin_send(Ftp::Transfer& request) {
    const auto at = path(request.path);
    if (!at) co_return refuse(at.error());
    auto content = session_.open(*at);
    if (!content) co_return refuse(content.error());
    const auto size = content->size();
    if (!size) co_return refuse(size.error());
    std::uint64_t length = *size;
    if (request.ascii && request.offset > 0) {
      const auto counted = co_await text_size(*at);
      if (!counted) co_return refuse(counted.error());
      length = *counted;
    }
    if (request.offset > length) {
      const Error beyond(Code::bad_input,
                         fmt::format("{} has {} octets only.", at->text(), length));
      co_return refuse(beyond);
    }
    const std::string text =
        fmt::format("Here it comes, {} octets.", *size - (request.ascii ? 0 : request.offset));
    if (*size <= small_file && !request.active && !request.secret) {
      std::uint64_t sent = 0;
      if (send_at_once(*content, *size, request, sent)) {
        auto step = ftp_.begin(text);
        auto ended = ftp_.end(Ftp::End::done, "", now());
        ended.send.insert(0, step.send);
        co_return ended;
      }
      if (sent > 0) skip_ = sent;
    }
    session_.doing("fetch");
    co_return begin(text, send_content(std::move(*content), request, std::exchange(skip_, 0)));
  }

  // What a small file becomes on the line, from the offset on.
  std::string on_the_line(std::string bytes, const Ftp::Transfer& request) const {
    if (!request.ascii) return bytes;
    std::string out;
    FtpTextOut text(profile_.screen.ending);
    text.feed(bytes, out);
    text.finish(out);
    out.erase(0, request.offset);
    return out;
  }

  // A small file whose client is waiting for it already is no work for later; false when it is, and
  // then `sent` octets are out.
  bool send_at_once(const fs::Content& content, std::uint64_t size, const Ftp::Transfer& request,
                    std::uint64_t& sent) {
    const std::uint64_t from = request.ascii ? 0 : request.offset;
    auto bytes = session_.read_now(content, from, static_cast<std::size_t>(size - from));
    if (!bytes) return false;
    const std::string line = on_the_line(std::move(*bytes), request);
    const auto done = data_.send_now(line);
    sent = done.value_or(0);
    return done && *done == line.size();
  }

  // `skip`: octets on the line, from the offset on, that are out already.
  Task<Outcome> send_content(fs::Content content, Ftp::Transfer request, std::uint64_t skip) {
    auto data = co_await open_data(request);
    if (!data) co_return Outcome(Ftp::End::no_connection);
    std::uint64_t at = request.ascii ? 0 : request.offset + skip;
    if (!request.ascii) {
      bool sent = false;
      if (auto failed = co_await send_by_host(content, at, *data, sent)) co_return *failed;
      if (sent) co_return Outcome(Ftp::End::done);
    }
    FtpTextOut text(profile_.screen.ending);
    if (request.ascii) skip += request.offset;
    for (bool ended = false; !ended;) {
      auto piece = co_await session_.read(content, at, piece_size);
      if (!piece) co_return Outcome(piece.error());
      at += piece->size();
      ended = piece->empty();
      std::string line;
      if (request.ascii) {
        text.feed(*piece, line);
        if (ended) text.finish(line);
        const auto skipped = std::min<std::uint64_t>(skip, line.size());
        line.erase(0, skipped);
        skip -= skipped;
      } else {
        line = std::move(*piece);
      }
      if (line.empty()) continue;
      const std::size_t octets = line.size();
      const bool written = co_await data->write(std::move(line));
      if (!written) co_return Outcome(Ftp::End::broken);
      ftp_.moved(octets);
    }
    data->end_output();
    co_return Outcome(Ftp::End::done);
  }

  // Without the octets coming by here, where host and connection allow that.
  Task<std::optional<Outcome>> send_by_host(const fs::Content& content, std::uint64_t at,
                                            Stream& data, bool& sent_all) {
    const auto socket = data.descriptor();
    if (!socket) co_return std::nullopt;
    for (;;) {
      const auto sent = co_await session_.send(content, at, most_by_host, socket);
      if (!sent && sent.error().code == Code::busy) {
        const bool more = co_await data.writable();
        if (!more) co_return Outcome(Ftp::End::broken);
        continue;
      }
      if (!sent && sent.error().code == Code::denied) co_return std::nullopt;
      if (!sent) co_return Outcome(Ftp::End::broken);
      if (*sent == 0) break;
      at += *sent;
      ftp_.moved(*sent);
    }
    data.end_output();
    sent_all = true;
    co_return std::nullopt;
  }

  // ---- from the client ----

  Ftp::Step begin_save(Ftp::Transfer& request) {
    using What = Ftp::Transfer::What;
    std::string text = "Send it.";
    auto at = path(request.path);
    if (at && request.what == What::save_new) {
      at = free_name(request.path);
      // RFC 1123 §4.1.2.9
      if (at) text = fmt::format("FILE: {}", session_.shown(*at).last());
    }
    if (!at) return refuse(at.error());
    fs::SaveOptions options;
    options.replace = request.what != What::save_new;
    std::optional<fs::Content> former;
    std::uint64_t keep = 0;  // of what it has
    if (const auto there = session_.look(*at); there && !there->folder) {
      options.kind = there->kind;
      options.load_address = there->load_address;
      options.entry_point = there->entry_point;
      keep = request.what == What::append ? there->size : request.offset;
      if (keep > there->size) return refuse(beyond(*at, there->size));
    } else if (request.offset > 0) {
      return refuse(beyond(*at, 0));
    }
    if (request.ascii) {
      if (request.offset > 0) {
        return ftp_.refuse({Code::bad_input, "An upload goes on from an octet in type I only."},
                           now());
      }
      options.kind = fs::Kind::text;
    }
    if (keep > 0) {
      auto content = session_.open(*at);
      if (!content) return refuse(content.error());
      former = std::move(*content);
    }
    auto upload = session_.save(*at, options);
    if (!upload) return refuse(upload.error());
    session_.doing("save");
    uploading_ = true;
    return begin(text, take_content(std::move(*upload), std::move(former), keep, request));
  }

  static Error beyond(const fs::Path& file, std::uint64_t size) {
    return {Code::bad_input, fmt::format("{} has {} octets only.", file.text(), size)};
  }

  fs::Result<fs::Path> free_name(std::string_view wish) const {
    for (int number = 0; number <= most_tried; ++number) {
      const std::string stem(wish.empty() ? "new" : wish);
      const auto name = number == 0 && !wish.empty() ? stem : fmt::format("{}{}", stem, number);
      auto at = session_.path(name);
      if (!at || !session_.look(*at)) return at;
    }
    return Error{Code::exists, "No name is free for that any more."};
  }

  Task<Outcome> take_content(Session::UploadPtr upload, std::optional<fs::Content> former,
                             std::uint64_t keep, Ftp::Transfer request) {
    auto data = co_await open_data(request);
    if (!data) co_return Outcome(Ftp::End::no_connection);
    SavingBehind behind(session_, upload);
    for (std::uint64_t at = 0; at < keep;) {
      const auto most = std::min<std::uint64_t>(piece_size, keep - at);
      auto piece = co_await session_.read(*former, at, static_cast<std::size_t>(most));
      if (!piece) co_return Outcome(piece.error());
      if (piece->empty()) co_return Outcome(Error{Code::damaged, "The file has become shorter."});
      at += piece->size();
      auto added = co_await behind.add(std::move(*piece));
      if (!added) co_return Outcome(added.error());
    }
    FtpTextIn text(profile_.screen.ending);
    for (bool ended = false; !ended;) {
      auto read = co_await data->read(now() + hall_.config().idle);
      ended = read.end == Stream::Read::End::orderly;
      if (!ended && read.end != Stream::Read::End::none) co_return Outcome(Ftp::End::broken);
      ftp_.moved(read.bytes.size());
      std::string bytes = std::move(read.bytes);
      if (request.ascii) bytes = ended ? text.finish() : text.feed(bytes);
      if (bytes.empty()) continue;
      auto added = co_await behind.add(std::move(bytes));
      if (!added) co_return Outcome(added.error());
    }
    auto saved = co_await behind.done();
    if (!saved) co_return Outcome(saved.error());
    data.reset();
    // A client that was ended by force ends all its connections, the control connection first: that
    // is heard before its file is taken for complete.
    Later<bool> soon;
    room_.loop.post([soon] { soon.bring(true); });
    co_await soon;
    auto finished = co_await session_.finish(upload);
    if (!finished) co_return Outcome(finished.error());
    Outcome done(Ftp::End::done);
    done.text = "It is saved." + told();
    co_return done;
  }

  // ---- listings ----

  Ftp::Step answer_listing(const std::string& typed) {
    auto found = FtpNames::find(session_, hall_, typed);
    if (!found) return refuse(found.error());
    if (found->count() > most_in_reply) {
      return ftp_.refuse({Code::busy, "That is too long for a reply: use LIST."}, now());
    }
    std::string text;
    const FtpNames::Form as_listed{Ftp::Transfer::What::list, ftp_.facts(), LineEnding::lf,
                                   room_.volume.now()};
    for (std::size_t next = 0; next < found->count();) {
      auto [lines, after] = found->lines(as_listed, next);
      text += lines;
      next = after;
    }
    return ftp_.answer(text, now());
  }

  Ftp::Step begin_list(Ftp::Transfer& request) {
    if (request.what == Ftp::Transfer::What::facts) {
      const auto at = path(request.path);
      const auto view = at ? session_.look(*at) : fs::Result<fs::NodeView>(at.error());
      if (view && !view->folder) {
        return ftp_.refuse({Code::not_a_folder, "MLSD is for folders; MLST tells of a file."},
                           now());
      }
    }
    auto found = FtpNames::find(session_, hall_, request.path);
    if (!found) return refuse(found.error());
    if (found->are_too_many()) {
      return ftp_.refuse({Code::busy, "Too much is being listed. Try again in a moment."}, now());
    }
    std::string text = fmt::format("Here are {} names.", found->count());
    if (found->count() <= listing_at_once && !request.active && !request.secret) {
      const std::string lines = found->lines(form(request.what), 0).first;
      const auto sent = data_.send_now(lines);
      if (sent && *sent == lines.size()) {
        auto step = ftp_.begin(text);
        auto ended = ftp_.end(Ftp::End::done, "", now());
        ended.send.insert(0, step.send);
        return ended;
      }
      skip_ = sent.value_or(0);
    }
    session_.doing("list");
    return begin(text, send_listing(std::move(*found), request, std::exchange(skip_, 0)));
  }

  FtpNames::Form form(Ftp::Transfer::What what) const {
    // MLSD is the same for all (RFC 3659 §7.2).
    const bool same = what == Ftp::Transfer::What::facts;
    return {what, ftp_.facts(), same ? LineEnding::cr_lf : profile_.screen.ending,
            room_.volume.now()};
  }

  Task<Outcome> send_listing(FtpNames names, Ftp::Transfer request, std::uint64_t skip) {
    auto data = co_await open_data(request);
    if (!data) co_return Outcome(Ftp::End::no_connection);
    for (std::size_t next = 0; next < names.count();) {
      auto [lines, after] = names.lines(form(request.what), next);
      next = after;
      lines.erase(0, std::exchange(skip, 0));
      const std::size_t octets = lines.size();
      const bool written = co_await data->write(std::move(lines));
      if (!written) co_return Outcome(Ftp::End::broken);
      ftp_.moved(octets);
    }
    data->end_output();
    co_return Outcome(Ftp::End::done);
  }

  static constexpr std::size_t listing_at_once = 100;  // names

  Room& room_;
  FtpHall& hall_;
  const Profile& profile_;
  std::unique_ptr<Stream> stream_;
  std::shared_ptr<int> alive_ = std::make_shared<int>(0);
  Session session_;
  Ftp ftp_;
  FtpData data_;
  std::string input_;  // not taken yet
  bool open_ = true;
  bool sending_ = false;
  bool begins_ = false;  // transfer_ is to be started
  bool no_more_input_ = false;
  std::string sent_home_;  // why
  bool uploading_ = false;
  std::uint64_t skip_ = 0;
  std::optional<Outcome> outcome_;
  Task<void> transfer_;  // the last: it goes first
};

}  // namespace

std::unique_ptr<Connection> make_ftp_connection(Room& room, FtpHall& hall, const Profile& profile,
                                                std::unique_ptr<Stream> stream) {
  return std::make_unique<FtpConnection>(room, hall, profile, std::move(stream));
}

}  // namespace stationer::server
