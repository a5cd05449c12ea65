#pragma once
#include <cstdint>
#include <string>
#include <string_view>

#include "base/result.hpp"

namespace goodside::works {

/// The check character of a code: ISO/IEC 7064:2003, MOD 37,36, over the letters and digits of
/// `text`; other characters (dashes, spaces) do not count, small letters count as capitals. Finds
/// every single wrong character and nearly every swap of neighbours.
[[nodiscard]] char check_character(std::string_view text);

/// Whether the last letter or digit of `code` is the check character of those before it.
[[nodiscard]] bool checks(std::string_view code);

/// How a works writes its codes, for instance `ST-#####-?`: a run of `#` stands for the number,
/// zeros in front, and the last character `?` for the check character.
class CodePattern {
 public:
  /// Errors: Fault::bad_input unless there is one run of `#`, one `?`, at the end, and otherwise
  /// only capitals, digits, `-`, `.`, `/` and `_`, at most 24 characters in all.
  static Result<CodePattern> parse(std::string_view pattern);

  /// The code with this number, `number` >= 1; longer than the pattern when the number outgrows it.
  [[nodiscard]] std::string write(std::int64_t number) const;
  [[nodiscard]] const std::string& text() const { return pattern_; }

 private:
  explicit CodePattern(std::string pattern) : pattern_{std::move(pattern)} {}
  std::string pattern_;
};

/// What was typed or scanned, as it is kept: capitals, without spaces at either end.
/// Errors: Fault::bad_input, with the character that would fit, when the check character is wrong.
Result<std::string> read_code(std::string_view typed);

/// A 128-bit id as 32 hexadecimal digits: 48 bits of UTC milliseconds, then 80 bits of the digest
/// of `code` and `salt` (the chain's head when the thing was entered): ordered by time, unique, and
/// the same for the same history.
[[nodiscard]] std::string time_ordered_id(std::int64_t utc_ms,
                                          std::string_view code,
                                          std::string_view salt);

}  // namespace goodside::works
