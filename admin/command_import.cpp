// stationer account import: people from a list.
#include <array>
#include <memory>
#include <optional>

#include <fmt/format.h>

#include "admin/command.h"
#include "admin/host.h"
#include "admin/people_list.h"
#include "admin/people_plan.h"
#include "admin/report.h"
#include "admin/slips.h"
#include "fs/crypto.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;

struct Options {
  std::string file;
  PlanOptions plan;
  SlipsFile::Options slips;
  bool apply = false;
  bool without_wrong = false;
  bool json = false;
};

fs::Result<std::string> read_list(const std::string& path) {
  auto input = Input::open(path);
  if (!input) return input.error();
  std::string bytes;
  std::array<char, 64 * 1024> piece{};
  while (bytes.size() <= longest_people_list) {
    auto got = input->read(piece);
    if (!got) return got.error();
    if (*got == 0) break;
    bytes.append(piece.data(), *got);
  }
  return bytes;
}

std::vector<std::string> texts_of(const json::object& object, std::string_view key) {
  std::vector<std::string> out;
  const json::value* all = object.if_contains(key);
  if (all == nullptr || !all->is_array()) return out;
  for (const auto& each : all->as_array()) {
    if (each.is_string()) out.emplace_back(each.as_string());
  }
  return out;
}

// The plain text of a field: to compare, not to show.
std::string exactly(const json::object& object, std::string_view key) {
  const json::value* value = object.if_contains(key);
  const json::string* text = value == nullptr ? nullptr : value->if_string();
  return text == nullptr ? "" : std::string(*text);
}

fs::Result<PeoplePlan> plan(Channel& channel, const PeopleList& list, const PlanOptions& options) {
  auto accounts = channel.list("account.list");
  if (!accounts) return accounts.error();
  auto classes = channel.list("class.list");
  if (!classes) return classes.error();
  std::vector<KnownAccount> known;
  for (const auto& item : accounts->items) {
    const json::object& account = item.as_object();
    known.push_back({exactly(account, "name"), exactly(account, "full_name"),
                     exactly(account, "role"), exactly(account, "class"),
                     texts_of(account, "classes"), texts_of(account, "leads"),
                     last_day_of(account, "ends"), is_set(account, "closed")});
  }
  std::vector<std::string> class_names;
  for (const auto& item : classes->items) class_names.push_back(exactly(item.as_object(), "name"));
  return plan_people(list.people, known, class_names, options);
}

// ---- what is said ----

json::object shown(const PlannedPerson& person) {
  return {
      {"line", person.line},   {"becomes", deed_name(person.deed)},
      {"name", person.name},   {"full_name", person.full_name},
      {"class", person.klass}, {"role", person.role},
      {"ends", person.ends},   {"words", json::array(person.words.begin(), person.words.end())}};
}

json::array shown(const PeoplePlan& plan) {
  json::array items;
  for (const auto& person : plan.people) items.push_back(shown(person));
  return items;
}

std::string words_of(const json::object& item) {
  std::string out;
  for (const auto& each : texts_of(item, "words")) out += (out.empty() ? "" : "; ") + each;
  return printable(out);
}

void say_counts(const PeoplePlan& plan) {
  say(fmt::format("{}: {} new, {} to change, {} as they are, {} wrong.",
                  server::counted(plan.people.size(), "person", "people"), plan.count(Deed::add),
                  plan.count(Deed::change), plan.count(Deed::keep), plan.count(Deed::wrong)));
}

void say_plan(const PeopleList& list, const PeoplePlan& plan) {
  say(fmt::format("Read as {}.", list.read_as));
  if (!list.unused.empty()) {
    say(printable(fmt::format("Not used: {}.", server::listed(list.unused))));
  }
  if (!plan.new_classes.empty()) {
    say(fmt::format("New {}: {}.", plan.new_classes.size() == 1 ? "class" : "classes",
                    server::listed(plan.new_classes)));
  }
  json::array items;
  for (const auto& person : plan.people) {
    if (person.deed != Deed::keep || !person.words.empty()) items.push_back(shown(person));
  }
  if (!items.empty()) {
    say_table({number_column("Line", "line"),
               text_column("Is", "becomes"),
               text_column("Name", "name"),
               text_column("Full name", "full_name"),
               text_column("Class", "class"),
               text_column("Role", "role"),
               text_column("Last day", "ends"),
               {"What", words_of}},
              items);
  }
  say_counts(plan);
}

// ---- what is done ----

