// Random operations by all sorts of callers, beside a small model with the same rules written a
// second time: access, the keep bit, quotas with their grace, usage, the bin, versions and how long
// both are kept, classes that move up a year, people who leave and who are erased. At each step the
// store must do or refuse what the model does or refuses, for a reason that the model has too, and
// agree with it about usage and rights. The clock goes forward in steps, and now and then jumps,
// both ways.
//
//   property_test [STEPS] [SEED]
#include <algorithm>
#include <cstdlib>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <random>
#include <set>
#include <stdexcept>
#include <string>
#include <tuple>
#include <vector>

#include <fmt/format.h>

#include "tests/support/operations.h"
#include "tests/support/simulated_disk.h"
#include "tests/support/simulated_volume.h"

using namespace stationer;
using fs::Code;

namespace {

using Codes = std::set<Code>;  // empty: it is done
using Names = std::vector<std::string>;

std::string upper(std::string text) {
  for (char& c : text) c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
  return text;
}

// ---- the model ----

struct Bits {
  bool owner_r = false, owner_w = false, class_r = false, class_w = false, every_r = false,
       every_w = false, keep = false;
  std::string text() const {
    std::string out;
    for (const auto& [bit, letter] :
         {std::pair(owner_r, 'r'), std::pair(owner_w, 'w'), std::pair(class_r, 'r'),
          std::pair(class_w, 'w'), std::pair(every_r, 'r'), std::pair(every_w, 'w')}) {
      out += bit ? letter : '-';
    }
    return keep ? out + 'k' : out;
  }
};

struct Item;
using ItemPtr = std::shared_ptr<Item>;

struct Former {
  std::string content;
  fs::Kind kind = fs::Kind::data;
  fs::Time replaced{};
  std::string by;          // empty: the keeper
  std::uint64_t turn = 0;  // among all there ever were
};

struct Item {
  fs::NodeId id{};
  std::string name;
  bool folder = false;
  bool hand_in = false;  // what accounts save into it is handed in
  std::string handed_in_by;
  fs::NodeId handed_in_to{};
  std::string owner;  // empty: nobody
  std::string klass;
  Bits bits;
  std::string content;
  fs::Kind kind = fs::Kind::data;
  std::vector<Former> former;  // oldest first
  Item* up = nullptr;
  std::map<std::string, ItemPtr> below;  // by name in capitals

  bool is_in(const Item* top) const {
    for (const Item* at = this; at != nullptr; at = at->up) {
      if (at == top) return true;
    }
    return false;
  }
  template <class Use>
  void each(Use use) {
    use(*this);
    for (auto& [key, item] : below) item->each(use);
  }
};

struct Person {
  fs::AccountId id{};
  fs::Role role = fs::Role::member;
  fs::Quota quota;
  fs::Time made{};
  std::optional<fs::Time> over;
  std::string primary;  // class
  bool closed = false;
  std::optional<fs::Time> leaves_after;
};

struct Group {
  std::map<std::string, bool> members;  // true: leads
  std::uint64_t turn = 0;               // among all there ever were
};

struct YearStep {
  struct Move {
    fs::AccountId who{};
    std::string from, to;
    std::uint64_t from_turn = 0, to_turn = 0;
    bool joined = false;
    bool primary = false;
    bool closed = false;
  };
  std::uint32_t number = 0;
  fs::Time made{};
  std::vector<Move> moves;  // none once it was undone
};

struct Who {
  std::string name;  // empty: the keeper or a guest
  bool keeper = false;
};

struct Removal {
  ItemPtr item;
  std::string owner;  // when it was removed
  std::string by;
  Names path;
  fs::Time since{};
};

// Less than a volume is made with, so that all of them come to bear.
constexpr std::chrono::days kept_days{12};
constexpr std::size_t kept_versions = 4;
constexpr std::uint64_t kept_bytes = 1u << 20;  // of one account

struct Model {
  ItemPtr root = std::make_shared<Item>();
  std::map<std::string, Person> people;
  std::map<std::string, Group> classes;
  std::vector<YearStep> steps;  // oldest first
  std::vector<Removal> bin;
  fs::Time now{};
  std::uint64_t turns = 0;
  std::map<std::uint64_t, fs::Time> class_made;  // by their turns

  Model() {
    root->folder = true;
    root->bits = {true, true, true, false, true, false, false};
    for (const char* name : {"programs", "classes", "members"})
      add(*root, name, "", "", root->bits);
    add(*root, "public", "", "", {true, true, true, true, true, true, false});
  }

  static Item& add(Item& folder, const std::string& name, const std::string& owner,
                   const std::string& klass, Bits bits, bool is_folder = true) {
    auto item = std::make_shared<Item>();
    item->name = name;
    item->folder = is_folder;
    item->owner = owner;
    item->klass = klass;
    item->bits = bits;
    item->up = &folder;
    folder.below[upper(name)] = item;
    return *item;
  }

  // -- standing --

  bool manages(const Who& who) const {
    return who.keeper || (!who.name.empty() && people.at(who.name).role == fs::Role::manager);
  }
  bool in_class(const std::string& klass, const std::string& name) const {
    const auto found = classes.find(klass);
    return found != classes.end() && found->second.members.count(name) != 0;
  }
  bool heads(const std::string& klass, const std::string& name) const {
    return in_class(klass, name) && classes.at(klass).members.at(name);
  }
  // As good as the owner: the owner, who leads the owner in some class, or, where there is no
  // owner, who leads the item's class.
  bool owns(const Who& who, const Item& item) const {
    if (manages(who)) return true;
    if (who.name.empty()) return false;
    if (item.owner == who.name) return true;
    if (item.owner.empty()) return heads(item.klass, who.name);
    return std::any_of(classes.begin(), classes.end(), [&](const auto& each) {
      return heads(each.first, who.name) && in_class(each.first, item.owner) &&
             !heads(each.first, item.owner);
    });
  }
  bool reads(const Who& who, const Item& item) const {
    if (manages(who)) return true;
    if (owns(who, item)) return item.bits.owner_r;
    if (!who.name.empty() && in_class(item.klass, who.name)) return item.bits.class_r;
    return item.bits.every_r;
  }
  bool writes(const Who& who, const Item& item) const {
    if (manages(who)) return true;
    if (who.name.empty()) return false;
    if (owns(who, item)) return item.bits.owner_w;
    return in_class(item.klass, who.name) ? item.bits.class_w : item.bits.every_w;
  }

  // -- the way down: every folder that is passed must be readable --

