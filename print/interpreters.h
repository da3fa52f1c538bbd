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

// How a dot-matrix printer's switches are set: by the settings' own rules for it, and by those that
// all languages share. Its character tables have names of their own: a queue's code page is a
// table; a national set is the set of ESC R that is most like it, on the table with slanted
// letters; others leave what the rules say.
DotRules dot_rules(const Settings& settings);

}  // namespace stationer::print
