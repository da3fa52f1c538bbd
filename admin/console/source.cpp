#include "admin/console/source.h"

#include <utility>

namespace stationer::admin::console {

namespace json = boost::json;

Source::Source(Outbox& outbox, std::string method, json::object params, Moment every, Use use)
    : outbox_(outbox),
      method_(std::move(method)),
      params_(std::move(params)),
      every_(every),
      use_(std::move(use)) {}

void Source::set_params(json::object params) {
  drop();
  params_ = std::move(params);
  waits_ = false;
  due_ = true;
  came_ = false;
  trouble_.clear();
}

void Source::wait() {
  drop();
  waits_ = true;
  came_ = true;  // as nothing
}

void Source::tick(Moment now, bool slowly) {
  if (waits_) return;
  const bool late = !slowly && came_ && now - last_ >= every_;
  if (coming() && !due_) return;
  if (!due_ && !late && (came_ || now - last_ < every_)) return;
  drop();
  due_ = false;
  last_ = now;
  ask(params_);
}

void Source::ask(json::object params) {
  asking_ = params;
  asked_ = outbox_.ask(method_, std::move(params), [this](Answer answer) {
    asked_ = 0;
    take(std::move(answer));
  });
}

void Source::take(Answer answer) {
  if (!answer) {
    trouble_ = answer.error().message;
    items_.clear();
    return;
  }
  trouble_.clear();
  json::value* items = answer->if_contains("items");
  const bool any = items != nullptr && items->is_array() && !items->as_array().empty();
  if (any) {
    for (auto& item : items->as_array()) items_.push_back(std::move(item));
  }
  const json::value* next = answer->if_contains("next");
  if (next != nullptr && any) {
    if (!came_ && !asking_.contains("from")) use_(items_);  // something to look at meanwhile
    asking_["from"] = *next;
    ask(asking_);
    return;
  }
  came_ = true;
  use_(std::exchange(items_, {}));
}

void Source::drop() {
  if (asked_ != 0) outbox_.forget(asked_);
  asked_ = 0;
  items_.clear();
}

}  // namespace stationer::admin::console
