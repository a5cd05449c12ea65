#include "intake/recipe_file.hpp"

#include <gtest/gtest.h>

namespace goodside::intake {
namespace {

using works::Role;

constexpr std::string_view toml = R"(name = "Two"
[ingredient.zinc]
role = "lubricant"
fraction = "40 %"
density = "1.1 g/cm3"
lot = "L-1"
price = 3
stock = "20 kg"
moisture = "1 %"
charge = 2
[ingredient.zinc.properties]
softening = 120
[ingredient.amber]
role = "binder"
fraction = 0.6
density = "1100 kg/m3"
low = 0.5
[role.binder]
low = "50 %"
[property.softening]
by = "volume"
high = 130
[density]
high = "1.2 g/cm3"
[scale.bench]
division = "0.1 g"
[mixer]
volume = "40 l"
fill = 0.8
)";

constexpr std::string_view csv =
    "name,role,fraction,density_g_per_cm3,lot,price,stock_kg,moisture,charge,property.softening,"
    "low\n"
    "zinc,lubricant,40 %,1.1,L-1,3,20,0.01,2,120,\n"
    "amber,binder,0.6,1.1,,,,,,,0.5\n";

TEST(RecipeFile, ReadsTomlAndCsvAlike) {
  for (const auto& read : {recipe_from_toml(toml, "r.toml"), recipe_from_csv(csv, "r.csv")}) {
    ASSERT_TRUE(read) << read.error().text;
    ASSERT_EQ(read->ingredients.size(), 2U);
    const auto& zinc = read->ingredients[0];
    EXPECT_EQ(zinc.name, "zinc");  // in the order written
    EXPECT_EQ(zinc.role, Role::lubricant);
    EXPECT_DOUBLE_EQ(zinc.fraction, 0.4);
    EXPECT_DOUBLE_EQ(zinc.density_kg_per_m3, 1100.0);
    EXPECT_EQ(zinc.lot, "L-1");
    EXPECT_EQ(zinc.price_per_kg, 3.0);
    EXPECT_EQ(zinc.stock_kg, 20.0);
    EXPECT_DOUBLE_EQ(zinc.moisture, 0.01);
    EXPECT_EQ(zinc.charge, 2);
    EXPECT_EQ(zinc.properties.at("softening"), 120.0);
    EXPECT_EQ(read->ingredients[1].share.low, 0.5);
    EXPECT_FALSE(read->ingredients[1].share.high);
  }
  const auto read = recipe_from_toml(toml, "r.toml");
  EXPECT_EQ(read->roles.at(0).role, Role::binder);
  EXPECT_TRUE(read->properties.at(0).by_volume);
  EXPECT_DOUBLE_EQ(*read->density_kg_per_m3.high, 1200.0);
  EXPECT_DOUBLE_EQ(read->scales.at(0).division_kg, 1e-4);
  EXPECT_DOUBLE_EQ(read->mixer->volume_m3, 0.04);
  EXPECT_DOUBLE_EQ(read->mixer->most_fill, 0.8);  // never below the fill
}

TEST(RecipeFile, TakesPartsOfAnySum) {
  const auto read = recipe_from_csv(
      "name,role,parts,density\na,binder,100,1 g/cm3\nb,colour,25,2 g/cm3\n", "p.csv");
  ASSERT_TRUE(read);
  EXPECT_DOUBLE_EQ(read->ingredients[1].fraction, 0.2);
}

// Property: a text cut short or with one letter changed is read or refused in one line, never more.
TEST(RecipeFile, ReadsOrRefusesEveryDamagedText) {
  int refused = 0;
  for (const bool is_toml : {true, false}) {
    const std::string whole{is_toml ? toml : csv};
    for (std::size_t i = 0; i < whole.size(); i += 5)
      for (const char letter : {'\0', '"', '\n', '-', '9', '='}) {
        std::string text = letter == '\0' ? whole.substr(0, i) : whole;
        if (letter != '\0') text[i] = letter;
        const auto read = is_toml ? recipe_from_toml(text, "r") : recipe_from_csv(text, "r");
        if (read) continue;
        ++refused;
        EXPECT_EQ(read.error().text.find('\n'), std::string::npos) << read.error().text;
        EXPECT_TRUE(read.error().text.starts_with("r:")) << read.error().text;
      }
  }
  EXPECT_GT(refused, 300);
}

TEST(Weighed, AddsUpAnIngredientsLines) {
  const auto read =
      weighed_from_csv("by,ingredient,mass\nx,chalk,12 kg\ny,chalk,500 g\nx,resin,1 kg\n", "w.csv");
  ASSERT_TRUE(read);
  ASSERT_EQ(read->size(), 2U);
  EXPECT_DOUBLE_EQ(read->at(0).mass_kg, 12.5);
  EXPECT_FALSE(weighed_from_csv("ingredient,mass_g\nchalk,-1\n", "w.csv"));
  EXPECT_FALSE(weighed_from_csv("ingredient,mass_g\nchalk,inf\n", "w.csv"));
  EXPECT_FALSE(weighed_from_csv("ingredient\nchalk\n", "w.csv"));
}

TEST(Profile, ReadsItsPoints) {
  const auto read = profile_from_csv("radius,thickness_mm\n3.6 mm,2\n150 mm,1.8\n", "p.csv");
  ASSERT_TRUE(read) << read.error().text;
  EXPECT_DOUBLE_EQ(read->points.at(1).radius_m, 0.15);
  EXPECT_DOUBLE_EQ(read->points.at(1).thickness_m, 1.8e-3);
}

}  // namespace
}  // namespace goodside::intake
