#include "dispatch/lifting.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace goodside::dispatch {
namespace {

Outcome within(
    double value, double low, double high, std::string_view what, std::string_view unit) {
  if (std::isfinite(value) && value >= low && value <= high) return Done{};
  return Error{Fault::out_of_range,
               fmt::format("{} of {:.4g}{} is outside {}–{}{}, where the lifting equation holds",
                           what,
                           value,
                           unit,
                           low,
                           high,
                           unit)};
}

}  // namespace

Result<double> recommended_weight_kg(const Lift& lift) {
  for (const Outcome& checked : {within(lift.reach_m, 0.25, 0.63, "a reach", " m"),
                                 within(lift.from_height_m, 0.0, 1.75, "a height", " m"),
                                 within(lift.travel_m, 0.0, 1.75, "a travel", " m"),
                                 within(lift.twist_deg, 0.0, 135.0, "a twist", "°"),
                                 within(lift.frequency_factor, 1e-6, 1.0, "a frequency factor", ""),
                                 within(lift.coupling_factor, 1e-6, 1.0, "a coupling factor", "")})
    if (!checked) return checked.error();
  const double H = 100.0 * lift.reach_m, V = 100.0 * lift.from_height_m;
  const double D = std::max(25.0, 100.0 * lift.travel_m), A = lift.twist_deg;
  return 23.0 * (25.0 / H) * (1.0 - 0.003 * std::abs(V - 75.0)) * (0.82 + 4.5 / D) *
         (1.0 - 0.0032 * A) * lift.frequency_factor * lift.coupling_factor;
}

}  // namespace goodside::dispatch