  Item* reach(const Who& who, const Names& names, std::size_t count, Codes& codes) const {
    Item* at = root.get();
    for (std::size_t i = 0; i < count; ++i) {
      if (!at->folder) {
        codes.insert(Code::not_a_folder);
        return nullptr;
      }
      if (!reads(who, *at)) {
        codes.insert(Code::denied);
        return nullptr;
      }
      const auto found = at->below.find(upper(names[i]));
      if (found == at->below.end()) {
        codes.insert(Code::not_found);
        return nullptr;
      }
      at = found->second.get();
    }
    return at;
  }
  Item* item(const Who& who, const Names& names, Codes& codes) const {
    return reach(who, names, names.size(), codes);
  }
  Item* folder_for(const Who& who, const Names& names, Codes& codes) const {
    Item* found = reach(who, names, names.size() - 1, codes);
    if (found == nullptr || found->folder) return found;
    codes.insert(Code::not_a_folder);
    return nullptr;
  }
  static Item* in(const Item& folder, const std::string& name) {
    const auto found = folder.below.find(upper(name));
    return found == folder.below.end() ? nullptr : found->second.get();
  }
  static Names names_of(const Item& item) {
    Names out;
    for (const Item* at = &item; at->up != nullptr; at = at->up) out.insert(out.begin(), at->name);
    return out;
  }

  // -- usage and quota --

  fs::Usage usage(const std::string& name) const {
    fs::Usage out;
    root->each([&](const Item& item) {
      if (item.owner != name || item.up == nullptr) return;
      out.bytes += item.content.size();
      ++out.files;
    });
    return out;
  }
  void grow(const std::string& name, std::int64_t bytes, std::int64_t files, Codes& codes) const {
    if (name.empty()) return;
    const Person& person = people.at(name);
    const fs::Usage is = usage(name);
    const bool no_moment = person.over && now >= person.made && *person.over < person.made;
    const bool strict =
        person.over && !no_moment && now - *person.over > std::chrono::hours(7 * 24);
    const auto limit = [&](std::uint64_t soft, std::uint64_t hard) {
      return strict && soft > 0 ? soft : hard;
    };
    const auto most_bytes = limit(person.quota.soft_bytes, person.quota.hard_bytes);
    const auto most_files = limit(person.quota.soft_files, person.quota.hard_files);
    if (bytes > 0 && most_bytes > 0 && is.bytes + static_cast<std::uint64_t>(bytes) > most_bytes)
      codes.insert(Code::over_quota);
    if (files > 0 && most_files > 0 && is.files + static_cast<std::uint64_t>(files) > most_files)
      codes.insert(Code::over_quota);
  }
  // After every change: who is over a soft limit is so since the moment they came to be.
  void watch_limits() {
    for (auto& [name, person] : people) {
      const fs::Usage is = usage(name);
      const bool over = (person.quota.soft_bytes > 0 && is.bytes > person.quota.soft_bytes) ||
                        (person.quota.soft_files > 0 && is.files > person.quota.soft_files);
      if (!over) person.over.reset();
      if (over && !person.over) person.over = now;
    }
  }

  // -- what can be done; each says why not, or does it --

  static Bits bits_in(const Item& folder) {
    return {true, true, folder.bits.class_r, false, folder.bits.every_r, false, false};
  }

  static bool hands_in(const Who& who, const Item& folder) {
    return folder.hand_in && !who.name.empty();
  }

  // Filed in a folder of the person's own, which is nobody's but the leaders'; nothing is replaced.
  Codes hand_in(const Who& who, Item& folder, const std::string& name, const std::string& bytes,
                fs::Kind kind) {
    if (!manages(who) && !in_class(folder.klass, who.name)) return {Code::denied};
    if (!writes(who, folder)) return {Code::denied};
    if (names_of(folder).size() + 2 > 32) return {Code::bad_name};
    const auto free_name = [](const Item& place, const std::string& wanted, auto fits) {
      std::string each = wanted;
      for (int n = 2;; each = fmt::format("{}-{}", wanted, n++)) {
        const Item* there = in(place, each);
        if (there == nullptr || fits(*there)) return each;
      }
    };
    constexpr Bits leaders{true, true, false, false, false, false, false};
    const std::string own =
        free_name(folder, who.name, [](const Item& there) { return there.folder; });
    Item* place = in(folder, own);
    if (place == nullptr) place = &add(folder, own, "", folder.klass, leaders);
    const std::string filed = free_name(*place, name, [](const Item&) { return false; });
    Item& made = add(*place, filed, "", folder.klass, leaders, false);
    made.content = bytes;
    made.kind = kind;
    made.handed_in_by = who.name;
    made.handed_in_to = folder.id;
    return {};
  }

  Codes save(const Who& who, const Names& path, const std::string& bytes, bool replace,
             fs::Kind kind) {
    Codes codes;
    Item* folder = folder_for(who, path, codes);
    if (folder == nullptr) return codes;
    if (hands_in(who, *folder)) return hand_in(who, *folder, path.back(), bytes, kind);
    Item* there = in(*folder, path.back());
    const bool may = writes(who, *folder);
    const bool sees = reads(who, *folder);
    if (there == nullptr) {
      if (!may) return {Code::denied};
      grow(who.name, static_cast<std::int64_t>(bytes.size()), 1, codes);
      if (names_of(*folder).size() + 1 > 32) codes.insert(Code::bad_name);
      if (codes.empty()) {
        Item& made = add(*folder, path.back(), who.name, folder->klass, bits_in(*folder), false);
        made.content = bytes;
        made.kind = kind;
      }
      return codes;
    }
    if (!may && !sees) return {Code::denied};
    if (there->folder) return {Code::is_a_folder};
    if (!replace || !sees) return {Code::exists};
    if (!writes(who, *there)) codes.insert(Code::denied);
    if (there->bits.keep) codes.insert(Code::kept);
    grow(there->owner,
         static_cast<std::int64_t>(bytes.size()) - static_cast<std::int64_t>(there->content.size()),
         0, codes);
    if (codes.empty()) {
      // Nothing is lost with an empty file.
      if (!there->content.empty()) {
        there->former.push_back({there->content, there->kind, now, who.name, ++turns});
      }
      there->content = bytes;
      there->kind = kind;
    }
    return codes;
  }

  // The file whose past somebody asks for: for those who may do what its owner may.
  Item* past_of(const Who& who, const Names& path, Codes& codes) const {
    Item* what = item(who, path, codes);
    if (what == nullptr) return nullptr;
    if (what->folder) codes.insert(Code::is_a_folder);
    if (!owns(who, *what)) codes.insert(Code::denied);
    return codes.empty() ? what : nullptr;
  }

  Codes bring_back(const Who& who, const Names& path, std::size_t which) {
    Codes codes;
    Item* what = past_of(who, path, codes);
    if (what == nullptr) return codes;
    const Former former = what->former[which];
    return save(who, path, former.content, true, former.kind);
  }

