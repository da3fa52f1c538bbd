// The paper: what is to be printed, where it goes, and what was printed.
#include <boost/json/array.hpp>
#include <fmt/format.h>

#include "admin/console/screen.h"
#include "admin/job_words.h"
#include "server/terminal/wording.h"

namespace stationer::admin::console {
namespace {

namespace json = boost::json;

constexpr Moment at_once{1000};
constexpr Moment often{3000};
constexpr Moment now_and_then{10'000};
constexpr std::uint64_t most_printouts = 500;

std::string limit_in_words(const Item& queue, std::string_view key) {
  const std::uint64_t limit = number_of(queue, key);
  return limit == 0 ? "no limit" : server::counted(limit, "page");
}

std::string policy_in_words(const Item& queue) {
  const std::string policy = text_of(queue, "policy");
  if (policy == "straight") return "prints at once";
  if (policy == "owner") return "holds for the owner";
  if (policy == "leader") return "holds for a leader";
  return policy;
}

class Paper : public Screen {
 public:
  explicit Paper(Desk& desk) : Screen("Paper"), desk_(desk) {
    add_jobs();
    add_queues();
    add_printouts();
  }

 private:
  static std::uint64_t job_of(const Item& item) { return number_of(item, "job"); }

  void add_jobs() {
    auto made = std::make_unique<View>(
        "Jobs", ListView(
                    {{number_column("Job", "job"), 6},
                     {{"State", job_state_of}, 9},
                     field("Queue", "queue", 8, 0, 14),
                     field("Owner", "owner", 10, 0, 16),
                     field("Title", "title", 16, 0, 50),
                     {size_column("Size", "bytes"), 6, 1},
                     {time_column("Came", "received"), 16, 2},
                     field("Why", "reason", 20, 3, 60)},
                    [](const Item& item) { return text_of(item, "job"); },
                    [](const Item& item) {
                      if (says(item, "state", "refused")) return Look::trouble;
                      if (says(item, "state", "held")) return Look::warning;
                      return says(item, "state", "printing") ? Look::good : Look::plain;
                    }));
    View& view = *made;
    view.source = std::make_unique<Source>(
        desk_.outbox(), "job.list", json::object{}, at_once,
        [this, &view](json::array items) { take_jobs(view, std::move(items)); });
    view.head = [this] { return queue_.empty() ? "" : "in " + queue_; };
    view.none = [this] {
      return queue_.empty() ? "Nothing is to be printed. What comes shows here."
                            : fmt::format("Nothing is to be printed in {}.", queue_);
    };
    view.facts = [](const Item& item) {
      return std::vector<Fact>{
          {"job", text_of(item, "job")},
          {"state", text_of(item, "state")},
          {"being drawn", number_of(item, "page") == 0 ? "" : job_state_of(item)},
          {"read", job_read_of(item)},
          {"why", text_of(item, "reason")},
          {"title", text_of(item, "title")},
          {"owner", text_of(item, "owner")},
          {"queue", text_of(item, "queue")},
          {"from", text_of(item, "source")},
          {"size", size_of(item, "bytes")},
          {"came", time_of(item, "received")}};
    };
    const auto waits = [](const Item& item) { return says(item, "state", "waiting"); };
    const auto held = [](const Item& item) { return says(item, "state", "held"); };
    const auto refused = [](const Item& item) { return says(item, "state", "refused"); };
    const auto lies = [=](const Item& item) { return waits(item) || held(item); };
    add_act(
        view, 'h', "hold",
        [this](const Item& item) {
          desk_.act({"job.hold",
                     {{"job", job_of(item)}},
                     fmt::format("Job {} is held.", job_of(item)),
                     "r releases it.",
                     nullptr});
        },
        waits);
    add_act(
        view, 'r', "release",
        [this](const Item& item) {
          desk_.act({"job.release",
                     {{"job", job_of(item)}},
                     fmt::format("Job {} is released.", job_of(item)),
                     "h holds it while it waits.",
                     nullptr});
        },
        held);
    add_act(
        view, 'm', "move",
        [this](const Item& item) {
          desk_.open(
              Form{fmt::format("Move job {}", job_of(item)),
                   {fmt::format("It is in {}. Queues: {}.", text_of(item, "queue"), queue_names())},
                   {{"To the queue", "", ""}},
                   [job = job_of(item), from = text_of(item, "queue")](const auto& values) {
                     return Call{"job.move",
                                 {{"job", job}, {"queue", values[0]}},
                                 fmt::format("Job {} is in {}.", job, values[0]),
                                 fmt::format("m moves it back to {}.", from),
                                 nullptr};
                   }});
        },
        lies);
    add_act(
        view, 'a', "print again",
        [this](const Item& item) {
          desk_.act({"job.again",
                     {{"job", job_of(item)}},
                     fmt::format("Job {} is printed again, as a new job.", job_of(item)),
                     "c cancels the new one while it waits.",
                     nullptr});
        },
        refused);
    add_act(
        view, 'e', "end it now",
        [this](const Item& item) {
          desk_.act({"job.end",
                     {{"job", job_of(item)}},
                     fmt::format("Job {} ends with what has come.", job_of(item)),
                     "",
                     nullptr});
        },
        [](const Item& item) { return says(item, "state", "receiving"); });
    add_act(
        view, 'c', "cancel",
        [this](const Item& item) {
          desk_.open(Form{fmt::format("Cancel job {}", job_of(item)),
                          {fmt::format("\"{}\" of {} goes for good, without being printed. It "
                                       "can't be brought back. (h holds a job instead.)",
                                       text_of(item, "title"), owner_of(item)),
                           "Cancel it?"},
                          {},
                          [job = job_of(item)](const auto&) {
                            return Call{"job.cancel",
                                        {{"job", job}},
                                        fmt::format("Job {} is cancelled.", job),
                                        "",
                                        nullptr};
                          }});
        },
        [=](const Item& item) { return lies(item) || refused(item); });
    add_act(view, 'w', "why?", [this](const Item& item) {
      desk_.ask_why({{"job", job_of(item)}}, fmt::format("job {}", job_of(item)));
    });
    add_reading(view, desk_, "A job");
    views.push_back(std::move(made));
  }

  // Of all queues, or of the one that was chosen.
  void take_jobs(View& view, json::array items) {
    if (!queue_.empty()) {
      json::array some;
      for (auto& each : items) {
        if (each.is_object() && says(each.as_object(), "queue", queue_)) some.push_back(each);
      }
      items = std::move(some);
    }
    view.list.fill(std::move(items));
  }

  static std::string owner_of(const Item& item) {
    const std::string owner = text_of(item, "owner");
    return owner.empty() ? "nobody" : owner;
  }

  std::string queue_names() const {
    std::string out;
    for (const std::string& each : queues_) out += (out.empty() ? "" : ", ") + each;
    return out.empty() ? "not known yet" : out;
  }

  void add_queues() {
    auto made = std::make_unique<View>(
        "Queues", ListView({field("Queue", "name", 10, 0, 16),
                            {number_column("Jobs", "jobs"), 5},
                            {{"What it does", policy_in_words}, 20},
                            {{"Default",
                              [](const Item& item) {
                                return is_set(item, "default") ? std::string("yes") : std::string();
                              }},
                             7,
                             1},
                            field("Printer", "profile", 16, 1, 30),
                            field("Title", "title", 16, 2, 50)},
                           [](const Item& item) { return text_of(item, "name"); }));
    View& view = *made;
    view.source = std::make_unique<Source>(
        desk_.outbox(), "queue.list", json::object{}, often, [this, &view](json::array items) {
          queues_.clear();
          for (const auto& each : items) {
            if (each.is_object()) {
              queues_.push_back(text_of(each.as_object(), "name"));
            }
          }
          view.list.fill(std::move(items));
        });
    views.front()->besides = {view.source.get()};
    view.facts = [](const Item& item) {
      return std::vector<Fact>{{"queue", text_of(item, "name")},
                               {"title", text_of(item, "title")},
                               {"it", policy_in_words(item)},
                               {"printer", text_of(item, "profile")},
                               {"character set", text_of(item, "charset")},
                               {"a job", limit_in_words(item, "most_pages")},
                               {"a person a day", limit_in_words(item, "pages_per_day")},
                               {"a person a week", limit_in_words(item, "pages_per_week")}};
    };
    add_enter(view, "its jobs", [this](const Item& item) { show_queue(text_of(item, "name")); });
    add_plain_act(view, 'a', "jobs of all queues", [this] { show_queue(""); });
    views.push_back(std::move(made));
  }

  void show_queue(std::string name) {
    queue_ = std::move(name);
    views.front()->source->set_params({});
    at = 0;
  }

  void add_printouts() {
    auto made = std::make_unique<View>(
        "Printouts", ListView(
                         {{number_column("Job", "job"), 6},
                          {{"Owner",
                            [](const Item& item) {
                              const std::string owner = text_of(item, "owner");
                              return owner.empty() ? "(unclaimed)" : owner;
                            }},
                           11,
                           0,
                           16},
                          field("Title", "title", 18, 0, 50),
                          {number_column("Pages", "pages"), 5},
                          {time_column("Printed", "printed"), 16},
                          field("Queue", "queue", 8, 1, 14),
                          field("Code", "code", 8, 2),
                          field("From", "source", 16, 3, 30)},
                         [](const Item& item) { return text_of(item, "job"); },
                         [](const Item& item) {
                           return says(item, "owner", "") ? Look::warning : Look::plain;
                         }));
    View& view = *made;
    view.source =
        rows_of(view, desk_.outbox(), "printout.find", {{"most", most_printouts}}, now_and_then);
    view.none = [] { return "Nothing is printed yet."; };
    view.head = [this] {
      return words_.empty() ? std::string() : fmt::format("with \"{}\" in them", words_);
    };
    view.facts = [](const Item& item) {
      return std::vector<Fact>{
          {"printout of job", text_of(item, "job")},
          {"title", text_of(item, "title")},
          {"owner", text_of(item, "owner")},
          {"code to claim it", text_of(item, "code")},
          {"pages", text_of(item, "pages")},
          {"size", size_of(item, "bytes")},
          {"printed", time_of(item, "printed")},
          {"seen", is_set(item, "seen") ? "yes" : "not yet"},
          {"from", text_of(item, "source")},
          {"the words are on page", item.contains("page") ? text_of(item, "page") : ""},
          {"file", text_of(item, "path")}};
    };
    add_act(view, 'g', "give", [this](const Item& item) {
      desk_.open(Form{
          fmt::format("Give printout {}", job_of(item)),
          {fmt::format("\"{}\" belongs to {}. It goes into somebody else's tray.",
                       text_of(item, "title"), owner_of(item))},
          {{"To the account", "", ""}},
          [job = job_of(item), from = text_of(item, "owner")](const auto& values) {
            return Call{"printout.give",
                        {{"job", job}, {"account", values[0]}},
                        fmt::format("Printout {} is in the tray of {}.", job, values[0]),
                        from.empty() ? "g gives it on." : fmt::format("g gives it to {}.", from),
                        nullptr};
          }});
    });
    add_act(view, 'a', "print again", [this](const Item& item) {
      desk_.act({"job.again",
                 {{"job", job_of(item)}},
                 fmt::format("Job {} is printed again, as a new job.", job_of(item)),
                 "c among the jobs cancels it while it waits.",
                 nullptr});
    });
    add_plain_act(view, 'f', "find by words inside", [this, &view] {
      desk_.open(Form{"Find printouts by what is in them",
                      {"Words; \"words in quotes\" stand side by side; begin* is how one begins. "
                       "Nothing typed: all printouts."},
                      {{"Words", words_, ""}},
                      [this, &view](const auto& values) {
                        return Call{"", {}, "", "", [this, &view, words = values[0]](const auto&) {
                                      words_ = words;
                                      json::object params{{"most", most_printouts}};
                                      if (!words.empty()) params["words"] = words;
                                      view.source->set_params(std::move(params));
                                    }};
                      }});
    });
    add_act(view, 'd', "discard", [this](const Item& item) {
      desk_.open(
          Form{fmt::format("Discard printout {}", job_of(item)),
               {fmt::format("\"{}\" of {} goes for good.", text_of(item, "title"), owner_of(item)),
                "It can't be brought back. Discard it?"},
               {},
               [job = job_of(item)](const auto&) {
                 return Call{"printout.discard",
                             {{"job", job}},
                             fmt::format("Printout {} is gone.", job),
                             "",
                             nullptr};
               }});
    });
    add_reading(view, desk_, "A printout");
    views.push_back(std::move(made));
  }

  Desk& desk_;
  std::vector<std::string> queues_;  // their names
  std::string queue_;                // whose jobs show; empty: of all
  std::string words_;                // that printouts are to have
};

}  // namespace

std::unique_ptr<Screen> make_paper(Desk& desk) {
  return std::make_unique<Paper>(desk);
}

}  // namespace stationer::admin::console
