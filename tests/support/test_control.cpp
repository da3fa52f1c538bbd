#include "tests/support/test_control.h"

#include "server/control/base64.h"

namespace stationer::test {

void TestControl::put(const std::string& path, std::string_view bytes, std::size_t piece,
                      Object params) {
  params["path"] = path;
  const auto stream = done("file.save", std::move(params)).at("stream");
  while (!bytes.empty()) {
    const auto part = bytes.substr(0, piece);
    done("stream.write", {{"stream", stream}, {"bytes", server::base64(part)}});
    bytes.remove_prefix(part.size());
  }
  done("stream.finish", {{"stream", stream}});
}

std::string TestControl::get(std::string_view method, Object params, std::uint64_t most) {
  const auto stream = done(method, std::move(params)).at("stream");
  std::string out;
  for (;;) {
    const Object part = done("stream.read", {{"stream", stream}, {"most", most}});
    out += server::from_base64(part.at("bytes").as_string()).value();
    if (part.at("last").as_bool()) return out;
  }
}

}  // namespace stationer::test
