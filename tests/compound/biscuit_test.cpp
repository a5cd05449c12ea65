#include "compound/biscuit.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>

namespace goodside::compound {
namespace {

using std::numbers::pi;
using works::BiscuitRequest;

/// A plain plate of a given volume, 1 cm3 a gram of density 1.
BiscuitRequest plate(double diameter_m, double thickness_m, double density_kg_per_m3) {
  BiscuitRequest request;
  request.profile =
      *profile_of({.diameter_m = diameter_m, .hole_m = 0.0, .thickness_m = thickness_m});
  request.density_kg_per_m3 = density_kg_per_m3;
  return request;
}

// Second road: pi r^2 t of a plate, by hand: 300 mm, 1.9 mm; and the mean thicknesses that common
// masses of discs imply.
TEST(Profile, HasTheVolumeOfAPlate) {
  EXPECT_NEAR(profile_volume_m3(plate(0.3, 1.9e-3, 1.0).profile), 1.343031e-4, 5e-11);
  EXPECT_NEAR(biscuit(plate(0.301, 1.426e-3, 1380.0))->disc_kg, 0.140, 5e-5);
  EXPECT_NEAR(biscuit(plate(0.301, 1.833e-3, 1380.0))->disc_kg, 0.180, 5e-5);
  EXPECT_NEAR(biscuit(plate(0.175, 1.205e-3, 1380.0))->disc_kg, 0.040, 5e-5);
}

// Published: British patent 865,702: a 10-inch shellac disc of 170 to 184 g is 1.73 to 1.90 mm thick
// (the density it implies lies between 1.91 and 1.94 g/cm3).
TEST(Profile, MeetsThePatentsTenInchDisc) {
  EXPECT_NEAR(biscuit(plate(0.254, 1.73e-3, 1940.0))->disc_kg, 0.170, 0.0005);
  EXPECT_NEAR(biscuit(plate(0.254, 1.90e-3, 1911.0))->disc_kg, 0.184, 0.0005);
}

// Second road: rings added up one by one, and a cone against a thousand thin rings.
TEST(Profile, AddsLabelAndRim) {
  const PlainDisc disc{.diameter_m = 0.301,
                       .hole_m = 7.24e-3,
                       .thickness_m = 1.8e-3,
                       .label_diameter_m = 0.1,
                       .label_thickness_m = 2.2e-3,
                       .rim_width_m = 2e-3,
                       .rim_thickness_m = 2.3e-3};
  const auto ring = [](double from, double to, double t) {
    return pi * (to * to - from * from) * t;
  };
  EXPECT_NEAR(
      profile_volume_m3(*profile_of(disc)),
      ring(3.62e-3, 0.05, 2.2e-3) + ring(0.05, 0.1485, 1.8e-3) + ring(0.1485, 0.1505, 2.3e-3),
      1e-16);
  const works::DiscProfile cone{{{0.01, 1e-3}, {0.15, 2.5e-3}}};
  double thin = 0.0;
  constexpr int rings = 100000;
  for (int k = 0; k < rings; ++k) {
    const double share = (k + 0.5) / rings, radius = 0.01 + 0.14 * share;
    thin += 2.0 * pi * radius * (1e-3 + 1.5e-3 * share) * 0.14 / rings;
  }
  EXPECT_NEAR(profile_volume_m3(cone) / thin, 1.0, 1e-9);
}

// Second road: by hand: a V of 90 degrees, 0.05 mm wide, holds w^2/4 a metre of groove.
TEST(Grooves, TakeTheirSpiralsVolume) {
  const works::Grooves grooves{.outer_radius_m = 0.146,
                               .inner_radius_m = 0.0602,
                               .pitch_m = 1e-4,
                               .top_width_m = 5e-5,
                               .included_angle_deg = 90.0,
                               .sides = 2};
  const double length_m = pi * (0.146 * 0.146 - 0.0602 * 0.0602) / 1e-4;
  EXPECT_NEAR(groove_volume_m3(grooves), 2.0 * length_m * 6.25e-10, 1e-15);
  auto request = plate(0.301, 1.8e-3, 1380.0);
  const double without = biscuit(request)->disc_kg;
  request.grooves = grooves;
  EXPECT_NEAR(without - biscuit(request)->disc_kg, 1380.0 * groove_volume_m3(grooves), 1e-12);
}

// Property: a hot cavity shrinks by its linear shrinkage three times; a cold profile does not.
TEST(Biscuit, ShrinksAMouldsProfileAlone) {
  auto request = plate(0.301, 1.8e-3, 1380.0);
  const double cold = biscuit(request)->disc_kg;
  request.shrinkage = 0.004;
  EXPECT_EQ(biscuit(request)->disc_kg, cold);
  request.profile_of_mould = true;
  EXPECT_NEAR(biscuit(request)->disc_kg / cold, std::pow(0.996, 3), 1e-12);
}

// Second road: by hand: 180 g at 1.92 g/cm3 from a sheet of 4.5 mm; pucks of 140 g at 1.38 g/cm3.
TEST(Biscuit, IsCutFromTheSheet) {
  auto request = plate(0.3, 1.0, 1920.0);
  request.profile.points = {{0.0, 1.0e-3}, {std::sqrt(93.75e-6 / (pi * 1.0e-3)), 1.0e-3}};
  request.flash = 0.0;
  request.least_flash = 0.0;
  request.sheet_thickness_m = 4.5e-3;
  request.knife_m = 0.12;
  request.sheet_width_m = 0.5;
  const auto cut = biscuit(request)->cut;
  ASSERT_TRUE(cut);
  EXPECT_NEAR(cut->mass_kg, 0.180, 1e-12);
  EXPECT_NEAR(cut->area_m2, 208.3e-4, 0.05e-4);
  EXPECT_NEAR(cut->side_m, 0.144, 0.0005);
  EXPECT_NEAR(*cut->length_m, 208.333e-4 / 0.12, 1e-6);
  EXPECT_EQ(*cut->across, 4);
  EXPECT_NEAR(*cut->trim_m, 0.02, 1e-12);
  auto puck = plate(0.3, 101.449e-6 / (pi * 0.0225), 1380.0);
  puck.flash = puck.least_flash = 0.0;
  puck.puck_diameter_m = 0.1;
  EXPECT_NEAR(*biscuit(puck)->cut->puck_height_m, 12.917e-3, 5e-7);
  puck.puck_diameter_m = 0.075;
  EXPECT_NEAR(*biscuit(puck)->cut->puck_height_m, 22.963e-3, 5e-7);
}

/// A disc of 168 g.
BiscuitRequest disc_168() {
  return plate(0.3, 0.168 / 1900.0 / (pi * 0.0225), 1900.0);
}

// Published: SciPy 1.10: stats.norm, stats.t and stats.chi2 over a disc of 168 g, 1 % and 12 % flash.
TEST(Biscuit, FallsShortAsOftenAsScipySays) {
  auto request = disc_168();
  request.sigma_kg = 2.0e-3;
  request.division_kg = 1e-9;
  const auto told = biscuit(request);
  ASSERT_TRUE(told);
  EXPECT_NEAR(told->now->mean_kg, 0.17976, 1e-12);
  EXPECT_NEAR(told->now->short_chance / 2.3276592304860952e-07, 1.0, 1e-6);
  EXPECT_NEAR(told->now->thick_chance / 1.3345749015905316e-05, 1.0, 1e-6);
  EXPECT_NEAR(*told->aim_kg, 175.86046461233565e-3, 2e-9);
  EXPECT_NEAR(told->widest_sigma_kg, 3.4117467821344323e-3, 1e-9);
  EXPECT_NEAR(told->now->flash_kg, 11.76000000064664e-3, 1e-8);

  request.weighed_kg = {
      0.1782, 0.1791, 0.1804, 0.1810, 0.1796, 0.1802, 0.1789, 0.1808, 0.1799, 0.1805};
  const auto weighed = biscuit(request);
  ASSERT_TRUE(weighed);
  EXPECT_EQ(weighed->now->count, 10);
  EXPECT_NEAR(weighed->now->short_chance / 9.695534075936177e-07, 1.0, 1e-6);
  EXPECT_NEAR(weighed->now->thick_chance / 5.260562301076407e-06, 1.0, 1e-6);
  EXPECT_NEAR(*weighed->aim_kg, 173.74532216053322e-3, 2e-9);
  EXPECT_NEAR(*weighed->now->sigma_low_kg, 0.62049361e-3, 1e-9);
  EXPECT_NEAR(*weighed->now->sigma_high_kg, 1.64687623e-3, 1e-9);
}

// Property: at the aim the chance of falling short is the one allowed, and no lower on the scale.
TEST(Biscuit, AimsAsLowAsItMay) {
  auto request = disc_168();
  request.sigma_kg = 1.5e-3;
  for (const double chance : {0.1, 0.01, 1e-4}) {
    request.short_chance = chance;
    request.division_kg = 1e-9;
    EXPECT_NEAR(biscuit(request)->aimed->short_chance / chance, 1.0, 1e-5);
    request.division_kg = 1e-4;
    const auto rounded = biscuit(request);
    EXPECT_LE(rounded->aimed->short_chance, chance);
    EXPECT_NEAR(std::remainder(*rounded->aim_kg, 1e-4), 0.0, 1e-12);
  }
}

// Second road: thickness and knives in squares, by hand.
TEST(Biscuit, TakesItsScatterFromSheetAndKnives) {
  auto request = disc_168();
  request.sheet_thickness_m = 4.5e-3;
  request.sheet_thickness_sigma_m = 0.045e-3;
  request.knife_m = 0.14;
  request.knife_sigma_m = 0.7e-3;
  EXPECT_NEAR(biscuit(request)->now->sigma_kg, 0.17976 * std::hypot(0.01, 0.005), 1e-9);
}

TEST(Biscuit, SaysWhenTheScatterFitsNoMean) {
  auto request = disc_168();
  request.sigma_kg = 6e-3;
  const auto wide = biscuit(request);
  EXPECT_FALSE(wide->is_within);
  EXPECT_NE(wide->remarks.at(0).find("too wide"), std::string::npos);
  request.sigma_kg = wide->widest_sigma_kg * 0.999;
  request.division_kg = 1e-9;
  EXPECT_LE(biscuit(request)->aimed->thick_chance, request.thick_chance);
}

// Second road: what is charged is disc and flash; flash and scrapped discs come back.
TEST(Biscuit, GivesFlashAndScrapBack) {
  auto request = disc_168();
  request.flash = 0.07;
  EXPECT_NEAR(biscuit(request)->regrind_share, 0.07 / 1.07, 1e-12);
  request.scrap = 0.03;
  EXPECT_NEAR(biscuit(request)->regrind_share, (0.07 + 0.03) / 1.07, 1e-12);
}

TEST(Biscuit, RefusesWhatCannotBe) {
  const auto refusal = [](auto spoil) {
    auto request = disc_168();
    spoil(request);
    const auto said = biscuit(request);
    return said ? std::string{} : said.error().text;
  };
  EXPECT_EQ(refusal([](auto&) {}), "");
  EXPECT_EQ(refusal([](auto& r) { r.density_kg_per_m3 = -1920; }),
            "a density of -1.92 g/cm3 cannot be; give 0.5 to 10 g/cm3");
  EXPECT_EQ(refusal([](auto& r) { r.knife_m = 0.14; }),
            "knives cut a sheet; give the sheet's thickness, as 4.5 mm");
  const double not_a_number = std::numeric_limits<double>::quiet_NaN();
  EXPECT_NE(refusal([&](auto& r) { r.density_kg_per_m3 = not_a_number; }), "");
  EXPECT_NE(refusal([&](auto& r) { r.flash = not_a_number; }), "");
  EXPECT_NE(refusal([&](auto& r) { r.weighed_kg = {0.17, not_a_number}; }), "");
  EXPECT_NE(refusal([&](auto& r) { r.sigma_kg = -1.0; }), "");
  EXPECT_NE(refusal([](auto& r) {
              std::swap(r.profile.points[0].radius_m, r.profile.points[1].radius_m);
            }),
            "");
  EXPECT_NE(
      refusal([](auto& r) {
        r.grooves = works::Grooves{
            .outer_radius_m = 0.16, .inner_radius_m = 0.06, .pitch_m = 1e-4, .top_width_m = 5e-5};
      }),
      "");
  EXPECT_FALSE(profile_of({.diameter_m = 0.1, .hole_m = 0.2, .thickness_m = 1e-3}));
}

}  // namespace
}  // namespace goodside::compound
