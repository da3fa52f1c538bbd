#include "server/terminal/carry.h"

#include <chrono>

namespace stationer::server {
namespace {

// How long the far end may take to agree that bytes are data.
constexpr std::chrono::seconds wire_wait{2};
constexpr std::chrono::milliseconds quiet_wait{500};

}  // namespace

Task<Transfer::Outcome> carry(Session& session, Terminal& terminal, Transfer& transfer,
                              Cargo& cargo, Wire wire) {
  const auto now = [&session] { return session.room().loop.now(); };
  if (wire == Wire::text) {
    terminal.open_text_wire();
  } else {
    co_await terminal.open_wire(now() + wire_wait);
  }
  Transfer::Step step = transfer.begin(now());
  std::string heard;  // not taken yet
  for (;;) {
    heard.erase(0, step.used);
    if (!step.send.empty()) co_await terminal.put_wire(std::move(step.send));
    if (!step.request) {
      if (transfer.outcome()) break;
      if (heard.empty()) {
        auto more = co_await terminal.hear_wire(transfer.deadline());
        if (more.interrupted) {
          step = transfer.cancel("You broke it off.", now());
          continue;
        }
        heard = std::move(more.bytes);
      }
      step = heard.empty() ? transfer.tick(now()) : transfer.feed(heard, now());
      continue;
    }
    auto& request = *step.request;
    if (std::holds_alternative<Transfer::NextFile>(request)) {
      auto facts = co_await cargo.next();
      step = facts ? transfer.file(std::move(*facts), now()) : transfer.no_more_files(now());
    } else if (const auto* wanted = std::get_if<Transfer::Read>(&request)) {
      auto bytes = co_await cargo.read(wanted->most);
      step = bytes ? transfer.bytes(std::move(*bytes), now())
                   : transfer.cancel(bytes.error().message, now());
    } else if (const auto* sent = std::get_if<Transfer::Sent>(&request)) {
      cargo.sent(sent->refusal);
      step = transfer.accept(now());
    } else if (std::holds_alternative<Transfer::Abandon>(request)) {
      cargo.abandon();
      step = transfer.accept(now());
    } else {
      fs::Status done;
      if (const auto* open = std::get_if<Transfer::Open>(&request)) {
        done = cargo.open(open->facts);
      } else if (auto* write = std::get_if<Transfer::Write>(&request)) {
        done = co_await cargo.write(std::move(write->bytes));
      } else if (const auto* find = std::get_if<Transfer::Find>(&request)) {
        done = cargo.find(find->name);
      } else {
        done = co_await cargo.close();
      }
      step = done ? transfer.accept(now()) : transfer.refuse(done.error(), now());
    }
  }
  // The program at the far end takes a moment to give the screen back, and may say something more.
  const Time quiet_from = now() + quiet_wait;
  while (now() < quiet_from) {
    const auto rest = co_await terminal.hear_wire(quiet_from);
    if (rest.interrupted) break;
  }
  terminal.close_wire();
  co_return *transfer.outcome();
}

}  // namespace stationer::server
