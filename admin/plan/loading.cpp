#include "admin/plan/loading.h"

#include <algorithm>

namespace stationer::admin {

Loading loading_of(const RoomPlan& plan, const Ways& ways) {
  const LineRule& line = plan.line;
  Loading out;
  out.frames = (line.program_bytes + line.frame_bytes - 1) / line.frame_bytes;
  out.line_bytes = line.program_bytes + out.frames * line.frame_overhead;
  for (std::size_t i = 0; i < plan.segments.size(); ++i) {
    if (ways.bridges_to[i] != Ways::nowhere) out.copies += plan.segments[i].stations.size();
  }
  out.bridges = ways.farthest();
  const auto millis = [&line](std::uint64_t bytes) {
    return (bytes * bits_a_byte * 1000 + line.rate - 1) / line.rate;
  };
  const std::uint64_t frame =
      std::min<std::uint64_t>(line.frame_bytes, line.program_bytes) + line.frame_overhead;
  const std::uint64_t on_the_way = out.bridges * frame;
  out.one_millis = millis(out.line_bytes);
  out.each_millis = out.copies == 0 ? 0 : millis(out.line_bytes * out.copies + on_the_way);
  out.once_millis = out.copies == 0 ? 0 : millis(out.line_bytes + on_the_way);
  return out;
}

}  // namespace stationer::admin
