// The plan of the Tidewrack Mill, as an example of what a plan's file can say.
#include "admin/plan/plan_file.h"

namespace stationer::admin {

std::string_view example_plan() {
  return R"(# The plan of a room. stationer plan show FILE tells what it takes, stationer plan draw FILE PLAN.pdf
# draws it. Lengths are in metres. Whatever is left out has the value that stands here, and a line
# that begins with # says nothing.
[room]
name = "Tidewrack Mill"
stationer_on = 1          # the segment that Stationer's own machine is plugged in at; leave the line
                          # out when it reaches the machines by another way

[cable]
box_to_box_m = 3          # measured from one box to the next, along the wall
box_to_machine_m = 1.5    # and from a box to what is plugged in there
bridge_m = 10             # from a bridge to the other segment's box
slack_percent = 10        # a cable is longer than what was measured: by so much,
slack_m = 0.5             # and by that
# ready_made_m = [2, 5, 10, 20]   # the lengths there are, if you don't cut cables yourself

[mains]
outlets = 2               # for each machine: itself and its screen
watts = 90                # of each machine, as the plates on it say; 0: not known
lead_outlets = 6          # on an extension lead
lead_watts = 2300         # that it may carry, as is written on it; 0: not known

[line]
rate = 115200             # bit/s of the bus
frame_bytes = 512         # of a program in each frame
frame_overhead = 16       # bytes that travel with them: address, length, check, answer
program_bytes = 16384     # a program, to tell how long it takes

# A segment is one cable with an end box at both ends. Its machines stand here in the order in which
# the cable comes to them. Boxes are reckoned; to plan with those you have, write how many sockets
# each has, ends included: boxes = [1, 2, 2, 2, 2, 1]
[[segment]]
number = 1                # 1 to 127; without it, the lowest that is free
name = "Stone floor"
room = "Mill"
timing_unit = true        # has it one?
longest_m = 0             # that its bus may be, as its manual says; 0: not known

  [[segment.station]]
  number = 1              # 1 to 254; without it, the lowest that is free
  name = "owl"
  table = "North table"
  profile = "usual"       # this and what follows is for stationer plan register: a [profile.NAME]
  address = "10.0.0.7"    # of volume.toml, and by what the machine is known
  note = "Under the window"

  [[segment.station]]
  name = "dipper"
  table = "North table"
  address = "10.0.0.8"

  [[segment.station]]
  name = "lapwing"
  table = "North table"

  [[segment.station]]
  name = "curlew"
  table = "North table"
  cable_m = 3             # this one's own cable

  [[segment.station]]
  name = "heron-desk"
  table = "South table"
  outlets = 3
  watts = 210             # it has a large screen

  [[segment.station]]
  name = "plover"
  table = "South table"

[[segment]]
number = 2
name = "Loft"
room = "Loft"
box_to_box_m = [2, 4, 2, 2]  # each stretch as it was measured
more = 4                  # machines that have no name yet

  [[segment.station]]
  name = "swift"
  table = "Under the roof"

# Without any bridge here, each segment is joined to the next.
[[bridge]]
between = [1, 2]
cable_m = 12
)";
}

}  // namespace stationer::admin
