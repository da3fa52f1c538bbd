// A serial port of the host: a tty with its rate, form and handshake, and its modem lines. The only
// file that knows termios.
#pragma once

#include <cstdint>
#include <string>

#include "fs/result.h"

namespace stationer::server {

struct SerialSettings {
  enum class Parity : std::uint8_t { none, even, odd };
  // How one end tells the other to wait: by wires, by characters, or not at all.
  enum class Flow : std::uint8_t { none, rts_cts, xon_xoff };

  static constexpr std::uint32_t least_speed = 50;
  static constexpr std::uint32_t most_speed = 4'000'000;

  std::string device;          // such as "/dev/ttyUSB0", or better a name that stays
  std::uint32_t speed = 9600;  // bit/s, any that the port can do
  unsigned bits = 8;           // 7 or 8, without parity
  Parity parity = Parity::none;
  unsigned stop_bits = 1;  // 1 or 2
  Flow flow = Flow::none;
  bool carrier = false;  // the carrier tells whether somebody is there; hanging up drops DTR
};

// An open one. Closed when let go, unless the descriptor was taken.
class SerialPort {
 public:
  // Code::not_found, busy, denied or bad_input in a sentence: no such device, in use, not allowed,
  // none that is a serial port or can do that.
  static fs::Result<SerialPort> open(const SerialSettings& settings);

  SerialPort(SerialPort&& other) noexcept;
  SerialPort& operator=(SerialPort&&) = delete;
  ~SerialPort();

  // Gives the descriptor away; non-blocking.
  int release();

  // All of these know ports by their descriptors, since streams own them.
  static bool has_carrier(int port);
  // What is still to be sent is thrown away, and the far end's modem told to hang up.
  static void hang_up(int port);
  static void answer(int port);  // DTR again
  static bool is_there(const std::string& device);
  // XON and XOFF among the bytes are bytes then, whatever the settings say.
  static void keep_all_bytes(int port, const SerialSettings& settings, bool all);

 private:
  explicit SerialPort(int descriptor) : descriptor_(descriptor) {}
  int descriptor_;
};

}  // namespace stationer::server