// The password is made up here, so that it is known even if the answer never comes.
fs::Status add(Channel& channel, const PlannedPerson& person, const std::string& password) {
  json::object params{{"name", person.name},
                      {"full_name", person.full_name},
                      {"role", person.role},
                      {"class", person.klass},
                      {"password", password}};
  if (!person.ends.empty()) params["ends"] = person.ends;
  return status_of(channel.call("account.add", std::move(params)));
}

fs::Status change(Channel& channel, const PlannedPerson& person) {
  json::object params{{"name", person.name}};
  if (!person.full_name.empty()) params["full_name"] = person.full_name;
  if (!person.role.empty()) params["role"] = person.role;
  if (!person.ends.empty()) params["ends"] = person.ends;
  if (!person.klass.empty() && !person.joins_as_leader) params["class"] = person.klass;
  if (params.size() > 1) {
    if (auto done = channel.call("account.change", std::move(params)); !done) return done.error();
  }
  if (person.joins_as_leader) {
    return status_of(channel.call(
        "class.join", {{"name", person.klass}, {"account", person.name}, {"leader", true}}));
  }
  if (person.leaves.empty()) return {};
  return status_of(
      channel.call("class.leave", {{"name", person.leaves}, {"account", person.name}}));
}

// What became of a plan.
struct Applied {
  std::uint64_t classes = 0, added = 0, changed = 0;
  std::size_t failures = 0;
  json::array made;     // accounts, with their passwords
  std::string stopped;  // why it broke off before its end, in a sentence; empty: it did not
};

// Takes people in by a channel that may break off.
class Taking {
 public:
  Taking(const Program& program, Channel& channel) : program_(program), channel_(&channel) {}

  void apply(const PeoplePlan& plan, const PutOff& signals, Applied& applied);
  Channel& channel() { return *channel_; }

 private:
  fs::Status take_in(const PlannedPerson& person, Applied& applied);
  void reach_again(const PlannedPerson& person, Applied& applied);

  const Program& program_;
  Channel* channel_;
  std::unique_ptr<Channel> other_;  // when the first broke off
};

// Straight on the volume when the service is gone, to see what has become of the last one.
void Taking::reach_again(const PlannedPerson& person, Applied& applied) {
  auto other = open_channel(program_);
  if (!other) {
    applied.stopped =
        fmt::format("The service ended; what became of {} is not known.", person.name);
    return;
  }
  applied.stopped = "The service ended.";
  other_ = std::move(*other);
  channel_ = other_.get();
}

fs::Status Taking::take_in(const PlannedPerson& person, Applied& applied) {
  if (person.deed == Deed::change) {
    const auto done = change(*channel_, person);
    if (done) ++applied.changed;
    if (!done && !channel_->is_there()) reach_again(person, applied);
    return done;
  }
  if (person.deed != Deed::add) return {};
  const std::string password = fs::random_password();
  const auto done = add(*channel_, person, password);
  if (!done && !channel_->is_there()) reach_again(person, applied);
  // What failed may have been done all the same, in whole or in part.
  const bool there = done || (done.error().code != fs::Code::exists &&
                              channel_->call("account.show", {{"name", person.name}}));
  if (there) {
    ++applied.added;
    applied.made.push_back(json::object{{"name", person.name},
                                        {"password", password},
                                        {"full_name", person.full_name},
                                        {"class", person.klass},
                                        {"role", person.role}});
  }
  return done;
}

void Taking::apply(const PeoplePlan& plan, const PutOff& signals, Applied& applied) {
  Progress progress("Taking people in");
  for (std::size_t i = 0; i < plan.people.size() && applied.stopped.empty(); ++i) {
    progress.at(i, plan.people.size());
    if (signals.asked()) {
      applied.stopped = "Stopped.";
      return;
    }
    const auto done = take_in(plan.people[i], applied);
    if (done || !applied.stopped.empty()) continue;
    ++applied.failures;
    progress.end();
    complain(fmt::format("line {}: {}", plan.people[i].line, done.error().message));
  }
}

// Where slips are; empty when there are none.
fs::Result<std::string> hand_over(const Options& options, SlipsFile* file, const Applied& applied) {
  if (file != nullptr) {
    std::vector<Slip> slips;
    for (const auto& item : applied.made) {
      const json::object& each = item.as_object();
      slips.push_back({exactly(each, "full_name"), exactly(each, "class"), exactly(each, "role"),
                       exactly(each, "name"), exactly(each, "password")});
    }
    return file->finish(std::move(slips),
                        applied.stopped.empty() ? SlipsFile::Of::all : SlipsFile::Of::part);
  }
  if (options.json) {
    say_json(applied.made);
  } else if (!applied.made.empty()) {
    say_table({text_column("Full name", "full_name"), text_column("Class", "class"),
               text_column("Name", "name"), text_column("Password", "password")},
              applied.made);
  }
  return std::string();
}

