#include "press/cycle.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace goodside::press {
namespace {

CycleResult periodic(const CycleSetup& setup, const Numerics& numerics = {}, bool moments = false) {
  const auto state = periodic_state(setup, numerics);
  EXPECT_TRUE(state.has_value());
  return run_cycle(setup, state->state, {.numerics = numerics, .keep_moments = moments});
}

double face_at(const CycleResult& cycle, double time_s) {
  for (std::size_t i = 1; i < cycle.moments.size(); ++i) {
    const Moment &a = cycle.moments[i - 1], &b = cycle.moments[i];
    if (b.time_s < time_s) continue;
    const double span = b.time_s - a.time_s;
    return span > 0.0 ? a.face_K[0] + (time_s - a.time_s) / span * (b.face_K[0] - a.face_K[0])
                      : b.face_K[0];
  }
  return 0.0;
}

// Property: heat in, heat out and heat kept, over a cycle far from periodic and over a periodic one.
TEST(Cycle, ClosesItsEnergyBalance) {
  for (const CycleSetup& setup : {vinyl_setup(), shellac_setup()}) {
    EXPECT_LT(std::abs(run_cycle(setup, uniform_state(setup)).balance.error()), 1e-9);
    const auto cycle = periodic(setup);
    EXPECT_LT(std::abs(cycle.balance.error()), 1e-9);
    EXPECT_GT(cycle.balance.flash_J, 0.0);
    EXPECT_GT(cycle.balance.press_work_J, 0.0);
    EXPECT_NEAR(cycle.balance.stored_J, 0.0, 1e-3 * cycle.balance.steam_J[0]);
    EXPECT_LT(cycle.balance.water_J[0], 0.0);
  }
}

// Property: finer cells and steps change the faces by less than 0.1 K and the times by little.
TEST(Cycle, IsFineEnough) {
  for (const CycleSetup& setup : {vinyl_setup(), shellac_setup()}) {
    const auto plain = periodic(setup, {}, true), fine = periodic(setup, {.refine = 3.0}, true);
    for (const Moment& at : plain.moments) {
      if (at.time_s <= 0.0 || at.time_s >= plain.period_s) continue;
      if (at.time_s == setup.schedule.open_s) continue;  // the faces jump as they meet
      EXPECT_NEAR(at.face_K[0], face_at(fine, at.time_s), 0.1) << at.time_s;
    }
    EXPECT_NEAR(*plain.set_s, *fine.set_s, 0.02);
    EXPECT_NEAR(*plain.flowed_s, *fine.flowed_s, 0.1);
    EXPECT_NEAR(plain.opening_hottest_K, fine.opening_hottest_K, 0.1);
    EXPECT_NEAR(plain.steam_kg, fine.steam_kg, 0.005 * fine.steam_kg);
  }
}

// Property: the state comes back, from any beginning.
TEST(Cycle, RepeatsItselfFromItsPeriodicState) {
  const CycleSetup setup = vinyl_setup();
  const auto first = periodic_state(setup);
  const auto second = periodic_state(setup, {}, State(first->state.size(), 400.0));
  ASSERT_TRUE(first && second);
  for (std::size_t i = 0; i < first->state.size(); ++i)
    EXPECT_NEAR(first->state[i], second->state[i], 0.02);
  State plain = uniform_state(setup);
  for (int i = 0; i < 40; ++i) plain = run_cycle(setup, plain).end;
  for (std::size_t i = 0; i < plain.size(); ++i) EXPECT_NEAR(plain[i], first->state[i], 0.02);
}

// Closed form: a press that pushes with full force all the way does F times stroke of work, tens of
// kelvin in the compound; a slower one far less.
TEST(Cycle, FullForceOverTheWholeStrokeHeatsTheCompound) {
  CycleSetup setup = vinyl_setup();
  setup.closing_speed_m_per_s = 1.0;  // not what limits, but for the first millimetres
  setup.compound.flow = {.exponent = 1.0, .consistency_Pa_sn = 5e4};
  setup.biscuit.temperature_K = 438.15;
  setup.schedule.steam_lead_s = 6.5;
  setup.schedule.steam_s = 20.0;
  const double stroke = 0.192 / 1380.0 / (0.25 * 3.14159265358979 * 0.110 * 0.110) - 0.0019;
  const auto forced = periodic(setup);
  ASSERT_TRUE(forced.seated_s.has_value());
  EXPECT_LT(forced.balance.press_work_J, 1e6 * stroke);
  EXPECT_GT(forced.balance.press_work_J, 0.65e6 * stroke);  // what it heats gives way

  EXPECT_GT(forced.squeeze_rise_K, 25.0);
  setup.closing_speed_m_per_s = 0.005;
  EXPECT_LT(periodic(setup).squeeze_rise_K, 0.8 * forced.squeeze_rise_K);
  setup.closing_speed_m_per_s = 1.0;
  setup.force_N = 0.5e6;
  EXPECT_LT(periodic(setup).squeeze_rise_K, 0.75 * forced.squeeze_rise_K);
}

// Physics: without a lead the groove face is what stays coldest, ruled by the steel over the channel.
TEST(Cycle, ColdSteelOverTheChannelLeavesTheGrooveFaceColdest) {
  CycleSetup setup = vinyl_setup();
  setup.schedule.steam_lead_s = 0.0;
  setup.schedule.steam_s = 4.0;
  setup.biscuit.temperature_K = 423.15;
  const auto late = periodic(setup);
  EXPECT_NE(late.coldest_place.find("groove face"), std::string::npos) << late.coldest_place;
  const double thin = late.least_flow_K;
  for (Side& side : setup.sides) {
    side.cover_m = 0.010;
    side.die_thickness_m = 0.027;
  }
  EXPECT_LT(periodic(setup).least_flow_K, thin - 10.0);
  setup.schedule.steam_lead_s = 6.0;
  EXPECT_GT(periodic(setup).least_flow_K, thin);
}

// Property: equal sides make a flat disc; the side that cools slower is the one that it hollows to.
TEST(Cycle, UnequalCoolingDishes) {
  CycleSetup setup = vinyl_setup();
  EXPECT_NEAR(periodic(setup).dish_m, 0.0, 1e-9);
  setup.sides[1].water_temperature_K += 15.0;  // B stays hotter
  const auto one = periodic(setup);
  EXPECT_LT(one.unevenness_at_setting_K, -3.0);
  EXPECT_GT(one.dish_m, 1e-4);
  std::swap(setup.sides[0], setup.sides[1]);
  const auto other = periodic(setup);
  EXPECT_NEAR(other.dish_m, -one.dish_m, 1e-3 * one.dish_m);
  // The moment of setting counts: holding on longer does not undo it.
  setup.schedule.rest_s = 3.0;
  const auto longer = periodic(setup);
  EXPECT_GT(std::abs(longer.dish_m), 0.5 * std::abs(other.dish_m));
}

// Closed form: a gradient of 2 K through 1.9 mm bends to alpha dT/h.
TEST(Cycle, DishOfALinearProfile) {
  const double dish = dish_m({.expansion_per_K = 7e-5, .radius_m = 0.15},
                             {0.0, 0.0004, 0.0019},
                             {300.0, 300.0 + 2.0 * 4.0 / 19.0, 302.0},
                             0.0019);
  EXPECT_NEAR(dish, 0.5 * 7e-5 * 2.0 / 0.0019 * 0.15 * 0.15, 1e-12);
}

// Property: a short charge stops short of the rim at the stop, where its volume says.
TEST(Cycle, ShortChargeStopsWhereItsVolumeEnds) {
  CycleSetup setup = vinyl_setup();
  setup.biscuit.mass_kg = 0.150;
  const auto cycle = periodic(setup);
  EXPECT_FALSE(cycle.full_s.has_value());
  EXPECT_FALSE(cycle.flowed_s.has_value());
  EXPECT_NEAR(cycle.final_radius_m, std::sqrt(0.150 / 1380.0 / (3.14159265358979 * 0.0019)), 1e-6);
  EXPECT_NEAR(cycle.flash_mass_kg, 0.0, 1e-12);
}

struct Bad {
  const char* part;  ///< of the sentence
  void (*spoil)(CycleSetup&);
};

TEST(PressSetup, RefusesWhatCannotBe) {
  const Bad rows[] = {
      {"too thin for a", [](CycleSetup& s) { s.sides[1].die_thickness_m = 0.010; }},
      {"can never set", [](CycleSetup& s) { s.sides[0].water_temperature_K = 273.15 + 70.0; }},
      {"can never set",
       [](CycleSetup& s) {
         for (Side& side : s.sides) side.water_flow_kg_per_s = 0.0;
       }},
      {"can never fill", [](CycleSetup& s) { s.sides[0].steam_gauge_Pa = 1e5; }},
      {"stamper's thickness", [](CycleSetup& s) { s.sides[0].stamper_m = -0.0002; }},
      {"time open",
       [](CycleSetup& s) { s.schedule.open_s = std::numeric_limits<double>::quiet_NaN(); }},
      {"run into each other", [](CycleSetup& s) { s.sides[0].channel_pitch_m = 0.008; }},
      {"heavier", [](CycleSetup& s) { s.biscuit.diameter_m = 0.300, s.biscuit.mass_kg = 0.150; }},
  };
  EXPECT_TRUE(check(vinyl_setup()).has_value());
  EXPECT_TRUE(check(shellac_setup()).has_value());
  for (const Bad& one : rows) {
    CycleSetup setup = vinyl_setup();
    one.spoil(setup);
    const auto held = check(setup);
    ASSERT_FALSE(held.has_value()) << one.part;
    EXPECT_NE(held.error().text.find(one.part), std::string::npos) << held.error().text;
  }
}

}  // namespace
}  // namespace goodside::press
