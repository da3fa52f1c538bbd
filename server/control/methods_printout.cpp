// Printouts: the PDFs that came of print jobs, in their owners' trays or unclaimed.
#include <array>
#include <limits>

#include <fmt/format.h>

#include "fs/crypto.h"
#include "print/collection.h"
#include "print/picture.h"
#include "server/control/listing.h"
#include "server/control/method.h"
#include "server/control/views.h"

namespace stationer::server {
namespace {

namespace json = boost::json;

// With the code by which somebody may claim it, as long as nobody has.
json::object shown(const print::Spool& spool, const fs::PrintoutView& printout) {
  json::object out = show(printout);
  out["code"] = printout.owner.empty() ? spool.code_of(printout.job) : "";
  return out;
}

// Which printouts are meant, by what a call says of them.
fs::PrintoutFilter filter_from(Params& params) {
  fs::PrintoutFilter filter;
  filter.owner = params.text_or_empty("owner");
  filter.klass = params.text_or_empty("class");
  filter.queue = params.text_or_empty("queue");
  filter.from = params.optional_time("since");
  filter.to = params.optional_time("until", fs::DayMeans::end);
  return filter;
}

Task<Answer> list(ControlClient& client, Params params) {
  const auto owner = params.optional_text("owner");  // "" is those that nobody has claimed
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  std::string name;
  if (owner && !owner->empty()) {
    auto account = client.volume().people().account(std::string_view(*owner));
    if (!account) co_return account.error();
    name = account->name;
  }
  auto& desk = client.volume().desk();
  auto& spool = client.context().spool;
  const auto later = client.loop().blocking(
      [&desk, &spool, caller = client.caller(), any = !owner, name, from]() -> Answer {
        auto printouts = desk.printouts(caller, true);
        if (!any) {
          std::erase_if(printouts, [&](const auto& each) { return each.owner != name; });
        }
        return listing(printouts, from, [&](const auto& each) { return shown(spool, each); });
      });
  co_return co_await later;
}

constexpr std::uint32_t default_found = 100;
constexpr std::uint32_t most_found = 10'000;

Task<Answer> find(ControlClient& client, Params params) {
  const std::string words = params.text_or_empty("words");
  const fs::PrintoutFilter filter = filter_from(params);
  const auto most = params.whole_or("most", default_found, most_found);
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& finder = client.context().finder;
  const auto later = client.loop().blocking(
      [&finder, caller = client.caller(), filter, words, most, from]() -> Answer {
        auto found = finder.find(caller, filter, words, static_cast<std::size_t>(most));
        if (!found) return found.error();
        json::object out = listing(found->items, from, [](const print::FoundPrintout& each) {
          json::object shown = show(each.printout);
          shown["page"] = each.page;
          shown["line"] = each.line;
          return shown;
        });
        out["more"] = found->more;
        out["unread"] = found->unread;
        return out;
      });
  co_return co_await later;
}

Task<Answer> show_one(ControlClient& client, Params params) {
  const std::uint32_t job = params.number("job");
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto printout = client.volume().desk().printout(client.caller(), job);
  if (!printout) co_return printout.error();
  co_return shown(client.context().spool, *printout);
}

Task<Answer> open(ControlClient& client, Params params) {
  const std::uint32_t job = params.number("job");
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto printout = client.volume().desk().printout(client.caller(), job);
  if (!printout) co_return printout.error();
  auto path = fs::HostPath::from_record(printout->path);
  if (!path) co_return path.error();
  auto& host = client.volume().host_files();
  const auto later = client.loop().blocking([&host, path = *path]() -> fs::Result<fs::Content> {
    auto opened = host.open(path);
    if (!opened) return opened.error();
    return fs::Content(std::move(*opened));
  });
  auto file = co_await later;
  if (!file) co_return file.error();
  auto stream = client.streams().open(std::move(*file));
  if (!stream) co_return stream.error();
  co_return json::object{{"stream", *stream}, {"name", path->name()}, {"size", printout->bytes}};
}

constexpr std::uint32_t default_width = 300;

Task<Answer> picture(ControlClient& client, Params params) {
  const std::uint32_t job = params.number("job");
  const auto page = params.whole_or("page", 1, std::numeric_limits<std::uint32_t>::max());
  const auto width = params.whole_or("width", default_width, print::largest_picture);
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto printout = client.volume().desk().printout(client.caller(), job);
  if (!printout) co_return printout.error();
  if (page == 0 || page > printout->pages) {
    co_return fs::Error{fs::Code::not_found, fmt::format("Printout {} has no page {}: it has {}.",
                                                         job, page, printout->pages)};
  }
  auto path = fs::HostPath::from_record(printout->path);
  if (!path) co_return path.error();
  auto& host = client.volume().host_files();
  const auto later = client.loop().blocking([&host, path = *path, page, width] {
    const auto open = [&]() -> fs::Result<fs::Content> {
      auto file = host.open(path);
      if (!file) return file.error();
      return fs::Content(std::move(*file));
    };
    return print::picture_of(open, static_cast<std::uint32_t>(page),
                             static_cast<std::uint32_t>(width));
  });
  auto png = co_await later;
  if (!png) co_return png.error();
  const std::uint64_t size = png->size();
  fs::Content content(std::make_shared<const std::string>(std::move(*png)));
  auto stream = client.streams().open(std::move(content));
  if (!stream) co_return stream.error();
  std::string name(path->name().substr(0, path->name().rfind('.')));
  name += page == 1 ? ".png" : fmt::format("-{}.png", page);
  co_return json::object{{"stream", *stream}, {"name", name}, {"size", size}};
}

// What is collected lies in incoming/ without a name while it is fetched, and goes with its stream.
Task<Answer> collect(ControlClient& client, Params params) {
  const fs::PrintoutFilter filter = filter_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  struct Made {
    print::Collected collected;
    std::unique_ptr<fs::HostFile> file;
    std::uint64_t size = 0;
  };
  auto& volume = client.volume();
  const auto later = client.loop().blocking(
      [&volume, caller = client.caller(), filter]() -> fs::Result<std::shared_ptr<Made>> {
        const auto made = std::make_shared<Made>();
        const auto path =
            fs::HostPath() / "incoming" / fmt::format("collected {}", fs::random_number());
        auto file = volume.host_files().create(path);
        if (!file) return file.error();
        if (auto nameless = volume.host_files().remove_file(path); !nameless) {
          return nameless.error();
        }
        made->file = std::move(*file);
        const auto sink = [&](std::string_view bytes) -> fs::Status {
          if (auto room = volume.check_space(bytes.size()); !room) return room;
          auto written = made->file->write_at(made->size, bytes);
          made->size += bytes.size();
          return written;
        };
        auto collected = print::collect_printouts(volume, caller, filter, sink);
        if (!collected) return collected.error();
        made->collected = std::move(*collected);
        return made;
      });
  auto made = co_await later;
  if (!made) co_return made.error();
  fs::Content content(std::move((*made)->file));
  auto stream = client.streams().open(std::move(content));
  if (!stream) co_return stream.error();
  json::array missing;
  for (const auto& sentence : (*made)->collected.missing) missing.push_back(json::string(sentence));
  json::object out;
  out["stream"] = *stream;
  out["name"] = "printouts.pdf";
  out["size"] = (*made)->size;
  out["printouts"] = (*made)->collected.printouts;
  out["pages"] = (*made)->collected.pages;
  out["missing"] = std::move(missing);
  co_return out;
}

Task<Answer> forward(ControlClient& client, Params params) {
  const std::uint32_t job = params.number("job");
  const std::string printer = params.text_or_empty("printer");
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& forwarder = client.context().forwarder;
  const auto later = client.loop().blocking([&forwarder, caller = client.caller(), job, printer] {
    return forwarder.forward(caller, job, printer);
  });
  co_return done(co_await later);
}

Task<Answer> give(ControlClient& client, Params params) {
  const std::uint32_t job = params.number("job");
  const std::string account = params.text("account");
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return co_await changed(client,
                             client.volume().desk().give_printout(client.caller(), job, account));
}

Task<Answer> discard(ControlClient& client, Params params) {
  const std::uint32_t job = params.number("job");
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto gone =
      co_await changed(client, client.volume().desk().discard_printout(client.caller(), job));
  if (!gone) co_return gone;
  client.context().finder.nudge();
  // What came in for it is not to be had by printing it again.
  auto& spool = client.context().spool;
  const auto later = client.loop().blocking([&spool] {
    spool.drop_old_bytes();
    return fs::Status();
  });
  co_return done(co_await later);
}

constexpr std::array<Method, 9> methods = {{{"printout.list", list},
                                            {"printout.forward", forward},
                                            {"printout.picture", picture},
                                            {"printout.collect", collect},
                                            {"printout.find", find},
                                            {"printout.show", show_one},
                                            {"printout.open", open},
                                            {"printout.give", give},
                                            {"printout.discard", discard}}};

}  // namespace

std::span<const Method> printout_methods() {
  return methods;
}

}  // namespace stationer::server
