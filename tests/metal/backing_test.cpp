#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "metal/bare_back.hpp"
#include "metal/layered_plate.hpp"
#include "metal/solder.hpp"

namespace goodside::metal {
namespace {

using works::PlateLayer;

PlateLayer layer(double thickness_mm,
                 double modulus_GPa,
                 double expansion_ppm,
                 double poisson = 0.0) {
  return {"layer", thickness_mm * 1e-3, modulus_GPa * 1e9, poisson, expansion_ppm * 1e-6};
}

// Published: S. Timoshenko, "Analysis of bi-metal thermostats", J. Opt. Soc. Am. 11, 1925: equal thickness and moduli
// bend by 3/2 of the difference in expansion over the whole thickness (from memory; 0.0750 /m by hand here).
TEST(Bimetal, EqualStripsBendByThreeHalvesOfTheDifference) {
  EXPECT_NEAR(bimetal_curvature_per_m(layer(1, 150, 10), layer(1, 150, 11), 100.0), 0.075, 1e-15);
}

// Values of the same formula worked in SciPy's environment (NumPy 1.24), to the digits printed there: nickel on
// aluminium, nickel on copper as the solder cools from 183 to 20 degrees, nickel on steel.
TEST(Bimetal, AgreesWithWorkedValues) {
  EXPECT_NEAR(bimetal_curvature_per_m(layer(1, 200, 13), layer(1, 70, 23), 100.0), 0.697385, 5e-7);
  const double copper =
      bimetal_curvature_per_m(layer(0.2, 200, 13.4), layer(1.5, 117, 16.5), -163.0);
  EXPECT_NEAR(copper, -0.247304, 5e-7);
  EXPECT_NEAR(std::abs(copper) * 0.15 * 0.15 / 2.0, 2.782e-3, 5e-7);
  EXPECT_NEAR(
      bimetal_curvature_per_m(layer(0.25, 200, 13.4), layer(6, 200, 11.7), -160.0), 0.010027, 5e-7);
}

// Second road: two layers of the general plate are the bimetal, whatever their moduli; with Poisson's ratio each
// modulus stands divided by 1 - nu.
TEST(LayeredPlate, TwoLayersAreTheBimetal) {
  for (const double modulus : {20.0, 117.0, 400.0})
    for (const double thickness : {0.1, 1.0, 5.0}) {
      const PlateLayer first = layer(0.3, 200, 13.4, 0.3),
                       second = layer(thickness, modulus, 17, 0.3);
      const PlateLayer both[] = {first, second};
      EXPECT_NEAR(free_plate(both, -160.0).curvature_per_m,
                  bimetal_curvature_per_m(first, second, -160.0),
                  1e-13);
    }
}

// Property: cutting a layer in two changes nothing, and turning the stack over turns the bow over.
TEST(LayeredPlate, NeitherACutNorTheOrderMatters) {
  const PlateLayer nickel = layer(0.2, 200, 13.4, 0.31), copper = layer(0.8, 117, 16.5, 0.34),
                   steel = layer(3, 200, 11.7, 0.29);
  const PlateLayer whole[] = {nickel, copper, steel};
  PlateLayer half = copper;
  half.thickness_m *= 0.5;
  const PlateLayer cut[] = {nickel, half, half, steel}, turned[] = {steel, copper, nickel};
  const double k = free_plate(whole, -163.0).curvature_per_m;
  EXPECT_NEAR(free_plate(cut, -163.0).curvature_per_m, k, 1e-15);
  EXPECT_NEAR(free_plate(turned, -163.0).curvature_per_m, -k, 1e-15);
  const PlateLayer even[] = {steel, copper, steel};
  EXPECT_NEAR(free_plate(even, -163.0).curvature_per_m, 0.0, 1e-15);
}

/// Second road: the energy of a one-layer bowl of curvature k that would like k0, its membrane part by numerical
/// integration of the exact stresses of a free round plate of Gaussian curvature k^2 (Airy's function of Foppl's plate).
double bowl_energy(double k, double k0, double e, double nu, double h, double radius) {
  const int steps = 2000;
  double membrane = 0.0;
  for (int i = 0; i < steps; ++i) {
    const double r = (i + 0.5) * radius / steps;
    const double along = -e * k * k * (radius * radius - r * r) / 16.0;
    const double across = -e * k * k * (radius * radius - 3.0 * r * r) / 16.0;
    membrane += (along * along + across * across - 2.0 * nu * along * across) * r * radius / steps;
  }
  membrane *= std::numbers::pi * h / e;
  const double bending = e * h * h * h / (12.0 * (1.0 - nu)) * std::numbers::pi * radius * radius *
                         (k - k0) * (k - k0);
  return membrane + bending;
}

TEST(LayeredPlate, ABowlStretchesWhereTheEnergySays) {
  const PlateLayer one[] = {layer(1.0, 200, 13, 0.3)};
  FreePlate plate = free_plate(one, 0.0);
  for (const double k0 : {0.02, 0.2, 1.0}) {
    plate.curvature_per_m = k0;
    const double k = bowl_curvature_per_m(plate, 0.16);
    const double step = 1e-3 * k;
    const auto energy = [&](double at) { return bowl_energy(at, k0, 200e9, 0.3, 1e-3, 0.16); };
    const double slope = (energy(k + step) - energy(k - step)) / (2.0 * step);
    const double bend = (energy(k + step) - 2.0 * energy(k) + energy(k - step)) / (step * step);
    EXPECT_LT(std::abs(slope / bend), 2e-5 * k) << k0;
    EXPECT_LT(k, k0);
  }
}

BackingQuestion common(double plate_mm, const char* metal, const char* alloy) {
  BackingQuestion question{.layers = {*metal_layer("nickel", 0.2e-3),
                                      *metal_layer("copper", 0.8e-3),
                                      *metal_layer("solder", 0.1e-3),
                                      *metal_layer(metal, plate_mm * 1e-3)},
                           .solder = *solder(alloy)};
  question.choice.assign(common_solders().begin(), common_solders().end());
  question.room_K = 293.15;
  question.press_K = question.hottest_K = 438.15;
  question.radius_m = 0.16;
  question.flat_limit_m = 1e-3;
  return question;
}

TEST(Backing, TellsBowCreepAndSolder) {
  const auto thin = backing(common(0.5, "steel", "Sn63Pb37"));
  ASSERT_TRUE(thin) << thin.error().text;
  EXPECT_TRUE(thin->bows[0].outgrown);
  EXPECT_GT(std::abs(thin->bows[0].sag_m), std::abs(thin->bows[1].sag_m));
  EXPECT_TRUE(thin->solder_fit);
  EXPECT_GT(thin->solder_share_of_melting, 0.5);
  const auto thick = backing(common(8.0, "steel", "Sn63Pb37"));
  ASSERT_TRUE(thick);
  EXPECT_FALSE(thick->bows[0].outgrown);
  EXPECT_TRUE(thick->flat);
  const auto melts = backing(common(3.0, "steel", "Sn42Bi58"));
  ASSERT_TRUE(melts);
  EXPECT_FALSE(melts->solder_fit);
  // Property: no net force in any state, so that stresses of both signs stand in the stack.
  const auto& stress = thick->bows[0].flat_stress_Pa;
  double force = 0.0;
  for (std::size_t i = 0; i < stress.size(); ++i) force += stress[i] * thick->layers[i].thickness_m;
  EXPECT_NEAR(force, 0.0, 1e-6 * std::abs(stress[0]) * 1e-3);
}

// Steam of 8 bar absolute condenses at 170.4 degrees (IAPWS-IF97): tin-lead keeps less than the 15 K, by common practice.
TEST(Backing, TinLeadIsTooNearEightBarsOfSteam) {
  const auto ranked = rank_solders(common_solders(), 273.15 + 170.4, 15.0);
  EXPECT_EQ(ranked.front().solder.name, "Sn96.5Ag3Cu0.5");
  for (const auto& one : ranked) {
    if (one.solder.name == "Sn63Pb37") {
      EXPECT_FALSE(one.fit);
    }
    if (one.solder.name == "Sn42Bi58") {
      EXPECT_EQ(one.why, "melts in the press");
    }
  }
}

TEST(Backing, RefusesWhatIsNoPlate) {
  auto question = common(3.0, "steel", "Sn63Pb37");
  question.layers[3].thickness_m = 0.0;
  EXPECT_FALSE(backing(question));
  question = common(3.0, "steel", "Sn63Pb37");
  question.press_K = NAN;
  EXPECT_FALSE(backing(question));
  EXPECT_FALSE(metal_layer("stele", 1e-3));
  EXPECT_FALSE(solder("Sn63"));
}

MapQuestion plate_of(double wedge_um, double towards_deg, double dome_um, double scatter_um) {
  MapQuestion question{.readings = {}, .radius_m = 0.16, .range_limit_m = 20e-6};
  int number = 0;
  for (const double r : {0.02, 0.08, 0.15})
    for (int k = 0; k < 8; ++k) {
      const double a = k * std::numbers::pi / 4.0, t = towards_deg * std::numbers::pi / 180.0;
      const double noise = scatter_um * ((number++ * 7) % 5 - 2) / 2.0;
      question.readings.push_back({r * std::cos(a),
                                   r * std::sin(a),
                                   1e-6 * (200.0 + 0.5 * wedge_um * r / 0.16 * std::cos(a - t) -
                                           dome_um * r * r / (0.16 * 0.16) + noise)});
    }
  return question;
}

TEST(BareBack, FindsWedgeAndDome) {
  const auto map = thickness_map(plate_of(12.0, 120.0, 5.0, 0.0));
  ASSERT_TRUE(map) << map.error().text;
  EXPECT_NEAR(map->wedge_m, 12e-6, 1e-11);
  EXPECT_NEAR(map->thick_towards_deg, 120.0, 1e-4);
  EXPECT_NEAR(map->dome_m, 5e-6, 1e-11);
  EXPECT_TRUE(map->within);
  // Second road: the centre of gravity of a disc whose thickness is h + g x, by summing over it.
  double moment = 0.0, volume = 0.0;
  const double slope = 12e-6 / 0.32, radius = 0.1505, h = 1.6e-3;
  for (int i = 0; i < 400; ++i)
    for (int k = 0; k < 400; ++k) {
      const double x = (i - 199.5) / 200.0 * radius, y = (k - 199.5) / 200.0 * radius;
      if (std::hypot(x, y) > radius) continue;
      moment += x * (h + slope * x);
      volume += h;
    }
  EXPECT_NEAR(map->centre_of_gravity_m, moment / volume, 0.01 * moment / volume);
}

TEST(BareBack, LeavesABadReadingOutAndRefusesALine) {
  auto question = plate_of(12.0, 30.0, 0.0, 1.0);
  question.readings[5].thickness_m += 100e-6;
  const auto map = thickness_map(question);
  ASSERT_TRUE(map);
  EXPECT_FALSE(map->kept[5]);
  EXPECT_NEAR(map->wedge_m, 12e-6, 2e-6);
  MapQuestion line{.readings = {}, .radius_m = 0.16};
  for (int k = 0; k < 9; ++k) line.readings.push_back({0.01 * k, 0.0, 200e-6});
  EXPECT_FALSE(thickness_map(line));
  line.readings.resize(3);
  EXPECT_FALSE(thickness_map(line));
}

// Property: long waves of the back print whole, short ones by the fourth power of their length.
TEST(BareBack, LongWavesPrintWhole) {
  SurfaceQuestion question{.roughness_m = 2e-6,
                           .spacing_m = 20e-3,
                           .thickness_m = 0.2e-3,
                           .pressure_Pa = 10e6,
                           .limit_m = 3e-6,
                           .outer_radius_m = 0.146,
                           .inner_radius_m = 0.060};
  EXPECT_NEAR(back_surface(question)->printed_m, 2e-6, 1e-18);
  question.spacing_m = 0.6e-3;
  const double one = back_surface(question)->printed_m;
  EXPECT_LT(one, 2e-6);
  question.spacing_m = 0.3e-3;
  EXPECT_NEAR(back_surface(question)->printed_m, one / 16.0, 1e-15);
  question.spacing_m = -1.0;
  EXPECT_FALSE(back_surface(question));
}

TEST(BareBack, TheBendsOuterFibre) {
  const auto sharp = forming(0.2e-3, 0.5e-3), gentle = forming(0.2e-3, 3e-3);
  EXPECT_NEAR(sharp->strain, 0.2 / 1.2, 1e-15);
  EXPECT_FALSE(sharp->within);
  EXPECT_TRUE(gentle->within);
  EXPECT_NEAR(forming(0.2e-3, sharp->least_radius_m)->strain, 0.05, 1e-15);
  EXPECT_FALSE(forming(0.2e-3, 0.0));
}

}  // namespace
}  // namespace goodside::metal
