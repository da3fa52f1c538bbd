#include "server/net/tls.h"

#include <optional>
#include <utility>

#include <boost/asio/ssl/context.hpp>
#include <boost/asio/ssl/stream.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/write.hpp>
#include <fmt/format.h>

#include "server/net/socket_stream.h"

namespace stationer::server {

namespace asio = boost::asio;
using boost::system::error_code;
using Socket = SocketStream::Socket;

namespace {

constexpr std::size_t record_size = 16 * 1024;  // RFC 8446 §5.1: no more comes at once
constexpr std::chrono::seconds closing{5};      // for the other end to say that it has ended, too

class TlsStream final : public Stream {
 public:
  TlsStream(SocketStream& plain, asio::ssl::context& context)
      : address_(plain.address()),
        own_address_(plain.own_address()),
        port_(plain.port()),
        state_(std::make_shared<State>(plain.release(), context)) {}
  ~TlsStream() override { state_->let_go(); }

  Later<bool> shake_hands(Time until) {
    const Later<bool> later = state_->writing.emplace();
    state_->wait_until(until);
    state_->device.async_handshake(asio::ssl::stream_base::server,
                                   [state = state_](const error_code& failed) {
                                     state->timer.cancel();
                                     state->end_write(!failed);
                                   });
    return later;
  }

  Later<Read> read(std::optional<Time> until) override { return state_->read(until, true); }
  Later<Read> pause(Time until) override { return state_->read(until, false); }
  void wake() override { state_->give_up(Read::End::woken); }

  Later<bool> write(std::string bytes, bool) override {
    const Later<bool> later = state_->writing.emplace();
    state_->output = std::move(bytes);
    asio::async_write(
        state_->device, asio::buffer(state_->output),
        [state = state_](const error_code& failed, std::size_t) { state->end_write(!failed); });
    return later;
  }

  // Says that this is the end, so that nobody can cut it short unnoticed.
  void end_output() override {
    if (std::exchange(state_->ending, true)) return;
    state_->wait_until(std::chrono::steady_clock::now() + closing);
    state_->device.async_shutdown([state = state_](const error_code&) { state->close(); });
  }

  const std::string& address() const override { return address_; }
  std::string own_address() const override { return own_address_; }
  std::uint16_t port() const override { return port_; }

 private:
  struct State : std::enable_shared_from_this<State> {
    State(Socket socket, asio::ssl::context& context)
        : device(std::move(socket), context), timer(device.get_executor()) {}

    asio::ssl::stream<Socket> device;
    asio::steady_timer timer;
    std::string output;
    std::string input;     // where what comes is put
    bool hears = false;    // a read of TLS is going on, which can't be taken back
    bool listens = false;  // whoever waits is for what comes
    bool ending = false;
    std::optional<Read> came;  // while nobody was reading
    std::optional<Later<Read>> reading;
    std::optional<Later<bool>> writing;
    std::uint64_t turn = 0;

    Later<Read> read(std::optional<Time> until, bool listening) {
      listens = listening;
      const Later<Read> later = reading.emplace();
      if (listens && came) {
        end_read(*std::exchange(came, std::nullopt));
        return later;
      }
      if (until) wait_until(*until);
      if (listens) hear();
      return later;
    }

    void hear() {
      if (std::exchange(hears, true)) return;
      input.resize(record_size);
      device.async_read_some(asio::buffer(input), [self = shared_from_this()](
                                                      const error_code& failed, std::size_t got) {
        self->hears = false;
        Read read;
        // Of the clients in use many end the connection and leave out TLS's own end.
        const bool ended =
            failed == asio::error::eof || failed == asio::ssl::error::stream_truncated;
        if (failed) read.end = ended ? Read::End::orderly : Read::End::broken;
        if (!failed) read.bytes.assign(self->input, 0, got);
        self->input = std::string();
        if (self->reading && self->listens) return self->end_read(std::move(read));
        self->came = std::move(read);
      });
    }

    // For whoever reads, for hands to be shaken, and for the end.
    void wait_until(Time until) {
      timer.expires_at(until);
      timer.async_wait([self = shared_from_this(), turn = turn](const error_code& failed) {
        if (failed || turn != self->turn) return;
        if (self->reading) return self->end_read({{}, Read::End::deadline, false});
        self->close();
      });
    }

    void give_up(Read::End why) {
      if (reading) end_read({{}, why, false});
    }

    void end_read(Read read) {
      ++turn;
      timer.cancel();
      std::exchange(reading, std::nullopt)->bring(std::move(read));
    }
    void end_write(bool done) {
      if (writing) std::exchange(writing, std::nullopt)->bring(done);
    }

    void close() {
      error_code ignored;
      device.lowest_layer().close(ignored);
    }
    void let_go() {
      reading.reset();
      writing.reset();
      if (!ending) close();  // else what ends it does
    }
  };

  std::string address_;
  std::string own_address_;
  std::uint16_t port_;
  std::shared_ptr<State> state_;
};

fs::Error not_usable(const std::string& file, const error_code& why) {
  return {fs::Code::bad_input, fmt::format("The file {} can't be used for TLS: {}. It has to be in "
                                           "PEM form, and readable for who runs the service.",
                                           file, why.message())};
}

}  // namespace

struct Tls::Context {
  asio::ssl::context tls{asio::ssl::context::tls_server};
};

Tls::Tls(std::unique_ptr<Context> context) : context_(std::move(context)) {}
Tls::~Tls() = default;

fs::Result<std::unique_ptr<Tls>> Tls::open(const std::string& certificate, const std::string& key) {
  auto context = std::make_unique<Context>();
  error_code failed;
  // A client that only sends does not read them, and what is unread when it closes makes that a
  // reset, which may overtake the end of its file.
  SSL_CTX_set_num_tickets(context->tls.native_handle(), 0);
  // RFC 8996: nothing older than 1.2.
  context->tls.set_options(asio::ssl::context::default_workarounds | asio::ssl::context::no_tlsv1 |
                               asio::ssl::context::no_tlsv1_1 | asio::ssl::context::no_compression,
                           failed);
  if (!failed) context->tls.use_certificate_chain_file(certificate, failed);
  if (failed) return not_usable(certificate, failed);
  context->tls.use_private_key_file(key, asio::ssl::context::pem, failed);
  if (failed) return not_usable(key, failed);
  return std::unique_ptr<Tls>(new Tls(std::move(context)));
}

Task<std::unique_ptr<Stream>> Tls::begin(std::unique_ptr<Stream> plain, Time until) {
  auto* socket = dynamic_cast<SocketStream*>(plain.get());
  if (socket == nullptr) co_return nullptr;
  auto stream = std::make_unique<TlsStream>(*socket, context_->tls);
  const bool agreed = co_await stream->shake_hands(until);
  if (!agreed) co_return nullptr;
  co_return std::move(stream);
}

}  // namespace stationer::server
