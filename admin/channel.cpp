#include "admin/channel.h"

#include <chrono>
#include <thread>

#include <fmt/format.h>

#include "admin/host.h"
#include "admin/report.h"
#include "fs/host_files.h"
#include "server/protocol/jsonrpc.h"

namespace stationer::admin {
namespace {

using fs::Code;
using fs::Error;

constexpr std::chrono::seconds patience{5};
constexpr std::chrono::milliseconds pause{50};

const Error strange_answer{Code::io,
                           "The service's answer was not what was expected. Is it another version? "
                           "Restart the service after an upgrade."};

}  // namespace

fs::Result<std::unique_ptr<Channel>> Channel::open(const std::string& directory, bool accept_loss) {
  // Told here, where it is known where the name came from.
  if (const auto folder = fs::OutsideFolder::open(directory);
      !folder && folder.error().code == Code::not_found) {
    return Error{
        Code::not_found,
        fmt::format("There is no folder \"{}\". Is the volume's name as it should be, after "
                    "--volume or in STATIONER_VOLUME? A new one is made with: stationer "
                    "init {}",
                    directory, in_shell(directory))};
  }
  const auto deadline = std::chrono::steady_clock::now() + patience;
  for (;;) {
    auto socket = open_socket_channel(directory);
    if (socket || socket.error().code != Code::not_found) return socket;
    if (auto fine = work_as_owner(directory); !fine) return fine.error();
    auto volume = open_volume_channel(directory, accept_loss);
    if (volume || volume.error().code != Code::busy) return volume;
    if (std::chrono::steady_clock::now() >= deadline) {
      return Error{Code::busy,
                   fmt::format("The volume \"{}\" is in use, but no service answers there. Another "
                               "stationer command may be at work on it, or a service may be "
                               "starting or stopping: try again in a while.",
                               directory)};
    }
    std::this_thread::sleep_for(pause);
  }
}

fs::Result<boost::json::object> Channel::call(std::string_view method, boost::json::object params) {
  const std::uint64_t id = ++last_id_;
  auto answer = exchange(server::jsonrpc_request(id, method, std::move(params)));
  if (!answer) return answer.error();
  auto result = server::jsonrpc_result(*answer, id);
  if (!result) return result.error();
  if (!result->is_object()) return strange_answer;
  return std::move(result->as_object());
}

fs::Result<Channel::Listing> Channel::list(std::string_view method, boost::json::object params) {
  Listing all;
  for (;;) {
    auto part = call(method, params);
    if (!part) return part.error();
    boost::json::value* items = part->if_contains("items");
    if (items == nullptr || !items->is_array()) return strange_answer;
    for (auto& item : items->as_array()) {
      if (!item.is_object()) return strange_answer;
      all.items.push_back(std::move(item));
    }
    const boost::json::value* next = part->if_contains("next");
    const bool more = next != nullptr && !items->as_array().empty();
    if (more) params["from"] = *next;
    if (all.first.empty()) all.first = std::move(*part);
    if (!more) return all;
  }
}

}  // namespace stationer::admin
