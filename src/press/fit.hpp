#pragma once
#include <optional>
#include <string>
#include <vector>

#include "press/cycle.hpp"

namespace goodside::press {

/// Where a thermocouple sits: on a stamper's face, in the steel at a depth from the stamper's seat,
/// or (no side) in the middle of the compound.
struct Probe {
  std::string name;
  std::optional<std::size_t> side;
  std::optional<double> depth_m;
};
/// Its temperature over a cycle kept with its moments and profiles, at a time; NaN where the
/// compound is not there.
struct Readings {
  Probe probe;
  std::vector<double> time_s, temperature_K;
};
struct Rung {
  double mass_kg{}, diameter_m{}, thickness_m{};
};

/// What a fit found: the setup with its factors, and how well it then foretells what was measured.
struct Fitted {
  struct Factor {
    std::string name;
    double value{}, deviation{};  ///< standard deviation as a share of the value
  };
  CycleSetup setup;
  std::vector<Factor> factors;
  double rms_K{}, rms_before_K{};          ///< of the thermocouples
  double rms_share{}, rms_before_share{};  ///< of the ladder's diameters and thicknesses
  int cycles{};
};

/// Fits steam, water and contact factors and both lags to one periodic cycle by least squares
/// (BOBYQA on their logarithms, each kept within its believable range by its prior). Deviations from
/// the curvature, inflated for readings that follow one another.
/// Errors: Fault::bad_input for places that the stack does not have, or too few readings.
[[nodiscard]] Result<Fitted> fit_thermocouples(const CycleSetup&, const std::vector<Readings>&);

/// Fits the consistency to short charges pressed in the periodic state, of which some must end above
/// the stop: one that seats tells its volume alone. Errors: Fault::bad_input where none does.
[[nodiscard]] Result<Fitted> fit_ladder(const CycleSetup&, const std::vector<Rung>&);

}  // namespace goodside::press
