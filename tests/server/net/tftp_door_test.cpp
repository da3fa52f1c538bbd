// The TFTP door over real sockets, datagram by datagram.
#include "server/net/tftp_door.h"

#include <array>

#include <boost/asio/ip/udp.hpp>
#include <catch2/catch.hpp>

#include "server/shared_content.h"
#include "tests/server/protocol/bytes.h"
#include "tests/support/test_service.h"

using namespace stationer;
using namespace stationer::tests;
using namespace std::string_literals;
using boost::asio::ip::udp;
using test::TestService;
using test::TestVolume;

namespace {

struct TftpRoom : TestService {
  std::unique_ptr<server::SharedContents> contents;
  std::unique_ptr<server::TftpDoor> tftp;
  server::TftpDoorConfig plan;

  explicit TftpRoom(const std::string& settings = "") : TestService(settings) {
    plan = config.tftp;
    plan.address = "loopback";
    plan.port = 0;
    on_loop([&] {
      contents = std::make_unique<server::SharedContents>(*loop);
      auto opened = server::TftpDoor::open(*loop, *shared, *contents, plan);
      if (opened) tftp = std::move(*opened);
      return 0;
    });
    REQUIRE(tftp);
    REQUIRE(room.save(room.keeper, "/programs/boot.com", std::string(1000, 'b')));
  }
  ~TftpRoom() {
    on_loop([&] {
      tftp.reset();
      return 0;
    });
  }
  std::size_t transfers() {
    return on_loop([&] { return tftp->transfers(); });
  }
};

// The station at 127.0.0.12.
void register_owl(TftpRoom& room) {
  fs::StationChange owl;
  owl.segment = 1;
  owl.number = 12;
  owl.name = "owl";
  owl.address = "127.0.0.12";
  TestVolume::done(room.room.volume->stations().add(room.room.keeper, owl));
}

// A station's port.
class Port {
 public:
  explicit Port(TftpRoom& room, const std::string& from = "127.0.0.1")
      : door_(boost::asio::ip::address_v4::loopback(), room.tftp->port()),
        socket_(context_, udp::endpoint(boost::asio::ip::make_address(from), 0)) {}

  void ask(const std::string& octets) { socket_.send_to(boost::asio::buffer(octets), door_); }
  // To the port that spoke last.
  void say(const std::string& octets) { socket_.send_to(boost::asio::buffer(octets), peer_); }
  void say_hex(std::string_view hex) { say(from_hex(hex)); }

