#include "tests/print/tools.h"

#include <array>
#include <cstdio>
#include <fstream>
#include <stdexcept>

#include <sys/wait.h>

#include "tests/support/temp_folder.h"

namespace stationer::test {
namespace {

std::vector<std::string> split(const std::string& text, char at) {
  std::vector<std::string> out;
  std::size_t begin = 0;
  for (std::size_t end; (end = text.find(at, begin)) != std::string::npos; begin = end + 1) {
    out.push_back(text.substr(begin, end - begin));
  }
  if (begin < text.size()) out.push_back(text.substr(begin));
  return out;
}

}  // namespace

bool have(const std::string& program) {
  return run_on("", "command -v " + program + " >/dev/null").exit == 0;
}

Ran run_on(std::string_view contents, const std::string& command) {
  const TempFolder folder;
  const std::string file = folder / "input";
  std::ofstream(file, std::ios::binary)
      .write(contents.data(), static_cast<std::streamsize>(contents.size()));
  std::string line;
  for (const char character : command) {
    if (character == '%') {
      line += file;
    } else {
      line += character;
    }
  }
  FILE* pipe = ::popen(("{ " + line + "; } 2>&1").c_str(), "r");
  if (pipe == nullptr) throw std::runtime_error("no pipe");
  Ran ran;
  std::array<char, 65536> buffer{};
  for (std::size_t size; (size = std::fread(buffer.data(), 1, buffer.size(), pipe)) > 0;) {
    ran.out.append(buffer.data(), size);
  }
  const int status = ::pclose(pipe);
  ran.exit = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  return ran;
}

std::vector<std::vector<std::string>> columns_of(std::string_view pdf, const std::string& points) {
  const Ran ran = run_on(pdf, "pdftotext -fixed " + points + " -enc UTF-8 % -");
  if (ran.exit != 0) throw std::runtime_error("pdftotext: " + ran.out);
  std::vector<std::vector<std::string>> pages;
  for (const std::string& page : split(ran.out, '\f')) {
    pages.emplace_back();
    for (std::string& line : split(page, '\n')) {
      line.erase(line.find_last_not_of(' ') + 1);
      if (!line.empty()) pages.back().push_back(std::move(line));
    }
  }
  return pages;
}

}  // namespace stationer::test
