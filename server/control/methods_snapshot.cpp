// Snapshots, and work that comes back out of them. Both take their time: they are started, and then
// looked at until they are over.
#include <array>

#include "server/control/listing.h"
#include "server/control/method.h"
#include "server/control/snapshot_run.h"
#include "server/control/views.h"

namespace stationer::server {
namespace {

namespace json = boost::json;

fs::Status check_whole(const std::string& path) {
  if (path.empty() || path.front() == '/') return {};
  return fs::Error{fs::Code::bad_input, "The file has to be named by its whole path, from / on."};
}

fs::Error under_way() {
  return {fs::Code::busy, "Other work with a snapshot is under way. Wait until it is over."};
}

Task<Answer> take(ControlClient& client, Params params) {
  const std::string file = params.text_or_empty("file");
  if (auto whole = check_whole(file); !whole) params.refuse(whole.error().message);
  if (auto fine = params.check(); !fine) co_return fine.error();
  const auto run = client.context().snapshot;
  if (!run->begin()) co_return under_way();
  client.loop().work([run, caller = client.caller(), file] { run->take(caller, file); });
  co_return json::object();
}

Task<Answer> give_back(ControlClient& client, Params params) {
  const std::string file = params.text("file");
  if (auto whole = check_whole(file); !whole) params.refuse(whole.error().message);
  fs::ReturnWish wish;
  wish.account = params.text_or_empty("account");
  if (wish.account.empty()) wish.paths.push_back(params.path("path"));
  if (auto fine = params.check(); !fine) co_return fine.error();
  const auto run = client.context().snapshot;
  if (!run->begin()) co_return under_way();
  client.loop().work(
      [run, caller = client.caller(), file, wish] { run->give_back(caller, file, wish); });
  co_return json::object();
}

json::array sentences(const std::vector<std::string>& all) {
  json::array out;
  for (const auto& each : all) out.push_back(json::string(each));
  return out;
}

Task<Answer> progress(ControlClient& client, Params params) {
  if (auto fine = params.check(); !fine) co_return fine.error();
  const SnapshotRun& run = *client.context().snapshot;
  const auto outcome = run.outcome();
  if (outcome == nullptr) {
    if (!run.under_way()) {
      co_return fs::Error{fs::Code::not_found, "No snapshot was taken since the start. Take one."};
    }
    co_return json::object{{"over", false}, {"done", run.done()}, {"all", run.all()}};
  }
  if (!*outcome) co_return outcome->error();
  const auto& [taken, returned] = **outcome;
  json::object out{{"over", true}};
  if (!taken.path.empty()) {
    out["file"] = taken.path;
    out["taken"] = time_text(taken.info.taken);
    out["commit"] = taken.info.commit;
    out["files"] = taken.info.files;
    out["bytes"] = taken.info.bytes;
    out["size"] = taken.size;
    out["lost"] = taken.lost;
    out["losses"] = sentences(taken.losses);
  } else {
    out["files"] = returned.files;
    out["same"] = returned.same;
    out["replaced_count"] = returned.replaced_count;
    out["replaced"] = sentences(returned.replaced);
    out["beside_count"] = returned.beside_count;
    out["beside"] = sentences(returned.beside);
    out["failed"] = returned.failed;
    out["failures"] = sentences(returned.failures);
  }
  co_return out;
}

Task<Answer> list(ControlClient& client, Params params) {
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  const auto later =
      client.loop().blocking([&volume = client.volume()] { return volume.snapshots().list(); });
  auto all = co_await later;
  if (!all) co_return all.error();
  auto out = listing(*all, from, [](const fs::SnapshotFile& each) {
    return json::object{{"file", each.path}, {"taken", time_text(each.taken)}, {"size", each.size}};
  });
  out["folder"] = client.volume().snapshots().folder();
  co_return out;
}

constexpr std::array<Method, 4> methods = {{{"snapshot.take", take},
                                            {"snapshot.return", give_back},
                                            {"snapshot.progress", progress},
                                            {"snapshot.list", list}}};

}  // namespace

std::span<const Method> snapshot_methods() {
  return methods;
}

}  // namespace stationer::server
