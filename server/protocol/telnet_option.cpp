#include "server/protocol/telnet_option.h"

namespace stationer::server {
namespace {

Move heard_on(Negotiation state, bool agree) {
  switch (state) {
    case Negotiation::no:
      return agree ? Move{Negotiation::yes, true} : Move{Negotiation::no, false};
    case Negotiation::yes: return {Negotiation::yes, {}};
    // "Off" was answered by "on": the other end breaks the rules. The RFC settles for this.
    case Negotiation::want_no: return {Negotiation::no, {}};
    case Negotiation::want_no_then_yes:
    case Negotiation::want_yes: return {Negotiation::yes, {}};
    case Negotiation::want_yes_then_no: return {Negotiation::want_no, false};
  }
  return {state, {}};
}

Move heard_off(Negotiation state) {
  switch (state) {
    case Negotiation::no: return {Negotiation::no, {}};
    case Negotiation::yes: return {Negotiation::no, false};
    case Negotiation::want_no: return {Negotiation::no, {}};
    case Negotiation::want_no_then_yes: return {Negotiation::want_yes, true};
    case Negotiation::want_yes:
    case Negotiation::want_yes_then_no: return {Negotiation::no, {}};
  }
  return {state, {}};
}

}  // namespace

Move heard(Negotiation state, bool on, bool agree) {
  return on ? heard_on(state, agree) : heard_off(state);
}

Move wanted(Negotiation state, bool on) {
  switch (state) {
    case Negotiation::no: return on ? Move{Negotiation::want_yes, true} : Move{state, {}};
    case Negotiation::yes: return on ? Move{state, {}} : Move{Negotiation::want_no, false};
    // One request at a time (RFC 1143 §4): a change of mind waits for the answer.
    case Negotiation::want_no:
    case Negotiation::want_no_then_yes:
      return {on ? Negotiation::want_no_then_yes : Negotiation::want_no, {}};
    case Negotiation::want_yes:
    case Negotiation::want_yes_then_no:
      return {on ? Negotiation::want_yes : Negotiation::want_yes_then_no, {}};
  }
  return {state, {}};
}

}  // namespace stationer::server
