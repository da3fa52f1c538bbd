// What methods show of things, as JSON. Times are UTC, as in "2026-11-25T19:30:00.000Z" (RFC 3339).
// Secrets have no view.
#pragma once

#include <optional>
#include <string>

#include <boost/json/object.hpp>
#include <boost/json/value.hpp>

#include "fs/adoption.h"
#include "fs/check.h"
#include "fs/desk.h"
#include "fs/files.h"
#include "fs/people.h"
#include "print/queue.h"
#include "print/spool.h"
#include "server/room.h"

namespace stationer::server {

std::string time_text(fs::Time time);

boost::json::object show(const fs::AccountView& account);
boost::json::object show(const fs::ClassView& klass);
boost::json::object show(const fs::NodeView& node);
boost::json::object show(const fs::BinView& removal);
boost::json::object show(const fs::VersionView& version);
boost::json::object show(const fs::PrintoutView& printout);
boost::json::object show(const fs::JournalEntry& entry);
boost::json::object show(const fs::Finding& finding);
boost::json::object show(const fs::Adopted::Item& item);
boost::json::object show(const print::JobView& job);
boost::json::object show(const print::PrinterProfile& printer);
boost::json::object show(const SessionView& session);
boost::json::object show(const fs::StationView& station);
boost::json::object show(const Stranger& stranger);
boost::json::object show_failed_transfer(const Refusal& refusal);

}  // namespace stationer::server
