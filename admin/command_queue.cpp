// stationer queue …
#include <memory>

#include <fmt/format.h>

#include "admin/command.h"
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
    return say_listing(
        channel, "job.list", std::move(params), options->json,
        {number_column("Job", "job"), text_column("State", "state"), text_column("Queue", "queue"),
         text_column("Owner", "owner"), time_column("Came in", "received"),
         size_column("Size", "bytes"), text_column("Title", "title"), text_column("Why", "reason")},
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
}

}  // namespace stationer::admin
