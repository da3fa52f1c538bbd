#include "print/collection.h"

#include <algorithm>
#include <memory>

#include <fmt/format.h>

#include "fs/local_time.h"
#include "fs/text.h"
#include "fs/utf8.h"
#include "print/pdf_binding.h"
#include "print/profile.h"
#include "print/render.h"

namespace stationer::print {
namespace {

using fs::Code;
using fs::Error;
using fs::PrintoutView;

constexpr std::size_t columns = 78;
constexpr std::size_t lines_a_page = 60;

struct Part {
  PrintoutView printout;
  OpenContent open;
  std::size_t pages = 0;
  std::size_t first_page = 0;  // in the whole
};

std::string owner_of(const PrintoutView& printout) {
  return printout.owner.empty() ? "(unclaimed)" : printout.owner;
}

// "label ........ 12", whatever the label.
std::string entry(std::string_view label, std::size_t page) {
  const std::string number = fmt::format(" {}", page);
  std::string out;
  std::size_t width = 0;
  fs::each_character(label, [&](char32_t c) {
    if (width + number.size() + 3 > columns) return;
    fs::append_utf8(out, c < 0x20 ? U' ' : c);
    ++width;
  });
  out += ' ';
  for (width += 1; width + number.size() < columns; ++width) out += '.';
  return out + number;
}

std::string whose(const fs::PrintoutFilter& filter) {
  std::string out = "Printouts";
  if (!filter.klass.empty()) out += fmt::format(" of the class {}", filter.klass);
  if (!filter.owner.empty()) out += fmt::format(" of {}", filter.owner);
  if (!filter.queue.empty()) out += fmt::format(" of the queue {}", filter.queue);
  return out;
}

// The lines of the contents; the numbers of their pages need not be right yet.
std::vector<std::string> contents(const std::string& title, const std::vector<Part>& parts,
                                  const std::vector<std::string>& missing) {
  std::vector<std::string> lines{title};
  auto [first, last] = std::minmax_element(
      parts.begin(), parts.end(),
      [](const Part& a, const Part& b) { return a.printout.printed < b.printout.printed; });
  lines.push_back(fmt::format("printed from {} to {}", fs::local_time_text(first->printout.printed),
                              fs::local_time_text(last->printout.printed)));
  std::string section;
  for (const Part& part : parts) {
    if (const std::string owner = owner_of(part.printout); owner != section) {
      section = owner;
      lines.emplace_back();
      lines.push_back(section);
    }
    lines.push_back(entry(
        fmt::format("  {}  {}", fs::local_time_text(part.printout.printed), part.printout.title),
        part.first_page));
  }
  if (!missing.empty()) lines.emplace_back();
  for (const auto& sentence : missing) lines.push_back(sentence);
  return lines;
}

fs::Result<std::string> front_of(const std::string& title, const std::vector<Part>& parts,
                                 const std::vector<std::string>& lines) {
  auto profile = find_printer_profile("plain-80");
  if (!profile) return profile.error();
  auto fonts = Fonts::load();
  if (!fonts) return fonts.error();
  Settings settings = profile->settings;
  settings.text.charset = Charset::utf_8;
  settings.text.most_pages = most_collected_pages;
  std::string text;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    if (i != 0 && i % lines_a_page == 0) text += '\f';
    text += lines[i] + "\r\n";
  }
  Metadata about;
  about.title = title;
  about.origin = "Stationer";
  for (const Part& part : parts) {
    about.job += fmt::format("{} ", part.printout.job);
    about.created =
        std::max(about.created, std::chrono::floor<std::chrono::seconds>(part.printout.printed));
  }
  std::size_t at = 0;
  const ByteSource source = [&](std::span<char> into) -> fs::Result<std::size_t> {
    const std::size_t size = text.copy(into.data(), into.size(), at);
    at += size;
    return size;
  };
  std::string pdf;
  const ByteSink sink = [&](std::string_view bytes) -> fs::Status {
    pdf += bytes;
    return {};
  };
  if (auto done = render(source, settings, about, *fonts, sink); !done) return done.error();
  return pdf;
}

}  // namespace

fs::Result<Collected> collect_printouts(fs::Volume& volume, const fs::Caller& caller,
                                        const fs::PrintoutFilter& filter, const ByteSink& sink) {
  auto meant = fs::meant_printouts(volume, caller, filter);
  if (!meant) return meant.error();
  std::sort(meant->begin(), meant->end(), [](const PrintoutView& a, const PrintoutView& b) {
    // Those of nobody last.
    const auto key = [](const PrintoutView& each) {
      return std::make_tuple(each.owner.empty(), std::string_view(each.owner), each.job);
    };
    return key(a) < key(b);
  });
  Collected out;
  std::vector<Part> parts;
  std::size_t pages = 0;
  for (PrintoutView& printout : *meant) {
    auto path = fs::HostPath::from_record(printout.path);
    if (!path) return path.error();
    const OpenContent open = [&volume, path = *path]() -> fs::Result<fs::Content> {
      auto file = volume.host_files().open(path);
      if (!file) return file.error();
      return fs::Content(std::move(*file));
    };
    auto counted = count_pages(open);
    if (!counted) {
      const Code code = counted.error().code;
      if (code != Code::damaged && code != Code::not_found) return counted.error();
      out.missing.push_back(fmt::format("Printout {}, \"{}\", can't be read.", printout.job,
                                        fs::clip(printout.title, 40)));
      continue;
    }
    pages += *counted;
    if (pages > most_collected_pages) {
      return Error{Code::over_quota, fmt::format("These are more than {} pages. Ask for a shorter "
                                                 "time, or for one person or queue.",
                                                 most_collected_pages)};
    }
    parts.push_back({std::move(printout), open, *counted, 0});
  }
  if (parts.empty()) {
    return Error{Code::not_found,
                 out.missing.empty() ? "There are no such printouts." : out.missing.front()};
  }
  const std::string title = whose(filter);
  // How many lines they are does not depend on the numbers in them.
  std::size_t page =
      (contents(title, parts, out.missing).size() + lines_a_page - 1) / lines_a_page + 1;
  for (Part& part : parts) {
    part.first_page = page;
    page += part.pages;
  }
  auto front = front_of(title, parts, contents(title, parts, out.missing));
  if (!front) return front.error();
  const auto front_bytes = std::make_shared<const std::string>(std::move(*front));
  std::vector<BoundPart> bound;
  for (const Part& part : parts) {
    bound.push_back({owner_of(part.printout), part.printout.title, part.open});
  }
  auto done =
      bind_pdfs([&]() -> fs::Result<fs::Content> { return fs::Content(front_bytes); }, bound, sink);
  if (!done) return done.error();
  out.printouts = parts.size();
  out.pages = page - 1;
  return out;
}

}  // namespace stationer::print
