#include "press/study.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <set>

#include "press/fit.hpp"

namespace goodside::press {
namespace {

// Property: every name is told once, its reader reads what it shows, and setting it comes back.
TEST(Inputs, AreNamedOnceAndSetByName) {
  std::set<std::string_view> names;
  for (const Input& input : inputs()) {
    EXPECT_TRUE(names.insert(input.name).second) << input.name;
    CycleSetup setup = vinyl_setup();
    const double value = input.get(setup, 1);
    set_both(setup, input, 1.25 * value + 0.5);
    EXPECT_DOUBLE_EQ(input.get(setup, 0), 1.25 * value + 0.5) << input.name;
    EXPECT_DOUBLE_EQ(input.get(setup, 1), 1.25 * value + 0.5) << input.name;
    EXPECT_EQ(input.doubt == Input::Doubt::exact, input.source.empty()) << input.name;
  }
  CycleSetup setup = vinyl_setup();
  ASSERT_TRUE(set_input(setup, "b.water", "20 °C").has_value());
  EXPECT_DOUBLE_EQ(setup.sides[1].water_temperature_K, 293.15);
  EXPECT_DOUBLE_EQ(setup.sides[0].water_temperature_K, 288.15);
  EXPECT_FALSE(set_input(setup, "a.force", "1 kN").has_value());
  EXPECT_EQ(find_input("steem").error().fault, Fault::not_found);
}

// Property: an effect is what moving the input by its spread does.
TEST(Study, EffectsAreThoseOfMovingTheInput) {
  const CycleSetup setup = vinyl_setup();
  const auto periodic = periodic_state(setup);
  ASSERT_TRUE(periodic.has_value());
  const auto told = sensitivities(setup, *periodic, {.tolerances = true, .knowledge = false});
  ASSERT_TRUE(told.has_value());
  ASSERT_EQ(told->effects.size(), 4U);
  constexpr std::size_t opening = 5;
  ASSERT_EQ(figure_names[opening], "opening_hottest_K");
  const Effect& water = told->effects.back();
  ASSERT_EQ(water.input->name, "water");
  const auto opened = [&](double u) {
    const auto other = moved(setup, *water.input, water.spread, u);
    return run_cycle(other, periodic_state(other)->state).opening_hottest_K;
  };
  EXPECT_NEAR(water.on_figures[opening], 0.5 * (opened(1.0) - opened(-1.0)), 0.02);
  EXPECT_GT(water.on_figures[opening], 0.5);  // warmer water, warmer disc
  double sum = 0.0;
  for (const Effect& one : told->effects) sum += std::pow(one.on_figures[opening], 2.0);
  EXPECT_NEAR(told->within[opening], 1.959964 * std::sqrt(sum / 3.0), 1e-6);
}

// Property: the same answer for any number of threads; mean and spread agree with first order.
TEST(Study, TrialsAreFixedByTheirSeed) {
  const CycleSetup setup = vinyl_setup();
  const auto periodic = periodic_state(setup);
  const Doubts tolerances{.tolerances = true, .knowledge = false, .jobs = 1};
  const auto one = trials(setup, *periodic, 24, 7, tolerances);
  const auto three = trials(setup, *periodic, 24, 7, {true, false, 3});
  const auto other = trials(setup, *periodic, 24, 8, tolerances);
  EXPECT_EQ(one.standings, three.standings);
  for (std::size_t f = 0; f < figure_names.size(); ++f) {
    EXPECT_EQ(one.figures[f].mean, three.figures[f].mean) << figure_names[f];
    EXPECT_EQ(one.figures[f].high, three.figures[f].high) << figure_names[f];
  }
  EXPECT_NE(one.figures[2].mean, other.figures[2].mean);
  EXPECT_EQ(one.standings[0], 24U);
}

// Property: more water time never hurts setting; too little steam leaves grooves unfilled.
TEST(Study, TheWindowHasItsSides) {
  const CycleSetup setup = vinyl_setup();
  const Axis steam{*find_input("steam"), 3e5, 10e5, 3},
      water{*find_input("water_time"), 6.0, 14.0, 3};
  const auto map = window_map(setup, steam, water, 0);
  ASSERT_TRUE(map.has_value());
  ASSERT_EQ(map->points.size(), 9U);
  EXPECT_EQ(map->points[2].standing, Standing::unset);
  EXPECT_EQ(map->points[6].standing, Standing::cold);
  EXPECT_EQ(map->points[8].standing, Standing::works);
  EXPECT_EQ(map->points[8].worst, Standing::works);
  EXPECT_FALSE(window_map(setup, steam, steam, 0).has_value());
}

TEST(Fit, FindsTheConsistencyOfALadder) {
  CycleSetup setup = vinyl_setup();
  setup.stop_m = 0.0004;
  setup.force_N = 150e3;
  CycleSetup truth = setup;
  truth.factors.consistency = 2.2;
  const auto state = periodic_state(truth);
  std::vector<Rung> rungs;
  for (const double mass : {0.105, 0.130, 0.160}) {
    truth.biscuit.mass_kg = mass;
    const auto cycle = run_cycle(truth, state->state);
    rungs.push_back({mass, 2.0 * cycle.final_radius_m, cycle.final_gap_m});
  }
  const auto fit = fit_ladder(setup, rungs);
  ASSERT_TRUE(fit.has_value()) << fit.error().text;
  EXPECT_NEAR(fit->setup.factors.consistency, 2.2, 0.1);
  for (Rung& one : rungs) one.thickness_m = setup.stop();
  EXPECT_FALSE(fit_ladder(setup, rungs).has_value());
}

}  // namespace
}  // namespace goodside::press
