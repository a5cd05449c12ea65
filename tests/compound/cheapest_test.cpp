#include "compound/cheapest.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>

#include "recipes.hpp"

namespace goodside::compound {
namespace {

using works::Role;

Role role_of(const std::string& text) {
  for (std::size_t i = 0; i < works::role_words.size(); ++i)
    if (works::role_words[i] == text) return static_cast<Role>(i);
  return Role::other;
}

// Published: SciPy's linprog over random recipes (tests/published/compound/cases.py).
TEST(Cheapest, AgreesWithScipyOverRandomRecipes) {
  std::ifstream in{GOODSIDE_SOURCE_DIR "/tests/published/compound/recipes.txt"};
  int n{}, found = 0, none = 0;
  std::string kind, role;
  double cost{}, density_low{}, density_high{}, mass_kg{};
  while (in >> n >> kind >> cost >> density_low >> density_high >> mass_kg) {
    works::Recipe recipe;
    recipe.density_kg_per_m3 = {density_low, density_high};
    for (int k = 0; k < 2; ++k) {
      double low{}, high{};
      in >> role >> low >> high;
      recipe.roles.push_back({role_of(role), {low, high}});
    }
    for (int i = 0; i < n; ++i) {
      double price{}, density{}, low{}, high{}, stock{}, fraction{};
      in >> role >> price >> density >> low >> high >> stock >> fraction;
      auto one = ingredient(fmt::format("i{}", i), role_of(role), fraction, density / 1e3);
      one.price_per_kg = price;
      one.share = {low, high};
      if (stock < 1e299) one.stock_kg = stock;
      recipe.ingredients.push_back(one);
    }
    const auto answer = cheapest(recipe, {.mass_kg = mass_kg});
    ASSERT_TRUE(answer);
    EXPECT_EQ(answer->found, kind == "found") << found + none;
    EXPECT_NEAR(answer->cost_per_kg, cost, 1e-7 * (1.0 + cost)) << found + none;
    EXPECT_EQ(answer->broken.empty(), kind == "found");
    ++(kind == "found" ? found : none);
  }
  EXPECT_EQ(found + none, 80);
  EXPECT_GT(none, 10);
}

works::Recipe priced() {
  auto recipe = *checked(analysis_a());
  recipe.ingredients[0].price_per_kg = 9.0;
  recipe.ingredients[3].price_per_kg = 2.0;
  recipe.ingredients[4].price_per_kg = 4.0;
  recipe.roles = {{Role::extender, {0.05, 0.15}}};
  recipe.ingredients[0].share = {0.10, 0.20};
  return recipe;
}

// Second road: by hand: shellac to its floor, the cheap resin takes its place, the dear gum goes.
TEST(Cheapest, MovesOnlyWhatHasBounds) {
  const auto answer = cheapest(priced(), {.mass_kg = 100.0});
  ASSERT_TRUE(answer);
  ASSERT_TRUE(answer->found);
  EXPECT_NEAR(answer->lines[0].after, 0.10, 1e-12);
  EXPECT_NEAR(answer->lines[3].after, 0.13, 1e-12);
  EXPECT_NEAR(answer->lines[4].after, 0.0, 1e-12);
  EXPECT_EQ(answer->lines[1].after, answer->lines[1].before);
  EXPECT_NEAR(answer->cost_per_kg, 0.10 * 9.0 + 0.13 * 2.0, 1e-12);
  // Held by the shellac's floor: a point of it is worth 9 - 2 a hundredth of a kilogram.
  ASSERT_EQ(answer->held.size(), 1U);
  EXPECT_NEAR(answer->held[0].saves, 0.07, 1e-9);
}

// Property: a bound on the volume of the binder, and on a property's mean, is kept to the last digit.
TEST(Cheapest, KeepsWhatIsBounded) {
  auto recipe = priced();
  recipe.binder_volume = {0.40, 0.412};
  recipe.properties = {{"softening", true, {.low = 60.0, .high = {}}}};
  for (auto& one : recipe.ingredients)
    one.properties["softening"] = one.role == Role::extender ? 50.0 : 65.0;
  const auto answer = cheapest(recipe, {});
  ASSERT_TRUE(answer);
  ASSERT_TRUE(answer->found);
  EXPECT_GE(*answer->after.binder_volume, 0.40 - 1e-9);
  EXPECT_LE(*answer->after.binder_volume, 0.412 + 1e-9);
  double mean = 0.0;
  for (std::size_t i = 0; i < recipe.ingredients.size(); ++i)
    mean += answer->lines[i].after / recipe.ingredients[i].density_kg_per_m3 *
            recipe.ingredients[i].properties["softening"] * answer->after.density_kg_per_m3;
  EXPECT_GE(mean, 60.0 - 1e-9);
}

TEST(Cheapest, NamesTheLimitsThatCannotAllBeKept) {
  auto recipe = priced();
  recipe.ingredients[1].stock_kg = 20.0;  // limestone, which stays as it is: 37.5 of 100 kg
  const auto answer = cheapest(recipe, {.mass_kg = 100.0});
  ASSERT_TRUE(answer);
  EXPECT_FALSE(answer->found);
  EXPECT_EQ(answer->broken, std::vector<std::string>{"limestone: 20 kg in stock"});
}

TEST(Cheapest, RefusesWhatHasNoPriceOrNothingToMove) {
  EXPECT_EQ(cheapest(*checked(analysis_a()), {}).error().text,
            "nothing in the recipe may move; give a role or an ingredient low and high");
  auto recipe = priced();
  recipe.ingredients[3].price_per_kg.reset();
  EXPECT_EQ(cheapest(recipe, {}).error().text,
            "pine resin may move and has no price; give one, or fix it by low = high");
}

}  // namespace
}  // namespace goodside::compound