fs::Status outcome(const PeoplePlan& plan, const Applied& applied, const std::string& slips) {
  if (!applied.stopped.empty()) {
    return fs::Error{
        fs::Code::io,
        fmt::format(
            "{} {} of {} were taken in{}. The same command again takes in the rest.",
            applied.stopped, applied.added + applied.changed,
            server::counted(plan.count(Deed::add) + plan.count(Deed::change), "person", "people"),
            slips.empty()
                ? ""
                : printable(fmt::format("; the slips of those who are new are in \"{}\"", slips)))};
  }
  if (applied.failures == 0) return {};
  return fs::Error{
      fs::Code::bad_input,
      fmt::format("{} could not be done; see above. The same list again does the rest{}.",
                  server::counted(applied.failures, "line"),
                  slips.empty() ? "" : ", with another file for its slips")};
}

fs::Status apply(const Program& program, Channel& channel, const Options& options,
                 const PeoplePlan& plan) {
  std::optional<SlipsFile> file;
  if (options.slips.asked() && plan.count(Deed::add) != 0) {
    auto begun = SlipsFile::begin(options.slips);
    if (!begun) return begun.error();
    if (auto asked = begun->ask(channel); !asked) return asked;
    file.emplace(std::move(*begun));
  }
  const PutOff signals;  // until passwords that were made up are handed over
  Applied applied;
  for (const auto& klass : plan.new_classes) {
    if (auto made = channel.call("class.add", {{"name", klass}}); !made) return made.error();
    ++applied.classes;
  }
  Taking taking(program, channel);
  taking.apply(plan, signals, applied);
  const auto handed = hand_over(options, file ? &*file : nullptr, applied);
  const auto noted = taking.channel().call(
      "account.imported",
      {{"list", options.file == "-" ? "standard input" : std::string(last_part(options.file))},
       {"classes", applied.classes},
       {"added", applied.added},
       {"changed", applied.changed},
       {"same", plan.count(Deed::keep)},
       {"wrong", plan.count(Deed::wrong) + applied.failures}});
  if (!handed) {
    return fs::Error{handed.error().code,
                     handed.error().message +
                         " The accounts are there: account password gives them new passwords."};
  }
  const auto done = outcome(plan, applied, *handed);
  return done ? status_of(noted) : done;
}

}  // namespace

void add_import_command(CLI::App& group, Program& program) {
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "import",
      "Take people in from a list: CSV with a line that names its columns, or names one a line. "
      "Says what would be done; --apply does it. The same list again makes nobody twice: people "
      "are known by their sign-in name, or by their full name in their class",
      "stationer account import people.csv\n  stationer account import people.csv --new-classes "
      "--apply");
  add_argument(command, "FILE", options->file, "The list, or - for standard input");
  command.add_option("--class", options->plan.klass, "The class of those the list has none for")
      ->type_name("CLASS");
  command.add_flag("--new-classes", options->plan.new_classes, "Make classes that are not there");
  command.add_flag("--apply", options->apply, "Do it, unless something in the list is wrong");
  command
      .add_flag("--without-wrong", options->without_wrong, "Do it but for the lines that are wrong")
      ->needs("--apply");
  SlipsFile::add_options(command, options->slips);
  add_json_option(command, options->json);
  run(command, program, [&program, options](Channel& channel) -> fs::Status {
    auto bytes = read_list(options->file);
    if (!bytes) return bytes.error();
    auto list = read_people_list(*bytes);
    if (!list) return list.error();
    auto planned = plan(channel, *list, options->plan);
    if (!planned) return planned.error();
    const std::size_t wrong = planned->count(Deed::wrong);
    if (options->apply && (wrong == 0 || options->without_wrong)) {
      return apply(program, channel, *options, *planned);
    }
    if (options->json) {
      say_json(shown(*planned));
    } else {
      say_plan(*list, *planned);
    }
    if (wrong == 0) return {};
    return fs::Error{
        fs::Code::bad_input,
        fmt::format("{} wrong. {}", server::counted(wrong, "line is", "lines are"),
                    options->apply ? "Nothing was done; --without-wrong does the others."
                                   : "Nothing was changed.")};
  });
}

}  // namespace stationer::admin
