// A listing of a control method, kept up to date: its parts are asked for one after the other, the
// whole again after a while. What shows stays until all of what comes after it is there.
#pragma once

#include <functional>
#include <string>

#include <boost/json/array.hpp>
#include <boost/json/object.hpp>

#include "admin/console/outbox.h"

namespace stationer::admin::console {

class Source {
 public:
  // Is given all items there are so far.
  using Use = std::function<void(boost::json::array items)>;

  // A method with parameters, asked again `every` so often while one looks.
  Source(Outbox& outbox, std::string method, boost::json::object params, Moment every, Use use);
  ~Source() { drop(); }
  Source(const Source&) = delete;
  Source& operator=(const Source&) = delete;

  const boost::json::object& params() const { return params_; }
  // What came by others is not wanted any more.
  void set_params(boost::json::object params);
  // There is nothing to ask for before set_params().
  void wait();
  // Something has changed: ask soon, whatever is under way.
  void again() { due_ = true; }

  // To be called now and then while one looks at it. `slowly`: only when something has changed.
  void tick(Moment now, bool slowly);

  bool came() const { return came_; }  // once, by these parameters
  bool coming() const { return asked_ != 0; }
  const std::string& trouble() const { return trouble_; }  // why it did not come last

 private:
  void ask(boost::json::object params);
  void take(Answer answer);
  void drop();

  Outbox& outbox_;
  std::string method_;
  boost::json::object params_;
  Moment every_;
  Use use_;
  bool waits_ = false;
  bool due_ = true;
  bool came_ = false;
  Moment last_{};
  std::uint64_t asked_ = 0;
  boost::json::object asking_;
  boost::json::array items_;
  std::string trouble_;
};

}  // namespace stationer::admin::console
