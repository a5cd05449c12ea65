#include "compound/correction.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <fstream>

#include "compound/weigh_up.hpp"
#include "recipes.hpp"

namespace goodside::compound {
namespace {

using works::Correction;

struct Case {
  works::Recipe recipe;
  std::vector<works::Weighed> weighed;
  std::string kind;
  double least_kg{}, worst{}, most_volume_m3{}, batch_kg{};
};

std::vector<Case> cases() {
  std::ifstream in{GOODSIDE_SOURCE_DIR "/tests/published/compound/corrections.txt"};
  std::vector<Case> all;
  int n{};
  for (Case next;
       in >> n >> next.kind >> next.least_kg >> next.worst >> next.most_volume_m3 >> next.batch_kg;
       next = {}) {
    for (int i = 0; i < n; ++i) {
      auto one = ingredient(fmt::format("i{}", i), works::Role::filler, 0.0, 1.0);
      double tolerance{}, stock_kg{}, weighed_kg{};
      in >> one.fraction >> one.density_kg_per_m3 >> tolerance >> stock_kg >> weighed_kg;
      one.tolerance = tolerance;
      // The stock of a case is what is left; ours counts what was in the store before.
      if (stock_kg < 1e299) one.stock_kg = stock_kg + weighed_kg;
      next.recipe.ingredients.push_back(one);
      next.weighed.push_back({one.name, weighed_kg});
    }
    all.push_back(next);
  }
  return all;
}

Result<Correction> corrected(const Case& one, double aim = 1.0) {
  const auto sheet = weigh_up(one.recipe, {.batch_kg = one.batch_kg, .total_kg = {}});
  CorrectionLimits limits{.aim = aim, .most_volume_m3 = {}};
  if (one.most_volume_m3 < 1e299) limits.most_volume_m3 = one.most_volume_m3;
  return correction(one.recipe, *sheet, one.weighed, limits);
}

// Published: SciPy's linprog over random batches, the nearest mix by halving
// (tests/published/compound/cases.py).
TEST(Correction, AgreesWithScipyOverRandomBatches) {
  const auto all = cases();
  ASSERT_EQ(all.size(), 80U);
  int nearest = 0;
  for (std::size_t k = 0; k < all.size(); ++k) {
    const auto found = corrected(all[k]);
    ASSERT_TRUE(found) << k << found.error().text;
    const bool is_nearest = found->kind == Correction::Kind::nearest;
    EXPECT_EQ(is_nearest, all[k].kind == "nearest") << k;
    nearest += is_nearest ? 1 : 0;
    EXPECT_NEAR(found->add_kg, all[k].least_kg, 2e-6 * all[k].batch_kg) << k;
    if (is_nearest)
      EXPECT_NEAR(found->worst_share / all[k].worst, 1.0, 1e-6) << k;
    else
      EXPECT_LT(found->worst_share - 1.0, 1e-8) << k;
    EXPECT_EQ(is_nearest, !found->why.empty()) << k;
  }
  EXPECT_GT(nearest, 10);
}

/// 60 kg of analysis A on a scale of 10 g, with this much of one ingredient.
struct Weighing60 {
  works::Recipe recipe;
  works::WeighUp sheet;
  std::vector<works::Weighed> weighed;
};
Weighing60 with(const std::string& name, double mass_kg) {
  Weighing60 batch{.recipe = *checked(analysis_a()), .sheet = {}, .weighed = {}};
  batch.recipe.scales = {{.name = "floor", .division_kg = 0.01, .capacity_kg = {}}};
  batch.sheet = *weigh_up(batch.recipe, {.batch_kg = 60.0, .total_kg = {}});
  for (const auto& line : batch.sheet.lines)
    batch.weighed.push_back({line.ingredient, line.ingredient == name ? mass_kg : line.weigh_kg});
  return batch;
}

// Second road: one ingredient 3 % over, by hand: the others may each stay at the foot of their
// tolerance, and the one over at the head of its own.
TEST(Correction, AddsTheLeastByHand) {
  const auto batch = with("shellac", 8.1 * 1.03);
  const auto found = correction(batch.recipe, batch.sheet, batch.weighed, {});
  ASSERT_TRUE(found);
  EXPECT_EQ(found->kind, Correction::Kind::restores);
  // The shellac's share falls to its head, 0.135 * 1.005, when the batch is this large.
  const double total = 8.1 * 1.03 / (0.135 * 1.005);
  EXPECT_NEAR(found->add_kg, total - (60.0 + 8.1 * 0.03), 1e-9);
  EXPECT_NEAR(found->worst_share, 1.0, 1e-9);
  EXPECT_LE(found->worst_share_weighed, 1.0 + 1e-7);
  for (const auto& line : found->lines)
    EXPECT_NEAR(line.add_weighed_kg, 0.01 * std::round(line.add_weighed_kg / 0.01), 1e-12);
}

// Property: rounding to the scale adds no ingredient that the exact answer leaves alone, where that does.
TEST(Correction, WeighsNoPinchOfEverything) {
  const auto batch = with("shellac", 8.1 * 1.03);
  const auto found = correction(batch.recipe, batch.sheet, batch.weighed, {});
  for (const auto& line : found->lines)
    EXPECT_TRUE(line.add_kg > 0.0 || line.add_weighed_kg == 0.0) << line.ingredient;
}

TEST(Correction, AddsNothingToWhatIsRight) {
  const auto batch = with("shellac", 8.12);
  const auto found = correction(batch.recipe, batch.sheet, batch.weighed, {});
  EXPECT_EQ(found->kind, Correction::Kind::none_needed);
  EXPECT_EQ(found->add_kg, 0.0);
}

// Property: everything over alike is a larger batch of the same mix.
TEST(Correction, LeavesALargerBatchOfTheSameMix) {
  auto batch = with("", 0.0);
  for (auto& one : batch.weighed) one.mass_kg *= 1.05;
  EXPECT_EQ(correction(batch.recipe, batch.sheet, batch.weighed, {})->kind,
            Correction::Kind::none_needed);
  const auto said = deviations(batch.recipe, batch.sheet, batch.weighed);
  EXPECT_TRUE(std::ranges::all_of(*said, &works::Deviation::is_out));
}

// Property: a tighter aim is kept, and takes no less.
TEST(Correction, EndsWithinTheShareAimedAt) {
  const auto batch = with("slate", 23.0);
  const auto loose = correction(batch.recipe, batch.sheet, batch.weighed, {});
  const auto tight =
      correction(batch.recipe, batch.sheet, batch.weighed, {.aim = 0.3, .most_volume_m3 = {}});
  EXPECT_GT(tight->add_kg, loose->add_kg);
  EXPECT_LE(tight->worst_share_weighed, 0.3 + 1e-7);
}

// What is not weighed yet is still to come, and follows the ingredient that ran over.
TEST(Correction, BringsWhatIsStillToCome) {
  auto batch = with("shellac", 8.5);
  std::erase_if(batch.weighed, [](const auto& one) { return one.ingredient != "shellac"; });
  const auto found = correction(batch.recipe, batch.sheet, batch.weighed, {});
  EXPECT_EQ(found->kind, Correction::Kind::restores);
  EXPECT_NEAR(found->batch_kg, 8.5 / (0.135 * 1.005), 0.02);
}

TEST(Correction, SaysWhatStandsInTheWay) {
  auto batch = with("shellac", 9.0);
  const auto bowl =
      correction(batch.recipe, batch.sheet, batch.weighed, {.aim = 1.0, .most_volume_m3 = 0.0305});
  ASSERT_EQ(bowl->kind, Correction::Kind::nearest);
  EXPECT_NE(bowl->why.at(0).find("the bowl holds 30.5 l"), std::string::npos) << bowl->why.at(0);
  EXPECT_LE(bowl->volume_m3, 0.0305 * 1.0001);
  // With that much out, well mixed, the rest can be put right in the same bowl.
  ASSERT_TRUE(bowl->take_out_kg);
  EXPECT_GT(*bowl->take_out_kg, 0.0);
  EXPECT_LT(*bowl->take_out_kg, 20.0);
  double added = 0.0, volume = (60.9 - *bowl->take_out_kg) / 60.9;
  EXPECT_GT(volume, 0.0);
  for (const auto& line : bowl->after_taking_out) {
    added += line.add_kg;
    EXPECT_LE(line.share_of_tolerance, 1.0 + 1e-6);
  }
  EXPECT_GT(added, 0.0);

  batch.recipe.ingredients[2].stock_kg = 22.5;
  const auto stock = correction(batch.recipe, batch.sheet, batch.weighed, {});
  ASSERT_EQ(stock->kind, Correction::Kind::nearest);
  EXPECT_TRUE(stock->why.at(0).starts_with("slate: ")) << stock->why.at(0);
}

TEST(Correction, RefusesWhatTheScaleCannotHaveSaid) {
  auto batch = with("shellac", -1.0);
  EXPECT_FALSE(correction(batch.recipe, batch.sheet, batch.weighed, {}));
  batch.weighed = {{"shelac", 8.1}};
  const auto refused = correction(batch.recipe, batch.sheet, batch.weighed, {});
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().text, "the recipe has no shelac; did you mean `shellac`?");
  batch.weighed = {{"shellac", 8.1}, {"shellac", 1.0}};
  EXPECT_FALSE(correction(batch.recipe, batch.sheet, batch.weighed, {}));
  batch.weighed = {{"shellac", 0.0}};
  EXPECT_FALSE(correction(batch.recipe, batch.sheet, batch.weighed, {}));
}

}  // namespace
}  // namespace goodside::compound
