#pragma once
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace goodside {

/// Insertions, deletions, substitutions and swaps of neighbours that turn one word into the other
/// (optimal string alignment).
[[nodiscard]] int edits(std::string_view from, std::string_view to);

/// "did you mean `--reference`?", or nothing when no name is near: at most a third of its letters
/// edited, or the word is its beginning.
[[nodiscard]] std::optional<std::string> suggestion(std::string_view word,
                                                    const std::vector<std::string>& names);

}  // namespace goodside
