// Serial lines: testing one.
#include <array>

#include "server/control/method.h"

namespace stationer::server {
namespace {

namespace json = boost::json;

Task<Answer> test(ControlClient& client, Params params) {
  const std::string name = params.text("name");
  if (auto fine = params.check(); !fine) co_return fine.error();
  const Running* running = client.context().running;
  if (running == nullptr || !running->test_line) {
    co_return fs::Error{fs::Code::not_found,
                        "No service runs, and it is the service that has the lines. Start it with: "
                        "stationer serve"};
  }
  const auto findings = co_await running->test_line(name);
  if (!findings) co_return findings.error();
  json::array sentences;
  for (const auto& each : findings->sentences) sentences.push_back(json::string(each));
  co_return json::object{{"well", findings->well}, {"findings", std::move(sentences)}};
}

constexpr std::array<Method, 1> methods = {{{"line.test", test}}};

}  // namespace

std::span<const Method> line_methods() {
  return methods;
}

}  // namespace stationer::server