  // What comes next; empty when nothing does for a while.
  std::string hears(std::chrono::milliseconds patience = std::chrono::seconds(10)) {
    std::string out(70'000, '\0');
    std::optional<std::size_t> got;
    boost::asio::steady_timer timer(context_, patience);
    socket_.async_receive_from(boost::asio::buffer(out), peer_,
                               [&](boost::system::error_code failed, std::size_t size) {
                                 if (!failed) got = size;
                                 timer.cancel();
                               });
    timer.async_wait([&](boost::system::error_code failed) {
      if (!failed) socket_.cancel();
    });
    context_.restart();
    context_.run();
    out.resize(got.value_or(0));
    return out;
  }
  std::uint16_t peer_port() const { return peer_.port(); }
  std::uint16_t door_port() const { return door_.port(); }

 private:
  boost::asio::io_context context_;
  udp::endpoint door_;
  udp::endpoint peer_;
  udp::socket socket_;
};

const std::string boot_com = "\0\1boot.com\0octet\0"s;

std::string data(std::uint16_t block, const std::string& bytes) {
  return "\0\3"s + static_cast<char>(block >> 8) + static_cast<char>(block & 0xFF) + bytes;
}

bool is_error(const std::string& packet, char code) {
  return packet.size() > 4 && packet.substr(0, 4) == "\0\5\0"s + code;
}

}  // namespace

TEST_CASE("TFTP: a file comes in blocks, from another port than was asked (RFC 1350 §4)") {
  TftpRoom room;
  Port station(room);
  station.ask(boot_com);
  CHECK(station.hears() == data(1, std::string(512, 'b')));
  CHECK(station.peer_port() != station.door_port());
  const auto port = station.peer_port();
  station.say_hex("00040001");
  CHECK(station.hears() == data(2, std::string(488, 'b')));
  CHECK(station.peer_port() == port);
  station.say_hex("00040002");
  CHECK(TestService::comes_true([&] { return room.transfers() == 0; }));
}

TEST_CASE("TFTP: who speaks from the wrong port is told, and disturbs nobody (RFC 1350 §4)") {
  TftpRoom room;
  Port station(room);
  station.ask(boot_com);
  CHECK(!station.hears().empty());
  Port other(room);
  other.ask(boot_com);
  CHECK(!other.hears().empty());
  // Its acknowledgement goes to a transfer of somebody else's; or to none.
  Port stranger(room);
  stranger.ask("\0\1nothing\0octet\0"s);
  CHECK(is_error(stranger.hears(), 1));
  stranger.say_hex("00040001");
  CHECK(is_error(stranger.hears(), 5));
  stranger.say(from_hex("0005000078") + "\0"s);  // an error gets no error
  CHECK(stranger.hears(std::chrono::milliseconds(100)).empty());
  station.say_hex("00040001");
  CHECK(station.hears() == data(2, std::string(488, 'b')));
}

TEST_CASE("TFTP: what is no request gets error 4, or nothing") {
  TftpRoom room;
  for (const auto& octets :
       {"\0\1"s, "\0\1A"s, "\0\1A\0"s, "\0\7"s, "\0\3\0\1x"s, "\0\4\0\1"s, "\0\1x\0mail\0"s,
        "\0\1"s + std::string(600, 'x') + "\0octet\0"s, "x"s}) {
    CAPTURE(readable(octets));
    Port station(room);
    station.ask(octets);
    CHECK(is_error(station.hears(), 4));
  }
  Port station(room);
  station.ask("\0\5\0\0no\0"s);
  CHECK(station.hears(std::chrono::milliseconds(100)).empty());
  CHECK(room.transfers() == 0);
}

TEST_CASE("TFTP: a request that comes again, or late, begins nothing anew") {
  TftpRoom room;
  Port station(room);
  station.ask(boot_com);
  CHECK(station.hears() == data(1, std::string(512, 'b')));
  station.ask(boot_com);
  CHECK(station.hears(std::chrono::milliseconds(100)).empty());
  station.say_hex("00040001");
  CHECK(station.hears() == data(2, std::string(488, 'b')));
  const auto port = station.peer_port();
  station.ask(boot_com);
  CHECK(station.hears(std::chrono::milliseconds(100)).empty());
  CHECK(room.transfers() == 1);
  // Another file is another request.
  station.ask("\0\1nothing\0octet\0"s);
  CHECK(is_error(station.hears(), 1));
  CHECK(station.peer_port() != 0);
  CHECK(port != 0);
  CHECK(room.transfers() == 0);
}

TEST_CASE("TFTP: an answer that gets lost comes again after a silence, and a deaf station ends") {
  TftpRoom room;
  Port station(room);
  station.ask(boot_com);
  CHECK(station.hears() == data(1, std::string(512, 'b')));
  CHECK(station.hears() == data(1, std::string(512, 'b')));
  station.say(from_hex("0005000366756C6C") + "\0"s);  // error 3, "full"
  CHECK(TestService::comes_true([&] { return room.transfers() == 0; }));
  const auto failed = room.on_loop([&] { return room.shared->refusals.all(); });
  REQUIRE(failed.size() == 1);
  CHECK(failed.front().address == "127.0.0.1");
  CHECK(failed.front().subject == "boot.com");
  CHECK(failed.front().error.message == "The station broke off, with error 3: full");
}

TEST_CASE("TFTP: options are agreed on before data go (RFC 2347)") {
  TftpRoom room;
  Port station(room);
  station.ask("\0\1boot.com\0octet\0blksize\0001000\0tsize\0000\0windowsize\0002\0"s);
  CHECK(station.hears() == "\0\6blksize\0001000\0tsize\0001000\0windowsize\0002\0"s);
  station.say_hex("00040000");
  CHECK(station.hears() == data(1, std::string(1000, 'b')));
  CHECK(station.hears() == data(2, ""));  // an exact multiple ends with nothing
  station.say_hex("00040002");
  CHECK(TestService::comes_true([&] { return room.transfers() == 0; }));
}

TEST_CASE("TFTP: a registered station gets what its boot names say, wherever that lies") {
  TftpRoom room;
  REQUIRE(room.room.save(room.room.keeper, "/public/own", "owl's own"));
  register_owl(room);
  auto& stations = room.room.volume->stations();
  TestVolume::done(stations.set_boot_name(room.room.keeper, "owl", "BOOT.COM", "/public/own"));
  Port at_owl(room, "127.0.0.12");
  at_owl.ask(boot_com);
  CHECK(at_owl.hears() == data(1, "owl's own"));
  Port elsewhere(room);
  elsewhere.ask(boot_com);
  CHECK(elsewhere.hears() == data(1, std::string(512, 'b')));
}

TEST_CASE(
    "TFTP: only stations that are known may save, into the hand-in folder, and it is safe then") {
  const std::string settings =
      "[door.tftp]\nhand_in = \"/classes/evening/hand-in\"\nhand_in_for = \"wren\"\n";
  TftpRoom room(settings);
  auto& volume = room.room;
  TestVolume::done(volume.people().add_class(volume.keeper, "evening"));
  volume.add("wren", fs::Role::member, "evening");
  const std::string request = "\0\2notes.txt\0netascii\0"s;
  Port stranger(room);
  stranger.ask(request);
  CHECK(is_error(stranger.hears(), 2));

  register_owl(room);
  Port station(room, "127.0.0.12");
  station.ask(request);
  CHECK(to_hex(station.hears()) == "00040000");
  station.say(data(1, std::string(510, 'n') + "\r\n"));
  CHECK(to_hex(station.hears()) == "00040001");
  station.say(data(2, "end\r\n"));
  CHECK(to_hex(station.hears()) == "00040002");
  const auto saved = volume.read(volume.keeper, "/classes/evening/hand-in/wren/notes.txt");
  if (!saved) FAIL(saved.error().message);
  CHECK(*saved == std::string(510, 'n') + "\nend\n");
  const auto view =
      volume.files().look(volume.keeper, TestVolume::at("/classes/evening/hand-in/wren/notes.txt"));
  CHECK(view->work_of == volume.caller("wren").account);
  // The last acknowledgement was lost: it comes again.
  station.say(data(2, "end\r\n"));
  CHECK(to_hex(station.hears()) == "00040002");
}

TEST_CASE("TFTP: a half sent file leaves nothing behind") {
  TftpRoom room("[door.tftp]\nhand_in = \"/classes/evening/hand-in\"\nhand_in_for = \"wren\"\n");
  auto& volume = room.room;
  TestVolume::done(volume.people().add_class(volume.keeper, "evening"));
  volume.add("wren", fs::Role::member, "evening");
  register_owl(room);
  Port station(room, "127.0.0.12");
  station.ask("\0\2half\0octet\0"s);
  CHECK(to_hex(station.hears()) == "00040000");
  station.say(data(1, std::string(512, 'h')));
  CHECK(to_hex(station.hears()) == "00040001");
  station.say("\0\5\0\0off\0"s);
  CHECK(TestService::comes_true([&] { return room.transfers() == 0; }));
  CHECK(!volume.files().look(volume.keeper, TestVolume::at("/classes/evening/hand-in/wren/half")));
}

TEST_CASE("TFTP: one address has no more transfers than its share, and others have theirs") {
  TftpRoom room("[door.tftp]\nmost_per_address = 3\n");
  std::vector<std::unique_ptr<Port>> ports;
  for (int i = 0; i < 3; ++i) {
    ports.push_back(std::make_unique<Port>(room));
    ports.back()->ask(boot_com);
    CHECK(!is_error(ports.back()->hears(), 0));
  }
  Port more(room);
  more.ask(boot_com);
  CHECK(is_error(more.hears(), 0));
  Port elsewhere(room, "127.0.0.9");
  elsewhere.ask(boot_com);
  CHECK(elsewhere.hears() == data(1, std::string(512, 'b')));
}

TEST_CASE("invariant 6: ten thousand stations that ask by TFTP and are gone delay nobody") {
  TftpRoom room;
  boost::asio::io_context context;
  const udp::endpoint door(boost::asio::ip::address_v4::loopback(), room.tftp->port());
  constexpr std::uint32_t first_address = 0x7F010001;
  for (std::uint32_t i = 0; i < 10'000; ++i) {
    udp::socket gone(context, udp::endpoint(boost::asio::ip::address_v4(first_address + i), 0));
    gone.send_to(boost::asio::buffer(boot_com), door);
    // As fast as they are heard, so that none is lost.
    if (i % 100 == 99) {
      CHECK(TestService::comes_true([&] { return room.transfers() == i + 1; }));
    }
  }
  Port station(room);
  const auto begin = std::chrono::steady_clock::now();
  station.ask(boot_com);
  CHECK(station.hears() == data(1, std::string(512, 'b')));
  station.say_hex("00040001");
  CHECK(station.hears() == data(2, std::string(488, 'b')));
  CHECK(std::chrono::steady_clock::now() - begin < std::chrono::seconds(2));
}
