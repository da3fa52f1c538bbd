// Where something lies inside the volume's directory on the host. Built by us from checked parts
// only (invariant 2): there is no way to make one from what a station sent.
#pragma once

#include <compare>
#include <string>
#include <string_view>

#include "fs/result.h"

namespace stationer::fs {

// Whether `name` names one thing in a folder of the host's, whatever else is wrong with it.
bool is_host_name(std::string_view name);

class HostPath {
 public:
  HostPath() = default;  // the volume's directory itself

  // One part below; `name` must be a single name. Breaking that is a bug and throws.
  HostPath operator/(std::string_view name) const;

  // Reads what text() gave, from our own records. Refuses parts that lead elsewhere.
  static Result<HostPath> from_record(std::string_view text);

  bool is_volume() const { return text_.empty(); }
  HostPath folder() const;
  std::string_view name() const;
  const std::string& text() const { return text_; }  // "files/members/robin/letter.txt"

  // True for `other` itself and everything below it.
  bool is_within(const HostPath& other) const;
  // Where this lies once `from`, in which it is, has become `to`.
  HostPath moved(const HostPath& from, const HostPath& to) const;

  auto operator<=>(const HostPath&) const = default;

 private:
  explicit HostPath(std::string text) : text_(std::move(text)) {}
  std::string text_;
};

}  // namespace stationer::fs
