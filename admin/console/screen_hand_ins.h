// Hand-in folders, and who has handed in there: two views among the people.
#pragma once

#include "admin/console/screen.h"

namespace stationer::admin::console {

void add_hand_ins(Screen& screen, Desk& desk);

}  // namespace stationer::admin::console
