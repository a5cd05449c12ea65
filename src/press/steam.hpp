#pragma once
#include "base/result.hpp"

namespace goodside::press {

// Water and steam by the industrial formulation IAPWS-IF97, regions 1, 2 and 4, along and below the
// saturation line from 273.15 K to 623.15 K (611.213 Pa to 16.53 MPa), which is far beyond any press.
// Source:   [IF97] equations 7, 15-17, 30 and 31, tables 2, 10, 11 and 34.
// Valid:    pure water; pressures are absolute, a gauge shows about 101.3 kPa less.
// Accuracy: the release's verification values to their nine printed digits (tests/press).
// Errors:   Fault::out_of_range outside the range above, NaN and infinity included.

/// Boiling temperature [K] at an absolute pressure.
Result<double> saturation_temperature_K(double pressure_Pa);

/// Absolute pressure [Pa] of saturated steam.
Result<double> saturation_pressure_Pa(double temperature_K);

struct SteamState {
  double density_kg_per_m3{}, enthalpy_J_per_kg{}, heat_capacity_J_per_kgK{};
};

struct Saturation {
  double pressure_Pa{}, temperature_K{};
  SteamState liquid, vapour;

  [[nodiscard]] double latent_heat_J_per_kg() const {
    return vapour.enthalpy_J_per_kg - liquid.enthalpy_J_per_kg;
  }
};

/// Both phases on the saturation line.
Result<Saturation> saturated_at_pressure(double pressure_Pa);
Result<Saturation> saturated_at_temperature(double temperature_K);

struct PressureTemperature {
  double pressure_Pa{}, temperature_K{};
};

/// Region 1, liquid, up to 100 MPa and 623.15 K. A liquid superheated above its saturation
/// temperature is refused, save by 1e-6 K of rounding.
Result<SteamState> liquid_state(const PressureTemperature& at);

/// Region 2, vapour, up to 1073.15 K and 16.53 MPa. A vapour below its
/// saturation temperature is refused, save by 1e-6 K of rounding.
Result<SteamState> vapour_state(const PressureTemperature& at);

struct LiquidWater {
  SteamState state;
  double viscosity_Pa_s{}, conductivity_W_per_mK{};

  [[nodiscard]] double prandtl() const {
    return state.heat_capacity_J_per_kgK * viscosity_Pa_s / conductivity_W_per_mK;
  }
};

/// Liquid water, as liquid_state has it, with its transport properties.
/// Source:   [IAPWS-viscosity-2008] equations 10-12 and [IAPWS-conductivity-2011] equations 15-17,
///           both without the term that matters near the critical point alone.
/// Accuracy: that term changes the viscosity by nothing and the conductivity by less than 0.25 %
///           from 0 to 200 °C (measured against python3-iapws 1.5.3).
Result<LiquidWater> liquid_water(const PressureTemperature& at);

}  // namespace goodside::press
