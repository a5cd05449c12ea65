#pragma once
#include <string>
#include <string_view>

#include "base/result.hpp"

namespace goodside::dispatch {

/// An International Standard Recording Code in its 12 characters: two letters, three letters or digits
/// (registrant), two digits (year of assignment), five digits (designation). Dashes and spaces, "ISRC" in front
/// and small letters are taken. It has no check digit: a slip of the pen is not found.
/// Source: ISO 3901 (form from memory) [ISO3901]. Errors: Fault::bad_input, naming the place that does not fit.
Result<std::string> read_isrc(std::string_view typed);

/// `AA-6Q7-20-00047`: as people read it. `isrc` as read_isrc gave it.
[[nodiscard]] std::string shown_isrc(const std::string& isrc);

}  // namespace goodside::dispatch
