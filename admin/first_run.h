// What a new volume is to be like: asked at a terminal, or said as options of init. Each answer is
// a sentence's worth of a keeper's words, and becomes settings in volume.toml.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "admin/cards/card.h"
#include "fs/result.h"

namespace stationer::admin {

struct FirstAnswers {
  std::string room = "Stationer";
  std::string manager;
  std::string password;
  std::vector<CardKind> machines;  // empty: not said, so any
  std::string address = "private";
  std::string paper = "a4";
};

// What somebody typed, as the settings have it; Code::bad_input or not_found with what is wrong.
fs::Result<std::string> room_name(std::string_view typed);
fs::Result<std::vector<CardKind>> machine_kinds(std::string_view typed);  // "telnet lpd", "all"
fs::Result<std::string> door_reach(std::string_view typed);  // "room", "box", an address
fs::Result<std::string> printing_paper(std::string_view typed);

// The settings of a volume for such answers: its queue and its doors, of which those that no kind
// of machine needs stay shut.
std::string first_settings(const FirstAnswers& answers);

// Asks for everything in five questions, the password among them. What makes no sense is explained
// and asked again. Code::denied when somebody gives up. `room`, unless it is empty, is known
// already.
fs::Result<FirstAnswers> ask_first_questions(const std::string& room);

// The manager's name alone.
fs::Result<std::string> ask_for_manager_name(std::string_view prompt);

}  // namespace stationer::admin
