#include "server/room.h"

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

void Room::tell(fs::AccountId account, const std::string& text) {
  for (Session* session : sessions_) {
    if (session->caller_.account != account || account == fs::no_account) continue;
    session->add_told(text);
    if (session->on_told) session->on_told();
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
  for (Session* session : sessions_) {
    if (!session->signed_in()) continue;
    if (auto fine = volume.people().may_stay(session->caller_.account); !fine) {
      session->send_home(fine.error().message);
    }
  }
}

}  // namespace stationer::server
