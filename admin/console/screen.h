// What a screen of the console is made of: lists side by side, each with the acts that its keys do.
// A screen says what there is; admin/console/console.h draws it and gives it its keys.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <boost/json/object.hpp>

#include "admin/console/key.h"
#include "admin/console/list_view.h"
#include "admin/console/outbox.h"
#include "admin/console/source.h"
#include "admin/console/text_field.h"
#include "admin/report.h"

namespace stationer::admin::console {

// A call of a control method that changes something, and what is said when it is done.
struct Call {
  std::string method;  // empty: only `then`, with nothing
  boost::json::object params;
  std::string done;
  std::string undo;  // how; empty: it can't be, or that is said in `done`
  std::function<void(const boost::json::object& answer)> then;
};

// Something asked in a frame of its own. With fields a form; without, a question that is answered
// by y or n.
struct Form {
  struct Line {
    std::string label;
    std::string value;
    std::string hint;
  };
  std::string title;
  std::vector<std::string> text;  // paragraphs
  std::vector<Line> lines;
  // What is typed stays while it does not work, with the reason below.
  std::function<Call(const std::vector<std::string>& values)> call;
};

// Something to be read, until a key closes it.
struct Message {
  std::string title;
  std::vector<std::string> text;  // paragraphs
};

// What the acts of a screen may do to the whole console.
class Desk {
 public:
  virtual ~Desk() = default;

  virtual Outbox& outbox() = 0;
  virtual void act(Call call) = 0;
  virtual void open(Form form) = 0;
  virtual void open(Message message) = 0;
  virtual void say(std::string sentence) = 0;
  // To other screens.
  virtual void see_as(const std::string& account, const std::string& path) = 0;
  virtual void ask_why(boost::json::object params, std::string about) = 0;
};

struct Act {
  Key key;
  std::string shown;           // the key's name, as the screen shows it
  std::string word;            // what it does
  std::function<bool()> fits;  // null: always
  std::function<void()> run;
};

struct View {
  explicit View(std::string title_, ListView list_)
      : title(std::move(title_)), list(std::move(list_)) {}
  View(const View&) = delete;
  View& operator=(const View&) = delete;
  virtual ~View() = default;

  std::string title;
  ListView list;
  std::unique_ptr<Source> source;                       // of the rows
  std::vector<Source*> besides;                         // of what else shows in them
  std::function<std::string()> head;                    // what it is a list of just now; null: all
  std::function<std::string()> none;                    // what is said when it is empty
  std::function<std::vector<Fact>(const Item&)> facts;  // of the row one is at
  std::vector<Act> acts;

  TextField words;      // what is searched for
  bool typing = false;  // those
  // Whether the service is asked for them too; null: they are searched for in the list alone.
  std::function<void(const std::string& words)> search;
  Moment search_at{};  // when; zero: not

  const Item* item() const { return list.picked(); }
};

struct Screen {
  explicit Screen(std::string title_) : title(std::move(title_)) {}
  Screen(const Screen&) = delete;
  Screen& operator=(const Screen&) = delete;
  virtual ~Screen() = default;

  View& view() { return *views[at]; }

  std::string title;
  std::vector<std::unique_ptr<View>> views;
  std::size_t at = 0;
};

// Adds an act for a row; it fits when there is one, and `fits` says so of it.
void add_act(View& view, char32_t key, std::string word, std::function<void(const Item&)> run,
             std::function<bool(const Item&)> fits = nullptr);
// The same with Enter.
void add_enter(View& view, std::string word, std::function<void(const Item&)> run,
               std::function<bool(const Item&)> fits = nullptr);
// Adds one that needs no row.
void add_plain_act(View& view, char32_t key, std::string word, std::function<void()> run);
// Enter shows all of the facts.
void add_reading(View& view, Desk& desk, std::string_view title);

// Asks for a notice to somebody, and sends it; `when` says when they read it.
Form notice_form(const std::string& to,
                 std::string when = "They read it at their next prompt, or when they sign in.");

// Rows of a listing.
std::unique_ptr<Source> rows_of(View& view, Outbox& outbox, std::string method,
                                boost::json::object params, Moment every);

// A column of a text field.
Field field(std::string_view title, std::string_view key, int width, int rank = 0, int most = 0);

// Whether a text field says that.
bool says(const Item& item, std::string_view key, std::string_view word);

std::unique_ptr<Screen> make_room(Desk& desk);
std::unique_ptr<Screen> make_paper(Desk& desk);
std::unique_ptr<Screen> make_people(Desk& desk);
std::unique_ptr<Screen> make_journal(Desk& desk);

}  // namespace stationer::admin::console
