// info: all that is known about a file or folder.
#include <fmt/format.h>

#include "fs/text.h"
#include "server/terminal/access_words.h"
#include "server/terminal/command.h"
#include "server/terminal/shown.h"
#include "server/terminal/table.h"
#include "server/terminal/wording.h"

namespace stationer::server {

Task<void> command_info(Call call) {
  const auto path = call.session.path(call.words[0]);
  if (call.refused(path)) co_return;
  const auto view = call.session.look(*path);
  if (call.refused(view)) co_return;
  Table table({{"", 0}, {"", 0}});
  if (!path->is_top()) {
    const std::string shown = call.session.shown(*view);
    table.add({"name", shown});
    if (fs::fold(shown) != fs::fold(view->name)) {
      table.add({"really", view->name});
      table.add({"spelled", call.session.names().spelled(view->name)});
    }
    if (view->alias != fs::ascii_upper(view->name) && view->alias != shown) {
      table.add({"short name", view->alias});
    }
    table.add({"in", shown_path(call.session, path->parent())});
  }
  table.add({"kind", view->folder ? "folder" : fs::kind_name(view->kind)});
  if (!view->folder) table.add({"size", exact_size(view->size)});
  if (view->load_address) table.add({"loads at", hex(*view->load_address)});
  if (view->entry_point) table.add({"starts at", hex(*view->entry_point)});
  table.add({"made", short_date(view->created)});
  table.add({"changed", short_date(view->modified)});
  co_await call.terminal.show(table.text(call.terminal.columns()) +
                              access_in_words(call.session, *path, *view));
}

}  // namespace stationer::server
