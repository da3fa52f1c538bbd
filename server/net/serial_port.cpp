#include "server/net/serial_port.h"

// Not <termios.h>, which knows only the rates of old tables; termios2 takes any number.
#include <cerrno>
#include <cstring>
#include <utility>

#include <asm/termbits.h>
#include <fcntl.h>
#include <fmt/format.h>
#include <sys/ioctl.h>
#include <unistd.h>

namespace stationer::server {
namespace {

using fs::Code;
using fs::Error;

constexpr char xon = 0x11;
constexpr char xoff = 0x13;

// The flags as this system's headers have them, which are unsigned.
constexpr tcflag_t software_flow = IXON | IXOFF;

termios2 form_of(const SerialSettings& settings) {
  using Parity = SerialSettings::Parity;
  using Flow = SerialSettings::Flow;
  termios2 form{};
  form.c_cflag = CREAD | HUPCL | BOTHER | (BOTHER << IBSHIFT);
  form.c_cflag |= settings.bits == 7 ? CS7 : CS8;
  if (settings.parity != Parity::none) form.c_cflag |= PARENB;
  if (settings.parity == Parity::odd) form.c_cflag |= PARODD;
  if (settings.stop_bits == 2) form.c_cflag |= CSTOPB;
  if (settings.flow == Flow::rts_cts) form.c_cflag |= CRTSCTS;
  if (!settings.carrier) form.c_cflag |= CLOCAL;
  form.c_iflag = IGNBRK;
  if (settings.parity != Parity::none) form.c_iflag |= INPCK;
  if (settings.bits == 7) form.c_iflag |= ISTRIP;
  if (settings.flow == Flow::xon_xoff) form.c_iflag |= software_flow;
  form.c_cc[VSTART] = xon;
  form.c_cc[VSTOP] = xoff;
  form.c_cc[VMIN] = 1;
  form.c_ispeed = form.c_ospeed = settings.speed;
  return form;
}

Error cannot(const SerialSettings& settings, int why) {
  switch (why) {
    case ENOENT:
    case ENXIO:
    case ENODEV:
    case EIO:
      return {Code::not_found, fmt::format("There is no serial port {}. Is the adapter plugged in?",
                                           settings.device)};
    case EACCES:
    case EPERM:
      return {Code::denied,
              fmt::format("The serial port {} may not be used by this user. On Debian its users "
                          "are those of the group dialout.",
                          settings.device)};
    case EBUSY:
      return {Code::busy,
              fmt::format("The serial port {} is in use by another program.", settings.device)};
    case ENOTTY: return {Code::bad_input, fmt::format("{} is no serial port.", settings.device)};
    default:
      return {Code::io, fmt::format("The serial port {} can't be used: {}.", settings.device,
                                    std::strerror(why))};
  }
}

}  // namespace

fs::Result<SerialPort> SerialPort::open(const SerialSettings& settings) {
  const int descriptor =
      ::open(settings.device.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
  if (descriptor < 0) return cannot(settings, errno);
  SerialPort port(descriptor);
  const termios2 form = form_of(settings);
  if (::ioctl(descriptor, TCSETS2, &form) != 0) return cannot(settings, errno);
  termios2 got{};
  if (::ioctl(descriptor, TCGETS2, &got) != 0) return cannot(settings, errno);
  // A port that can't do a rate takes the next it can. Bits are read in their middle, so two ends
  // may be a few in a hundred apart.
  const auto apart =
      got.c_ospeed > settings.speed ? got.c_ospeed - settings.speed : settings.speed - got.c_ospeed;
  if (std::uint64_t{apart} * 100 > std::uint64_t{settings.speed} * 3) {
    return Error{Code::bad_input,
                 fmt::format("The serial port {} can't do {} bit/s; the nearest it "
                             "can is {}.",
                             settings.device, settings.speed, got.c_ospeed)};
  }
  // Nobody else opens it by mistake. Of no use where the port knows no such thing.
  static_cast<void>(::ioctl(descriptor, TIOCEXCL));
  static_cast<void>(::ioctl(descriptor, TCFLSH, TCIOFLUSH));
  return port;
}

SerialPort::SerialPort(SerialPort&& other) noexcept
    : descriptor_(std::exchange(other.descriptor_, -1)) {}

SerialPort::~SerialPort() {
  if (descriptor_ >= 0) ::close(descriptor_);
}

int SerialPort::release() {
  return std::exchange(descriptor_, -1);
}

bool SerialPort::has_carrier(int port) {
  int lines = 0;
  return ::ioctl(port, TIOCMGET, &lines) == 0 && (lines & TIOCM_CAR) != 0;
}

void SerialPort::hang_up(int port) {
  static_cast<void>(::ioctl(port, TCFLSH, TCOFLUSH));
  const int line = TIOCM_DTR;
  static_cast<void>(::ioctl(port, TIOCMBIC, &line));
}

void SerialPort::answer(int port) {
  const int line = TIOCM_DTR;
  static_cast<void>(::ioctl(port, TIOCMBIS, &line));
}

bool SerialPort::is_there(const std::string& device) {
  return ::access(device.c_str(), F_OK) == 0;
}

void SerialPort::keep_all_bytes(int port, const SerialSettings& settings, bool all) {
  if (settings.flow != SerialSettings::Flow::xon_xoff) return;
  termios2 form{};
  if (::ioctl(port, TCGETS2, &form) != 0) return;
  form.c_iflag = all ? form.c_iflag & ~software_flow : form.c_iflag | software_flow;
  static_cast<void>(::ioctl(port, TCSETSW2, &form));
}

}  // namespace stationer::server
