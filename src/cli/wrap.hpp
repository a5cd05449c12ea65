#pragma once
#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace goodside::cli {

inline constexpr std::size_t line_width = 80;

/// Columns a UTF-8 text takes when every character is one column wide.
[[nodiscard]] std::size_t columns(std::string_view text);

/// The text broken at spaces into lines of at most `width` columns; a longer word stands alone.
[[nodiscard]] std::vector<std::string> wrapped(std::string_view text, std::size_t width);

/// The text, its end replaced by an ellipsis where it is longer than `width` columns.
[[nodiscard]] std::string clipped(std::string_view text, std::size_t width);

/// Appends the text wrapped to the line's width, `first` before its first line and `then` before
/// the others.
void put(std::string& out, std::string_view text, std::string_view first, std::string_view then);

}  // namespace goodside::cli
