// Moving contents in pieces, once file.open, file.save or printout.open has given a stream.
#include <array>

#include "server/control/base64.h"
#include "server/control/method.h"

namespace stationer::server {
namespace {

namespace json = boost::json;

Task<Answer> read(ControlClient& client, Params params) {
  const std::uint32_t stream = params.number("stream");
  const std::uint64_t most = params.whole_or("most", Streams::piece, Streams::piece);
  if (auto fine = params.check(); !fine) co_return fine.error();
  auto piece =
      co_await client.streams().read(client.loop(), stream, static_cast<std::size_t>(most));
  if (!piece) co_return piece.error();
  co_return json::object{{"bytes", base64(piece->bytes)}, {"last", piece->last}};
}

Task<Answer> write(ControlClient& client, Params params) {
  const std::uint32_t stream = params.number("stream");
  auto bytes = from_base64(params.text("bytes"));
  if (!bytes) params.refuse(bytes.error().message);
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return done(co_await client.streams().write(client.loop(), stream, std::move(*bytes)));
}

Task<Answer> finish(ControlClient& client, Params params) {
  const std::uint32_t stream = params.number("stream");
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return done(co_await client.streams().finish(client.loop(), stream));
}

Task<Answer> close(ControlClient& client, Params params) {
  const std::uint32_t stream = params.number("stream");
  if (auto fine = params.check(); !fine) co_return fine.error();
  co_return done(client.streams().close(stream));
}

constexpr std::array<Method, 4> methods = {{{"stream.read", read},
                                            {"stream.write", write},
                                            {"stream.finish", finish},
                                            {"stream.close", close}}};

}  // namespace

std::span<const Method> stream_methods() {
  return methods;
}

}  // namespace stationer::server