  // Takes away what is kept no longer; says how many removals and versions that were. Each one's
  // fate depends on what is newer than it.
  std::size_t thin() {
    struct Old {
      fs::Time since;
      std::uint32_t node;
      std::uint64_t turn;  // 0: a removal
      std::string owner;
      std::uint64_t size;
      Item* item;
    };
    std::vector<Old> all;
    const auto add_former = [&](Item& item) {
      if (item.bits.keep) return;
      for (const Former& each : item.former) {
        all.push_back({each.replaced, fs::number(item.id), each.turn, item.owner,
                       each.content.size(), &item});
      }
    };
    root->each(add_former);
    for (Removal& removal : bin) {
      std::uint64_t size = 0;
      removal.item->each([&](const Item& item) { size += item.content.size(); });
      all.push_back({removal.since, fs::number(removal.item->id), 0, removal.owner, size,
                     removal.item.get()});
      removal.item->each(add_former);
    }
    std::sort(all.begin(), all.end(), [](const Old& a, const Old& b) {
      return std::tie(b.since, b.node, b.turn) < std::tie(a.since, a.node, a.turn);
    });
    std::map<const Item*, std::size_t> newer;
    std::map<std::string, std::uint64_t> bytes;
    std::set<std::uint64_t> forgotten;  // by their turns
    std::set<const Item*> emptied;
    for (const Old& each : all) {
      bool goes = now - each.since > kept_days;
      if (each.turn != 0 && ++newer[each.item] > kept_versions) goes = true;
      std::uint64_t& taken = bytes[each.owner];
      if (taken > 0 && taken + each.size > kept_bytes) goes = true;
      if (!goes) {
        taken += each.size;
      } else if (each.turn == 0) {
        emptied.insert(each.item);
      } else {
        forgotten.insert(each.turn);
      }
    }
    const auto forget = [&](Item& item) {
      std::erase_if(item.former,
                    [&](const Former& each) { return forgotten.count(each.turn) != 0; });
    };
    root->each(forget);
    for (Removal& removal : bin) removal.item->each(forget);
    std::erase_if(bin, [&](const Removal& each) { return emptied.count(each.item.get()) != 0; });
    return forgotten.size() + emptied.size();
  }

  Codes make_folder(const Who& who, const Names& path) {
    Codes codes;
    Item* folder = folder_for(who, path, codes);
    if (folder == nullptr) return codes;
    if (!writes(who, *folder)) return {Code::denied};
    if (hands_in(who, *folder) && !owns(who, *folder)) return {Code::denied};
    if (in(*folder, path.back()) != nullptr) return {Code::exists};
    if (names_of(*folder).size() + 1 > 32) return {Code::bad_name};
    grow(who.name, 0, 1, codes);
    if (codes.empty()) add(*folder, path.back(), who.name, folder->klass, bits_in(*folder));
    return codes;
  }

  Codes taking_out(const Who& who, const Item& item) const {
    Codes codes;
    if (item.bits.keep) codes.insert(Code::kept);
    if (!writes(who, *item.up) || !(owns(who, item) || owns(who, *item.up))) {
      codes.insert(Code::denied);
    }
    return codes;
  }

  static std::size_t depth_below(const Item& item) {
    std::size_t deepest = 0;
    for (const auto& [key, below] : item.below)
      deepest = std::max(deepest, 1 + depth_below(*below));
    return deepest;
  }

  Codes move(const Who& who, const Names& from, const Names& to) {
    Codes codes;
    Item* what = item(who, from, codes);
    if (what == nullptr) return codes;
    codes = taking_out(who, *what);
    what->each([&](const Item& each) {
      if (each.bits.keep) codes.insert(Code::kept);
    });
    Item* folder = folder_for(who, to, codes);
    if (folder == nullptr) return codes;
    if (!writes(who, *folder)) codes.insert(Code::denied);
    if (hands_in(who, *folder) && !owns(who, *folder)) codes.insert(Code::denied);
    if (folder->is_in(what)) codes.insert(Code::bad_input);
    Item* there = in(*folder, to.back());
    if (there != nullptr && there != what) codes.insert(Code::exists);
    if (names_of(*folder).size() + 1 + depth_below(*what) > 32) codes.insert(Code::bad_name);
    if (!codes.empty()) return codes;
    const ItemPtr held = what->up->below.at(upper(what->name));
    what->up->below.erase(upper(what->name));
    what->name = to.back();
    what->up = folder;
    folder->below[upper(what->name)] = held;
    return codes;
  }

  Codes remove(const Who& who, const Names& path) {
    Codes codes;
    Item* what = item(who, path, codes);
    if (what == nullptr) return codes;
    codes = taking_out(who, *what);
    what->each([&](const Item& each) {
      if (each.bits.keep) codes.insert(Code::kept);
      if (&each != what && !owns(who, each)) codes.insert(Code::denied);
    });
    if (codes.empty()) throw_away(*what, who.name);
    return codes;
  }

  Codes restore(const Who& who, std::size_t which) {
    Removal& removal = bin[which];
    Item& what = *removal.item;
    Codes codes;
    const bool removed_it = !who.name.empty() && removal.by == who.name;
    if (!removed_it && !owns(who, what)) codes.insert(Code::denied);
    Item* folder = folder_for(who, removal.path, codes);
    if (folder == nullptr) return codes;
    if (!writes(who, *folder)) codes.insert(Code::denied);
    if (in(*folder, removal.path.back()) != nullptr) codes.insert(Code::exists);
    std::map<std::string, fs::Usage> coming;
    what.each([&](const Item& each) {
      coming[each.owner] = coming[each.owner] + fs::Usage{each.content.size(), 1};
    });
    for (const auto& [name, more] : coming) {
      grow(name, static_cast<std::int64_t>(more.bytes), static_cast<std::int64_t>(more.files),
           codes);
    }
    if (!codes.empty()) return codes;
    what.up = folder;
    folder->below[upper(what.name)] = removal.item;
    bin.erase(bin.begin() + static_cast<std::ptrdiff_t>(which));
    return codes;
  }

  // -- people who come and go --

  template <class Use>
  void each_anywhere(Use use) {
    root->each(use);
    for (Removal& removal : bin) removal.item->each(use);
  }

  Codes move_up(const std::string& from, const std::string& to) {
    if (classes.count(from) == 0 || (!to.empty() && classes.count(to) == 0) || from == to) {
      return {Code::bad_input};
    }
    YearStep step;
    step.made = now;
    const Group going = classes[from];
    for (const auto& [name, leads] : going.members) {
      if (leads) continue;
      const bool joins = !to.empty() && !in_class(to, name);
      Person& person = people.at(name);
      const bool primary = person.primary == from;
      const bool closes =
          to.empty() && primary && person.role == fs::Role::member && !person.closed;
      step.moves.push_back({person.id, from, to, going.turn, to.empty() ? 0 : classes[to].turn,
                            joins, primary, closes});
      if (primary) person.primary = to;
      if (closes) person.closed = true;
      classes[from].members.erase(name);
      if (joins) classes[to].members[name] = false;
    }
    if (step.moves.empty()) return {Code::bad_input};
    steps.push_back(std::move(step));
    if (steps.size() > fs::Years::most_steps) steps.erase(steps.begin());
    return {};
  }

