#include "server/daemon.h"

#include <csignal>
#include <set>
#include <vector>

#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <fmt/format.h>
#include <spdlog/sinks/stdout_color_sinks.h>
#include <spdlog/spdlog.h>
#include <sys/resource.h>

#include "fs/local_time.h"
#include "fs/volume.h"
#include "print/confined_renderer.h"
#include "print/finder.h"
#include "print/forwarder.h"
#include "print/queue.h"
#include "print/spool.h"
#include "server/config.h"
#include "server/control/control.h"
#include "server/control/snapshot_run.h"
#include "server/net/asio_loop.h"
#include "server/net/control_door.h"
#include "server/net/ftp_door.h"
#include "server/net/http_door.h"
#include "server/net/listener.h"
#include "server/net/neighbours.h"
#include "server/net/print_doors.h"
#include "server/net/serial_door.h"
#include "server/net/service_manager.h"
#include "server/net/terminal_door.h"
#include "server/net/tftp_door.h"
#include "server/net/time_doors.h"
#include "server/room.h"
#include "server/session.h"

namespace stationer::server {
namespace {

constexpr std::chrono::seconds trouble_interval{10};
constexpr std::chrono::minutes thin_interval{1};
constexpr std::chrono::hours due_interval{1};
constexpr std::chrono::seconds visit_interval{10};
constexpr std::chrono::milliseconds last_word{200};
constexpr std::chrono::minutes snapshot_interval{1};
constexpr std::size_t most_adopted_said = 20;

// A connection is a descriptor; the usual limit of 1,024 would be the room's.
void raise_descriptor_limit() {
  rlimit limit{};
  if (::getrlimit(RLIMIT_NOFILE, &limit) != 0) return;
  limit.rlim_cur = limit.rlim_max;
  static_cast<void>(::setrlimit(RLIMIT_NOFILE, &limit));
}

fs::Result<std::unique_ptr<print::Renderer>> open_renderer(const print::Queues& queues,
                                                           const std::string& settings_text) {
  if (queues.confined) {
    auto confined = print::ConfinedRenderer::open(settings_text);
    if (!confined) return confined.error();
    return std::unique_ptr<print::Renderer>(std::move(*confined));
  }
  auto fonts = print::Fonts::load();
  if (!fonts) return fonts.error();
  return print::render_in_place(queues, std::move(*fonts));
}

class Service {
 public:
  Service(std::unique_ptr<fs::Volume> volume, std::unique_ptr<print::Spool> spool,
          std::uint64_t index_size, const print::Forwarding& forwarding, Config config)
      : volume_(std::move(volume)),
        spool_(std::move(spool)),
        finder_(std::make_unique<print::Finder>(*volume_, index_size)),
        forwarder_(std::make_unique<print::Forwarder>(*volume_, forwarding,
                                                      print::to_host_printers(forwarding.server))),
        config_(std::move(config)),
        room_(*volume_, *spool_, *finder_, loop_),
        running_{room_, volume_->now(), [this] { return doors(); },
                 [this](std::string name) { return test_line(std::move(name)); }},
        control_context_(*volume_, *spool_, *finder_, *forwarder_, loop_),
        signals_(loop_.context(), SIGTERM, SIGINT),
        trouble_timer_(loop_.context()),
        thin_timer_(loop_.context()),
        due_timer_(loop_.context()),
        visit_timer_(loop_.context()),
        snapshot_timer_(loop_.context()),
        stop_timer_(loop_.context()),
        alive_timer_(loop_.context()),
        manager_(loop_, ManagerWishes::from_environment()) {
    control_context_.running = &running_;
    room_.stations.use(config_.stations);
    room_.stations.hardware_of = [this](const std::string& address) {
      return neighbours_.at(address);
    };
    for (const auto& words : room_.stations.troubles()) spdlog::warn("{}", words);
  }

  ~Service() {
    // What runs on other threads ends before anything it uses goes; what the volume still has to
    // say it says to a loop that is there, though it does not turn any more.
    volume_->stop_watching();
    spool_->on_done({});
    control_context_.snapshot->stop();
    listeners_.clear();
    lines_.clear();
    tftp_.reset();
    control_.reset();
    loop_.finish_work();
    spool_.reset();
    finder_.reset();
    forwarder_.reset();
    volume_.reset();
  }

