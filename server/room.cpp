#include "server/room.h"

#include "fs/local_time.h"
#include "server/session.h"

namespace stationer::server {

std::vector<SessionView> Room::sessions() const {
  std::vector<SessionView> out;
  for (const Session* session : sessions_) out.push_back(session->view());
  return out;
}

fs::AccountId Room::person_at(const std::string& address) const {
  fs::AccountId person = fs::no_account;
  for (const Session* session : sessions_) {
    if (session->address_ != address || !session->signed_in()) continue;
    if (person != fs::no_account && person != session->caller_.account) return fs::no_account;
    person = session->caller_.account;
  }
  return person;
}

std::vector<Session*> Room::sessions_of(fs::AccountId account) const {
  std::vector<Session*> out;
  for (Session* session : sessions_) {
    if (session->signed_in() && session->caller_.account == account) out.push_back(session);
  }
  return out;
}

void Room::tell(fs::AccountId account, const std::string& text) {
  for (Session* session : sessions_of(account)) {
    session->add_told(text);
    if (session->on_told) session->on_told();
  }
}

void Room::tell_class(const fs::ClassView& klass, const std::string& text, fs::AccountId except) {
  for (const auto* names : {&klass.members, &klass.leaders}) {
    for (const auto& each : *names) {
      const auto account = volume.people().account(each);
      if (account && account->id != except) tell(account->id, text);
    }
  }
}

void Room::tell_all(const std::string& text, fs::AccountId except) {
  for (Session* session : sessions_) {
    if (!session->signed_in() || session->caller_.account == except) continue;
    session->add_told(text);
    if (session->on_told) session->on_told();
  }
}

void Room::send_home() {
  const fs::Visitors& visitors = volume.visitors();
  const auto zone = fs::zone_at(volume.now());
  for (Session* session : sessions_) {
    if (!session->signed_in()) continue;
    if (auto fine = volume.people().may_stay(session->caller_.account); !fine) {
      session->send_home(fine.error().message);
    } else if (visitors.is_over(session->caller_.account, session->since_, zone)) {
      session->send_home("The visitors' day is over, and what you left is put away.");
    }
  }
}

}  // namespace stationer::server