  Codes move_back(std::uint32_t number) {
    const auto step = std::find_if(steps.begin(), steps.end(),
                                   [&](const YearStep& each) { return each.number == number; });
    if (step == steps.end()) return {Code::not_found};
    const auto name_of = [&](const YearStep::Move& move) -> std::string {
      for (const auto& [name, person] : people) {
        if (person.id == move.who && person.made <= step->made) return name;
      }
      return "";
    };
    const auto is_there = [&](const std::string& klass, std::uint64_t turn) {
      return classes.count(klass) != 0 && classes[klass].turn == turn &&
             class_made[turn] <= step->made;
    };
    const auto can = [&](const YearStep::Move& move) {
      const std::string name = name_of(move);
      return !name.empty() && is_there(move.from, move.from_turn) && !in_class(move.from, name) &&
             (move.to.empty() || is_there(move.to, move.to_turn)) &&
             (!move.joined || (in_class(move.to, name) && !heads(move.to, name))) &&
             (!move.primary || people.at(name).primary == move.to) &&
             (!move.closed || people.at(name).closed);
    };
    if (step->moves.empty() || !std::all_of(step->moves.begin(), step->moves.end(), can)) {
      return {Code::exists};
    }
    for (const auto& move : step->moves) {
      const std::string name = name_of(move);
      if (move.joined) classes[move.to].members.erase(name);
      classes[move.from].members[name] = false;
      Person& person = people.at(name);
      if (move.primary) person.primary = move.from;
      if (move.closed) {
        person.closed = false;
        person.leaves_after.reset();
      }
    }
    step->moves.clear();
    return {};
  }

  // The files of those who left go to the bin, each folder that is wholly theirs as one. What has
  // the keep bit stays.
  void remove_leavers() {
    std::map<fs::AccountId, std::string> due;
    for (const auto& [name, person] : people) {
      if (person.leaves_after && *person.leaves_after <= now) due[person.id] = name;
    }
    for (const auto& [id, name] : due) {
      std::vector<Item*> tops;
      const std::function<void(Item&)> find = [&](Item& folder) {
        for (auto& [key, item] : folder.below) {
          bool all = true;
          item->each([&](const Item& each) { all = all && each.owner == name && !each.bits.keep; });
          if (all) {
            tops.push_back(item.get());
          } else {
            find(*item);
          }
        }
      };
      find(*root);
      for (Item* top : tops) throw_away(*top, "");
      people[name].leaves_after.reset();
    }
  }

  // Takes an item away for good, if it has nothing in it; a removal with it.
  void destroy(Item& item) {
    if (item.up == nullptr) {
      std::erase_if(bin, [&](const Removal& each) { return each.item.get() == &item; });
    } else {
      item.up->below.erase(upper(item.name));
    }
  }

  Codes erase(const std::string& name) {
    if (!people.at(name).closed) return {Code::exists};
    const auto take = [&](Item& top, bool is_root) {
      std::vector<Item*> theirs;
      top.each([&](Item& item) {
        if (item.owner == name && !(is_root && &item == &top)) theirs.push_back(&item);
      });
      // What is in a folder goes before the folder.
      for (auto item = theirs.rbegin(); item != theirs.rend(); ++item) {
        if ((*item)->below.empty()) {
          destroy(**item);
        } else {
          (*item)->owner.clear();
        }
      }
    };
    const auto removals = [&] {
      std::vector<ItemPtr> out;
      for (const Removal& each : bin) out.push_back(each.item);
      return out;
    };
    take(*root, true);
    for (const ItemPtr& each : removals()) take(*each, false);
    // What they handed in, and the folder that is empty then.
    std::vector<Item*> handed_in;
    each_anywhere([&](Item& item) {
      if (item.handed_in_by == name) handed_in.push_back(&item);
    });
    for (Item* item : handed_in) {
      Item* above = item->up;
      const fs::NodeId folder = item->handed_in_to;
      destroy(*item);
      if (above != nullptr && above->up != nullptr && above->up->id == folder &&
          above->below.empty()) {
        destroy(*above);
      }
    }
    for (Removal& each : bin) {
      if (each.owner == name) each.owner.clear();
      if (each.by == name) each.by.clear();
    }
    each_anywhere([&](Item& item) {
      for (Former& each : item.former) {
        if (each.by == name) each.by.clear();
      }
    });
    for (auto& [klass, group] : classes) group.members.erase(name);
    people.erase(name);
    return {};
  }

  void throw_away(Item& item, const std::string& by) {
    Removal removal{item.up->below.at(upper(item.name)), item.owner, by, names_of(item), now};
    item.up->below.erase(upper(item.name));
    item.up = nullptr;
    bin.push_back(std::move(removal));
  }

  Codes empty_bin(const Who& who, bool all) {
    if (all && !manages(who)) return {Code::denied};
    std::erase_if(bin, [&](const Removal& each) {
      return all || (!who.name.empty() && each.owner == who.name);
    });
    return {};
  }
};

// ---- both side by side ----

constexpr const char* names[] = {"tide", "mill", "weir", "TIDE", "sluice", "log"};
constexpr const char* people[] = {"robin", "wren", "teasel", "sorrel", "heron", "bram"};
constexpr const char* rooms[] = {"tuesday", "night"};

struct Form {
  const char* text;
  void (*apply)(Bits&);
};
constexpr Form forms[] = {
    {"c+r", [](Bits& b) { b.class_r = true; }},
    {"c+rw", [](Bits& b) { b.class_r = b.class_w = true; }},
    {"e+w", [](Bits& b) { b.every_w = true; }},
    {"e=r", [](Bits& b) { b.every_r = true, b.every_w = false; }},
    {"e=", [](Bits& b) { b.every_r = b.every_w = false; }},
    {"a-w", [](Bits& b) { b.owner_w = b.class_w = b.every_w = false; }},
    {"o=rw", [](Bits& b) { b.owner_r = b.owner_w = true; }},
    {"o=rw,c=,e=",
     [](Bits& b) {
       b.owner_r = b.owner_w = true;
       b.class_r = b.class_w = b.every_r = b.every_w = false;
     }},
    {"o-r", [](Bits& b) { b.owner_r = false; }},
    {"+k", [](Bits& b) { b.keep = true; }},
    {"-k", [](Bits& b) { b.keep = false; }},
};

class Pair {
 public:
  explicit Pair(std::uint64_t seed) : random_(seed) {
    auto made = place_.create(disk_);
    if (!made) throw std::runtime_error(made.error().message);
    made->reset();
    keep_less();
    open();
    for (const char* name : {"programs", "classes", "members", "public"}) learn_number({name});
    for (const char* name : people) add_account(name);
  }

