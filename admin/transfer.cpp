#include "admin/transfer.h"

#include "admin/host.h"
#include "admin/report.h"
#include "server/control/base64.h"
#include "server/control/streams.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;
using fs::Code;
using fs::Error;

}  // namespace

fs::Status fetch(Channel& channel, std::string_view method, json::object params,
                 const std::string& local, bool replace) {
  auto opened = channel.call(method, std::move(params));
  if (!opened) return opened.error();
  const std::string name = text_of(*opened, "name");
  auto output = Output::create(place_for(local, name), replace);
  if (!output) return output.error();
  if (const auto* missing = opened->if_contains("missing");
      missing != nullptr && missing->is_array()) {
    for (const auto& sentence : missing->as_array()) {
      if (sentence.is_string()) complain(printable(sentence.as_string()));
    }
  }
  Progress progress(name);
  const std::uint64_t size = number_of(*opened, "size");
  for (std::uint64_t received = 0;;) {
    auto piece = channel.call("stream.read", {{"stream", number_of(*opened, "stream")}});
    if (!piece) return piece.error();
    auto bytes = server::from_base64(text_of(*piece, "bytes"));
    if (!bytes) return bytes.error();
    if (auto written = output->write(*bytes); !written) return written;
    received += bytes->size();
    progress.at(received, size);
    if (is_set(*piece, "last")) return output->finish();
    if (bytes->empty()) return Error{Code::io, "The service sent nothing, but not the end either."};
  }
}

fs::Status send(Channel& channel, const std::string& local, json::object params) {
  auto input = Input::open(local);
  if (!input) return input.error();
  auto opened = channel.call("file.save", std::move(params));
  if (!opened) return opened.error();
  const std::uint64_t stream = number_of(*opened, "stream");
  Progress progress(local);
  std::string buffer(server::Streams::piece, '\0');
  for (std::uint64_t sent = 0;;) {
    auto got = input->read(buffer);
    if (!got) return got.error();
    if (*got == 0) break;
    auto written = channel.call(
        "stream.write",
        {{"stream", stream}, {"bytes", server::base64(std::string_view(buffer).substr(0, *got))}});
    if (!written) return written.error();
    sent += *got;
    progress.at(sent, input->size().value_or(0));
  }
  auto finished = channel.call("stream.finish", {{"stream", stream}});
  if (!finished) return finished.error();
  return {};
}

}  // namespace stationer::admin
