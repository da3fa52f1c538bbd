#include "fs/access.h"

#include <fmt/format.h>

#include "fs/text.h"

namespace stationer::fs {
namespace {

constexpr unsigned owner_pair = Access::owner_read | Access::owner_write;
constexpr unsigned class_pair = Access::class_read | Access::class_write;
constexpr unsigned everyone_pair = Access::everyone_read | Access::everyone_write;
constexpr unsigned reads = Access::owner_read | Access::class_read | Access::everyone_read;
constexpr unsigned writes = Access::owner_write | Access::class_write | Access::everyone_write;

// The pairs that a letter names; 0 for a letter that names none.
unsigned who_mask(char letter) {
  switch (letter) {
    case 'o': return owner_pair;
    case 'c': return class_pair;
    case 'e': return everyone_pair;
    case 'a': return owner_pair | class_pair | everyone_pair;
    default: return 0;
  }
}

// One pair of bits spread over all three places.
unsigned spread(unsigned bits, char from) {
  const unsigned pair = from == 'o' ? bits >> 4 : from == 'c' ? bits >> 2 : bits;
  const unsigned one = pair & 3u;
  return one << 4 | one << 2 | one;
}

Error bad_change(std::string_view clause) {
  return {Code::bad_input,
          fmt::format("\"{}\" is no change of access. Write who (o owner, c class, e everyone, a "
                      "all), then + - or =, then r, w or k: c+r lets the class read.",
                      clip(clause, 40))};
}

Result<unsigned> apply_clause(unsigned bits, std::string_view clause) {
  std::size_t at = 0;
  unsigned who = 0;
  while (at < clause.size() && who_mask(clause[at]) != 0) who |= who_mask(clause[at++]);
  if (at == 0) who = who_mask('a');
  if (at == clause.size()) return bad_change(clause);
  while (at < clause.size()) {
    const char operation = clause[at++];
    if (operation != '+' && operation != '-' && operation != '=') return bad_change(clause);
    unsigned chosen = 0;
    while (at < clause.size() &&
           std::string_view("+-=").find(clause[at]) == std::string_view::npos) {
      const char letter = clause[at++];
      switch (letter) {
        case 'r': chosen |= reads; break;
        case 'w': chosen |= writes; break;
        case 'k': chosen |= Access::keep; break;
        case 'o':
        case 'c':
        case 'e': chosen |= spread(bits, letter); break;
        default: return bad_change(clause);
      }
    }
    const unsigned affected = chosen & (who | Access::keep);
    if (operation == '+') bits |= affected;
    if (operation == '-') bits &= ~affected;
    // The keep bit belongs to nobody, so "=" sets it but never takes it away by silence.
    if (operation == '=') bits = (bits & ~who) | affected;
  }
  return bits;
}

// The pair that decides, moved to the owner's place.
unsigned deciding(Access access, Counted as) {
  switch (as) {
    case Counted::manager: return owner_pair;
    case Counted::owner: return access.bits() & owner_pair;
    case Counted::in_class: return (access.bits() & class_pair) << 2;
    case Counted::everyone:
    case Counted::guest: break;
  }
  return (access.bits() & everyone_pair) << 4;
}

}  // namespace

Result<Access> Access::changed(std::string_view changes) const {
  const std::string lower = ascii_lower(changes);
  std::string_view rest = lower;
  unsigned bits = bits_;
  do {
    const auto comma = rest.find(',');
    const auto clause = rest.substr(0, comma);
    auto applied = apply_clause(bits, clause);
    if (!applied) return applied.error();
    bits = *applied;
    rest = comma == std::string_view::npos ? "" : rest.substr(comma + 1);
    if (comma != std::string_view::npos && rest.empty()) return bad_change(changes);
  } while (!rest.empty());
  return Access(bits);
}

std::string Access::text() const {
  std::string out = "rwrwrw";
  for (unsigned i = 0; i < 6; ++i) {
    if ((bits_ & (0x20u >> i)) == 0) out[i] = '-';
  }
  if (has(keep)) out += 'k';
  return out;
}

std::string Access::symbolic() const {
  std::string out;
  for (const char who : {'o', 'c', 'e'}) {
    const unsigned pair = bits_ & who_mask(who);
    if (!out.empty()) out += ',';
    out += who;
    out += '=';
    if ((pair & reads) != 0) out += 'r';
    if ((pair & writes) != 0) out += 'w';
  }
  if (has(keep)) out += ",+k";
  return out;
}

const char* role_name(Role role) {
  switch (role) {
    case Role::member: return "member";
    case Role::leader: return "leader";
    case Role::manager: return "manager";
  }
  return "unknown";
}

Result<Role> parse_role(std::string_view name) {
  for (const Role role : {Role::member, Role::leader, Role::manager}) {
    if (ascii_lower(name) == role_name(role)) return role;
  }
  return Error{Code::bad_input, "A role is one of member, leader, manager."};
}

Counted counted_as(const Standing& standing) {
  if (standing.guest) return Counted::guest;
  if (standing.manager) return Counted::manager;
  if (standing.owner || standing.leads_owner) return Counted::owner;
  return standing.in_class ? Counted::in_class : Counted::everyone;
}

bool may_read(Access access, const Standing& standing) {
  return (deciding(access, counted_as(standing)) & reads) != 0;
}

bool may_write(Access access, const Standing& standing) {
  const Counted as = counted_as(standing);
  return as != Counted::guest && (deciding(access, as) & writes) != 0;
}

bool is_as_owner(const Standing& standing) {
  return standing.manager || standing.owner || standing.leads_owner;
}

}  // namespace stationer::fs