  // One step; says what the two don't agree about, or nothing.
  std::string step() {
    ++steps_;
    move_clock();
    model_.now = *place_.now;
    const std::string words = act();
    model_.watch_limits();
    if (!words.empty()) return words;
    if (auto differs = follow_wrong_clock(); !differs.empty()) return differs;
    if (auto differs = compare_usage(people[below(std::size(people))]); !differs.empty())
      return differs;
    if (auto differs = compare_look(); !differs.empty()) return differs;
    if (steps_ % 4 == 0) {
      if (auto differs = compare_past(somebody(), somewhere()); !differs.empty()) return differs;
    }
    if (steps_ % 64 == 0) {
      if (auto status = wait_for_all(); !status) return status.error().message;
    }
    if (steps_ % 2000 == 0) {
      if (auto differs = compare_everything(); !differs.empty()) return differs;
    }
    if (steps_ % 20'000 == 0) {
      auto report = volume_->check();
      if (!report) return "the check fails: " + report.error().message;
      for (const auto& each : report->findings) return each.path + ": " + each.sentence;
      volume_.reset();
      open();
      return compare_everything();
    }
    return "";
  }

  std::string summary() const {
    return fmt::format(
        "{} done, {} refused, {} over quota, {} restored, {} versions brought back, {} things "
        "thinned out, {} classes moved up, {} people left, {} erased",
        done_, refused_, over_quota_, restored_, brought_back_, thinned_, moved_up_, left_,
        erased_);
  }

 private:
  std::uint64_t below(std::uint64_t limit) { return random_() % limit; }

  void open() {
    auto opened = place_.open(disk_);
    if (!opened) throw std::runtime_error("it does not open: " + opened.error().message);
    volume_ = std::move(*opened);
  }

  void keep_less() {
    const auto files = disk_->files();
    const auto path = fs::HostPath() / "volume.toml";
    std::string text = fs::read_whole(*files, path, 1u << 20).value();
    const auto table = text.find("[history]");
    const auto end = text.find("\n[", table);
    if (table == std::string::npos || end == std::string::npos) {
      throw std::runtime_error("volume.toml is not as it was");
    }
    text.replace(table, end - table,
                 fmt::format("[history]\ndays = {}\nversions = {}\naccount_mib = {}\n",
                             kept_days.count(), kept_versions, kept_bytes >> 20));
    if (!fs::write_durably(*files, path, text)) throw std::runtime_error("not written");
  }

  void move_clock() {
    auto& now = *place_.now;
    switch (below(200)) {
      case 0: now += std::chrono::hours(24 * 8); break;
      case 1: now -= std::chrono::hours(24 * 5); break;
      case 2: now -= std::chrono::seconds(90); break;
      case 3: now = fs::Time(std::chrono::milliseconds(1'800'000'000'000)); break;
      default: now += std::chrono::seconds(below(600)); break;
    }
  }

  fs::Files& files() { return volume_->files(); }
  static fs::Path path(const Names& parts) {
    fs::Path out;
    for (const auto& part : parts) out = out / part;
    return out;
  }
  static std::string text(const Names& parts) { return path(parts).text(); }

  Who somebody() {
    const auto choice = below(12);
    if (choice < 3) return {"", true};
    if (choice == 3) return {"", false};
    const std::string name = people[below(std::size(people))];
    return model_.people.count(name) != 0 ? Who{name, false} : Who{"", true};
  }
  fs::Caller caller(const Who& who) const {
    if (who.keeper) return fs::keeper_at_the_box();
    if (who.name.empty()) return {fs::no_account, false, "test"};
    return {model_.people.at(who.name).id, false, "test"};
  }

  Names existing() {
    std::vector<Item*> all;
    model_.root->each([&](Item& item) {
      if (item.up != nullptr) all.push_back(&item);
    });
    return Model::names_of(*all[below(all.size())]);
  }
  // Sometimes with something wrong in it.
  Names somewhere() {
    Names out = existing();
    if (below(30) == 0) out.emplace_back("nowhere");
    return out;
  }
  Names new_place() {
    std::vector<Item*> all;
    model_.root->each([&](Item& item) {
      if (item.folder || below(20) == 0) all.push_back(&item);
    });
    Item* folder = all[below(all.size())];
    Names out = Model::names_of(*folder);
    if (out.empty() && below(10) != 0) out.emplace_back("public");
    out.emplace_back(names[below(std::size(names))]);
    return out;
  }

  // Whether the store did as the model; what is done is waited for later.
  std::string agree(const std::string& what, const Codes& codes, const fs::Ticket& ticket) {
    std::optional<fs::Status> refused;
    if (!codes.empty()) {
      refused = ticket.wait();
    } else {
      // A refusal is known at once, being durable is not.
      const auto known = std::make_shared<std::string>();
      ticket.then([known](const fs::Status& status) {
        if (!status) *known = status.error().message;
      });
      pending_.push_back(ticket);
      if (!known->empty()) return what + ": refused, but should be done: " + *known;
    }
    ++(codes.empty() ? done_ : refused_);
    if (codes.count(Code::over_quota) != 0) ++over_quota_;
    if (!refused) return "";
    if (refused->has_value()) {
      return fmt::format("{}: done, but should be refused: {}", what,
                         fs::code_name(*codes.begin()));
    }
    if (codes.count(refused->error().code) == 0) {
      return fmt::format("{}: refused with \"{}\", should be {}", what, refused->error().message,
                         fs::code_name(*codes.begin()));
    }
    return "";
  }

  fs::Status wait_for_all() {
    fs::Status out;
    for (const auto& ticket : pending_) {
      if (auto status = ticket.wait(); !status) out = status;
    }
    pending_.clear();
    return out;
  }

  void learn_number(const Names& parts) {
    Codes codes;
    Item* item = model_.item({"", true}, parts, codes);
    if (item == nullptr || item->id != fs::NodeId{}) return;
    const auto view = files().look(fs::keeper_at_the_box(), path(parts));
    if (!view) throw std::runtime_error(text(parts) + ": " + view.error().message);
    item->id = view->id;
  }

  // Of all that is new: what is handed in does not lie where it was saved.
  void learn_numbers() {
    std::vector<Names> fresh;
    model_.root->each([&](const Item& item) {
      if (item.up != nullptr && item.id == fs::NodeId{}) fresh.push_back(Model::names_of(item));
    });
    for (const Names& parts : fresh) learn_number(parts);
  }

