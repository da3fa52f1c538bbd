#include "server/protocol/line_editor.h"

#include <algorithm>

#include "server/protocol/substitute.h"

namespace stationer::server {
namespace {

// ECMA-48 §8.3, named as there.
enum Control : unsigned char {
  ETX = 0x03,
  BEL = 0x07,
  BS = 0x08,
  HT = 0x09,
  CR = 0x0D,
  DLE = 0x10,
  DC2 = 0x12,
  NAK = 0x15,
  CAN = 0x18,
  ESC = 0x1B,
  DEL = 0x7F,
  CSI = 0x9B,
};

// No key sends more; beyond it, what looked like a sequence is typing.
constexpr unsigned longest_sequence = 32;

constexpr char cursor_up = 'A';  // the final byte of CUU

constexpr char32_t tab = U'\t';

bool is_iso(print::Charset charset) {
  return charset == print::Charset::iso_8859_1 || charset == print::Charset::iso_8859_15;
}

}  // namespace

LineEditor::LineEditor(const Screen& screen, Keyboard keyboard)
    : screen_(screen),
      keyboard_(keyboard),
      encoder_(screen.charset, screen.capitals),
      decoder_(screen.charset) {}

std::string LineEditor::ask(Question question) {
  question_ = std::move(question);
  question_.longest = std::max<std::size_t>(question_.longest, 1);
  text_.clear();
  refused_ = false;
  prompt_.clear();
  for (const char32_t c : decode(question_.prompt)) prompt_ += encoder_.shown(c);
  std::string echo;
  show_again(echo);
  return echo;
}

LineEditor::Step LineEditor::feed(std::string_view typed) {
  Step step{0, {}, {}};
  while (step.used < typed.size() && !step.outcome) {
    const char raw = typed[step.used++];
    const char bare = static_cast<char>(raw & 0x7F);
    const auto passed = enter_(keyboard_.seven_bits ? bare : raw);
    if (!passed) continue;
    const auto byte = static_cast<unsigned char>(*passed);
    if (escaped(byte, step)) continue;
    const auto decoded = decoder_.put(byte);
    for (unsigned i = 0; i < decoded.count && !step.outcome; ++i) {
      const char32_t c = decoded.at[i];
      if (c < 0x20 || (c >= 0x7F && c < 0xA0)) {
        control(static_cast<unsigned char>(c), step);
      } else {
        character(c, step);
      }
    }
  }
  return step;
}

// True when the byte belongs to an escape sequence.
bool LineEditor::escaped(unsigned char byte, Step& step) {
  const bool starts_sequence = byte == CSI && is_iso(screen_.charset);
  if (byte == ESC || starts_sequence) {
    escape_ = byte == ESC ? Escape::started : Escape::sequence;
    escape_length_ = 0;
    bare_ = true;
    return true;
  }
  if (escape_ == Escape::none) return false;
  // Anything else but 20-7E breaks a sequence off and counts for itself.
  if (byte < 0x20 || byte > 0x7E || ++escape_length_ > longest_sequence) {
    escape_ = Escape::none;
    return false;
  }
  const bool intermediate = byte < 0x30;
  switch (escape_) {
    case Escape::started:
      if (intermediate) break;
      bare_ = true;
      escape_ = byte == '['                  ? Escape::sequence
                : byte == 'O' || byte == 'N' ? Escape::single  // SS3, SS2: one more to come
                                             : Escape::none;
      break;
    case Escape::sequence:
      if (byte == cursor_up && bare_) recall(step);
      if (byte >= 0x40) escape_ = Escape::none;
      bare_ = false;
      break;
    case Escape::single:
      if (byte == cursor_up) recall(step);
      escape_ = Escape::none;
      break;
    case Escape::none: break;
  }
  return true;
}

void LineEditor::control(unsigned char byte, Step& step) {
  switch (byte) {
    case CR: return enter(step);
    case BS:
    case DEL: return erase(step);
    case NAK:
    case CAN: return drop(step);
    case DLE: return recall(step);
    case HT: return character(question_.mode == Mode::text ? tab : U' ', step);
    case DC2:
      if (question_.echo == Echo::none) return;
      step.echo += newline();
      return show_again(step.echo);
    case ETX:
      if (question_.echo != Echo::none) {
        step.echo += "^C";
        step.echo += newline();
      }
      text_.clear();
      refused_ = false;
      step.outcome = Interrupt{};
      return;
    default: return;
  }
}

void LineEditor::character(char32_t c, Step& step) {
  // Nothing in the station's set, or a sign that would turn the text around it.
  if (c == print::replacement_character || (c != tab && encoder_.shown(c) == 0)) {
    step.echo += static_cast<char>(BEL);
    return;
  }
  if (text_.size() >= question_.longest) {
    if (question_.mode == Mode::answer) {
      if (!refused_) step.echo += static_cast<char>(BEL);
      refused_ = true;
      return;
    }
    step.outcome = Line{take_text(), true};
  }
  text_ += c;
  put(c, step.echo);
}

void LineEditor::enter(Step& step) {
  if (question_.echo != Echo::none) step.echo += newline();
  if (refused_) {
    text_.clear();
    refused_ = false;
    step.outcome = TooLong{question_.longest};
  } else {
    step.outcome = Line{take_text(), false};
  }
}

void LineEditor::erase(Step& step) {
  refused_ = false;
  if (text_.empty()) return;
  const bool was_tab = text_.back() == tab;
  const int before = width_shown();
  // A mark goes together with the letter that it stands on.
  bool mark = true;
  while (mark && !text_.empty()) {
    mark = cells(text_.back()) == 0;
    text_.pop_back();
  }
  if (was_tab && question_.echo == Echo::full && !keyboard_.paper) {
    // How far the cursor jumped is for the terminal to know.
    step.echo += newline();
    return show_again(step.echo);
  }
  take_back(keyboard_.paper ? 1 : before - width_shown(), step.echo);
}

void LineEditor::drop(Step& step) {
  const int width = width_shown();
  const bool has_tab = text_.find(tab) != std::u32string::npos;
  text_.clear();
  refused_ = false;
  if (width == 0 || question_.echo == Echo::none || question_.echo == Echo::hidden) return;
  if (keyboard_.paper || has_tab || static_cast<int>(prompt_.size()) + width >= screen_.columns) {
    // It can't be wiped, or it fills more than a row, where going back stops: start again below.
    if (keyboard_.paper) step.echo += " <<";
    step.echo += newline();
    return show_again(step.echo);
  }
  take_back(width, step.echo);
}

void LineEditor::recall(Step& step) {
  if (question_.recall.empty() || question_.mode != Mode::answer) return;
  if (question_.echo == Echo::full) {
    drop(step);
  } else if (question_.echo == Echo::none) {
    step.echo += newline();  // what the far end shows of its own can't be wiped
  } else {
    return;
  }
  text_ = decode(question_.recall).substr(0, question_.longest);
  refused_ = false;
  if (question_.echo == Echo::none) {
    for (const char32_t c : prompt_) encoder_.append(c, step.echo);
  }
  for (const char32_t c : text_) encoder_.append(encoder_.shown(c), step.echo);
}

void LineEditor::show_again(std::string& echo) const {
  for (const char32_t c : prompt_) encoder_.append(c, echo);
  for (const char32_t c : text_) put(c, echo);
}

void LineEditor::take_back(int cells, std::string& echo) const {
  if (question_.echo == Echo::none || question_.echo == Echo::hidden) return;
  for (int i = 0; i < cells; ++i) echo += keyboard_.paper ? "<" : "\b \b";
}

void LineEditor::put(char32_t c, std::string& echo) const {
  switch (question_.echo) {
    case Echo::full:
      if (c == tab) {
        echo += static_cast<char>(HT);
      } else {
        encoder_.append(encoder_.shown(c), echo);
      }
      return;
    case Echo::stars: echo += '*'; return;
    case Echo::hidden:
    case Echo::none: return;
  }
}

int LineEditor::width_shown() const {
  if (question_.echo == Echo::stars) return static_cast<int>(text_.size());
  int width = 0;
  for (const char32_t c : text_) width += cells(c);
  return width;
}

std::string LineEditor::take_text() {
  static const Encoder utf_8(print::Charset::utf_8);
  std::string out;
  for (const char32_t c : text_) {
    if (c == tab) {
      out += '\t';
    } else {
      utf_8.append(c, out);
    }
  }
  text_.clear();
  return out;
}

}  // namespace stationer::server
