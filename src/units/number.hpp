#pragma once
#include <optional>
#include <string_view>

namespace goodside::units {

struct LeadingNumber {
  double value{};           ///< infinity when the text holds more than a double can
  std::string_view digits;  ///< the number as written, without its sign
  std::string_view rest;    ///< what follows, without the spaces between
};

/// The number that `text` begins with: sign, decimal digits, exponent, or a whole number with a
/// fraction
/// (`7/8`, `11 7/8`, `33⅓`). Nothing when it begins with none: words such as `nan` and `inf` are no
/// numbers.
std::optional<LeadingNumber> leading_number(std::string_view text);

/// Without spaces, tabs and the no-break and thin spaces of typeset text at either end.
std::string_view trimmed(std::string_view text);

}  // namespace goodside::units
