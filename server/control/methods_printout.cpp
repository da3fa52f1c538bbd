// Printouts: the PDFs that came of print jobs, in their owners' trays or unclaimed.
#include <array>

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
  // What came in for it is not to be had by printing it again.
  auto& spool = client.context().spool;
  const auto later = client.loop().blocking([&spool] {
    spool.drop_old_bytes();
    return fs::Status();
  });
  co_return done(co_await later);
}

constexpr std::array<Method, 5> methods = {{{"printout.list", list},
                                            {"printout.show", show_one},
                                            {"printout.open", open},
                                            {"printout.give", give},
                                            {"printout.discard", discard}}};

}  // namespace

std::span<const Method> printout_methods() {
  return methods;
}

}  // namespace stationer::server
