// Every administrative act is a control method: JSON in, JSON out, one table (server/control/
// README.md lists it). The same table serves the control socket of a running service and the
// program that works straight on a volume when no service runs.
#pragma once

#include <cstdint>
#include <functional>
#include <list>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "fs/caller.h"
#include "fs/volume.h"
#include "print/finder.h"
#include "print/forwarder.h"
#include "print/spool.h"
#include "server/control/streams.h"
#include "server/loop.h"
#include "server/protocol/jsonrpc.h"
#include "server/protocol/line_test.h"
#include "server/task.h"

namespace stationer::server {

class Room;
class AdoptRun;
class CheckRun;
class SnapshotRun;

// A door that is open, as `status` tells of it.
struct DoorView {
  std::string name;
  std::string address;       // or the port of a serial line
  std::uint16_t port = 0;    // 0 of a serial line
  std::string trouble = {};  // in a sentence, when it can't be used
};

// What there is while a service runs and not otherwise.
struct Running {
  Room& room;
  fs::Time since{};
  std::function<std::vector<DoorView>()> doors;
  // Of the serial line with that name (server/net/serial_door.h).
  std::function<Task<fs::Result<LineTest::Findings>>(std::string name)> test_line = {};
};

// What the control methods of one volume work on, whoever calls them. It must outlive its clients,
// and the loop's other threads must have ended before the volume goes.
struct ControlContext {
  ControlContext(fs::Volume& volume_, print::Spool& spool_, print::Finder& finder_,
                 print::Forwarder& forwarder_, Loop& loop_);
  ControlContext(const ControlContext&) = delete;
  ControlContext& operator=(const ControlContext&) = delete;

  fs::Volume& volume;
  print::Spool& spool;
  print::Finder& finder;
  print::Forwarder& forwarder;
  Loop& loop;
  const Running* running = nullptr;  // null when no service runs
  // The check under way or the last one, which all clients see.
  const std::shared_ptr<CheckRun> check;
  // The same of adoption on request, and of the work with snapshots.
  const std::shared_ptr<AdoptRun> adopt;
  const std::shared_ptr<SnapshotRun> snapshot;
};

// One who calls the methods: a connection to the socket, or the program itself. Lives on the loop's
// thread. Calls that wait run side by side, so answers may come in another order than requests.
//
// Bounds: as many calls at once as one batch has; streams as in server/control/streams.h; an answer
// fits a line (JsonLines::longest).
class ControlClient {
 public:
  // `caller` is on whose behalf everything is done: see keeper_with_uid().
  ControlClient(ControlContext& context, fs::Caller caller);
  ControlClient(const ControlClient&) = delete;
  ControlClient& operator=(const ControlClient&) = delete;
  // What is under way is let go: changes that were made stay, nothing more is sent.
  ~ControlClient();

  // Handles one line of JSON-RPC 2.0; as Methods::call(). `send` must not destroy the client.
  void call(std::string_view line, Methods::Send send);

  // For the methods.
  ControlContext& context() { return context_; }
  fs::Volume& volume() { return context_.volume; }
  Loop& loop() { return context_.loop; }
  const fs::Caller& caller() const { return caller_; }
  Streams& streams() { return streams_; }

 private:
  ControlContext& context_;
  const fs::Caller caller_;
  Streams streams_;
  Methods methods_;
  std::shared_ptr<bool> sending_;  // false once nothing more may be sent
  std::list<Task<>> calls_;        // under way, or done and not yet swept away
};

// The person at the box, as the journal names them: "the box, user robin".
fs::Caller keeper_with_uid(unsigned uid);

}  // namespace stationer::server
