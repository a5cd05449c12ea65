#include "compound/mixer.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numeric>

#include "compound/weigh_up.hpp"
#include "recipes.hpp"

namespace goodside::compound {
namespace {

// Second road: batch upon batch, each with its share of the one before.
TEST(Regrind, IsWhatBatchUponBatchComesTo) {
  for (const double share : {0.0, 0.1, 0.3, 0.5}) {
    std::vector<double> through{1.0};
    for (int batch = 1; batch <= 12; ++batch) {
      std::vector<double> next{1.0 - share};
      for (const double one : through) next.push_back(one * share);
      through = next;
      const auto told = regrind_after(share, batch);
      ASSERT_EQ(told.size(), through.size());
      for (std::size_t n = 0; n < told.size(); ++n) EXPECT_NEAR(told[n], through[n], 1e-12);
    }
  }
  const auto settled = regrind_history(0.3);
  const auto late = regrind_after(0.3, 60);
  double mean = 0.0;
  for (std::size_t n = 0; n < late.size(); ++n) mean += static_cast<double>(n) * late[n];
  EXPECT_NEAR(settled.mean_times, mean, 1e-12);
  for (std::size_t n = 0; n < settled.through.size(); ++n)
    EXPECT_NEAR(settled.through[n], late[n], 1e-12);
  EXPECT_NEAR(
      std::accumulate(settled.through.begin(), settled.through.end(), settled.more), 1.0, 1e-12);
}

// Property: the share for a bound gives the bound back.
TEST(Regrind, ShareForABoundGivesItBack) {
  const double share = regrind_share_for(0.01, 2);
  EXPECT_NEAR(std::pow(share, 3), 0.01, 1e-15);
  EXPECT_NEAR(regrind_share_for(0.01, 2), 0.21544, 5e-6);
}

works::Recipe heated() {
  auto recipe = *checked(analysis_a());
  recipe.mixer = works::Mixer{};
  recipe.mixer->volume_m3 = 0.045;
  recipe.mixer->dump_temperature_K = 393.15;
  recipe.mixer->efficiency = 1.0;
  recipe.mixer->power_W = 50e3;
  for (auto& one : recipe.ingredients) one.heat_capacity_J_per_kgK = 1000.0;
  return recipe;
}

// Second road: 60 kg x 1.0 kJ/kgK x 100 K = 6.0 MJ = 1.667 kWh, by hand.
TEST(MixerHeat, IsMassTimesHeatCapacityTimesRise) {
  const auto recipe = heated();
  const auto sheet = weigh_up(recipe, {.batch_kg = 60.0, .total_kg = {}});
  const auto heat = mixer_heat(recipe, *sheet);
  ASSERT_TRUE(heat);
  EXPECT_NEAR(heat->heat_J, 6.0e6, 1e-3);
  EXPECT_NEAR(heat->energy_J / 3.6e6, 1.667, 5e-4);
  EXPECT_NEAR(*heat->time_s, 120.0, 1e-9);
  EXPECT_TRUE(heat->heat_capacity_told);
}

TEST(MixerHeat, BoilsTheWaterOff) {
  auto recipe = heated();
  recipe.ingredients[2].moisture = 0.02;
  const auto sheet = weigh_up(recipe, {.batch_kg = 60.0, .total_kg = {}});
  const auto heat = mixer_heat(recipe, *sheet);
  EXPECT_NEAR(heat->water_heat_J, sheet->water_kg * (4190.0 * 80.0 + 2.257e6), 1.0);
}

TEST(MixerHeat, RefusesADumpAboveTheRecipesHighest) {
  auto recipe = heated();
  const auto sheet = weigh_up(recipe, {.batch_kg = 60.0, .total_kg = {}});
  recipe.mixer->most_temperature_K = 383.15;
  EXPECT_NE(mixer_heat(recipe, *sheet).error().text.find("above the recipe's highest"),
            std::string::npos);
  recipe.mixer->most_temperature_K.reset();
  recipe.mixer->dump_temperature_K = 280.0;
  EXPECT_FALSE(mixer_heat(recipe, *sheet));
}

// Second road: by hand: 1 kg kept beside 9 kg new leaves a tenth each time.
TEST(Purge, ThinsTheOldColour) {
  const auto found = purge(1.0, 9.0, 1e-3);
  ASSERT_TRUE(found);
  EXPECT_EQ(found->batches, 3);
  EXPECT_NEAR(found->mass_kg, std::log(1000.0), 1e-12);
  EXPECT_FALSE(purge(0.0, 9.0, 1e-3));
  EXPECT_FALSE(purge(1.0, 9.0, 0.0));
  EXPECT_FALSE(purge(1.0, 9.0, std::nan("")));
}

}  // namespace
}  // namespace goodside::compound
