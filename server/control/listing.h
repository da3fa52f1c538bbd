// A listing as methods give it: {"items": […], "next": N}. What does not fit into one answer is
// asked for with "from": N; without "next" there is no more. Something that comes or goes between
// two answers may be missed or listed twice.
#pragma once

#include <cstdint>
#include <limits>

#include <boost/json/array.hpp>
#include <boost/json/object.hpp>
#include <boost/json/serialize.hpp>
#include <boost/json/value.hpp>

#include "server/control/params.h"

namespace stationer::server {

// Bytes after which no further item goes into an answer; a quarter of the longest line.
inline constexpr std::size_t full_answer = std::size_t{256} * 1024;

inline std::uint64_t listing_from(Params& params) {
  return params.whole_or("from", 0, std::numeric_limits<std::int64_t>::max());
}

// show(item) is the item as a JSON object.
template <class Items, class Show>
boost::json::object listing(const Items& items, std::uint64_t from, Show show) {
  boost::json::object out;
  boost::json::array shown;
  std::size_t size = 0;
  std::uint64_t at = from;
  for (; at < items.size() && size < full_answer; ++at) {
    boost::json::value item(show(items[static_cast<std::size_t>(at)]));
    size += boost::json::serialize(item).size();
    shown.push_back(std::move(item));
  }
  out["items"] = std::move(shown);
  if (at < items.size()) out["next"] = at;
  return out;
}

}  // namespace stationer::server
