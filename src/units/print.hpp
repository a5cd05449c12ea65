#pragma once
#include <string>

#include "units/unit.hpp"

namespace goodside::units {

// Locale independent; a space before the unit, save where there is none. The value must be finite
// (EXPECTS).

/// Every digit that matters: reading it back gives `si` to a relative 4e-16 of the largest term of
/// the conversion.
[[nodiscard]] std::string print(double si, const Unit& unit);

/// With this many decimals, 0..9, halves to even as the nearest double has it; never "-0.0".
[[nodiscard]] std::string print(double si, const Unit& unit, int decimals);

/// A clock reading: `3:42.4`, from an hour on `1:03:42.4`; `decimals` of a second, 0..6. Below 1e12
/// s.
[[nodiscard]] std::string print_clock(double time_s, int decimals);

}  // namespace goodside::units
