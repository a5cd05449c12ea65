#include "intake/bench_profile.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace goodside::intake {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::StartsWith;

Result<BenchProfile> bench(std::string_view lines) {
  return bench_from_toml("[bench.one]\n" + std::string{lines}, "goodside.toml", "one");
}

std::string refusal(std::string_view lines) {
  const auto profile = bench(lines);
  return profile ? std::string{} : profile.error().text;
}

TEST(BenchProfile, IsReadInAnyUnit) {
  const auto profile = bench(R"(arm_length = "9 in"
arm_mount = "215 mm"
clock_error_ppm = -12.5
format = "12in-33"
rpm = "33 1/3"
outer_radius = "146 mm"
inner_radius = "6 cm"
pitch = "254 lpi"
cartridge = "moving magnet, spherical, 18 µm"
equalise = "riaa"
)");
  ASSERT_TRUE(profile) << profile.error().text;
  EXPECT_EQ(profile->name, "one");
  EXPECT_DOUBLE_EQ(*profile->arm_length_m, 0.2286);
  EXPECT_DOUBLE_EQ(*profile->arm_mount_m, 0.215);
  EXPECT_EQ(profile->clock_error_ppm, -12.5);
  EXPECT_EQ(profile->format, "12in-33");
  EXPECT_DOUBLE_EQ(*profile->rpm, 100.0 / 3.0);
  EXPECT_DOUBLE_EQ(*profile->outer_radius_m, 0.146);
  EXPECT_DOUBLE_EQ(*profile->inner_radius_m, 0.06);
  EXPECT_DOUBLE_EQ(*profile->pitch_m, 1e-4);
  EXPECT_EQ(profile->cartridge, "moving magnet, spherical, 18 µm");
  EXPECT_EQ(profile->equalise, "riaa");
  EXPECT_EQ(bench("rpm = 45")->rpm, 45.0);
}

TEST(BenchProfile, LeavesOpenWhatItDoesNotSay) {
  const auto profile = bench("");
  ASSERT_TRUE(profile);
  EXPECT_FALSE(profile->arm_length_m || profile->clock_error_ppm || profile->rpm ||
               profile->cartridge);
}

TEST(BenchProfile, RefusesASlipWithFileAndLine) {
  EXPECT_THAT(refusal("arm_length = 230\n"),
              AllOf(StartsWith("goodside.toml:2: bench.one.arm_length"), HasSubstr("\"230 mm\"")));
  EXPECT_THAT(refusal("arm_length = \"230\"\n"), StartsWith("goodside.toml:2: "));
  EXPECT_THAT(refusal("\npitch = \"-1 mm\"\n"), StartsWith("goodside.toml:3: "));
  EXPECT_THAT(refusal("outer_radius = \"0 mm\"\n"), HasSubstr("not above zero"));
  EXPECT_THAT(refusal("rpm = nan\n"), StartsWith("goodside.toml:2: "));
  EXPECT_THAT(refusal("rpm = true\n"), StartsWith("goodside.toml:2: "));
  EXPECT_THAT(refusal("clock_error_ppm = 5000\n"), HasSubstr("no sound card"));
  EXPECT_THAT(refusal("cartridge = 3\n"), HasSubstr("a text in quotes"));
  EXPECT_THAT(refusal("arm = \"230 mm\"\n"), HasSubstr("not a known key"));
  EXPECT_THAT(refusal("arm_length = \"230 mm\"\n"), HasSubstr("go together"));
  EXPECT_THAT(refusal("arm_length = \"210 mm\"\narm_mount = \"220 mm\"\n"),
              HasSubstr("past the spindle"));
  EXPECT_THAT(refusal("outer_radius = \"60 mm\"\ninner_radius = \"146 mm\"\n"),
              HasSubstr("more than inner_radius"));
}

TEST(BenchProfile, NamesTheBenchesThereAre) {
  const auto none = bench_from_toml("[bench.left]\n[bench.right]\n", "goodside.toml", "middle");
  ASSERT_FALSE(none);
  EXPECT_EQ(none.error().fault, Fault::not_found);
  EXPECT_THAT(none.error().text, HasSubstr("left, right"));
  EXPECT_EQ(bench_from_toml("", "goodside.toml", "x").error().fault, Fault::not_found);
}

}  // namespace
}  // namespace goodside::intake