  fs::Status open_doors(const std::function<void(const std::string&)>& say) {
    auto opened = open_door(
        "terminal", config_.terminal,
        [this](std::unique_ptr<Stream> stream) {
          return make_terminal_connection(room_, config_.terminal, std::move(stream));
        },
        terminal_is_full);
    if (!opened) return opened;
    opened = open_door("lpd", config_.lpd, [this](std::unique_ptr<Stream> stream) {
      return make_lpd_connection(room_, config_.lpd, std::move(stream));
    });
    if (!opened) return opened;
    opened = open_door("raw", config_.raw, [this](std::unique_ptr<Stream> stream) {
      return make_raw_connection(room_, config_.raw, std::move(stream));
    });
    if (!opened) return opened;
    if (auto open = open_tftp(); !open) return open;
    auto hall = FtpHall::open(loop_, config_.ftp);
    if (!hall) return hall.error();
    ftp_hall_ = std::move(*hall);
    opened = open_door(
        "ftp", config_.ftp,
        [this](std::unique_ptr<Stream> stream) {
          const Profile& profile = room_.stations.profile_at(stream->address());
          return make_ftp_connection(room_, *ftp_hall_, profile, std::move(stream));
        },
        ftp_is_full);
    if (!opened) return opened;
    opened = open_door(
        "http", config_.http,
        [this](std::unique_ptr<Stream> stream) {
          return make_http_connection(room_, config_.http, std::move(stream));
        },
        http_is_full);
    if (!opened) return opened;
    opened = open_time("time", config_.time, [this] { return say_time(room_); });
    if (!opened) return opened;
    opened = open_time("daytime", config_.daytime, [this] { return say_daytime(room_); });
    if (!opened) return opened;
    for (const SerialLineConfig& line : config_.lines) {
      lines_.push_back(
          std::make_unique<SerialDoor>(loop_, line, [this, &line](std::unique_ptr<Stream> stream) {
            return make_terminal_connection(room_, line, std::move(stream));
          }));
      lines_.back()->open();
    }
    auto control = ControlDoor::open(loop_, volume_->directory(), control_context_);
    if (!control) return control.error();
    control_ = std::move(*control);
    for (const auto& door : doors()) {
      say(fmt::format("door {} {} {}", door.name, door.address, door.port));
    }
    return {};
  }

  void run() {
    manager_.say("READY=1");
    say_alive();
    signals_.async_wait([this](const boost::system::error_code& failed, int) {
      if (!failed) stop();
    });
    spool_->on_done([this](const print::JobView& view, bool printed) {
      if (printed) forwarder_->expect(view.job);
      finder_->nudge();
      forwarder_->nudge();
      loop_.post([this, view, printed] { tell_owner(view, printed); });
    });
    spool_->start();
    finder_->start();
    forwarder_->start();
    watch_troubles();
    thin_history();
    do_what_is_due();
    watch_visits();
    watch_snapshots();
    volume_->watch(tell_adopted);
    loop_.context().run();
  }

 private:
  fs::Status open_door(const std::string& name, const DoorConfig& config, Listener::Make make,
                       std::string_view full = {}) {
    if (!config.open) return {};
    auto listener = Listener::open(loop_, name, config, std::move(make), full);
    if (!listener) return listener.error();
    listeners_.push_back(std::move(*listener));
    return {};
  }

  fs::Status open_time(const std::string& name, const DoorConfig& config, TimeDoors::Say say) {
    return config.open ? time_.open(name, config, std::move(say)) : fs::Status();
  }

  fs::Status open_tftp() {
    if (!config_.tftp.open) return {};
    auto door = TftpDoor::open(loop_, room_, contents_, config_.tftp);
    if (!door) return door.error();
    tftp_ = std::move(*door);
    return {};
  }

  void tell_owner(const print::JobView& view, bool printed) {
    const auto& job = view.job;
    room_.tell(job.owner, printed ? fmt::format("Your printout \"{}\" is in the tray.", job.title)
                                  : fmt::format("Your print job \"{}\" was refused: {}", job.title,
                                                job.reason));
  }