  std::string act() {
    const Who who = somebody();
    const fs::Caller as = caller(who);
    const std::string by = who.keeper ? "keeper" : who.name.empty() ? "guest" : who.name;
    std::size_t size = 0;
    model_.root->each([&](const Item&) { ++size; });
    auto choice = below(100);
    if (size > 120 && choice < 50) choice = 50;  // not ever larger
    if (choice < 26) {
      const Names to = below(3) == 0 ? somewhere() : new_place();
      const std::size_t length = who.keeper && below(20) == 0 ? 100'000 + below(30'000)
                                 : below(10) == 0             ? 0
                                                              : below(1500);
      const std::string bytes(length, static_cast<char>('a' + below(26)));
      fs::SaveOptions options;
      options.replace = below(3) != 0;
      options.kind = static_cast<fs::Kind>(below(3));
      const Codes codes = model_.save(who, to, bytes, options.replace, options.kind);
      const std::string what = fmt::format("{} saves {} bytes as {}{}", by, bytes.size(), text(to),
                                           options.replace ? ", replacing" : "");
      const auto saved = [&]() -> fs::Ticket {
        auto upload = files().save(as, path(to), options);
        if (!upload) return upload.error();
        const std::string_view all = bytes;
        if (auto first = upload->write(all.substr(0, all.size() / 2)); !first) return first.error();
        if (auto rest = upload->write(all.substr(all.size() / 2)); !rest) return rest.error();
        return upload->finish();
      };
      auto words = agree(what, codes, saved());
      if (codes.empty()) learn_numbers();
      return words;
    }
    if (choice < 36) {
      const Names to = new_place();
      const Codes codes = model_.make_folder(who, to);
      auto words =
          agree(by + " makes the folder " + text(to), codes, files().make_folder(as, path(to)));
      if (codes.empty()) learn_number(to);
      return words;
    }
    if (choice < 50) {
      const Names from = somewhere();
      Names to = below(2) == 0 ? new_place() : from;
      to.back() = names[below(std::size(names))];
      return agree(fmt::format("{} moves {} to {}", by, text(from), text(to)),
                   model_.move(who, from, to), files().move(as, path(from), path(to)));
    }
    if (choice < 62) {
      const Names what = somewhere();
      // Only what the random work has made goes, else soon nothing is left to stand on.
      if (what.size() < 2) return "";
      return agree(by + " removes " + text(what), model_.remove(who, what),
                   files().remove(as, path(what)));
    }
    if (choice < 68) {
      if (model_.bin.empty()) return "";
      const std::size_t which = below(model_.bin.size());
      const Removal removal = model_.bin[which];
      const Codes codes = model_.restore(who, which);
      if (codes.empty()) ++restored_;
      return agree(by + " restores " + text(removal.path), codes,
                   files().restore(as, removal.item->id));
    }
    if (choice < 70) {
      const bool all = below(3) == 0;
      return agree(by + (all ? " empties the whole bin" : " empties the bin"),
                   model_.empty_bin(who, all), files().empty_bin(as, all));
    }
    if (choice < 82) {
      const Names what = somewhere();
      const Form& form = forms[below(std::size(forms))];
      Codes codes;
      if (Item* item = model_.item(who, what, codes)) {
        if (model_.owns(who, *item)) {
          form.apply(item->bits);
        } else {
          codes.insert(Code::denied);
        }
      }
      return agree(fmt::format("{} sets {} on {}", by, form.text, text(what)), codes,
                   files().set_access(as, path(what), form.text));
    }
    if (choice < 85) {
      const Names what = somewhere();
      const auto kind = static_cast<fs::Kind>(below(3));
      Codes codes;
      if (Item* item = model_.item(who, what, codes)) {
        if (item->folder) codes.insert(Code::is_a_folder);
        if (!model_.writes(who, *item)) codes.insert(Code::denied);
        if (item->bits.keep) codes.insert(Code::kept);
        if (codes.empty()) item->kind = kind;
      }
      return agree(fmt::format("{} changes the kind of {}", by, text(what)), codes,
                   files().set_details(as, path(what), kind, {}, {}));
    }
    if (choice < 89) {
      const Names what = somewhere();
      const std::string to = below(4) == 0 ? "" : people[below(std::size(people))];
      Codes codes;
      if (!model_.manages(who)) codes.insert(Code::denied);
      Item* item = model_.item(who, what, codes);
      if (!to.empty() && model_.people.count(to) == 0) codes.insert(Code::not_found);
      if (codes.empty()) item->owner = to;
      return agree(fmt::format("{} gives {} to {}", by, text(what), to), codes,
                   files().set_owner(as, path(what), to));
    }
    if (choice >= 98) {
      if (below(4) != 0) return bring_back(who);
      return below(4) == 0 ? thin() : "";
    }
    if (choice < 92) {
      const Names what = somewhere();
      const std::string to = below(3) == 0 ? "" : rooms[below(std::size(rooms))];
      Codes codes;
      if (!model_.manages(who)) codes.insert(Code::denied);
      Item* item = model_.item(who, what, codes);
      if (!to.empty() && model_.classes.count(to) == 0) codes.insert(Code::not_found);
      if (codes.empty()) item->klass = to;
      return agree(fmt::format("{} gives {} to the class {}", by, text(what), to), codes,
                   files().set_class(as, path(what), to));
    }
    return act_on_people();
  }

  std::string bring_back(const Who& who) {
    std::vector<Item*> all;
    model_.root->each([&](Item& item) {
      if (!item.former.empty()) all.push_back(&item);
    });
    if (all.empty()) return "";
    const Item& item = *all[below(all.size())];
    const Names what = Model::names_of(item);
    const std::size_t which = below(item.former.size());
    const auto views = volume_->history().versions(fs::keeper_at_the_box(), path(what));
    if (!views || views->size() != item.former.size()) return text(what) + ": its past differs";
    const auto id = (*views)[views->size() - 1 - which].id;
    const Codes codes = model_.bring_back(who, what, which);
    if (codes.empty()) ++brought_back_;
    auto words = agree(fmt::format("version {} of {} is brought back", which, text(what)), codes,
                       volume_->history().restore(caller(who), path(what), id));
    if (codes.empty()) learn_numbers();
    return words;
  }

  std::string thin() {
    const std::size_t should = model_.thin();
    const auto is = volume_->history().thin(1'000'000);
    if (!is) return "thinning fails: " + is.error().message;
    thinned_ += static_cast<long>(should);
    return *is == should ? "" : fmt::format("{} thinned out, should be {}", *is, should);
  }

  // What a file was before, as somebody sees it.
  std::string compare_past(const Who& who, const Names& what) {
    Codes codes;
    const Item* item = model_.past_of(who, what, codes);
    const auto views = volume_->history().versions(caller(who), path(what));
    if (views.has_value() != (item != nullptr)) return text(what) + ": one sees its past";
    if (!views) {
      return codes.count(views.error().code) != 0 ? "" : text(what) + ": " + views.error().message;
    }
    if (views->size() != item->former.size()) {
      return fmt::format("{} has {} versions, should have {}", text(what), views->size(),
                         item->former.size());
    }
    for (std::size_t i = 0; i < views->size(); ++i) {
      const auto& view = (*views)[i];
      const Former& former = item->former[item->former.size() - 1 - i];
      auto content = volume_->history().read(caller(who), path(what), view.id);
      if (!content) return text(what) + ": " + content.error().message;
      std::string bytes(former.content.size() + 1, '\0');
      auto got = content->read_at(0, bytes);
      if (!got) return text(what) + ": " + got.error().message;
      bytes.resize(*got);
      if (bytes != former.content || view.size != bytes.size() || view.kind != former.kind ||
          view.replaced != former.replaced ||
          view.replaced_by != (former.by.empty() ? "the keeper" : former.by)) {
        return fmt::format("version {} of {} is not what it should be", i, text(what));
      }
    }
    return "";
  }

