// Settling: carries commits from the log to where they belong, the rows to the catalogue and the
// contents to files/ under their readable names.
//
// It goes in groups. A group's deeds are done, made durable with one sync, and then its rows and
// its number go to the catalogue in one transaction. After a crash everything above the catalogue's
// number is done again, so the deeds of a group must be such that doing them again, after any of
// them have been done, ends at the same tree:
//   - folders made and files placed: making again is harmless, placing again writes the same bytes.
//     What is replaced gets its name among the versions first, and that name is durable before
//     anything is replaced; done again, the name is taken and stays. When one group places several
//     times under one name, only the last goes there, and the others straight to the versions.
//     Folders come first, and are durable before a large content is moved there from incoming/: a
//     file may keep its new name through a power cut when the folder it is in does not, and the
//     bytes of a large one are nowhere else;
//   - paths removed: what is gone is gone;
//   - paths moved: never onto anything; done when the old place is empty or the new one is taken.
//     That is only true while no other deed of the group touches either place.
// Hence a group holds commits of one of those sorts only, and moves that do not touch each other.
// One commit may hold a move that makes room, followed by the move that takes the room.
#pragma once

#include <cstdint>
#include <functional>
#include <span>
#include <vector>

#include "fs/catalog.h"
#include "fs/commit.h"
#include "fs/host_files.h"

namespace stationer::fs {

// How many of the first commits can go as one group; at least 1 if there are any.
std::size_t group_length(const std::vector<const Commit*>& commits);

struct SettleEvents {
  // Wraps deeds that change where something lies, so that nobody opens a file meanwhile. It must
  // call `act` once, which does all of them.
  std::function<Status(std::span<const Deed* const>, const std::function<Status()>& act)>
      while_deeds;
  // Something on the host is not as it should be, in a sentence; settling goes on.
  std::function<void(std::string)> trouble;
};

// Settles one group. After an error nothing is lost: settle the same group again later.
Status settle_group(HostFiles& files, Catalog& catalog, const std::vector<const Commit*>& group,
                    const SettleEvents& events);

}  // namespace stationer::fs
