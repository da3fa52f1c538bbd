// Limits of an account, or of each in a class, as they show and as they are typed.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "admin/console/list_view.h"
#include "admin/console/screen.h"

namespace stationer::admin::console {

// "warned at 64.0M, stopped at 80.0M; files: no limit".
std::string limits_of(const Item& item);

// What an account keeps of what it may: "4.0K of 64.0M (6 %), 3 files and folders".
std::string kept_of(const Item& account);

// How full it is by the limit that it is nearest to: "6 %"; nothing where there is no limit.
std::string fullness_of(const Item& account);

// The four lines of a form, in MiB and in files, as the limits are now.
std::vector<Form::Line> limit_lines(const Item& item);

// What was typed into them: the parameters that differ from how it is. Nothing when all four are
// empty. What is no number is left to the method, which says what it must be.
std::optional<boost::json::object> typed_limits(const Item& item,
                                                const std::vector<std::string>& values);

// The lines as they are now, to be typed again.
std::string limits_to_type(const Item& item);

}  // namespace stationer::admin::console
