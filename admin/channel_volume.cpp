#include <optional>
#include <utility>

#include <boost/asio/executor_work_guard.hpp>

#include "admin/channel.h"
#include "fs/host_files.h"
#include "fs/volume.h"
#include "print/finder.h"
#include "print/forwarder.h"
#include "print/queue.h"
#include "print/spool.h"
#include "server/control/control.h"
#include "server/net/asio_loop.h"

namespace stationer::admin {
namespace {

class VolumeChannel : public Channel {
 public:
  VolumeChannel(std::unique_ptr<fs::Volume> volume, std::unique_ptr<print::Spool> spool,
                std::uint64_t index_size, const print::Forwarding& forwarding)
      : volume_(std::move(volume)),
        spool_(std::move(spool)),
        finder_(*volume_, index_size),
        forwarder_(*volume_, forwarding, print::to_host_printers(forwarding.server)),
        context_(*volume_, *spool_, finder_, forwarder_, loop_),
        client_(std::in_place, context_, server::keeper_with_uid(fs::own_user())) {}

  ~VolumeChannel() override {
    client_.reset();
    loop_.finish_work();
  }

 private:
  fs::Result<std::string> exchange(const std::string& line) override {
    std::optional<std::string> answer;
    client_->call(line, [&answer](std::string given) { answer = std::move(given); });
    while (!answer) loop_.context().run_one();
    return std::move(*answer);
  }

  server::AsioLoop loop_;  // outlives what posts to it
  // There is always something to wait for: without work at hand, the context would stop.
  const boost::asio::executor_work_guard<boost::asio::io_context::executor_type> waiting_{
      loop_.context().get_executor()};
  std::unique_ptr<fs::Volume> volume_;
  std::unique_ptr<print::Spool> spool_;
  print::Finder finder_;
  print::Forwarder forwarder_;
  server::ControlContext context_;
  std::optional<server::ControlClient> client_;
};

}  // namespace

fs::Result<std::unique_ptr<Channel>> open_volume_channel(const std::string& directory,
                                                         bool accept_loss) {
  fs::Surroundings surroundings;
  surroundings.accept_loss = accept_loss;
  surroundings.patience = fs::usual_patience;
  auto volume = fs::Volume::open(directory, std::move(surroundings));
  if (!volume) return volume.error();
  auto queues = print::read_queues((*volume)->settings_text());
  if (!queues) return queues.error();
  auto index_size = print::read_index_size((*volume)->settings_text());
  if (!index_size) return index_size.error();
  auto forwarding = print::read_forwarding((*volume)->settings_text());
  if (!forwarding) return forwarding.error();
  auto fonts = print::Fonts::load();
  if (!fonts) return fonts.error();
  auto renderer = print::render_in_place(*queues, std::move(*fonts));
  auto spool = print::Spool::open(**volume, std::move(*queues), std::move(renderer));
  if (!spool) return spool.error();
  return std::unique_ptr<Channel>(std::make_unique<VolumeChannel>(
      std::move(*volume), std::move(*spool), *index_size, *forwarding));
}

}  // namespace stationer::admin
