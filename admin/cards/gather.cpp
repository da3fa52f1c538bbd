#include "admin/cards/gather.h"

#include <algorithm>

#include <boost/json/array.hpp>

#include "admin/report.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;

std::vector<std::string> texts_of(const json::object& object, std::string_view key) {
  std::vector<std::string> out;
  const json::value* value = object.if_contains(key);
  const json::array* all = value == nullptr ? nullptr : value->if_array();
  if (all == nullptr) return out;
  for (const auto& each : *all) {
    if (const json::string* text = each.if_string()) out.push_back(printable(*text));
  }
  return out;
}

CardDoor door_of(const json::object& item) {
  CardDoor door;
  door.name = text_of(item, "name");
  door.open = is_set(item, "open");
  door.reach = text_of(item, "reach");
  door.addresses = texts_of(item, "addresses");
  if (door.addresses.empty()) door.addresses = {"127.0.0.1"};
  door.port = number_of(item, "port");
  door.guests = is_set(item, "guests");
  door.needs_tls = is_set(item, "needs_tls");
  door.sign_on = text_of(item, "sign_on");
  door.queue = text_of(item, "queue");
  door.folder = text_of(item, "folder");
  return door;
}

CardLine line_of(const json::object& item) {
  CardLine line;
  line.name = text_of(item, "name");
  line.device = text_of(item, "device");
  line.parity = text_of(item, "parity");
  line.flow = text_of(item, "flow");
  line.sign_on = text_of(item, "sign_on");
  line.speed = number_of(item, "speed");
  line.bits = number_of(item, "bits");
  line.stop_bits = number_of(item, "stop_bits");
  line.columns = number_of(item, "columns");
  line.guests = is_set(item, "guests");
  return line;
}

// Whether every machine can ask for it: a name of letters, digits, dots and dashes.
bool plain(std::string_view name) {
  return !name.empty() && std::all_of(name.begin(), name.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '.' ||
           c == '-';
  });
}

// One of the files that everybody may load, to have something to begin with.
std::string program_in(Channel& channel, const std::string& folder) {
  constexpr std::size_t everyone_reads = 4;  // of "rwr-r-"
  const auto listing = channel.list("file.list", {{"path", folder}});
  if (!listing) return "";
  for (const auto& item : listing->items) {
    const json::object& node = item.as_object();
    const std::string access = text_of(node, "access");
    const bool readable = access.size() > everyone_reads && access[everyone_reads] == 'r';
    const std::string name = text_of(node, "name");
    if (text_of(node, "kind") != "folder" && readable && plain(name)) return name;
  }
  return "";
}

}  // namespace

fs::Result<CardFacts> gather_card_facts(Channel& channel) {
  CardFacts facts;
  const auto status = channel.call("status");
  if (!status) return status.error();
  facts.room = text_of(*status, "name");
  const auto doors = channel.list("door.list");
  if (!doors) return doors.error();
  for (const auto& item : doors->items) facts.doors.push_back(door_of(item.as_object()));
  const auto lines = channel.list("line.list");
  if (!lines) return lines.error();
  for (const auto& item : lines->items) facts.lines.push_back(line_of(item.as_object()));
  const auto tftp = std::find_if(facts.doors.begin(), facts.doors.end(),
                                 [](const CardDoor& each) { return each.name == "tftp"; });
  if (tftp != facts.doors.end()) facts.program = program_in(channel, tftp->folder);
  return facts;
}

std::vector<CardKind> kinds_with_a_way(const CardFacts& facts) {
  std::vector<CardKind> out;
  for (const CardKind& kind : card_kinds()) {
    const bool open = kind.door.empty() ? !facts.lines.empty()
                                        : std::any_of(facts.doors.begin(), facts.doors.end(),
                                                      [&](const CardDoor& door) {
                                                        return door.name == kind.door && door.open;
                                                      });
    if (open) out.push_back(kind);
  }
  return out;
}

std::string sheet_of(Channel& channel) {
  const auto queues = channel.list("queue.list");
  const auto printers = channel.list("printer.list");
  if (!queues || !printers) return "a4";
  for (const auto& queue : queues->items) {
    if (!is_set(queue.as_object(), "default")) continue;
    const std::string profile = text_of(queue.as_object(), "profile");
    for (const auto& printer : printers->items) {
      if (text_of(printer.as_object(), "name") != profile) continue;
      return text_of(printer.as_object(), "paper") == "letter" ? "letter" : "a4";
    }
  }
  return "a4";
}

}  // namespace stationer::admin
