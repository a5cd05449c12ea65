#include "press/steam.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <limits>
#include <sstream>
#include <string>
#include <vector>

namespace goodside::press {
namespace {

/// The rows of a table in tests/published/steam, without its heading.
std::vector<std::vector<std::string>> rows_of(const std::string& name) {
  std::ifstream file{GOODSIDE_SOURCE_DIR "/tests/published/steam/" + name};
  std::vector<std::vector<std::string>> rows;
  std::string line;
  for (std::getline(file, line); std::getline(file, line);) {
    std::istringstream cells{line};
    rows.emplace_back();
    for (std::string cell; std::getline(cells, cell, ',');) rows.back().push_back(cell);
  }
  return rows;
}

double number(const std::string& text) {
  return std::stod(text);
}

#define EXPECT_RELATIVE(value, printed, tolerance) \
  EXPECT_NEAR((value) / (printed), 1.0, tolerance) << "of " << (printed)

// Published: [IF97] tables 5 and 15, printed to nine digits (tests/published/steam/README.md).
TEST(Steam, MeetsTheReleasesVerificationPoints) {
  int met = 0;
  for (const auto& row : rows_of("verification_points.csv")) {
    if (row[0] == "5") continue;  // above 1073 K
    const PressureTemperature at{.pressure_Pa = 1e6 * number(row[1]),
                                 .temperature_K = number(row[2])};
    const bool is_liquid = row[0] == "1";
    if (!is_liquid && at.pressure_Pa > 16.5e6) {
      EXPECT_FALSE(vapour_state(at));  // our range ends with the saturation line's
      continue;
    }
    const auto state = is_liquid ? liquid_state(at) : vapour_state(at);
    ASSERT_TRUE(state);
    EXPECT_RELATIVE(1.0 / state->density_kg_per_m3, number(row[3]), 5e-9);
    EXPECT_RELATIVE(state->enthalpy_J_per_kg - at.pressure_Pa / state->density_kg_per_m3,
                    1e3 * number(row[4]),
                    5e-9);
    EXPECT_RELATIVE(state->enthalpy_J_per_kg, 1e3 * number(row[5]), 5e-9);
    EXPECT_RELATIVE(state->heat_capacity_J_per_kgK, 1e3 * number(row[7]), 5e-9);
    ++met;
  }
  EXPECT_EQ(met, 5);
}

// Published: [IF97] tables 35 and 36.
TEST(Steam, BoilsWhereTheReleaseSays) {
  constexpr double pressures[][2] = {
      {300.0, 0.353658941e4}, {500.0, 0.263889776e7}, {600.0, 0.123443146e8}};
  for (const auto& [temperature_K, pressure_Pa] : pressures)
    EXPECT_RELATIVE(*saturation_pressure_Pa(temperature_K), pressure_Pa, 2e-9);
  constexpr double temperatures[][2] = {
      {0.1e6, 0.372755919e3}, {1e6, 0.453035632e3}, {10e6, 0.584149488e3}};
  for (const auto& [pressure_Pa, temperature_K] : temperatures)
    EXPECT_RELATIVE(*saturation_temperature_K(pressure_Pa), temperature_K, 2e-9);
}

// Published: python3-iapws, every 10 °C, printed to nine digits.
TEST(Steam, AgreesWithAnotherProgramOnTheLine) {
  const auto rows = rows_of("saturation_10C.csv");
  ASSERT_GE(rows.size(), 20U);
  for (const auto& row : rows) {
    const auto at = saturated_at_temperature(number(row[0]) + 273.15);
    ASSERT_TRUE(at);
    EXPECT_RELATIVE(at->pressure_Pa, 1e6 * number(row[1]), 1e-8);
    EXPECT_RELATIVE(1.0 / at->liquid.density_kg_per_m3, number(row[2]), 1e-8);
    EXPECT_RELATIVE(1.0 / at->vapour.density_kg_per_m3, number(row[3]), 1e-8);
    EXPECT_RELATIVE(at->liquid.enthalpy_J_per_kg, 1e3 * number(row[4]), 1e-8);
    EXPECT_RELATIVE(at->vapour.enthalpy_J_per_kg, 1e3 * number(row[5]), 1e-8);
    EXPECT_RELATIVE(at->latent_heat_J_per_kg(), 1e3 * number(row[6]), 1e-8);
    EXPECT_RELATIVE(at->liquid.heat_capacity_J_per_kgK, 1e3 * number(row[9]), 1e-8);
    EXPECT_RELATIVE(at->vapour.heat_capacity_J_per_kgK, 1e3 * number(row[10]), 1e-8);
  }
}

// Published: python3-iapws over a grid. Its conductivity holds the critical term that ours leaves
// out: within 0.25 % to 200 °C, as the header states.
TEST(Steam, AgreesWithAnotherProgramOffTheLine) {
  int liquids = 0, vapours = 0;
  for (const auto& row : rows_of("grid.csv")) {
    const PressureTemperature at{.pressure_Pa = number(row[1]), .temperature_K = number(row[2])};
    const bool is_liquid = row[0] == "liquid";
    const auto state = is_liquid ? liquid_state(at) : vapour_state(at);
    ASSERT_TRUE(state) << row[1] << " Pa " << row[2] << " K";
    EXPECT_RELATIVE(state->density_kg_per_m3, number(row[3]), 1e-10);
    EXPECT_RELATIVE(state->enthalpy_J_per_kg, number(row[4]), 1e-10);
    EXPECT_RELATIVE(state->heat_capacity_J_per_kgK, number(row[5]), 1e-10);
    ++(is_liquid ? liquids : vapours);
    if (!is_liquid || at.temperature_K > 473.15) continue;
    const auto water = liquid_water(at);
    EXPECT_RELATIVE(water->viscosity_Pa_s, number(row[6]), 1e-10);
    EXPECT_RELATIVE(water->conductivity_W_per_mK, number(row[7]), 2.5e-3);
  }
  EXPECT_GT(liquids, 60);
  EXPECT_GT(vapours, 20);
}

// Property: the line's two directions undo each other, and each phase ends where the other begins.
TEST(Steam, BoilsAndCondensesAtOnePlace) {
  for (double temperature_K = 274.0; temperature_K < 620.0; temperature_K += 13.0) {
    const double pressure_Pa = *saturation_pressure_Pa(temperature_K);
    EXPECT_NEAR(*saturation_temperature_K(pressure_Pa), temperature_K, 1e-6);
    EXPECT_FALSE(liquid_state({.pressure_Pa = pressure_Pa, .temperature_K = temperature_K + 0.1}));
    EXPECT_FALSE(vapour_state({.pressure_Pa = pressure_Pa, .temperature_K = temperature_K - 0.1}));
  }
}

TEST(Steam, RefusesWhatHasNoSaturation) {
  const double not_a_number = std::numeric_limits<double>::quiet_NaN();
  for (const double pressure_Pa : {-1.0, 0.0, 600.0, 17e6, 1e300, not_a_number})
    EXPECT_FALSE(saturated_at_pressure(pressure_Pa)) << pressure_Pa;
  for (const double temperature_K : {-1.0, 273.0, 624.0, not_a_number})
    EXPECT_FALSE(saturated_at_temperature(temperature_K)) << temperature_K;
  EXPECT_EQ(saturation_temperature_K(17e6).error().fault, Fault::out_of_range);
}

}  // namespace
}  // namespace goodside::press
