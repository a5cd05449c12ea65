#include "cli/wrap.hpp"

#include <algorithm>
#include <sstream>

namespace goodside::cli {

std::size_t columns(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
  }));
}

std::vector<std::string> wrapped(std::string_view text, std::size_t width) {
  std::vector<std::string> lines{""};
  std::istringstream words{std::string{text}};
  for (std::string word; words >> word;) {
    std::string& line = lines.back();
    if (line.empty())
      line = word;
    else if (columns(line) + 1 + columns(word) <= width)
      line += " " + word;
    else
      lines.push_back(word);
  }
  return lines;
}

std::string clipped(std::string_view text, std::size_t width) {
  if (columns(text) <= width) return std::string{text};
  std::string kept;
  std::size_t taken = 0;
  for (const char c : text) {
    const bool begins = (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
    if (begins && ++taken == width) break;
    kept += c;
  }
  return kept + "…";
}

void put(std::string& out, std::string_view text, std::string_view first, std::string_view then) {
  const auto lines = wrapped(text, line_width - columns(first));
  for (std::size_t i = 0; i < lines.size(); ++i)
    out.append(i == 0 ? first : then).append(lines[i]).append("\n");
}

}  // namespace goodside::cli
