// How those who read PDFs come by one: they open it when they need it, and perhaps again.
#pragma once

#include <functional>

#include "fs/engine.h"
#include "fs/result.h"

namespace stationer::print {

using OpenContent = std::function<fs::Result<fs::Content>()>;

}  // namespace stationer::print