  // What was left alone is among the troubles.
  static void tell_adopted(const fs::Result<fs::Adopted>& looked) {
    if (!looked) return spdlog::warn("Looking at files/ on the host: {}", looked.error().message);
    std::size_t said = 0;
    for (const auto& item : looked->items) {
      if (item.sort == fs::Adopted::Sort::left) continue;
      if (++said > most_adopted_said) break;
      spdlog::info("On the host {}: \"{}\". {}", fs::adopted_name(item.sort), item.path,
                   item.sentence);
    }
    if (said > most_adopted_said) {
      spdlog::info("In all: {} taken in, {} changed, {} moved, {} gone. The journal has each.",
                   looked->taken_in, looked->changed, looked->moved, looked->gone);
    }
  }

  // Says once what is wrong, and once when it is right again.
  void watch_troubles() {
    auto now = volume_->troubles();
    for (auto words : {spool_->trouble(), finder_->trouble(), forwarder_->trouble()}) {
      if (!words.empty()) now.push_back(std::move(words));
    }
    for (auto& door : doors()) {
      if (!door.trouble.empty()) now.push_back(std::move(door.trouble));
    }
    if (now != troubles_) {
      troubles_ = std::move(now);
      for (const auto& words : troubles_) spdlog::warn("{}", words);
      if (troubles_.empty()) spdlog::info("All is well again.");
    }
    tell_manager();
    trouble_timer_.expires_after(trouble_interval);
    trouble_timer_.async_wait([this](const boost::system::error_code& failed) {
      if (!failed) watch_troubles();
    });
  }

  // What `systemctl status` shows.
  void tell_manager() {
    if (!troubles_.empty()) return manager_.status(troubles_.front());
    std::set<std::string> people;
    for (const SessionView& each : room_.sessions()) {
      if (each.signed_in) people.insert(each.name);
    }
    manager_.status(fmt::format("All is well. Doors open: {}. People here: {}.", doors().size(),
                                people.size()));
  }

  // As long as this loop turns.
  void say_alive() {
    if (!manager_.watchdog()) return;
    manager_.say("WATCHDOG=1");
    alive_timer_.expires_after(*manager_.watchdog() / 3);
    alive_timer_.async_wait([this](const boost::system::error_code& failed) {
      if (!failed) say_alive();
    });
  }

  // Takes away what is kept long enough, a little at a time so that nobody notices.
  void thin_history() {
    loop_.work([this] {
      auto thinned = volume_->history().thin_when_due();
      if (!thinned) spdlog::warn("The bin and the versions: {}", thinned.error().message);
      const auto tidied = volume_->visitors().tidy(fs::zone_at(volume_->now()));
      if (!tidied) spdlog::warn("What visitors left: {}", tidied.error().message);
    });
    thin_timer_.expires_after(thin_interval);
    thin_timer_.async_wait([this](const boost::system::error_code& failed) {
      if (!failed) thin_history();
    });
  }

  // At the start and every hour: the store's own chores.
  void do_what_is_due() {
    loop_.work([this] {
      for (const auto& done : {volume_->do_what_is_due(), spool_->do_what_is_due()}) {
        if (!done) spdlog::warn("What was due could not be done. {}", done.error().message);
      }
      finder_->nudge();  // of printouts that are too old to be kept
    });
    due_timer_.expires_after(due_interval);
    due_timer_.async_wait([this](const boost::system::error_code& failed) {
      if (!failed) do_what_is_due();
    });
  }

  // Nobody stays who could not sign in any more.
  void watch_visits() {
    room_.send_home();
    visit_timer_.expires_after(visit_interval);
    visit_timer_.async_wait([this](const boost::system::error_code& failed) {
      if (!failed) watch_visits();
    });
  }

  // Takes the snapshots that the settings ask for. Looks at the folder each time, so that one that
  // was taken by hand counts, and one that was taken away does not.
  void watch_snapshots() {
    snapshot_timer_.expires_after(snapshot_interval);
    snapshot_timer_.async_wait([this](const boost::system::error_code& failed) {
      if (failed) return;
      loop_.work([run = control_context_.snapshot] {
        if (run->is_due() && run->begin()) run->take({fs::no_account, true, "the service"}, "");
      });
      watch_snapshots();
    });
  }

  // No more connections, a last word to those there, and the end.
  void stop() {
    spdlog::info("Stopping.");
    manager_.say("STOPPING=1\nSTATUS=Stopping.");
    for (auto& listener : listeners_) listener->close();
    for (auto& line : lines_) line->close();
    if (tftp_) tftp_->close();
    time_.close();
    if (control_) control_->close();
    control_context_.snapshot->stop();
    stop_timer_.expires_after(last_word);
    stop_timer_.async_wait([this](const boost::system::error_code&) { loop_.context().stop(); });
  }

