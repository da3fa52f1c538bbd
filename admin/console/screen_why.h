// The screen of refusals explained, which other screens open for a person, a station or a job.
#pragma once

#include <string>

#include "admin/console/screen.h"

namespace stationer::admin::console {

class Why : public Screen {
 public:
  explicit Why(Desk& desk);

  // `params` of why.list; `about` tells what they are, empty: everything.
  void ask(boost::json::object params, std::string about);

 private:
  Desk& desk_;
  std::string about_;
};

}  // namespace stationer::admin::console
