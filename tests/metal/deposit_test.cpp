#include "metal/deposit.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <string>

#include "metal/bath.hpp"
#include "metal/metals.hpp"
#include "metal/ramp.hpp"

namespace goodside::metal {
namespace {

using works::CurrentStage;
using works::PlatingMetal;
using works::StartingFace;

PlatingMetal named(const std::string& name) {
  for (const auto& metal : built_in_metals())
    if (metal.name == name) return metal;
  ADD_FAILURE() << name;
  return {};
}

PlatingMetal efficient(const std::string& name, double efficiency) {
  PlatingMetal metal = named(name);
  metal.cathode_efficiency = efficiency;
  return metal;
}

// Published: electrochemical equivalents in g/(A h), trade table (eciato.com, "electrochemical equivalents"):
// Ni 1.095, Cu(II) 1.186, Cr(VI) 0.323; half a unit of the last digit.
TEST(Equivalent, AgreesWithThePublishedTable) {
  EXPECT_NEAR(equivalent_kg_per_C(named("nickel")) * 3600e3, 1.095, 0.0005);
  EXPECT_NEAR(
      equivalent_kg_per_C(named("copper")) * 3600e3, 1.186, 0.00052);  // 1.18549 is printed 1.186
  EXPECT_NEAR(equivalent_kg_per_C(named("chromium")) * 3600e3, 0.323, 0.0005);
}

// Published: S. F. Rudy, "Clarifying Facts About Nickel Plating" (finishingandcoating.com), table at 95 % cathode
// efficiency, printed to 0.01 A h/dm2: half of that is 0.06 um of nickel.
TEST(Deposit, AgreesWithRudysTableOfNickel) {
  constexpr double rows[][2] = {{2e-6, 0.17}, {4e-6, 0.34}, {6e-6, 0.51}};
  for (const auto& [printed_m, charge_Ah_per_dm2] : rows)
    EXPECT_NEAR(deposit(efficient("nickel", 0.95), charge_Ah_per_dm2 * 3600.0, 0.01).thickness_m,
                printed_m,
                0.06e-6);
}

// Published: worked example (tools.moldchem.com, electroplating): nickel, 2 A on 1 dm2, 30 min, 95 %: 3600 C, 1.04 g, 11.7 um.
TEST(Deposit, AgreesWithAPublishedExample) {
  const auto laid = deposit(efficient("nickel", 0.95), 3600.0, 0.01);
  EXPECT_NEAR(laid.mass_kg * 1e3, 1.04, 0.005);
  EXPECT_NEAR(laid.thickness_m * 1e6, 11.7, 0.05);
}

// Published: A h/ft2 for 0.001 in at full efficiency: Ni 19, Cu 17.8 (metalfinishing.epubxp.com 98750, p. 554); half a unit of
// the last digit. Its figure of chromium, 51.8, rests on a density of 7.1 that the table does not state.
TEST(Charge, AgreesWithThePublishedAmpereHours) {
  constexpr double square_foot_m2 = 0.3048 * 0.3048;
  const auto hours = [](const char* name) {
    return charge_for_C(efficient(name, 1.0), 25.4e-6, square_foot_m2) / 3600.0;
  };
  EXPECT_NEAR(hours("nickel"), 19.0, 0.5);
  EXPECT_NEAR(hours("copper"), 17.8, 0.05);
}

// Second road, worked by hand with F = 96485.33212 C/mol [CODATA2018] and a 320 mm disc: 6 A/dm2 for 3 h at 97 %.
TEST(Deposit, OfAWholeDisc) {
  const double area_m2 = 0.0804247719318987;
  const auto laid = deposit(efficient("nickel", 0.97), 600.0 * area_m2 * 10800.0, area_m2);
  EXPECT_NEAR(laid.mass_kg * 1e3, 153.757, 0.0005);
  EXPECT_NEAR(laid.thickness_m * 1e6, 214.617, 0.0005);
}

TEST(Deposit, ChargeAndThicknessAreEachOthersInverse) {
  for (const auto& metal : built_in_metals())
    for (const double thickness : {1e-7, 5e-6, 3e-4}) {
      const double charge = charge_for_C(metal, thickness, 0.08);
      EXPECT_NEAR(deposit(metal, charge, 0.08).thickness_m / thickness, 1.0, 1e-14) << metal.name;
    }
}

// Second road: 0.45642 L/(A h) of hydrogen at 25 degC and 1 atm if the whole current made it.
TEST(Hydrogen, IsTheLostCurrents) {
  EXPECT_NEAR(hydrogen_m3(efficient("chromium", 0.2), 3600.0) * 1e3, 0.8 * 0.45642, 1e-5);
  EXPECT_DOUBLE_EQ(hydrogen_m3(efficient("nickel", 1.0), 3600.0), 0.0);
}

TEST(Ramp, ChargeIsTheSumOfItsTrapezia) {
  const std::vector<CurrentStage> stages{
      {2.0, 2.0, 100.0}, {2.0, 10.0, 50.0}, {10.0, 10.0, 1000.0}};
  EXPECT_DOUBLE_EQ(charge_C(stages, 100.0), 200.0);
  EXPECT_DOUBLE_EQ(charge_C(stages, 150.0), 200.0 + 300.0);
  EXPECT_DOUBLE_EQ(charge_C(stages, 1150.0), 500.0 + 10000.0);
  EXPECT_DOUBLE_EQ(charge_C(stages, 2150.0), 500.0 + 20000.0);  // held on
  EXPECT_DOUBLE_EQ(current_A(stages, 125.0), 6.0);
}

TEST(Ramp, TimeForAChargeIsItsInverse) {
  const std::vector<CurrentStage> stages{
      {2.0, 2.0, 100.0}, {2.0, 10.0, 50.0}, {10.0, 4.0, 30.0}, {4.0, 4.0, 10.0}};
  for (double time_s = 0.0; time_s < 400.0; time_s += 7.3)
    EXPECT_NEAR(*time_for_charge_s(stages, charge_C(stages, time_s)), time_s, 1e-9) << time_s;
  const std::vector<CurrentStage> ends{{5.0, 0.0, 10.0}};
  EXPECT_NEAR(*time_for_charge_s(ends, 25.0), 10.0, 1e-6);
  EXPECT_EQ(time_for_charge_s(ends, 25.1).error().fault, Fault::out_of_range);
}

TEST(Ramp, CutAndHeldOnKeepsItsCharge) {
  const std::vector<CurrentStage> stages{{2.0, 2.0, 100.0}, {2.0, 10.0, 50.0}};
  for (const double time_s : {0.0, 30.0, 100.0, 120.0, 150.0, 400.0}) {
    const auto kept = until(stages, time_s);
    EXPECT_NEAR(total_time_s(kept), time_s, 1e-9);
    if (!kept.empty()) {
      EXPECT_NEAR(charge_C(kept, time_s), charge_C(stages, time_s), 1e-9);
    }
  }
}

TEST(Ramp, BeginsGentlyOnASilveredFace) {
  const PlatingMetal nickel = named("nickel");
  const double area_m2 = 0.08;
  const auto start = gentle_start(StartingFace::silvered, nickel, 48.0, area_m2);
  ASSERT_EQ(start.size(), 2U);
  EXPECT_NEAR(start[0].from_A / area_m2, 30.0, 1e-12);
  EXPECT_NEAR(deposit(nickel, charge_C(start, start[0].time_s), area_m2).thickness_m, 5e-6, 1e-15);
  EXPECT_DOUBLE_EQ(start[1].to_A, 48.0);
  EXPECT_TRUE(ramp_warnings(start, StartingFace::silvered, nickel, area_m2).empty());
  const std::vector<CurrentStage> hard{{48.0, 48.0, 3600.0}};
  EXPECT_EQ(ramp_warnings(hard, StartingFace::silvered, nickel, area_m2).size(), 1U);
  EXPECT_TRUE(ramp_warnings(hard, StartingFace::bare, nickel, area_m2).empty());
  const std::vector<CurrentStage> burning{{480.0, 480.0, 3600.0}};
  EXPECT_EQ(ramp_warnings(burning, StartingFace::bare, nickel, area_m2).size(), 1U);
}

TEST(Ramp, RefusesWhatCannotBe) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  for (const CurrentStage& stage : {CurrentStage{-1.0, 2.0, 10.0},
                                    CurrentStage{nan, 2.0, 10.0},
                                    CurrentStage{1.0, 1.0, 0.0},
                                    CurrentStage{1.0, 1.0, nan},
                                    CurrentStage{1e9, 1.0, 10.0},
                                    CurrentStage{0.0, 0.0, 10.0}})
    EXPECT_FALSE(check(std::vector{stage}));
  EXPECT_FALSE(check(std::vector<CurrentStage>{}));
}

// Property: what leaves the anodes is laid or stays in the bath.
TEST(Bath, KeepsTheMetal) {
  const double charge_C = 5e5;
  const PlatingMetal nickel = named("nickel");
  const auto upkeep = bath_upkeep(nickel, charge_C, 0.17);
  EXPECT_NEAR(upkeep.anode_dissolved_kg,
              deposit(nickel, charge_C, 1.0).mass_kg + upkeep.metal_gained_kg,
              1e-15);
  EXPECT_NEAR(upkeep.drag_out_m3, 0.17 * 1e-4, 1e-18);
  EXPECT_NEAR(upkeep.used[0].mass_kg, 400.0 * upkeep.drag_out_m3, 1e-15);
}

// Second road: 52/100 of chromic acid is chromium (M 51.9961 of 99.994 g/mol), and only it feeds an insoluble anode's bath.
TEST(Bath, ChromiumComesFromItsAcid) {
  const PlatingMetal chromium = named("chromium");
  const auto upkeep = bath_upkeep(chromium, 1e5, 0.0);
  const double laid_kg = deposit(chromium, 1e5, 1.0).mass_kg;
  EXPECT_NEAR(upkeep.used[0].mass_kg, laid_kg * 99.994 / 51.9961, 1e-4 * laid_kg);
  EXPECT_EQ(upkeep.used[1].mass_kg, 0.0);
  EXPECT_EQ(upkeep.anode_dissolved_kg, 0.0);
  EXPECT_NEAR(upkeep.metal_gained_kg, -laid_kg, 1e-18);
}

TEST(Metals, AllCanBe) {
  EXPECT_EQ(built_in_metals().size(), 5U);
  for (const auto& metal : built_in_metals()) {
    EXPECT_TRUE(check(metal)) << metal.name;
    EXPECT_FALSE(metal.cautions.empty()) << metal.name;
  }
  for (const double bad : {0.0, -0.5, 1.2, std::numeric_limits<double>::quiet_NaN()})
    EXPECT_EQ(check(efficient("nickel", bad)).error().fault, Fault::out_of_range) << bad;
}

}  // namespace
}  // namespace goodside::metal
