#include "fs/name_table.h"

#include <algorithm>
#include <cstring>
#include <stdexcept>

#include "fs/text.h"

namespace stationer::fs {
namespace {

// An entry begins with its size in bytes (9 bits) and the lowest bits of its hash (7), and the
// node's number. Then the one for a name has the folder's number, a byte each with the sizes of
// name and alias, these two, and the addresses if there are any. The one for an alias has the key
// of the name's.
constexpr unsigned size_bits = 9;
constexpr std::size_t name_at = 12;
constexpr std::size_t alias_entry_size = 10;
constexpr unsigned addresses_bit = 0x80;  // of the byte with the size of the alias
constexpr std::size_t addresses_size = 8;
constexpr std::size_t longest_entry = name_at + 255 + 12 + addresses_size;

// As many buckets from its own an entry may lie.
constexpr std::size_t farthest = 64;

template <class T>
T number_at(const char* from) {
  T value;
  std::memcpy(&value, from, sizeof value);
  return value;
}

NodeId id_of(std::string_view entry) {
  return NodeId{number_at<std::uint32_t>(entry.data() + 2)};
}
bool is_alias(std::string_view entry) {
  return entry.size() == alias_entry_size;
}

Label label_of(std::string_view entry) {
  Label label;
  label.id = id_of(entry);
  label.parent = NodeId{number_at<std::uint32_t>(entry.data() + 6)};
  const auto name_size = static_cast<unsigned char>(entry[10]);
  const auto alias_size = static_cast<unsigned char>(entry[11]) & ~addresses_bit;
  label.name = entry.substr(name_at, name_size);
  label.alias = entry.substr(name_at + name_size, alias_size);
  if ((static_cast<unsigned char>(entry[11]) & addresses_bit) != 0) {
    const char* addresses = entry.data() + entry.size() - addresses_size;
    label.load_address = number_at<std::uint32_t>(addresses);
    label.entry_point = number_at<std::uint32_t>(addresses + 4);
  }
  return label;
}

// In the making.
class Entry {
 public:
  explicit Entry(const Label& label) {
    const bool has_addresses = label.load_address != 0 || label.entry_point != 0;
    start(label.id, number(label.parent));
    add(static_cast<std::uint8_t>(label.name.size()));
    add(static_cast<std::uint8_t>(label.alias.size() | (has_addresses ? addresses_bit : 0)));
    add(label.name);
    add(label.alias);
    if (has_addresses) add(label.load_address);
    if (has_addresses) add(label.entry_point);
    end();
  }
  Entry(NodeId id, std::uint32_t key) {
    start(id, key);
    end();
  }
  operator std::string_view() const { return {bytes_.data(), size_}; }

 private:
  void start(NodeId id, std::uint32_t second) {
    add(std::uint16_t{0});
    add(number(id));
    add(second);
  }
  void end() {
    const auto head = static_cast<std::uint16_t>(size_);
    std::memcpy(bytes_.data(), &head, sizeof head);
  }
  void add(std::string_view text) {
    std::copy(text.begin(), text.end(), bytes_.begin() + static_cast<std::ptrdiff_t>(size_));
    size_ += text.size();
  }
  template <class T>
  void add(T value) {
    std::memcpy(bytes_.data() + size_, &value, sizeof value);
    size_ += sizeof value;
  }

