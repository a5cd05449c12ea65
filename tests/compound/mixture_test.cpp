#include "compound/mixture.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "compound/weigh_up.hpp"
#include "recipes.hpp"

namespace goodside::compound {
namespace {

using works::Role;

double volume_share(const works::Recipe& recipe, const std::string& name) {
  for (const auto& one : recipe.ingredients)
    if (one.name == name)
      return one.fraction / one.density_kg_per_m3 * mixture(recipe).density_kg_per_m3;
  return std::nan("");
}

// Second road: the same rule in SciPy over the two analyses and a vinyl of US patent 3,960,790,
// printed to five digits.
TEST(Mixture, HasTheDensityThatVolumesAddUpTo) {
  EXPECT_NEAR(mixture(analysis_a()).density_kg_per_m3, 2051.72, 0.005);
  EXPECT_NEAR(volume_share(analysis_a(), "shellac"), 0.2473, 5e-5);
  EXPECT_NEAR(volume_share(analysis_a(), "limestone"), 0.2839, 5e-5);
  EXPECT_NEAR(volume_share(analysis_a(), "slate"), 0.2798, 5e-5);
  EXPECT_NEAR(mixture(analysis_b()).density_kg_per_m3, 1870.20, 0.005);
  EXPECT_NEAR(volume_share(analysis_b(), "limestone"), 0.3598, 5e-5);
  works::Recipe vinyl;
  constexpr double parts[][2] = {
      {65, 1.36}, {31.2, 1.40}, {0.2, 1.8}, {0.6, 1.0}, {1.6, 1.2}, {1.0, 0.99}, {0.4, 1.0}};
  for (const auto& [part, density] : parts)
    vinyl.ingredients.push_back(
        ingredient(std::to_string(part), Role::binder, part / 100.0, density));
  EXPECT_NEAR(mixture(vinyl).density_kg_per_m3, 1359.91, 0.005);
}

// Published: binder is "only" 23 to 28 % by mass of such compounds and 41 to 47 % by volume.
TEST(Mixture, CountsBinderAndExtendersTogether) {
  const auto a = mixture(analysis_a()), b = mixture(analysis_b());
  EXPECT_NEAR(*a.binder_mass, 0.23, 1e-12);
  EXPECT_NEAR(*b.binder_mass, 0.28, 1e-12);
  EXPECT_NEAR(*a.binder_volume, 0.41, 0.005);
  EXPECT_NEAR(*b.binder_volume, 0.47, 0.01);
}

// Property: regrind of the mix itself changes no content; pellets hide theirs.
TEST(Mixture, IsNotChangedByItsOwnRegrind) {
  auto recipe = analysis_a();
  const auto fresh = mixture(recipe);
  for (auto& one : recipe.ingredients) one.fraction *= 0.8;
  recipe.ingredients.push_back(
      ingredient("regrind", Role::regrind, 0.2, fresh.density_kg_per_m3 / 1e3));
  const auto with = mixture(recipe);
  EXPECT_NEAR(with.density_kg_per_m3, fresh.density_kg_per_m3, 1e-9);
  EXPECT_NEAR(*with.binder_mass, *fresh.binder_mass, 1e-12);
  EXPECT_NEAR(*with.binder_volume, *fresh.binder_volume, 1e-12);
  recipe.ingredients.back().role = Role::pellets;
  EXPECT_FALSE(mixture(recipe).binder_mass);
}

TEST(Checked, RefusesWhatCannotBe) {
  const auto refusal = [](auto spoil) {
    auto recipe = analysis_a();
    spoil(recipe);
    const auto said = checked(recipe);
    return said ? std::string{} : said.error().text;
  };
  EXPECT_EQ(refusal([](auto&) {}), "");
  EXPECT_EQ(
      refusal([](auto& r) { r.ingredients[0].fraction = 0.12; }),
      "the fractions sum to 0.9850, 0.0150 short of 1; mend one, or give parts instead, which "
      "may sum to anything");
  EXPECT_EQ(refusal([](auto& r) { r.ingredients[1].density_kg_per_m3 = -2710; }),
            "limestone: the density is -2710 kg/m3; give 10 to 25000 kg/m3");
  EXPECT_EQ(refusal([](auto& r) { r.ingredients[1].name = "slate"; }),
            "slate: stands twice; give each ingredient once, lots together");
  const double not_a_number = std::numeric_limits<double>::quiet_NaN();
  for (const double value : {not_a_number, -0.1, 2.0, std::numeric_limits<double>::infinity()}) {
    EXPECT_NE(refusal([&](auto& r) { r.ingredients[2].fraction = value; }), "");
    EXPECT_NE(refusal([&](auto& r) { r.ingredients[2].tolerance = value == 2.0 ? 0.0 : value; }),
              "");
    EXPECT_NE(refusal([&](auto& r) { r.ingredients[2].moisture = value; }), "");
  }
  EXPECT_NE(refusal([&](auto& r) { r.ingredients.clear(); }), "");
  EXPECT_NE(refusal([&](auto& r) { r.mixer = works::Mixer{}; }), "");
}

TEST(Checked, TakesRoundedPercentagesAndSaysSo) {
  auto recipe = analysis_b();
  recipe.ingredients[0].fraction = 0.1561;
  const auto taken = checked(recipe);
  ASSERT_TRUE(taken);
  double sum = 0.0;
  for (const auto& one : taken->ingredients) sum += one.fraction;
  EXPECT_NEAR(sum, 1.0, 1e-15);
  ASSERT_EQ(taken->remarks.size(), 1U);
}

// Second road: 60 kg of analysis A by hand.
TEST(WeighUp, ScalesTheRecipeToTheBatch) {
  auto recipe = *checked(analysis_a());
  recipe.scales = {{.name = "floor", .division_kg = 0.01, .capacity_kg = {}}};
  const auto sheet = weigh_up(recipe, {.batch_kg = 60.0, .total_kg = {}});
  ASSERT_TRUE(sheet);
  const auto of = [&](const std::string& name) {
    for (const auto& line : sheet->lines)
      if (line.ingredient == name) return line;
    return works::WeighLine{};
  };
  const std::pair<const char*, double> by_hand[] = {{"shellac", 8.1},
                                                    {"limestone", 22.5},
                                                    {"slate", 22.5},
                                                    {"pine resin", 5.1},
                                                    {"congo gum", 0.6},
                                                    {"carbon black", 0.9},
                                                    {"zinc stearate", 0.3}};
  for (const auto& [name, mass_kg] : by_hand) EXPECT_DOUBLE_EQ(of(name).weigh_kg, mass_kg) << name;
  // Common practice: 0.5 % of majors, 1 % to a hundredth, 2 % or a division of minors.
  EXPECT_NEAR(of("shellac").tolerance_kg, 0.0405, 1e-12);
  EXPECT_NEAR(of("pine resin").tolerance_kg, 0.051, 1e-12);
  EXPECT_NEAR(of("zinc stearate").tolerance_kg, 0.01, 1e-12);
  EXPECT_FALSE(of("zinc stearate").is_fine_enough);
  EXPECT_TRUE(of("limestone").is_fine_enough);
  EXPECT_NEAR(sheet->weighed_sigma_kg, std::sqrt(7.0 * 1e-4 / 12.0), 1e-12);
}

TEST(WeighUp, FillsTheBowlToItsShareOrSplitsTheTotal) {
  auto recipe = *checked(analysis_a());
  recipe.mixer = works::Mixer{};
  recipe.mixer->volume_m3 = 0.045;
  const double density = mixture(recipe).density_kg_per_m3;
  const auto usual = weigh_up(recipe, {});
  EXPECT_NEAR(usual->batch_kg, 0.045 * 0.70 * density, 1e-9);
  EXPECT_NEAR(*usual->fill, 0.70, 1e-12);
  const auto total = weigh_up(recipe, {.batch_kg = {}, .total_kg = 300.0});
  EXPECT_EQ(total->batches, 5);
  EXPECT_NEAR(total->batch_kg, 60.0, 1e-12);
  const auto refused = weigh_up(recipe, {.batch_kg = 80.0, .total_kg = {}});
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().text,
            "80 kg takes 38.99 l and the bowl holds 33.75 l at its highest fill of 0.75; at most "
            "69.246 kg a charge, or give --total for several");
}

TEST(WeighUp, TakesTheFinestScaleAndAllowsForMoisture) {
  auto recipe = *checked(analysis_a());
  recipe.scales = {{.name = "floor", .division_kg = 0.01, .capacity_kg = 15.0},
                   {.name = "bench", .division_kg = 1e-4, .capacity_kg = 3.0}};
  recipe.ingredients[1].moisture = 0.02;
  const auto sheet = weigh_up(recipe, {.batch_kg = 60.0, .total_kg = {}});
  for (const auto& line : sheet->lines) {
    EXPECT_EQ(line.scale, line.target_kg > 3.0 ? "floor" : "bench");
    EXPECT_EQ(line.times, line.target_kg > 15.0 ? 2 : 1);
  }
  EXPECT_NEAR(sheet->water_kg, 22.5 / 0.98 * 0.02, 1e-12);
}

// Published: US patent 3,960,790: resins and black, then antistatic, then stabiliser and soybean oil,
// then wax. Common practice, no source: shellac first, lubricant last.
TEST(ChargingOrder, IsTheTrades) {
  works::Recipe vinyl;
  vinyl.kind = "vinyl";
  vinyl.ingredients = {ingredient("wax", Role::lubricant, 0.004, 1.0),
                       ingredient("copolymer", Role::binder, 0.65, 1.36),
                       ingredient("tin", Role::stabiliser, 0.016, 1.2),
                       ingredient("black", Role::colour, 0.002, 1.8),
                       ingredient("quat", Role::antistatic, 0.012, 1.0),
                       ingredient("soybean oil", Role::plasticiser, 0.01, 0.99)};
  EXPECT_EQ(charging_order(vinyl), (std::vector{4, 1, 3, 1, 2, 3}));
  const auto order = charging_order(analysis_a());
  EXPECT_EQ(order.front(), 1);
  EXPECT_EQ(order.back(), *std::ranges::max_element(order));
}

TEST(Cautions, NameWhatOldRecipesHold) {
  const auto said = [](const std::string& name) {
    auto recipe = analysis_a();
    recipe.ingredients[5].name = name;
    std::string all;
    for (const auto& one : cautions(recipe)) all += one + "\n";
    return all;
  };
  EXPECT_NE(said("litharge").find("lead"), std::string::npos);
  EXPECT_NE(said("chrome yellow").find("chromate"), std::string::npos);
  EXPECT_NE(said("asbestine").find("asbestos"), std::string::npos);
  EXPECT_EQ(said("misleading black").find("lead:"), std::string::npos);
  for (const auto* word : {"explode", "silica", "nip points", "Local codes", "cures"})
    EXPECT_NE(said("carbon black").find(word), std::string::npos) << word;
}

}  // namespace
}  // namespace goodside::compound
