#pragma once
#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <string_view>

namespace goodside::testing {

/// Holds `text` against the approved output tests/<path>, where path is like
/// "units/golden/refusals.txt":
///   EXPECT_TRUE(matches_golden("units/golden/refusals.txt", text));
/// `./dev golden` sets GOODSIDE_GOLDEN=rewrite, and then the file is written instead.
inline ::testing::AssertionResult matches_golden(std::string_view path, std::string_view text) {
  const auto file = std::filesystem::path{GOODSIDE_SOURCE_DIR} / "tests" / path;
  const char* const wish = std::getenv("GOODSIDE_GOLDEN");
  if (wish != nullptr && std::string_view{wish} == "rewrite") {
    std::filesystem::create_directories(file.parent_path());
    std::ofstream out{file, std::ios::binary};
    out << text;
    out.close();
    if (!out) return ::testing::AssertionFailure() << "cannot write " << file;
    return ::testing::AssertionSuccess();
  }
  std::ifstream in{file, std::ios::binary};
  if (!in)
    return ::testing::AssertionFailure()
           << "no approved output " << file << "; make it with ./dev golden";
  std::ostringstream whole;
  whole << in.rdbuf();
  const std::string approved = whole.str();
  if (approved == text) return ::testing::AssertionSuccess();

  std::size_t at = 0, line = 1;
  while (at < approved.size() && at < text.size() && approved[at] == text[at])
    if (approved[at++] == '\n') ++line;
  const auto line_of = [at](std::string_view text_of) {
    const auto before = text_of.substr(0, at).rfind('\n');
    const auto from = before == std::string_view::npos ? 0 : before + 1;
    return text_of.substr(from, text_of.find('\n', from) - from);
  };
  return ::testing::AssertionFailure()
         << "tests/" << path << " differs from line " << line
         << "\n  approved: " << line_of(approved) << "\n  now:      " << line_of(text);
}

}  // namespace goodside::testing