  void add_account(const std::string& name) {
    const auto ticket = volume_->people().add_account(fs::keeper_at_the_box(),
                                                      {name, "", fs::Role::member, "", ""});
    if (!ticket.wait()) return;
    Person person;
    person.id = volume_->people().account(std::string_view(name))->id;
    person.made = *place_.now;
    model_.people[name] = person;
    Item* members = Model::in(*model_.root, "members");
    if (members == nullptr) {
      members = &Model::add(*model_.root, "members", "", "",
                            {true, true, true, false, true, false, false});
      learn_number({"members"});
    }
    if (Model::in(*members, name) == nullptr) {
      Model::add(*members, name, name, "", {true, true, false, false, false, false, false});
      learn_number({"members", name});
    }
    set_quota(name);
  }

  void set_quota(const std::string& name) {
    fs::Quota quota;
    if (below(4) != 0) {
      quota.soft_bytes = below(2) * (2000 + below(6000));
      quota.hard_bytes = 6000 + below(8000);
      quota.soft_files = below(2) * (3 + below(8));
      quota.hard_files = below(2) * (8 + below(12));
    }
    fs::AccountChange change;
    change.quota = quota;
    if (volume_->people().change_account(fs::keeper_at_the_box(), name, change).wait()) {
      model_.people[name].quota = quota;
    }
    model_.watch_limits();
  }

  std::string act_on_people() {
    const std::string name = people[below(std::size(people))];
    const std::string room = rooms[below(std::size(rooms))];
    const fs::Caller keeper = fs::keeper_at_the_box();
    const bool there = model_.people.count(name) != 0;
    switch (below(12)) {
      case 8: return move_up();
      case 9: return move_back();
      case 10: return there && below(6) == 0 ? leave(name) : "";
      case 11: return below(3) != 0 ? remove_leavers() : there ? erase(name) : "";
      case 0: {
        if (!there) {
          Item* members = Model::in(*model_.root, "members");
          Item* home = members == nullptr ? nullptr : Model::in(*members, name);
          const bool blocked =
              (members != nullptr && !members->folder) || (home != nullptr && !home->folder);
          if (!blocked) add_account(name);
        }
        return "";
      }
      case 1:
      case 2:
        if (there) set_quota(name);
        return "";
      case 3: {
        if (!there) return "";
        fs::AccountChange change;
        change.role = static_cast<fs::Role>(below(5) == 0 ? 2 : below(2));
        model_.people[name].role = *change.role;
        return agree("role of " + name, {}, volume_->people().change_account(keeper, name, change));
      }
      case 4: {
        Codes codes;
        if (model_.classes.count(room) != 0) codes.insert(Code::exists);
        if (codes.empty()) {
          for (const Names& parts :
               {Names{"classes"}, Names{"classes", room}, Names{"classes", room, "hand-in"}}) {
            Codes ignored;
            const Item* item = model_.item({"", true}, parts, ignored);
            if (item != nullptr && !item->folder) codes.insert(Code::exists);
          }
        }
        auto words = agree("class " + room, codes, volume_->people().add_class(keeper, room));
        if (!codes.empty()) return words;
        model_.classes[room].turn = ++model_.turns;
        model_.class_made[model_.turns] = *place_.now;
        Item* at = model_.root.get();
        Names parts;
        for (const auto& [part, bits] :
             {std::pair(std::string("classes"), Bits{true, true, true, false, true, false, false}),
              std::pair(room, Bits{true, true, true, false, false, false, false}),
              std::pair(std::string("hand-in"),
                        Bits{true, true, false, true, false, false, false})}) {
          parts.push_back(part);
          Item* next = Model::in(*at, part);
          if (next == nullptr) {
            next = &Model::add(*at, part, "", parts.size() == 1 ? "" : room, bits);
            learn_number(parts);
          }
          at = next;
        }
        at->hand_in = true;
        return words;
      }
      case 5: {
        Codes codes;
        const auto found = model_.classes.find(room);
        if (found == model_.classes.end()) {
          codes.insert(Code::not_found);
        } else if (!found->second.members.empty()) {
          codes.insert(Code::exists);
        } else if (below(4) != 0) {
          return "";
        }
        auto words = agree("no class " + room, codes, volume_->people().remove_class(keeper, room));
        if (!codes.empty()) return words;
        model_.classes.erase(room);
        const auto forget = [&](Item& item) {
          if (item.klass == room) item.klass.clear();
        };
        model_.root->each(forget);
        for (auto& removal : model_.bin) removal.item->each(forget);
        return words;
      }
      case 6: {
        Codes codes;
        const bool leads = below(3) == 0;
        if (model_.classes.count(room) == 0 || !there) codes.insert(Code::not_found);
        if (codes.empty() && leads && model_.people[name].role == fs::Role::member) {
          codes.insert(Code::bad_input);
        }
        if (codes.empty()) {
          model_.classes[room].members[name] = leads;
          if (!leads && model_.people[name].primary.empty()) model_.people[name].primary = room;
        }
        return agree(name + " joins " + room, codes,
                     volume_->people().join(keeper, room, name, leads));
      }
      default: {
        Codes codes;
        if (!model_.in_class(room, name)) codes.insert(Code::not_found);
        if (codes.empty()) {
          model_.classes[room].members.erase(name);
          if (model_.people[name].primary == room) model_.people[name].primary.clear();
        }
        return agree(name + " leaves " + room, codes, volume_->people().leave(keeper, room, name));
      }
    }
  }

  std::string move_up() {
    const std::string from = rooms[below(std::size(rooms))];
    const std::string to = below(4) == 0 ? "" : rooms[below(std::size(rooms))];
    const Codes codes = model_.move_up(from, to);
    auto words = agree(fmt::format("{} moves up to \"{}\"", from, to), codes,
                       volume_->years().apply(fs::keeper_at_the_box(), {{{from, to}}, {}}));
    if (codes.empty()) {
      ++moved_up_;
      model_.steps.back().number = volume_->years().steps().front().step;
    }
    return words;
  }

  std::string move_back() {
    if (model_.steps.empty()) return "";
    const std::uint32_t number =
        model_.steps[below(model_.steps.size())].number + (below(20) == 0 ? 100 : 0);
    return agree(fmt::format("step {} is undone", number), model_.move_back(number),
                 volume_->years().undo(fs::keeper_at_the_box(), number));
  }

