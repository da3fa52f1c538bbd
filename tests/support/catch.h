// Catch2, told how to show our results. Precompiled and part of every test source.
#pragma once

#include <string>

#include <catch2/catch.hpp>

#include "fs/result.h"

namespace Catch {

template <class T>
struct StringMaker<boost::system::result<T, stationer::fs::Error>> {
  static std::string convert(const boost::system::result<T, stationer::fs::Error>& result) {
    if (result.has_error()) return "error: " + result.error().message;
    if constexpr (std::is_void_v<T>) {
      return "done";
    } else {
      return "value: " + StringMaker<T>::convert(*result);
    }
  }
};

template <>
struct StringMaker<stationer::fs::Code> {
  static std::string convert(stationer::fs::Code code) { return stationer::fs::code_name(code); }
};

}  // namespace Catch
