// The file a room is planned in:
//
//   [room]
//   name = "Tidewrack Mill"
//   stationer_on = 1          # the segment that Stationer's own machine is plugged in at; leave it
//                             # out when it reaches the machines by another way
//   [cable]                   # in metres
//   box_to_box_m = 3          # what is measured from one box to the next
//   box_to_machine_m = 1.5
//   bridge_m = 10             # from a bridge to the other segment's box
//   slack_percent = 10        # a cable is longer than what was measured: by so much,
//   slack_m = 0.5             # and that
//   ready_made_m = [2, 5, 10] # lengths there are; without them cables are cut, to half metres
//   [mains]
//   outlets = 2               # for each machine: itself and its screen
//   watts = 0                 # of each machine, as the plates on it say; 0: not known
//   lead_outlets = 6          # on an extension lead
//   lead_watts = 0            # that it may carry, as is written on it; 0: not known
//   [line]
//   rate = 115200             # bit/s of the bus
//   frame_bytes = 512         # of a program in each frame
//   frame_overhead = 16       # bytes that travel with them: address, length, check, answer
//   program_bytes = 16384     # a program, to tell how long it takes
//
//   [[segment]]
//   number = 1                # 1 to 127; without it, the lowest that is free
//   name = "Stone floor"
//   room = "Mill"
//   timing_unit = true
//   longest_m = 0             # that its bus may be; 0: not known
//   boxes = [1, 2, 2, 1]      # sockets of each box along the cable, if you have them already
//   box_to_box_m = [3, 2, 4]  # or one length for all
//   more = 4                  # machines that are not named below, in the end of the cable
//   [[segment.station]]       # in the order in which the cable passes them
//   number = 1                # 1 to 254; without it, the lowest that is free
//   name = "owl"
//   table = "North"
//   cable_m = 2               # from its box
//   outlets, watts            # as above
//   profile, address, hardware, line, note   # as of stationer station add
//
//   [[bridge]]                # without any: one between each segment and the next
//   between = [1, 2]
//   cable_m = 12
#pragma once

#include <string_view>

#include "admin/plan/room_plan.h"
#include "fs/result.h"

namespace stationer::admin {

// More than the largest room there can be, so that a plan can be told what is too much in it.
inline constexpr std::size_t most_planned_segments = 1000;
inline constexpr std::uint32_t most_planned_stations = 10'000;  // on a segment

// The text of such a file. `file`: as complaints name it. Code::bad_input with the line for what
// can't be meant; what could be built but breaks a limit is found by limits.h.
fs::Result<RoomPlan> read_plan(std::string_view text, std::string_view file);

// A file of the form above, with a remark beside each setting: the plan of Tidewrack Mill.
std::string_view example_plan();

}  // namespace stationer::admin