  std::string leave(const std::string& name) {
    const auto after = *place_.now + std::chrono::hours(below(48));
    auto left = volume_->leavers().leave(fs::keeper_at_the_box(), name, after);
    if (!left) return name + " leaves: " + left.error().message;
    ++left_;
    model_.people[name].closed = true;
    model_.people[name].leaves_after = after;
    return "";
  }

  std::string remove_leavers() {
    model_.remove_leavers();
    auto done = volume_->do_what_is_due();
    return done ? "" : "what is due: " + done.error().message;
  }

  std::string erase(const std::string& name) {
    const Codes codes = model_.erase(name);
    if (codes.empty()) ++erased_;
    fs::Ticket ticket;
    ticket.settle(volume_->leavers().erase(fs::keeper_at_the_box(), name));
    return agree(name + " is erased", codes, ticket);
  }

  // -- comparing --

  // A moment that only a wrong clock can have told is told anew, as of now, by the next change of
  // what the account has; until then it stays.
  std::string follow_wrong_clock() {
    for (auto& [name, person] : model_.people) {
      if (!person.over || model_.now < person.made) continue;
      if (*person.over <= model_.now && *person.over >= person.made) continue;
      const auto view = volume_->people().account(person.id);
      if (!view || view->over_since == person.over) continue;
      if (view->over_since != model_.now) return name + " has a grace that began at no moment";
      person.over = view->over_since;
    }
    return "";
  }

  std::string compare_usage(const std::string& name) {
    const auto found = model_.people.find(name);
    if (found == model_.people.end()) {
      return volume_->people().account(std::string_view(name)) ? name + " is still there" : "";
    }
    const auto view = volume_->people().account(found->second.id);
    if (!view) return name + " is missing";
    const fs::Usage is = model_.usage(name);
    if (view->klass != found->second.primary) {
      return fmt::format("{} is in \"{}\", should be in \"{}\"", name, view->klass,
                         found->second.primary);
    }
    if (view->closed != found->second.closed || view->leaves_after != found->second.leaves_after) {
      return fmt::format("{} has left: {} {}, should be {} {}", name, view->closed,
                         view->leaves_after.has_value(), found->second.closed,
                         found->second.leaves_after.has_value());
    }
    if (view->usage == is && view->over_since == found->second.over) return "";
    return fmt::format(
        "{} uses {} bytes in {} files, should be {} in {}; over the limit: {}, "
        "should be {}",
        name, view->usage.bytes, view->usage.files, is.bytes, is.files,
        view->over_since.has_value(), found->second.over.has_value());
  }

  std::string compare_look() {
    const Who who = somebody();
    const Names what = somewhere();
    Codes codes;
    const Item* item = model_.item(who, what, codes);
    const auto view = files().look(caller(who), path(what));
    if (view.has_value() != (item != nullptr)) return text(what) + ": one sees it, one does not";
    if (!view) {
      return codes.count(view.error().code) != 0 ? "" : text(what) + ": " + view.error().message;
    }
    if (view->may_read == model_.reads(who, *item) &&
        view->may_write == model_.writes(who, *item) && view->access.text() == item->bits.text() &&
        view->size == item->content.size() && view->owner == item->owner &&
        view->klass == item->klass && view->name == item->name) {
      if (item->folder || !view->may_read) return "";
      auto content = files().read(caller(who), path(what));
      if (!content) return text(what) + ": " + content.error().message;
      std::string bytes(item->content.size() + 1, '\0');
      auto got = content->read_at(0, bytes);
      if (!got) return text(what) + ": " + got.error().message;
      bytes.resize(*got);
      return bytes == item->content ? "" : text(what) + " holds something else";
    }
    return fmt::format("{} for {}: {} {} {} {} {}, should be {} {} {} {} {}", text(what),
                       who.keeper ? "the keeper" : who.name, view->may_read, view->may_write,
                       view->access.text(), view->owner, view->klass, model_.reads(who, *item),
                       model_.writes(who, *item), item->bits.text(), item->owner, item->klass);
  }

  std::string compare_folder(const Who& who, Item& folder) {
    const Names parts = Model::names_of(folder);
    auto views = files().list(caller(who), path(parts));
    Codes codes;
    model_.item(who, parts, codes);
    const bool may = codes.empty() && model_.reads(who, folder);
    if (views.has_value() != may) return text(parts) + ": one lists it, one does not";
    if (!may) return "";
    std::set<std::string> is, should;
    for (const auto& view : *views) is.insert(view.name);
    for (const auto& [key, item] : folder.below) {
      if (model_.reads(who, *item) || model_.writes(who, *item)) should.insert(item->name);
    }
    if (is != should) {
      return fmt::format("{} holds [{}], should hold [{}]", text(parts), fmt::join(is, " "),
                         fmt::join(should, " "));
    }
    return "";
  }

  std::string compare_everything() {
    if (auto status = wait_for_all(); !status) return status.error().message;
    for (const char* name : people) {
      if (auto differs = compare_usage(name); !differs.empty()) return differs;
    }
    std::string differs;
    const Who who = somebody();
    model_.root->each([&](Item& item) {
      if (!differs.empty() || !item.folder) return;
      differs = compare_folder({"", true}, item);
      if (differs.empty()) differs = compare_folder(who, item);
    });
    if (!differs.empty()) return differs;
    std::set<std::uint32_t> is, should;
    for (const auto& each : files().bin(fs::keeper_at_the_box())) is.insert(fs::number(each.id));
    for (const auto& each : model_.bin) should.insert(fs::number(each.item->id));
    if (is != should) return "the bins differ";
    return "";
  }

  std::mt19937_64 random_;
  test::MountPoint place_;
  std::shared_ptr<test::SimulatedDisk> disk_ = test::SimulatedDisk::create();
  std::unique_ptr<fs::Volume> volume_;
  Model model_;
  std::vector<fs::Ticket> pending_;
  long steps_ = 0;
  long done_ = 0;
  long refused_ = 0;
  long over_quota_ = 0;
  long restored_ = 0;
  long brought_back_ = 0;
  long thinned_ = 0;
  long moved_up_ = 0;
  long left_ = 0;
  long erased_ = 0;
};

}  // namespace

int main(int argc, char** argv) {
  const long steps = argc > 1 ? std::atol(argv[1]) : 1'000'000;
  const std::uint64_t seed =
      argc > 2 ? std::strtoull(argv[2], nullptr, 10) : std::random_device()();
  fmt::print("{} steps, seed {}\n", steps, seed);
  std::fflush(stdout);
  Pair pair(seed);
  for (long step = 1; step <= steps; ++step) {
    const auto words = pair.step();
    if (words.empty()) continue;
    fmt::print("step {} (seed {}): {}\n", step, seed, words);
    return 1;
  }
  fmt::print("{}: store and model agreed at every step\n", pair.summary());
  return 0;
}
