#include "metal/spread.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "metal/cell.hpp"
#include "metal/deposit.hpp"
#include "metal/metals.hpp"
#include "metal/ramp.hpp"
#include "metal/shield.hpp"
#include "metal/stress.hpp"

namespace goodside::metal {
namespace {

using works::CurrentStage;
using works::KineticLaw;
using works::Kinetics;
using works::PlatingCell;

const works::PlatingMetal& nickel() {
  return built_in_metals().front();
}
constexpr Kinetics primary{.law = KineticLaw::primary};
constexpr Kinetics tafel{.law = KineticLaw::tafel,
                         .exchange_current_density_A_per_m2 = 0.01,
                         .slope_V_per_decade = 0.12};
constexpr GrooveBand band{0.06, 0.1463};
const std::vector<CurrentStage> run{{4.0, 4.0, 600.0}, {4.0, 48.0, 1800.0}, {48.0, 48.0, 3600.0}};

DepositGrowth grown(const PlatingCell& cell,
                    const Kinetics& law,
                    const std::vector<CurrentStage>& stages,
                    double fineness = 0.5) {
  auto growth = DepositGrowth::make(nickel(), cell, law, stages, band, fineness);
  if (!growth) throw std::runtime_error(growth.error().text);
  return std::move(*growth);
}

double mass_kg(const works::ThicknessProfile& profile, double disc_radius_m) {
  double mass = 0.0, inner = 0.0;
  for (std::size_t k = 0; k < profile.radius_m.size(); ++k) {
    const double outer = 2.0 * profile.radius_m[k] - inner;
    mass += std::numbers::pi * (outer * outer - inner * inner) * profile.thickness_m[k] *
            nickel().density_kg_per_m3;
    inner = outer;
  }
  EXPECT_NEAR(inner, disc_radius_m, 1e-9);
  return mass;
}

// Property: what lies along the radius is what Faraday's law says was laid, at any time of the run.
TEST(Growth, KeepsTheMassAtAnyTime) {
  const PlatingCell cell = ordinary_cell(0.16, 8.0);
  const auto growth = grown(cell, tafel, run);
  for (const double time_s : {60.0, 600.0, 1500.0, 6000.0, 50000.0})
    EXPECT_NEAR(mass_kg(growth.profile(time_s), 0.16) /
                    deposit(nickel(), charge_C(run, time_s), 1.0).mass_kg,
                1.0,
                1e-6)
        << time_s;
}

// Second road: the stage that rises, solved at 64 currents and added up.
TEST(Growth, InterpolatedShapesAreThoseSolved) {
  const PlatingCell cell = ordinary_cell(0.16, 8.0);
  const std::vector<CurrentStage> rise{{1.0, 48.0, 3600.0}};
  const auto growth = grown(cell, tafel, rise);
  auto field = PotentialField::make(cell, tafel, 0.5);
  ASSERT_TRUE(field);
  const auto profile = growth.profile(3600.0);
  std::vector<double> sum(profile.radius_m.size(), 0.0);
  constexpr int steps = 64;
  for (int k = 0; k < steps; ++k) {
    const auto state = field->solve(std::lerp(1.0, 48.0, (k + 0.5) / steps));
    ASSERT_TRUE(state);
    for (std::size_t r = 0; r < sum.size(); ++r)
      sum[r] +=
          deposit(nickel(), state->current_density_A_per_m2[r] * 3600.0 / steps, 1.0).thickness_m;
  }
  for (std::size_t r = 0; r < sum.size(); ++r)
    EXPECT_NEAR(profile.thickness_m[r] / sum[r], 1.0, 2e-4) << r;
}

TEST(Growth, TimeToReachIsWhenTheThinnestPlaceIsThere) {
  const auto growth = grown(ordinary_cell(0.16, 8.0), tafel, run);
  for (const double thickness : {1e-7, 5e-6, 3e-5, 2e-4, 2e-3}) {
    const auto time = growth.time_to_reach_s(thickness);
    ASSERT_TRUE(time);
    EXPECT_NEAR(growth.band(*time).least_m / thickness, 1.0, 1e-8) << thickness;
  }
  const auto ends = grown(ordinary_cell(0.16, 8.0), primary, {{48.0, 0.0, 600.0}});
  EXPECT_EQ(ends.time_to_reach_s(1e-3).error().fault, Fault::out_of_range);
}

TEST(Growth, RefusesABandOffTheDisc) {
  const PlatingCell cell = ordinary_cell(0.16, 8.0);
  for (const GrooveBand& bad : {GrooveBand{0.1, 0.1},
                                GrooveBand{-0.1, 0.1},
                                GrooveBand{0.05, 0.17},
                                GrooveBand{0.05, std::nan("")}})
    EXPECT_FALSE(DepositGrowth::make(nickel(), cell, primary, run, bad, 0.5)) << bad.outer_radius_m;
}

// Second road: a profile whose lowest, highest and mean are known: h = 1 + r^2.
TEST(Band, LowestHighestMeanAndEvenness) {
  works::ThicknessProfile profile;
  for (int k = 0; k < 2000; ++k) {
    profile.radius_m.push_back((k + 0.5) / 2000.0);
    profile.thickness_m.push_back(1.0 + profile.radius_m.back() * profile.radius_m.back());
  }
  const auto spread = band_spread(profile, {0.2, 0.8});
  EXPECT_NEAR(spread.least_m, 1.04, 1e-6);
  EXPECT_NEAR(spread.most_m, 1.64, 1e-6);
  EXPECT_NEAR(spread.least_radius_m, 0.2, 1e-12);
  EXPECT_NEAR(spread.most_radius_m, 0.8, 1e-12);
  // Mean over area: 1 + (R4 - r4) / (2 (R2 - r2)).
  EXPECT_NEAR(spread.mean_m, 1.0 + (0.4096 - 0.0016) / (2.0 * (0.64 - 0.04)), 1e-6);
  EXPECT_NEAR(spread.evenness, 0.6 / 2.68, 1e-6);
}

TEST(Shield, IsFoundAndIsTheSameForAnyNumberOfJobs) {
  const PlatingCell cell = ordinary_cell(0.16, 8.0);
  ShieldSearch search{
      .outer_radius_m = cell.cell_radius_m, .wanted_evenness = 0.03, .fineness = 0.25, .jobs = 1};
  const auto one = best_shield(cell, primary, band, 48.0, search);
  search.jobs = 3;
  const auto three = best_shield(cell, primary, band, 48.0, search);
  ASSERT_TRUE(one && three);
  EXPECT_EQ(one->shield.opening_radius_m, three->shield.opening_radius_m);
  EXPECT_EQ(one->shield.distance_m, three->shield.distance_m);
  EXPECT_TRUE(one->reached);
  // On the fine mesh, and against no shield: from +-30 % to under 3 %.
  PlatingCell shielded = cell;
  shielded.shield = one->shield;
  const double before = grown(cell, primary, run, 1.0).band(1e4).evenness;
  const double after = grown(shielded, primary, run, 1.0).band(1e4).evenness;
  EXPECT_GT(before, 0.25);
  EXPECT_LT(after, 0.03);
  // No neighbour a step away is better by more than the coarse mesh can tell.
  for (const auto& [dr, dz] : {std::pair{0.004, 0.0}, {-0.004, 0.0}, {0.0, 0.004}, {0.0, -0.004}}) {
    PlatingCell near = shielded;
    near.shield->opening_radius_m += dr;
    near.shield->distance_m += dz;
    EXPECT_GT(grown(near, primary, run, 1.0).band(1e4).evenness, after - 2e-3) << dr << ' ' << dz;
  }
}

TEST(Shield, RefusesACellWithoutRoom) {
  PlatingCell cell = ordinary_cell(0.16, 8.0);
  cell.anode_distance_m = 0.008;
  const auto found = best_shield(cell, primary, band, 48.0, {.outer_radius_m = cell.cell_radius_m});
  ASSERT_FALSE(found);
  EXPECT_EQ(found.error().fault, Fault::out_of_range);
}

// Published: G. G. Stoney, Proc. R. Soc. A 82 (1909) 172; worked by hand: E_s 200 GPa, nu 0.31, t_s 1 mm, t_f 50 um, R 10 m
// give 96.618 MPa; without the biaxial 1 - nu 66.667 MPa. A strip 100 mm long of radius 10 m stands off by 0.5 mm.
TEST(Stress, AgreesWithStoney) {
  const double length = 0.1, radius = 10.0,
               deflection = radius - std::sqrt(radius * radius - length * length);
  StripReading strip{.length_m = length,
                     .thickness_m = 1e-3,
                     .deposit_m = 50e-6,
                     .deflection_m = deflection,
                     .elastic_modulus_Pa = 200e9,
                     .poisson_ratio = 0.31};
  EXPECT_NEAR(*strip_stress_Pa(strip) * 1e-6, 96.618, 0.0005 + 96.618 * 3e-5);
  strip.poisson_ratio = 0.0;
  strip.deflection_m = -deflection;
  EXPECT_NEAR(*strip_stress_Pa(strip) * 1e-6, -66.667, 0.0005 + 66.667 * 3e-5);
  for (auto* bad :
       {&strip.length_m, &strip.thickness_m, &strip.deposit_m, &strip.elastic_modulus_Pa})
    for (const double value : {0.0, -1.0, std::nan("")}) {
      const double kept = *bad;
      *bad = value;
      EXPECT_FALSE(strip_stress_Pa(strip)) << value;
      *bad = kept;
    }
}

// Property: the bow of a thin deposit by the two-layer formula is Stoney's curvature, and a strip that shows it reads the stress.
TEST(Stress, BowOfAThinDepositIsStoneys) {
  const StressedPair pair{.stress_Pa = 50e6,
                          .deposit_m = 1e-7,
                          .deposit_modulus_Pa = 200e9,
                          .deposit_poisson = 0.31,
                          .base_m = 1e-3,
                          .base_modulus_Pa = 117e9,
                          .base_poisson = 0.34,
                          .radius_m = 0.16};
  const auto bent = bow(pair);
  ASSERT_TRUE(bent);
  const double stoney = 6.0 * 50e6 * 1e-7 * (1.0 - 0.34) / (117e9 * 1e-6);
  EXPECT_NEAR(bent->curvature_per_m / stoney, 1.0, 1e-3);
  EXPECT_NEAR(bent->height_m, 0.5 * bent->curvature_per_m * 0.0256, 1e-15);
}

// Published: S. P. Timoshenko, J. Opt. Soc. Am. 11 (1925) 233, equal thickness and modulus: curvature = 1.5 strain / h; with a strain of
// 1e-4 on 1 + 1 mm 0.075 /m.
TEST(Stress, AgreesWithTimoshenkosEqualLayers) {
  const double modulus = 200e9, poisson = 0.3;
  const auto bent = bow({.stress_Pa = 1e-4 * modulus / (1.0 - poisson),
                         .deposit_m = 1e-3,
                         .deposit_modulus_Pa = modulus,
                         .deposit_poisson = poisson,
                         .base_m = 1e-3,
                         .base_modulus_Pa = modulus,
                         .base_poisson = poisson,
                         .radius_m = 0.16});
  ASSERT_TRUE(bent);
  EXPECT_NEAR(bent->curvature_per_m, 0.075, 1e-12);
  EXPECT_FALSE(bent->outgrown);
}

// Second road: the moment of the spiral by hand: 0.5 N mm/deg turned by 20 deg is 0.01 N m; over 8 mm of pitch, 10 um of deposit on
// 0.25 mm, 2 x 0.01 / (8e-3 x 1e-5 x 2.6e-4).
TEST(Stress, OfASpiral) {
  const double degree = std::numbers::pi / 180.0;
  EXPECT_NEAR(*spiral_stress_Pa({.constant_Nm_per_rad = 0.5e-3 / degree,
                                 .turn_rad = 20.0 * degree,
                                 .pitch_m = 8e-3,
                                 .thickness_m = 0.25e-3,
                                 .deposit_m = 10e-6}),
              0.02 / (8e-3 * 1e-5 * 2.6e-4),
              1e3);
}

}  // namespace
}  // namespace goodside::metal
