// stationer queue …
#include <memory>

#include <fmt/format.h>

#include "admin/command.h"
#include "admin/job_words.h"
#include "admin/report.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;

void add_list(CLI::App& group, Program& program) {
  const auto as_json = std::make_shared<bool>(false);
  CLI::App& command = add_command(group, "list", "List the print queues", "stationer queue list");
  add_json_option(command, *as_json);
  run(command, program, [as_json](Channel& channel) {
    return say_listing(channel, "queue.list", {}, *as_json,
                       {text_column("Queue", "name"),
                        text_column("Printer", "profile"),
                        text_column("Characters", "charset"),
                        {"Jobs are",
                         [](const json::object& each) -> std::string {
                           const std::string policy = text_of(each, "policy");
                           if (policy == "owner") return "held for their owner";
                           if (policy == "leader") return "held for a leader";
                           return "printed at once";
                         }},
                        number_column("Most pages", "most_pages"),
                        number_column("Jobs", "jobs"),
                        {"Title",
                         [](const json::object& each) {
                           return text_of(each, "title") +
                                  (is_set(each, "default") ? " (default)" : "");
                         }}},
                       "There is no print queue.");
  });
}

void add_jobs(CLI::App& group, Program& program) {
  struct Options {
    std::string queue;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "jobs", "List the jobs that are not printed yet, or can't be", "stationer queue jobs");
  add_argument(command, "QUEUE", options->queue, "Only those of this queue")->required(false);
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) {
    json::object params;
    if (!options->queue.empty()) params["queue"] = options->queue;
    return say_listing(channel, "job.list", std::move(params), options->json,
                       {number_column("Job", "job"),
                        {"State", job_state_of},
                        text_column("Queue", "queue"),
                        text_column("Owner", "owner"),
                        time_column("Came in", "received"),
                        size_column("Size", "bytes"),
                        text_column("Title", "title"),
                        text_column("Why", "reason")},
                       "No job waits.");
  });
}

void add_show(CLI::App& group, Program& program) {
  struct Options {
    std::uint32_t job = 0;
    bool json = false;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command =
      add_command(group, "show", "Show all about one job", "stationer queue show 42");
  add_argument(command, "NUMBER", options->job, "The job's number");
  add_json_option(command, options->json);
  run(command, program, [options](Channel& channel) -> fs::Status {
    auto job = channel.call("job.show", {{"job", options->job}});
    if (!job) return job.error();
    if (options->json) {
      say_json(*job);
      return {};
    }
    say_facts({{"job", text_of(*job, "job")},
               {"state", text_of(*job, "state")},
               {"being drawn", number_of(*job, "page") == 0 ? "" : job_state_of(*job)},
               {"read", job_read_of(*job)},
               {"why", text_of(*job, "reason")},
               {"queue", text_of(*job, "queue")},
               {"title", text_of(*job, "title")},
               {"owner", text_of(*job, "owner")},
               {"came from", text_of(*job, "source")},
               {"came in", time_of(*job, "received")},
               {"size", server::exact_size(number_of(*job, "bytes"))}});
    return {};
  });
}

// A command that does one thing with several jobs, perhaps for a reason that is told.
void add_for_jobs(CLI::App& group, Program& program, const char* name, const char* what,
                  bool with_reason, const char* example) {
  struct Options {
    std::vector<std::uint32_t> jobs;
    std::string reason;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(group, name, what, example);
  add_argument(command, "NUMBER", options->jobs, "The jobs' numbers");
  if (with_reason) {
    command.add_option("--reason", options->reason, "Why, in a sentence their owner reads")
        ->type_name("TEXT");
  }
  run(command, program, [options, method = fmt::format("job.{}", name)](Channel& channel) {
    return for_each(options->jobs, [&](std::uint32_t job) {
      json::object params{{"job", job}};
      if (!options->reason.empty()) params["reason"] = options->reason;
      return status_of(channel.call(method, std::move(params)));
    });
  });
}

void add_move(CLI::App& group, Program& program) {
  struct Options {
    std::uint32_t job = 0;
    std::string queue;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command =
      add_command(group, "move", "Put a job in another queue", "stationer queue move 42 paper");
  add_argument(command, "NUMBER", options->job, "The job's number");
  add_argument(command, "QUEUE", options->queue, "Where it is to go");
  run(command, program, [options](Channel& channel) {
    return status_of(channel.call("job.move", {{"job", options->job}, {"queue", options->queue}}));
  });
}

// What makes a new job says its number.
fs::Status say_new_job(const fs::Result<json::object>& answer) {
  if (!answer) return answer.error();
  say(fmt::format("job {}", text_of(*answer, "job")));
  return {};
}

void add_again(CLI::App& group, Program& program) {
  struct Options {
    std::uint32_t job = 0;
    std::string queue;
  };
  const auto options = std::make_shared<Options>();
  CLI::App& command = add_command(
      group, "again", "Print once more what was printed or refused, as a new job; says its number",
      "stationer queue again 42");
  add_argument(command, "NUMBER", options->job,
               "The number of the printout, or of the refused job");
  command.add_option("--queue", options->queue, "Another queue than its own")->type_name("NAME");
  run(command, program, [options](Channel& channel) {
    json::object params{{"job", options->job}};
    if (!options->queue.empty()) params["queue"] = options->queue;
    return say_new_job(channel.call("job.again", std::move(params)));
  });
}

void add_join(CLI::App& group, Program& program) {
  const auto jobs = std::make_shared<std::vector<std::uint32_t>>();
  CLI::App& command = add_command(
      group, "join",
      "Make one job of several that wait or are held in one queue for one person; says its number",
      "stationer queue join 42 43");
  add_argument(command, "NUMBER", *jobs, "The jobs' numbers, in the order they are to have");
  run(command, program, [jobs](Channel& channel) {
    return say_new_job(
        channel.call("job.join", {{"jobs", fmt::format("{}", fmt::join(*jobs, " "))}}));
  });
}

}  // namespace

void add_queue_commands(CLI::App& app, Program& program) {
  CLI::App& group = add_group(app, "queue", "Print queues, and the jobs in them");
  add_list(group, program);
  add_jobs(group, program);
  add_show(group, program);
  add_for_jobs(group, program, "hold", "Hold jobs back that wait to be printed", true,
               "stationer queue hold 42 --reason \"Ask me about this one.\"");
  add_for_jobs(group, program, "release", "Let held jobs be printed", false,
               "stationer queue release 42");
  add_for_jobs(group, program, "refuse", "Refuse jobs; what came in is kept", true,
               "stationer queue refuse 42 --reason \"Two hundred pages are too many.\"");
  add_for_jobs(group, program, "cancel", "Take jobs away for good", false,
               "stationer queue cancel 42");
  add_move(group, program);
  add_again(group, program);
  add_join(group, program);
  add_for_each<std::uint32_t>(
      group, program,
      {"end", "End jobs that are still coming in, with what has come", "stationer queue end 42",
       "NUMBER", "The jobs' numbers", "job.end", "job"});
}

}  // namespace stationer::admin
