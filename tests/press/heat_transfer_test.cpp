#include "press/heat_transfer.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "press/steam.hpp"

namespace goodside::press {
namespace {

constexpr double celsius_K = 273.15;

Film film_on(FilmPlace place, double length_m) {
  return {.place = place,
          .steam_pressure_Pa = 8e5,
          .wall_temperature_K = 150.0 + celsius_K,
          .length_m = length_m,
          .gravity_m_per_s2 = 9.81};
}

// Second road: the same formula over python3-iapws 1.5.3, whose conductivity has the critical term,
// with C rounded to 0.943: 8 bar absolute on a wall of 150 °C.
TEST(Film, MeetsTheFormulaOverAnotherProgramsWater) {
  EXPECT_NEAR(*film_condensation_W_per_m2K(film_on(FilmPlace::vertical_plate, 0.1)), 10479, 52);
  EXPECT_NEAR(*film_condensation_W_per_m2K(film_on(FilmPlace::outside_tube, 0.012)), 13764, 69);
  EXPECT_NEAR(*film_condensation_W_per_m2K(film_on(FilmPlace::inside_tube, 0.012)), 10445, 52);
}

// Second road: the film's own differential equation down a plate, d(delta^4)/dx = 4 mu k dT /
// (g rho (rho - rho_v) h), marched in steps, and k/delta averaged over the height.
TEST(Film, IsTheMeanOfAMarchedFilm) {
  const auto film = film_on(FilmPlace::vertical_plate, 0.25);
  const auto steam = saturated_at_pressure(film.steam_pressure_Pa);
  const double drop_K = steam->temperature_K - film.wall_temperature_K;
  const auto water = liquid_water({.pressure_Pa = film.steam_pressure_Pa,
                                   .temperature_K = steam->temperature_K - drop_K / 2.0});
  const double latent =
      steam->latent_heat_J_per_kg() + 0.68 * water->state.heat_capacity_J_per_kgK * drop_K;
  const double density = water->state.density_kg_per_m3;
  const double growth =
      4.0 * water->viscosity_Pa_s * water->conductivity_W_per_mK * drop_K /
      (film.gravity_m_per_s2 * density * (density - steam->vapour.density_kg_per_m3) * latent);
  // Steps of x = L u^4 are even in the fourth root, where k/delta has its pole.
  constexpr int steps = 2000;
  double mean = 0.0;
  for (int k = 0; k < steps; ++k) {
    const double u = (k + 0.5) / steps;
    const double x = film.length_m * std::pow(u, 4);
    mean +=
        water->conductivity_W_per_mK / std::pow(growth * x, 0.25) * 4.0 * std::pow(u, 3) / steps;
  }
  EXPECT_NEAR(*film_condensation_W_per_m2K(film) / mean, 1.0, 1e-6);
}

// From memory: F. P. Incropera, D. P. DeWitt, "Fundamentals of Heat and Mass Transfer", 4th edition,
// example 10.3: steam at 1 atm on a tube 1 m tall at 50 °C, by Nusselt's law 4094 W/m2K with
// tabled water; ours differs by the table's own rounding.
TEST(Film, MeetsATextbooksExample) {
  const auto h = film_condensation_W_per_m2K({.place = FilmPlace::vertical_plate,
                                              .steam_pressure_Pa = 101325.0,
                                              .wall_temperature_K = 50.0 + celsius_K,
                                              .length_m = 1.0,
                                              .gravity_m_per_s2 = 9.8});
  EXPECT_NEAR(*h / 4094.0, 1.0, 0.01);
}

TEST(Film, RefusesAWallThatIsHotterThanTheSteam) {
  auto film = film_on(FilmPlace::inside_tube, 0.012);
  film.wall_temperature_K = 171.0 + celsius_K;
  const auto refused = film_condensation_W_per_m2K(film);
  ASSERT_FALSE(refused);
  EXPECT_NE(refused.error().text.find("must be colder"), std::string::npos);
  for (const double length_m : {0.0, -1.0, std::numeric_limits<double>::quiet_NaN()})
    EXPECT_FALSE(film_condensation_W_per_m2K(film_on(FilmPlace::inside_tube, length_m)));
}

// Second road: the formula by hand over python3-iapws 1.5.3: water of 20 °C and 6 bar absolute at
// 2 m/s in a channel of 12 mm.
TEST(Channel, MeetsGnielinskiOverAnotherProgramsWater) {
  const auto heat = channel_heat({.hydraulic_diameter_m = 0.012,
                                  .velocity_m_per_s = 2.0,
                                  .water_temperature_K = 20.0 + celsius_K,
                                  .pressure_Pa = 6e5});
  ASSERT_TRUE(heat);
  EXPECT_NEAR(heat->reynolds, 23927.9, 0.05);
  EXPECT_NEAR(heat->prandtl / 7.0019, 1.0, 2e-3);  // the conductivity's critical term
  EXPECT_NEAR(heat->friction_factor, 0.024993, 5e-7);
  EXPECT_NEAR(heat->nusselt / 173.655, 1.0, 2e-3);
  EXPECT_NEAR(heat->coefficient_W_per_m2K / 8658.2, 1.0, 2e-3);
  EXPECT_EQ(heat->regime, "turbulent");
}

// Second road: the formulas by hand in SciPy.
TEST(Channel, MeetsTheLawsInNumbersAlone) {
  EXPECT_NEAR(nusselt_number({.reynolds = 1e4, .prandtl = 5.0}).nusselt, 69.912, 5e-4);
  EXPECT_NEAR(nusselt_number({.reynolds = 1e4, .prandtl = 0.7}).nusselt, 29.817, 5e-4);
  EXPECT_NEAR(nusselt_number({.reynolds = 1000.0, .prandtl = 7.0}).nusselt, 3.66, 1e-12);
  EXPECT_NEAR(nusselt_number({.reynolds = 1000.0, .prandtl = 7.0}).friction_factor, 0.064, 1e-15);
}

// Property: the three regimes meet, and more water never cools less.
TEST(Channel, IsContinuousAndGrowsWithTheFlow) {
  for (const double edge : {2300.0, 3000.0}) {
    const auto below = nusselt_number({edge * (1.0 - 1e-9), 6.0, 0.02});
    const auto above = nusselt_number({edge * (1.0 + 1e-9), 6.0, 0.02});
    EXPECT_NEAR(below.nusselt / above.nusselt, 1.0, 1e-6);
    EXPECT_NEAR(below.friction_factor / above.friction_factor, 1.0, 1e-6);
  }
  double last = 0.0;
  for (double reynolds = 100.0; reynolds < 1e6; reynolds *= 1.07) {
    const double nusselt = nusselt_number({reynolds, 6.0, 0.02}).nusselt;
    EXPECT_GT(nusselt, last);
    last = nusselt;
  }
}

TEST(Channel, RefusesWhatIsNoChannelAndWaterThatBoils) {
  ChannelFlow flow{.hydraulic_diameter_m = 0.012,
                   .velocity_m_per_s = 2.0,
                   .water_temperature_K = 293.15,
                   .pressure_Pa = 6e5,
                   .length_m = 1.0};
  EXPECT_TRUE(channel_heat(flow));
  flow.water_temperature_K = 170.0 + celsius_K;
  EXPECT_NE(channel_heat(flow).error().text.find("boils"), std::string::npos);
  flow.water_temperature_K = 293.15;
  flow.length_m = 0.001;
  EXPECT_FALSE(channel_heat(flow));
  flow.length_m = 1.0;
  flow.velocity_m_per_s = std::numeric_limits<double>::quiet_NaN();
  EXPECT_FALSE(channel_heat(flow));
}

}  // namespace
}  // namespace goodside::press
