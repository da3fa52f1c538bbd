// The doors and serial lines as they are set up, for those who are to be told how to connect.
#include <array>

#include "server/config.h"
#include "server/control/listing.h"
#include "server/control/method.h"
#include "server/net/own_addresses.h"

namespace stationer::server {
namespace {

namespace json = boost::json;

fs::Result<Config> config_of(ControlClient& client) {
  return read_config(client.volume().settings_text(), client.context().spool.queues());
}

// Where machines find a door: where it is open to the room, at each address of this machine there.
json::array addresses_of(const DoorConfig& door, const std::vector<std::string>& own) {
  json::array out;
  if (door.address == "private") {
    for (const std::string& each : own) out.push_back(json::string(each));
  }
  const bool named = door.address != "private" && door.address != "loopback";
  if (named) out.push_back(json::string(door.address));
  if (out.empty()) out.push_back("127.0.0.1");
  return out;
}

// The port it has, which is chosen when the service starts if the settings say 0.
std::uint16_t port_of(const Running* running, std::string_view name, const DoorConfig& door) {
  if (running == nullptr || !running->doors) return door.port;
  for (const DoorView& open : running->doors()) {
    if (open.name == name) return open.port;
  }
  return door.port;
}

Task<Answer> doors(ControlClient& client, Params params) {
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  const auto config = config_of(client);
  if (!config) co_return config.error();
  const auto asking = client.loop().blocking([] { return own_addresses(); });
  const auto own = co_await asking;
  std::vector<json::object> out;
  const auto add = [&](std::string_view name, const DoorConfig& door, json::object more = {}) {
    json::object shown{{"name", name},
                       {"open", door.open},
                       {"reach", door.address},
                       {"addresses", addresses_of(door, own)},
                       {"port", std::uint64_t{port_of(client.context().running, name, door)}}};
    for (auto& each : more) shown[each.key()] = std::move(each.value());
    out.push_back(std::move(shown));
  };
  add("terminal", config->terminal,
      {{"guests", config->terminal.guests},
       {"sign_on", config->terminal.sign_on},
       {"columns", config->terminal.setup.screen.columns}});
  add("lpd", config->lpd, {{"queue", client.context().spool.queues().otherwise}});
  add("raw", config->raw,
      {{"queue", config->raw.usual.queue.empty() ? client.context().spool.queues().otherwise
                                                 : config->raw.usual.queue}});
  add("tftp", config->tftp, {{"folder", config->tftp.folder.text()}});
  add("ftp", config->ftp, {{"guests", config->ftp.guests}, {"needs_tls", config->ftp.needs_tls}});
  add("time", config->time);
  add("daytime", config->daytime);
  add("http", config->http);
  co_return listing(out, from, [](const auto& each) { return each; });
}

const char* word_of(SerialSettings::Parity parity) {
  using Parity = SerialSettings::Parity;
  return parity == Parity::none ? "none" : parity == Parity::even ? "even" : "odd";
}

const char* word_of(SerialSettings::Flow flow) {
  using Flow = SerialSettings::Flow;
  return flow == Flow::none ? "none" : flow == Flow::rts_cts ? "rts-cts" : "xon-xoff";
}

Task<Answer> lines(ControlClient& client, Params params) {
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  const auto config = config_of(client);
  if (!config) co_return config.error();
  co_return listing(config->lines, from, [](const SerialLineConfig& line) {
    return json::object{{"name", line.name},
                        {"device", line.port.device},
                        {"speed", std::uint64_t{line.port.speed}},
                        {"bits", std::uint64_t{line.port.bits}},
                        {"parity", word_of(line.port.parity)},
                        {"stop_bits", std::uint64_t{line.port.stop_bits}},
                        {"flow", word_of(line.port.flow)},
                        {"guests", line.guests},
                        {"sign_on", line.sign_on},
                        {"columns", line.setup.screen.columns}};
  });
}

constexpr std::array<Method, 2> methods = {{{"door.list", doors}, {"line.list", lines}}};

}  // namespace

std::span<const Method> door_methods() {
  return methods;
}

}  // namespace stationer::server
