// The session's part of handing in: which folder is meant, and what is told to whom.
#include <fmt/format.h>

#include "fs/local_time.h"
#include "fs/text.h"
#include "server/session.h"

namespace stationer::server {

using fs::Code;
using fs::Error;
using fs::Status;

void Session::tell_receipt(std::uint32_t number) {
  for (const auto& receipt : receipts()) {
    if (receipt.number != number) continue;
    const std::string again =
        receipt.version > 1 ? fmt::format(", version {} of it", receipt.version) : "";
    add_told(fmt::format("Receipt {}: {} handed in on {}{}{}.", number, receipt.name,
                         fs::local_time_text(receipt.at), again, receipt.late ? ", late" : ""));
    return;
  }
}

std::vector<fs::HandInView> Session::hand_in_folders() const {
  return room_.volume.hand_ins().folders(caller_);
}

fs::Result<fs::HandInView> Session::hand_in_folder(std::string_view typed) const {
  const auto folders = hand_in_folders();
  std::vector<fs::HandInView> fitting;
  if (typed.empty()) {
    const auto account = room_.volume.people().account(caller_.account);
    for (const auto& each : folders) {
      if (account && !account->klass.empty() && each.klass == account->klass) {
        fitting.push_back(each);
      }
    }
    if (fitting.empty()) fitting = folders;
  } else {
    const auto typed_path = path(typed);
    const std::string whole = typed_path ? fs::fold(typed_path->text()) : "";
    const std::string word = fs::is_utf8(typed) ? fs::fold(typed) : "";
    for (const auto& each : folders) {
      const std::string folded = fs::fold(each.path);
      if (folded == whole) return each;
      if (each.klass == word || folded.substr(folded.rfind('/') + 1) == word) {
        fitting.push_back(each);
      }
    }
  }
  if (fitting.size() == 1) return fitting.front();
  if (fitting.empty() && !typed.empty()) {
    // A path may lead to one by an alias, or say why it does not.
    const auto named = path(typed);
    if (!named) return named.error();
    auto found = room_.volume.hand_ins().look(caller_, *named);
    if (found || found.error().code != Code::not_found) return found;
    return Error{Code::not_found,
                 fmt::format("There is nowhere called {} to hand in to. Type handin alone to see "
                             "where you can.",
                             fs::clip(typed, 60))};
  }
  if (fitting.empty()) {
    return Error{Code::not_found, "None of your classes has a folder to hand in to."};
  }
  std::string all;
  for (const auto& each : fitting) all += "\n  " + each.path;
  return Error{Code::bad_input, "Say which of these you mean:" + all};
}

std::vector<fs::ReceiptView> Session::receipts() const {
  return room_.volume.hand_ins().receipts(caller_);
}

fs::Result<fs::Roll> Session::roll(const fs::Path& folder) const {
  return room_.volume.hand_ins().roll(caller_, folder);
}

Task<Status> Session::set_hand_in_times(fs::Path folder, fs::HandInTimes times) {
  co_return co_await room_.loop.durable(room_.volume.hand_ins().set_times(caller_, folder, times));
}

Task<Status> Session::make_ordinary(fs::Path folder) {
  co_return co_await room_.loop.durable(room_.volume.hand_ins().make_ordinary(caller_, folder));
}

Task<fs::Result<std::vector<fs::Carried>>> Session::collect(fs::Path folder, fs::Path to) {
  auto& hand_ins = room_.volume.hand_ins();
  const auto later = room_.loop.blocking(
      [&hand_ins, caller = caller_, folder, to] { return hand_ins.collect(caller, folder, to); });
  co_return co_await later;
}

Task<fs::Result<std::vector<fs::Carried>>> Session::hand_back(fs::Path folder,
                                                              std::vector<std::string> accounts) {
  auto& hand_ins = room_.volume.hand_ins();
  const auto later = room_.loop.blocking([&hand_ins, caller = caller_, folder, accounts] {
    return hand_ins.hand_back(caller, folder, accounts);
  });
  auto carried = co_await later;
  if (!carried) co_return carried;
  std::string told;
  for (const auto& each : *carried) {
    if (each.account == std::exchange(told, each.account)) continue;
    const auto account = room_.volume.people().account(std::string_view(each.account));
    if (account) {
      room_.tell(account->id, "Something you handed in has come back. Type notices to read more.");
    }
  }
  co_return carried;
}

}  // namespace stationer::server
