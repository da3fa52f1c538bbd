#include "admin/console/outbox.h"

namespace stationer::admin::console {

std::uint64_t Outbox::add(std::string method, boost::json::object params, Take take, bool act) {
  requests_.push_back({++last_, std::move(method), std::move(params), act});
  waiting_.emplace(last_, Waiting{std::move(take), now_});
  return last_;
}

void Outbox::reply(Reply reply) {
  const auto found = waiting_.find(reply.id);
  if (found == waiting_.end()) return;
  const Take take = std::move(found->second.take);
  waiting_.erase(found);
  take(std::move(reply.answer));
}

Moment Outbox::waited() const {
  return waiting_.empty() ? Moment{} : now_ - waiting_.begin()->second.since;
}

}  // namespace stationer::admin::console
