#include "fs/records.h"

namespace stationer::fs {

const char* kind_name(Kind kind) {
  switch (kind) {
    case Kind::data: return "data";
    case Kind::text: return "text";
    case Kind::program: return "program";
  }
  return "unknown";
}

}  // namespace stationer::fs
