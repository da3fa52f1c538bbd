#include "tests/admin/tree.h"

namespace stationer::test {
namespace {

void add_below(const CLI::App& app, std::vector<const CLI::App*>& out) {
  out.push_back(&app);
  for (const CLI::App* each : admin::commands_of(app)) add_below(*each, out);
}

}  // namespace

std::vector<const CLI::App*> Tree::all() const {
  std::vector<const CLI::App*> out;
  add_below(app, out);
  return out;
}

std::vector<const CLI::App*> Tree::commands() const {
  return commands_below(app);
}

std::vector<const CLI::App*> commands_below(const CLI::App& command) {
  std::vector<const CLI::App*> out;
  add_below(command, out);
  std::erase_if(out, [](const CLI::App* each) { return !admin::commands_of(*each).empty(); });
  return out;
}

void Tree::parse(const std::vector<std::string>& words) {
  std::vector<const char*> pointers{"stationer"};
  for (const std::string& word : words) pointers.push_back(word.c_str());
  app.parse(static_cast<int>(pointers.size()), pointers.data());
}

std::vector<std::string> examples_of(const CLI::App& command) {
  std::vector<std::string> out;
  std::istringstream lines(command.get_footer());
  std::string line;
  std::getline(lines, line);
  if (line != "Example:") return out;
  while (std::getline(lines, line)) {
    line.erase(0, line.find_first_not_of(' '));
    if (!line.empty()) out.push_back(line);
  }
  return out;
}

}  // namespace stationer::test
