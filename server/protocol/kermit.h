// Kermit, either way and as a server: all three checks, long packets, sliding windows, attributes,
// prefixes for repetition and for the eighth bit.
// Source: Kermit Protocol Manual, 6th ed., F. da Cruz, June 1986; sections are named where they
// decide.
//
// The sender leads. It sends the next packet when the window has room, and one again when the
// receiver asks for it or says nothing for too long. Text goes over as lines ended by CR LF:
// whoever hands it in or takes it out turns line ends into those and back.
//
// A line that adds parity is noticed by the first mark that comes, and from then on only seven bits
// count. Three times Ctrl-C between packets break it off: somebody sits there without a program.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "server/protocol/kermit_coding.h"
#include "server/protocol/kermit_packet.h"
#include "server/protocol/kermit_terms.h"
#include "server/protocol/kermit_windows.h"
#include "server/protocol/transfer.h"

namespace stationer::server {

class Kermit final : public Transfer {
 public:
  enum class Role : std::uint8_t { send, receive, serve };
  struct Options {
    Role role = Role::send;
    bool seven_bits = false;     // bit 8 does not come through
    std::size_t longest = 1000;  // of long packets that we send or take, in characters
    unsigned window = 8;
    kermit::Check check = kermit::Check::three;
    // How long somebody may take to start the program at the other end.
    std::chrono::seconds patience{120};
    // How far the clocks of the room are ahead of UTC: file times are said as they show.
    std::chrono::minutes clock_ahead{0};
  };
  static constexpr int most_retries = 20;  // of one packet, on a bad line
  // Somebody is gone who says nothing for so long, and not to so many questions.
  static constexpr std::chrono::seconds most_silence{90};
  static constexpr int most_unanswered = 5;
  // A server that hears nothing gives up after this; nothing is lost by it.
  static constexpr std::chrono::minutes idle_wait{30};

  explicit Kermit(const Options& options);

 protected:
  void started() override;
  std::size_t take(std::string_view octets) override;
  void timed_out() override;
  void accepted() override;
  void refused(const fs::Error& error) override;
  void got_file(FileFacts facts) override;
  void got_no_file() override;
  void got_bytes(std::string bytes) override;
  std::string cancellation(const std::string& why) const override;

 private:
  using Packet = kermit::Packet;

  enum class Phase : std::uint8_t {
    // We lead, and have sent or are sending this:
    init,
    header,
    attributes,
    data,
    end,
    batch_end,
    // The other end leads:
    serving,    // a command is awaited
    waiting,    // its first packet
    receiving,  // its next one
  };
  enum class Asked : std::uint8_t { nothing, find, open, write, close, abandon, sent };

  bool leads() const { return phase_ < Phase::serving; }
  void heard(Packet packet);
  void spoilt();
  void transmit(const Packet& packet, kermit::Check check);
  std::string octets_of(const Packet& packet, kermit::Check check) const;
  void ask_for(Asked what, Request request);
  void batch_over();
  bool gone_silent();

  // ---- leading (kermit_send.cpp) ----
  void begin_sending();
  void put_packet(char type, std::string data);
  void resend(kermit::SendWindow::Sent& sent);
  void heard_as_sender(const Packet& packet);
  void acknowledged(const Packet& packet);
  void go_on();
  void fill_window();
  void wait_for_reply();
  void timed_out_as_sender();
  std::string attributes() const;

  // ---- following (kermit_receive.cpp) ----
  void begin_receiving();
  void heard_as_receiver(Packet packet);
  void heard_init(const Packet& packet);
  void use_next();
  void use(const Packet& packet);
  void use_attributes(std::string_view data);
  void open_or(const Packet& packet);
  void reply(unsigned sequence, std::string data = {});
  void ask_again(unsigned sequence);
  void ask_for_holes(unsigned upto);
  void timed_out_as_receiver();

  // ---- serving ----
  void begin_serving();
  void heard_as_server(const Packet& packet);

  const Options options_;
  kermit::PacketReader reader_;
  kermit::Offer ours_;
  kermit::Terms terms_;
  Phase phase_ = Phase::init;
  Asked asked_ = Asked::nothing;
  bool heard_ = false;  // the other end, in this batch
  int retries_ = 0;
  Time heard_at_{};
  Time give_up_{};
  FileFacts facts_;

  // Leading.
  kermit::SendWindow window_;
  unsigned sequence_ = 0;  // of the next packet
  std::string ready_;      // of the file's bytes, from ready_at_ on
  std::size_t ready_at_ = 0;
  bool read_all_ = false;
  std::string refusal_;  // the other end does not want this file
  bool stop_batch_ = false;
  std::size_t packet_size_ = 0;  // smaller on a bad line
  int good_ = 0;                 // packets since it was made smaller
  Time::duration an_octet_{};    // how long one takes, as far as is known

  // Following.
  kermit::ReceiveWindow received_;
  std::string init_reply_;             // to be sent again if it was not heard
  std::vector<unsigned> asked_again_;  // for which packets, until they come
  bool opened_ = false;
  bool unwanted_ = false;              // the file's bytes are thrown away
  std::optional<unsigned> to_answer_;  // the packet whose answer waits for the caller
  std::optional<Packet> held_;         // it comes before the file was opened
};

}  // namespace stationer::server
