// Classes: who belongs together, and who looks after them.
#include <array>

#include "server/control/limits.h"
#include "server/control/listing.h"
#include "server/control/method.h"
#include "server/control/views.h"

namespace stationer::server {
namespace {

namespace json = boost::json;

Task<Answer> list(ControlClient& client, Params params) {
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& people = client.volume().people();
  const auto later = client.loop().blocking([&people, from]() -> Answer {
    return listing(people.classes(), from, [](const auto& each) { return show(each); });
  });
  co_return co_await later;
}

Task<Answer> show_one(ControlClient& client, Params params) {
  const std::string name = params.text("name");
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& people = client.volume().people();
  const auto later = client.loop().blocking([&people, name] { return people.class_of(name); });
  auto klass = co_await later;
  if (!klass) co_return klass.error();
  co_return show(*klass);
}

Task<Answer> members(ControlClient& client, Params params) {
  const std::string name = params.text("name");
  const std::uint64_t from = listing_from(params);
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& people = client.volume().people();
  const auto later = client.loop().blocking([&people, name, from]() -> Answer {
    auto klass = people.class_of(name);
    if (!klass) return klass.error();
    std::vector<std::string> all = klass->leaders;
    all.insert(all.end(), klass->members.begin(), klass->members.end());
    std::size_t shown = static_cast<std::size_t>(from);
    return listing(all, from, [&](const std::string& account) {
      return json::object{{"name", account}, {"leader", shown++ < klass->leaders.size()}};
    });
  });
  co_return co_await later;
}

Task<Answer> add(ControlClient& client, Params params) {
  const std::string name = params.text("name");
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return co_await changed(client, client.volume().people().add_class(client.caller(), name));
}

Task<Answer> remove(ControlClient& client, Params params) {
  const std::string name = params.text("name");
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return co_await changed(client, client.volume().people().remove_class(client.caller(), name));
}

Task<Answer> join(ControlClient& client, Params params) {
  const std::string name = params.text("name");
  const std::string account = params.text("account");
  const bool leader = params.flag("leader");
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return co_await changed(client,
                             client.volume().people().join(client.caller(), name, account, leader));
}

Task<Answer> leave(ControlClient& client, Params params) {
  const std::string name = params.text("name");
  const std::string account = params.text("account");
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return co_await changed(client,
                             client.volume().people().leave(client.caller(), name, account));
}

Task<Answer> limits(ControlClient& client, Params params) {
  const std::string name = params.text("name");
  const bool none = params.flag("none");
  const NewLimits wanted(params);
  if (none == wanted.any()) params.refuse("Give the limits, or none.");
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto& people = client.volume().people();
  std::optional<fs::Quota> quota;
  if (!none) {
    const auto klass = people.class_of(name);
    if (!klass) co_return klass.error();
    const auto all = wanted.on(klass->quota.value_or(fs::Quota{}));
    if (!all) co_return all.error();
    quota = *all;
  }
  co_return co_await changed(client, people.set_class_limits(client.caller(), name, quota));
}

constexpr std::array<Method, 8> methods = {{{"class.list", list},
                                            {"class.show", show_one},
                                            {"class.members", members},
                                            {"class.add", add},
                                            {"class.limits", limits},
                                            {"class.remove", remove},
                                            {"class.join", join},
                                            {"class.leave", leave}}};

}  // namespace

std::span<const Method> class_methods() {
  return methods;
}

}  // namespace stationer::server
