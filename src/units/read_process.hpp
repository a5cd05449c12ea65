#pragma once
#include <string_view>

#include "base/result.hpp"

namespace goodside::units {

// Quantities of the press beside those of read.hpp, read alike: a number with its unit, into SI.
// Errors: Fault::bad_input for what is no such quantity, with what is expected and an example.

/// Force [N], 0..1 GN: N, kN, MN, t (tonne-force), lbf, tonf (US, 2000 lbf).
Result<double> force_N(std::string_view text);
/// Speed [m/s], 0..1000: m/s, mm/s, in/s.
Result<double> speed_m_per_s(std::string_view text);
/// Mass flow [kg/s], 0..1e6: kg/s, kg/min, kg/h; of water also l/s, l/min, l/h at 1 kg/l.
Result<double> water_flow_kg_per_s(std::string_view text);
/// Difference of temperature [K], -1000..1000: K, or °C (C) as a difference.
Result<double> temperature_difference_K(std::string_view text);
/// A bare number, -1e12..1e12.
Result<double> number(std::string_view text);

}  // namespace goodside::units