  Task<fs::Result<LineTest::Findings>> test_line(std::string name) {
    for (const auto& line : lines_) {
      if (line->config().name != name) continue;
      for (const SessionView& each : room_.sessions()) {
        if (each.signed_in && each.door == line->config().door && each.address == name) {
          co_return fs::Error{
              fs::Code::busy,
              fmt::format("{} is signed in at that line. Test it when nobody is.", each.name)};
        }
      }
      co_return co_await line->test();
    }
    co_return fs::Error{fs::Code::not_found,
                        fmt::format("There is no [serial.{}] in volume.toml.", name)};
  }

  std::vector<DoorView> doors() const {
    std::vector<DoorView> out;
    for (const auto& listener : listeners_) {
      out.push_back({listener->name(), listener->address(), listener->port()});
    }
    for (const auto& listener : time_.listeners()) {
      out.push_back({listener->name(), listener->address(), listener->port()});
    }
    if (tftp_) out.push_back({"tftp", tftp_->address(), tftp_->port()});
    for (const auto& line : lines_) {
      const SerialLineConfig& config = line->config();
      DoorView view{"serial." + config.name, config.port.device};
      if (!line->trouble().empty()) {
        view.trouble = fmt::format("The serial line {}: {}", config.name, line->trouble());
      }
      out.push_back(std::move(view));
    }
    return out;
  }

  std::unique_ptr<fs::Volume> volume_;
  std::unique_ptr<print::Spool> spool_;
  std::unique_ptr<print::Finder> finder_;
  std::unique_ptr<print::Forwarder> forwarder_;
  Config config_;
  AsioLoop loop_;
  Neighbours neighbours_;
  SharedContents contents_{loop_};
  Room room_;
  Running running_;
  ControlContext control_context_;
  boost::asio::signal_set signals_;
  boost::asio::steady_timer trouble_timer_;
  boost::asio::steady_timer thin_timer_;
  boost::asio::steady_timer due_timer_;
  boost::asio::steady_timer visit_timer_;
  boost::asio::steady_timer snapshot_timer_;
  boost::asio::steady_timer stop_timer_;
  boost::asio::steady_timer alive_timer_;
  ServiceManager manager_;
  std::vector<std::string> troubles_;
  std::unique_ptr<FtpHall> ftp_hall_;
  std::vector<std::unique_ptr<Listener>> listeners_;
  std::vector<std::unique_ptr<SerialDoor>> lines_;
  std::unique_ptr<TftpDoor> tftp_;
  TimeDoors time_{loop_, room_};
  std::unique_ptr<ControlDoor> control_;
};

}  // namespace

fs::Status serve(const std::string& directory, const std::function<void(const std::string&)>& say) {
  // What is for people and machines that watch goes to standard error, standard output is say()'s.
  spdlog::set_default_logger(spdlog::stderr_color_mt("stationer"));
  spdlog::set_pattern("%Y-%m-%d %H:%M:%S %l: %v");
  // A station that hangs up while we write is no reason to end.
  std::signal(SIGPIPE, SIG_IGN);
  raise_descriptor_limit();

  fs::Surroundings surroundings;
  surroundings.patience = fs::usual_patience;
  auto volume = fs::Volume::open(directory, std::move(surroundings));
  if (!volume) return volume.error();
  auto queues = print::read_queues((*volume)->settings_text());
  if (!queues) return queues.error();
  auto index_size = print::read_index_size((*volume)->settings_text());
  if (!index_size) return index_size.error();
  auto forwarding = print::read_forwarding((*volume)->settings_text());
  if (!forwarding) return forwarding.error();
  auto config = read_config((*volume)->settings_text(), *queues);
  if (!config) return config.error();
  auto renderer = open_renderer(*queues, (*volume)->settings_text());
  if (!renderer) return renderer.error();
  auto spool = print::Spool::open(**volume, std::move(*queues), std::move(*renderer));
  if (!spool) return spool.error();

  Service service(std::move(*volume), std::move(*spool), *index_size, *forwarding,
                  std::move(*config));
  if (auto opened = service.open_doors(say); !opened) return opened;
  say("ready");
  service.run();
  return {};
}

}  // namespace stationer::server
