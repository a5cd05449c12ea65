#include <gtest/gtest.h>

#include "press/fit.hpp"
#include "press/study.hpp"

namespace goodside::press {
namespace {

// Property: the shortest cycle keeps its limits, and a tenth less water does not.
TEST(Study, TheShortestCycleStandsAtItsLimits) {
  const CycleSetup setup = vinyl_setup();
  const auto best = best_cycle(setup, 0, false);
  ASSERT_TRUE(best.has_value()) << best.error().text;
  EXPECT_EQ(standing_of(margins_of(best->setup, best->cycle)), Standing::works);
  EXPECT_LT(best->cycle.period_s, setup.schedule.period_s() - 3.0);
  CycleSetup shorter = best->setup;
  shorter.schedule.water_s *= 0.9;
  const auto cycle = run_cycle(shorter, periodic_state(shorter)->state);
  EXPECT_EQ(standing_of(margins_of(shorter, cycle)), Standing::unset);
}

TEST(Study, SaysWhichLimitNoCycleKeeps) {
  CycleSetup setup = shellac_setup();
  setup.sides[1].water_temperature_K = 303.15;
  setup.limits.dish_m = 2e-5;
  const auto best = best_cycle(setup, 0, false);
  ASSERT_FALSE(best.has_value());
  EXPECT_NE(best.error().text.find("flatness"), std::string::npos) << best.error().text;
}

// Second road: logs made with other factors, in another mesh and step, are fitted back.
TEST(Fit, FindsTheFactorsThatMadeTheLogs) {
  const CycleSetup setup = vinyl_setup();
  CycleSetup truth = setup;
  truth.factors.steam = 0.45;
  truth.factors.water = 1.15;
  truth.steam_lag_s = 0.8;
  const Numerics fine{.refine = 1.7};
  const auto state = periodic_state(truth, fine);
  ASSERT_TRUE(state.has_value());
  const auto cycle = run_cycle(
      truth, state->state, {.numerics = fine, .keep_moments = true, .steel = {{1, 0.002}}});
  Readings face{{"a_face", 0, {}}, {}, {}}, steel{{"b_2mm", 1, 0.002}, {}, {}};
  for (const Moment& at : cycle.moments) {
    if (!face.time_s.empty() && at.time_s < face.time_s.back() + 0.3) continue;
    for (Readings* one : {&face, &steel}) one->time_s.push_back(at.time_s);
    face.temperature_K.push_back(at.face_K[0]);
    steel.temperature_K.push_back(at.steel_K[0]);
  }
  const auto fit = fit_thermocouples(setup, {face, steel});
  ASSERT_TRUE(fit.has_value()) << fit.error().text;
  EXPECT_NEAR(fit->setup.factors.steam, 0.45, 0.01);
  EXPECT_NEAR(fit->setup.factors.water, 1.15, 0.04);
  EXPECT_NEAR(fit->setup.steam_lag_s, 0.8, 0.05);
  EXPECT_LT(fit->rms_K, 0.3);
  EXPECT_GT(fit->rms_before_K, 5.0);
  EXPECT_TRUE(fit->setup.heat_fitted());
  EXPECT_FALSE(fit->setup.calibrated());
}

}  // namespace
}  // namespace goodside::press
