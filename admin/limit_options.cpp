#include "admin/limit_options.h"

#include "admin/command.h"

namespace stationer::admin {
namespace {

constexpr std::uint64_t mib = 1 << 20;
constexpr std::uint64_t most = std::uint64_t{1} << 40;

}  // namespace

std::shared_ptr<LimitOptions> LimitOptions::add(CLI::App& command) {
  const auto options = std::make_shared<LimitOptions>();
  const auto option = [&](const char* name, std::uint64_t& value, const char* what) {
    return command.add_option(name, value, what)->check(whole_number(0, most))->type_name("NUMBER");
  };
  options->soft_mib_ = option("--mib", options->mib_.soft, "The limit in MiB");
  options->hard_mib_ =
      option("--hard-mib", options->mib_.hard, "The hard limit in MiB")->needs(options->soft_mib_);
  options->soft_files_ = option("--files", options->files_.soft, "The limit of files and folders");
  options->hard_files_ = option("--hard-files", options->files_.hard, "The hard limit of them")
                             ->needs(options->soft_files_);
  return options;
}

void LimitOptions::put(boost::json::object& params) const {
  const auto put_one = [&params](const CLI::Option* soft, const CLI::Option* hard,
                                 const Limit& limit, std::uint64_t unit, const char* soft_key,
                                 const char* hard_key) {
    if (soft->count() == 0) return;
    params[soft_key] = limit.soft * unit;
    params[hard_key] =
        hard->count() > 0 ? limit.hard * unit : limit.soft * unit + limit.soft * unit / 4;
  };
  put_one(soft_mib_, hard_mib_, mib_, mib, "soft_bytes", "hard_bytes");
  put_one(soft_files_, hard_files_, files_, 1, "soft_files", "hard_files");
}

}  // namespace stationer::admin
