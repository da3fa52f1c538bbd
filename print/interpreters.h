// The interpreter for a queue's language.
#pragma once

#include <memory>

#include "print/interpreter.h"
#include "print/layout.h"
#include "print/page_gate.h"
#include "print/settings.h"

namespace stationer::print {

// `layout` is what settings.form was laid out as.
std::unique_ptr<Interpreter> make_interpreter(const Settings& settings, const Layout& layout,
                                              PageSink sink);

}  // namespace stationer::print