  std::array<char, longest_entry> bytes_;
  std::size_t size_ = 0;
};

// Calls use() with each of the entries that lie one after another.
template <class Use>
void each_entry(std::string_view entries, Use use) {
  while (!entries.empty()) {
    const std::size_t size = number_at<std::uint16_t>(entries.data()) % (1u << size_bits);
    use(entries.substr(0, size));
    entries.remove_prefix(size);
  }
}

// The eight bytes of a name from `at` on, or its last eight; all of a shorter one.
std::uint64_t word(const char* name, std::size_t size, std::size_t at) {
  if (size >= 8) return number_at<std::uint64_t>(name + std::min(at, size - 8));
  if (size >= 4) {
    const std::uint64_t end = number_at<std::uint32_t>(name + size - 4);
    return number_at<std::uint32_t>(name) | end << 32;
  }
  std::uint64_t out = 0;
  for (std::size_t i = 0; i < size; ++i) {
    out = out << 8 | static_cast<unsigned char>(name[i]);
  }
  return out;
}

constexpr std::uint64_t each_byte(std::uint64_t value) {
  return value * 0x0101010101010101u;
}
constexpr bool all_ascii(std::uint64_t bytes) {
  return (bytes & each_byte(0x80)) == 0;
}
// Eight ASCII characters in lower case: the top bit of each byte of the two sums tells whether the
// byte is at least A, and whether it is beyond Z.
constexpr std::uint64_t lower(std::uint64_t bytes) {
  const std::uint64_t from_a = bytes + each_byte(0x80 - 'A');
  const std::uint64_t beyond_z = bytes + each_byte(0x80 - 'Z' - 1);
  return bytes | ((from_a ^ beyond_z) & each_byte(0x80)) >> 2;
}

bool same_name(std::string_view a, std::string_view b) {
  if (a.size() == b.size()) {
    const std::size_t size = b.size();  // known before a's has come from memory
    std::size_t at = 0;
    for (; at < size; at += 8) {
      const std::uint64_t x = word(a.data(), size, at);
      const std::uint64_t y = word(b.data(), size, at);
      if (x == y) continue;
      if (!all_ascii(x | y)) break;
      if (lower(x) != lower(y)) return false;
    }
    if (at >= size) return true;
  }
  return fold(a) == fold(b);
}

}  // namespace

NameTable::NameTable(std::uint64_t seed) : seed_(seed), buckets_(1) {}

template <class Fits>
std::string_view NameTable::seek(std::uint32_t hash, Fits fits) const {
  fetch(hash);
  std::size_t at = home(hash);
  for (std::size_t far = 0; far <= farthest; ++far, at = after(at)) {
    const Bucket& bucket = buckets_[at];
    const char* entry = bucket.entries.data();
    for (const char* end = entry + bucket.used; entry != end;) {
      const auto head = number_at<std::uint16_t>(entry);
      const std::size_t size = head % (1u << size_bits);
      // Differs in nothing but the size when the lowest bits of the hashes are the same.
      if ((head ^ (hash << size_bits & 0xFFFF)) == size && fits(std::string_view(entry, size))) {
        return {entry, size};
      }
      entry += size;
    }
    if (bucket.passed == 0) break;
  }
  return {};
}

std::optional<NodeId> NameTable::find(NodeId folder, std::string_view name) const {
  const auto found = seek(hash(folder, name),
                          [&](std::string_view entry) { return is_named(entry, folder, name); });
  return found.empty() ? std::nullopt : std::optional(id_of(found));
}

bool NameTable::is_named(std::string_view entry, NodeId folder, std::string_view name) const {
  if (is_alias(entry)) {
    const Label label = get(number_at<std::uint32_t>(entry.data() + 6), id_of(entry));
    return label.parent == folder && same_name(label.alias, name);
  }
  const Label label = label_of(entry);
  return label.parent == folder && same_name(label.name, name);
}

std::string_view NameTable::entry_of(std::uint32_t key, NodeId id) const {
  const auto found =
      seek(key, [&](std::string_view entry) { return id_of(entry) == id && !is_alias(entry); });
  if (found.empty()) throw std::logic_error("a label was asked for that is not there");
  return found;
}

Label NameTable::get(std::uint32_t key, NodeId id) const {
  return label_of(entry_of(key, id));
}

void NameTable::fetch(std::uint32_t key) const {
  const char* bucket = reinterpret_cast<const char*>(&buckets_[home(key)]);
  for (std::size_t at = 0; at < sizeof(Bucket); at += 64) __builtin_prefetch(bucket + at);
}

std::uint32_t NameTable::add(const Label& label) {
  const Entry entry(label);
  // Seven eighths full is as full as it gets.
  if ((used_ + longest_entry) * 8 > buckets_.size() * sizeof(Bucket) * 7) make_room(used_ * 3 / 2);
  place(entry);
  return hash(label.parent, label.name);
}

void NameTable::place(std::string_view entry) {
  while (!insert_label(entry)) make_room(buckets_.size() * sizeof(Bucket) * 3 / 2);
}

bool NameTable::insert_label(std::string_view entry) {
  const Label label = label_of(entry);
  const std::uint32_t key = hash(label.parent, label.name);
  if (!insert(key, entry)) return false;
  name_bytes_ += label.name.size() + label.alias.size();
  if (label.alias.empty()) return true;
  if (insert(hash(label.parent, label.alias), Entry(label.id, key))) return true;
  erase(key, entry_of(key, label.id));
  name_bytes_ -= label.name.size() + label.alias.size();
  return false;
}

bool NameTable::insert(std::uint32_t hash, std::string_view entry) {
  const std::size_t first = home(hash);
  std::size_t at = first;
  for (std::size_t far = 0; buckets_[at].used + entry.size() > Bucket().entries.size(); ++far) {
    if (far == std::min(farthest, buckets_.size())) return false;
    at = after(at);
  }
  for (std::size_t passed = first; passed != at; passed = after(passed)) ++buckets_[passed].passed;
  Bucket& bucket = buckets_[at];
  char* into = bucket.entries.data() + bucket.used;
  std::memcpy(into, entry.data(), entry.size());
  const auto head = static_cast<std::uint16_t>(entry.size() | hash << size_bits);
  std::memcpy(into, &head, sizeof head);
  bucket.used = static_cast<std::uint16_t>(bucket.used + entry.size());
  used_ += entry.size();
  return true;
}

void NameTable::remove(std::uint32_t key, NodeId id) {
  const auto entry = entry_of(key, id);
  const Label label = label_of(entry);
  name_bytes_ -= label.name.size() + label.alias.size();
  if (!label.alias.empty()) {
    const std::uint32_t by_alias = hash(label.parent, label.alias);
    erase(by_alias, seek(by_alias, [&](std::string_view each) {
            return id_of(each) == id && is_alias(each);
          }));
  }
  erase(key, entry_of(key, id));
}

void NameTable::erase(std::uint32_t hash, std::string_view entry) {
  const auto in =
      static_cast<std::size_t>(entry.data() - reinterpret_cast<const char*>(buckets_.data())) /
      sizeof(Bucket);
  for (std::size_t at = home(hash); at != in; at = after(at)) --buckets_[at].passed;
  Bucket& bucket = buckets_[in];
  char* from = bucket.entries.data() + (entry.data() - bucket.entries.data());
  const char* end = bucket.entries.data() + bucket.used;
  std::memmove(from, from + entry.size(), static_cast<std::size_t>(end - from) - entry.size());
  bucket.used = static_cast<std::uint16_t>(bucket.used - entry.size());
  used_ -= entry.size();
}

// Distributes all entries anew over as many buckets as hold `bytes`.
void NameTable::make_room(std::size_t bytes) {
  const auto old = std::move(buckets_);
  for (bool fits = false; !fits; bytes = bytes * 3 / 2) {
    buckets_.assign(bytes / sizeof(Bucket) + 2, Bucket());
    used_ = name_bytes_ = 0;
    fits = true;
    for (const Bucket& bucket : old) {
      each_entry({bucket.entries.data(), bucket.used}, [&](std::string_view entry) {
        if (!is_alias(entry)) fits = fits && insert_label(entry);
      });
    }
  }
}

std::uint32_t NameTable::load(const Label& label) {
  const Entry made(label);
  const std::string_view entry = made;
  loading_.insert(loading_.end(), entry.begin(), entry.end());
  return hash(label.parent, label.name);
}

void NameTable::build() {
  const std::string_view all(loading_.data(), loading_.size());
  std::size_t bytes = used_ + all.size();
  each_entry(all, [&](std::string_view entry) {
    if (!label_of(entry).alias.empty()) bytes += alias_entry_size;
  });
  make_room(bytes * 5 / 4);
  each_entry(all, [&](std::string_view entry) { place(entry); });
  loading_ = std::vector<char>();
}

// Over the folded name, eight bytes at a time, started from the folder and the seed: each step
// multiplies to 128 bits and folds the halves, so that every bit of the name reaches every bit.
std::uint32_t NameTable::hash(NodeId folder, std::string_view name) const {
  const auto mix = [](std::uint64_t a, std::uint64_t b) {
    __extension__ using Wide = unsigned __int128;
    const Wide product = static_cast<Wide>(a) * b;
    return static_cast<std::uint64_t>(product) ^ static_cast<std::uint64_t>(product >> 64);
  };
  const std::uint64_t start =
      mix(seed_ ^ 0x9E3779B97F4A7C15u, std::uint64_t{number(folder)} + 0xD1B54A32D192ED03u);
  const auto over = [&](std::string_view bytes, bool& ascii) {
    std::uint64_t h = start ^ bytes.size();
    for (std::size_t at = 0; at < bytes.size(); at += 8) {
      const std::uint64_t part = word(bytes.data(), bytes.size(), at);
      ascii = ascii && all_ascii(part);
      h = mix(h ^ lower(part), 0xA0761D6478BD642Fu ^ seed_);
    }
    return h;
  };
  bool ascii = true;
  std::uint64_t h = over(name, ascii);
  if (!ascii) h = over(fold(name), ascii);
  return static_cast<std::uint32_t>(h ^ h >> 32);
}

}  // namespace stationer::fs
