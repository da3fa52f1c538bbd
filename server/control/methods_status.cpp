// How the volume is, and who is connected.
#include <array>

#include "server/control/listing.h"
#include "server/control/method.h"
#include "server/control/snapshot_run.h"
#include "server/control/views.h"
#include "server/room.h"

namespace stationer::server {
namespace {

namespace json = boost::json;

constexpr std::size_t most_failed_transfers = 50;

json::array doors(const Running* running) {
  json::array out;
  if (running == nullptr || !running->doors) return out;
  for (const DoorView& door : running->doors()) {
    json::object shown{{"name", door.name}, {"address", door.address}};
    if (door.port != 0) shown["port"] = std::uint64_t{door.port};
    out.push_back(std::move(shown));
  }
  return out;
}

json::object jobs_by_state(const print::Spool& spool) {
  json::object out;
  for (const auto state : {print::JobState::waiting, print::JobState::printing,
                           print::JobState::held, print::JobState::refused}) {
    out[print::state_name(state)] = 0;
  }
  for (const auto& view : spool.jobs()) {
    json::value& count = out[print::state_name(view.state)];
    count = count.is_int64() ? count.as_int64() + 1 : 1;
  }
  return out;
}

json::array failed_transfers(const Running* running) {
  json::array out;
  if (running == nullptr) return out;
  for (const Refusal& each : running->room.refusals.all()) {
    if (out.size() >= most_failed_transfers) break;
    if (each.door == "tftp" && !each.subject.empty()) out.push_back(show_failed_transfer(each));
  }
  return out;
}

Task<Answer> status(ControlClient& client, Params params) {
  if (auto fine = params.check(); !fine) co_return fine.error();
  fs::Volume& volume = client.volume();
  const print::Spool& spool = client.context().spool;
  const Running* running = client.context().running;
  json::object out;
  out["version"] = STATIONER_VERSION;
  out["name"] = volume.name();
  out["directory"] = volume.directory();
  out["serving"] = running != nullptr;
  out["since"] = running == nullptr ? json::value() : json::value(time_text(running->since));
  out["doors"] = doors(running);
  out["sessions"] = running == nullptr ? 0 : running->room.sessions().size();
  out["failed_transfers"] = failed_transfers(running);
  out["jobs"] = jobs_by_state(spool);
  // What counts rows, or asks the host, is not for the loop's thread.
  const auto later =
      client.loop().blocking([&volume, caller = client.caller(),
                              run = client.context().snapshot]() -> fs::Result<json::object> {
        auto disk = volume.space();
        if (!disk) return disk.error();
        const auto printouts = volume.desk().printouts(caller, true);
        const auto unclaimed = std::count_if(printouts.begin(), printouts.end(),
                                             [](const auto& each) { return each.owner.empty(); });
        json::array troubles;
        for (const auto& sentence : run->troubles()) troubles.push_back(json::string(sentence));
        const auto snapshots = volume.snapshots().list();
        json::value last;
        if (snapshots && !snapshots->empty())
          last = json::string(time_text(snapshots->front().taken));
        return json::object{{"accounts", volume.people().accounts().size()},
                            {"nodes", volume.nodes()},
                            {"printouts", printouts.size()},
                            {"unclaimed", unclaimed},
                            {"free_bytes", disk->free_bytes},
                            {"total_bytes", disk->total_bytes},
                            {"last_snapshot", last},
                            {"troubles", troubles}};
      });
  auto counted = co_await later;
  if (!counted) co_return counted.error();
  for (auto& field : *counted) out[field.key()] = std::move(field.value());
  json::array& troubles = out["troubles"].as_array();
  for (auto& sentence : volume.troubles()) troubles.push_back(json::string(sentence));
  if (const auto trouble = spool.trouble(); !trouble.empty()) {
    troubles.push_back(json::string("Printing does not get on: " + trouble));
  }
  for (const auto& trouble :
       {client.context().finder.trouble(), client.context().forwarder.trouble()}) {
    if (!trouble.empty()) troubles.push_back(json::string(trouble));
  }
  for (const DoorView& door : running == nullptr ? std::vector<DoorView>() : running->doors()) {
    if (!door.trouble.empty()) troubles.push_back(json::string(door.trouble));
  }
  co_return out;
}

Task<Answer> sessions(ControlClient& client, Params params) {
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  const Running* running = client.context().running;
  const auto all = running == nullptr ? std::vector<SessionView>() : running->room.sessions();
  co_return listing(all, from, [](const auto& each) { return show(each); });
}

constexpr std::array<Method, 2> methods = {{{"status", status}, {"session.list", sessions}}};

}  // namespace

std::span<const Method> status_methods() {
  return methods;
}

}  // namespace stationer::server
