#include "disc/format.hpp"

#include <gtest/gtest.h>

#include "disc/groove.hpp"

namespace goodside::disc {
namespace {

// Published: IEC 60098:1987, largest diameters of the recorded surface 292.6, 241.8 and 168.3 mm,
// printed to 0.1 mm.
TEST(Format, BeginsWhereTheStandardLetsIt) {
  EXPECT_NEAR(format("12in-33")->outer_radius_m, 0.2926 / 2.0, 0.05e-3);
  EXPECT_NEAR(format("10in-78")->outer_radius_m, 0.2418 / 2.0, 0.05e-3);
  EXPECT_NEAR(format("7in-45")->outer_radius_m, 0.1683 / 2.0, 0.05e-3);
}

TEST(Format, EveryOneMakesAGroove) {
  for (const Format& each : formats()) {
    const auto groove = Groove::of(cut_side(each), 180.0);
    ASSERT_TRUE(groove) << each.name;
    EXPECT_DOUBLE_EQ(groove->radius_m(0.0), each.outer_radius_m);
    EXPECT_NEAR(groove->radius_m(180.0), each.inner_radius_m, 1e-12);
    EXPECT_LT(each.finishing_radius_m, each.inner_radius_m) << each.name;
    EXPECT_GT(each.finishing_radius_m, each.label_diameter_m / 2.0) << each.name;
    EXPECT_LT(each.outer_radius_m, each.disc_diameter_m / 2.0) << each.name;
    EXPECT_EQ(each.shellac_type, each.rpm > 70.0) << each.name;
  }
}

TEST(Format, RefusesAnUnknownNameAndListsTheKnown) {
  const auto unknown = cut_side("11in-33");
  ASSERT_FALSE(unknown);
  EXPECT_EQ(unknown.error().fault, Fault::not_found);
  EXPECT_NE(unknown.error().text.find("7in-77.92"), std::string::npos);
}

}  // namespace
}  // namespace goodside::disc
