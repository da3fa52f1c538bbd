#include "admin/printers.h"

#include "admin/report.h"
#include "print/choice.h"

namespace stationer::admin {

fs::Result<std::vector<print::PrinterProfile>> all_printers(const Program& program) {
  const auto ready_made = print::printer_profiles();
  std::vector<print::PrinterProfile> all(ready_made.begin(), ready_made.end());
  if (!names_volume(program)) return all;
  auto channel = open_channel(program);
  if (!channel) return channel.error();
  auto listed = (*channel)->list("printer.list");
  if (!listed) return listed.error();
  for (const auto& item : listed->items) {
    const auto& printer = item.as_object();
    if (is_set(printer, "ready_made")) continue;
    const boost::json::value* text = printer.if_contains("profile");
    if (text == nullptr || !text->is_string()) continue;
    auto profile = print::read_profile(text_of(printer, "name"), text->as_string());
    if (!profile) return profile.error();
    all.push_back(std::move(*profile));
  }
  return all;
}

fs::Result<print::PrinterProfile> find_printer(const Program& program, const std::string& name) {
  if (auto ready_made = print::find_printer_profile(name)) return ready_made;
  const auto all = all_printers(program);
  if (!all) return all.error();
  return print::choose(std::span(*all), name, "printer profile");
}

}  // namespace stationer::admin
