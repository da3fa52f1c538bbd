// The keeper's console as a whole, without terminal, clock or service: keys, times and answers in,
// a screen and requests out.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <boost/json/object.hpp>

#include "admin/console/dialog.h"
#include "admin/console/grid.h"
#include "admin/console/key.h"
#include "admin/console/outbox.h"
#include "admin/console/screen.h"
#include "admin/console/screen_tree.h"
#include "admin/console/screen_why.h"

namespace stationer::admin::console {

// How the control methods are reached at the moment.
enum class Way : std::uint8_t {
  looking,   // that is being found out
  service,   // by the service that runs
  straight,  // on the volume, as no service runs
  none,      // not at all; `why` tells
};

struct Link {
  Way way = Way::looking;
  std::string why;
};

class Console : private Desk {
 public:
  static constexpr int least_columns = 60;
  static constexpr int least_lines = 16;

  Console();
  ~Console() override;

  // Time goes on; `clock` is what the box's clock says, "19:30". Asks for what is due.
  void tick(Moment now, std::string_view clock, const Link& link);
  void key(const Key& key);
  void reply(Reply reply) { outbox_.reply(std::move(reply)); }
  std::vector<Request> requests() { return outbox_.take(); }
  bool over() const { return over_; }

  Grid draw(int columns, int lines);

 private:
  using Keys = std::vector<std::pair<std::string, std::string>>;

  // Desk
  Outbox& outbox() override { return outbox_; }
  void act(Call call) override;
  void open(Form form) override;
  void open(Message message) override;
  void say(std::string sentence) override;
  void see_as(const std::string& account, const std::string& path) override;
  void ask_why(boost::json::object params, std::string about) override;

  std::size_t number_of_screen(const Screen* screen) const;
  void show(std::size_t screen);
  void show_view(std::size_t view);
  void ask_again();
  void key_in_dialog(const Key& key);
  void key_in_search(View& view, const Key& key);
  void search_changed(View& view);
  void take_status(Answer answer);
  Keys keys();
  std::string state(Look& look) const;

  int draw_keys(Grid& grid);  // gives the line they begin at
  void draw_top(Grid& grid);
  void draw_view(Grid& grid, const Area& area);
  void draw_facts(Grid& grid, const Area& area);

  Outbox outbox_;
  std::vector<std::unique_ptr<Screen>> screens_;
  Tree* tree_;  // of those
  Why* why_;    // the same
  std::size_t at_ = 0;
  std::optional<Dialog> dialog_;
  std::uint64_t dialog_call_ = 0;  // the request it waits for
  std::string said_;
  Look said_look_ = Look::plain;
  boost::json::object status_;
  Moment status_asked_{};
  bool status_due_ = true;
  Moment now_{};
  std::string clock_;
  Link link_;
  bool over_ = false;
};

}  // namespace stationer::admin::console
