#include "intake/limits.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "intake/audio_files.hpp"

namespace goodside::intake {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::StartsWith;

std::string refusal(std::string_view text) {
  const auto limits = limits_from_toml(text, "works/limits.toml", "12in-33");
  if (limits) return {};
  EXPECT_EQ(limits.error().fault, Fault::bad_input);
  EXPECT_EQ(limits.error().text.find('\n'), std::string::npos);
  return limits.error().text;
}

// Published: IEC 60098:1987 and JIS S 8502-1973, hole to groove spiral at most 0.2 mm at every
// diameter; IEC 60098:2020, 5.6, recording speed within 0.5 % of rated.
TEST(Limits, KeepThePublishedFigures) {
  for (const auto format : limit_formats()) {
    const auto limits = built_in_limits(format);
    EXPECT_EQ(limits.eccentricity_m, 0.2e-3) << format;
    EXPECT_EQ(limits.speed_error, 0.005) << format;
    EXPECT_EQ(limits.jumps_allowed, false) << format;
    EXPECT_EQ(limits.name, format);
  }
}

TEST(Limits, LetShellacHissAndTickSlightlyMoreThanVinyl) {
  const auto vinyl = built_in_limits("12in-33");
  for (const auto* format : {"10in-78", "12in-78", "10in-77.92"}) {
    const auto shellac = built_in_limits(format);
    EXPECT_GT(*shellac.weighted_noise_dB, *vinyl.weighted_noise_dB);
    EXPECT_GT(*shellac.slight_faults_per_min, *vinyl.slight_faults_per_min);
    EXPECT_LE(*shellac.plain_faults_per_side, 3);
  }
  EXPECT_LE(*vinyl.plain_faults_per_side, 2);
  EXPECT_EQ(built_in_limits("13in-33").name, "custom");
}

TEST(Limits, OfTheFileOverrideTheBuiltInOnesTableByTable) {
  const auto limits = limits_from_toml(R"(
title = "somebody else's table"
[limits.default]
plain_faults_per_side = 1
hum_dB = -50
rumble_dB = "not judged"
[limits."12in-33"]
plain_faults_per_side = 0
jumps_allowed = true
[limits."7in-45"]
plain_faults_per_side = 9
[bench.one]
rpm = 45
)",
                                       "works/limits.toml",
                                       "12in-33");
  ASSERT_TRUE(limits) << limits.error().text;
  EXPECT_EQ(limits->plain_faults_per_side, 0);
  EXPECT_EQ(limits->hum_dB, -50.0);
  EXPECT_EQ(limits->rumble_dB, std::nullopt);
  EXPECT_EQ(limits->jumps_allowed, true);
  EXPECT_EQ(limits->eccentricity_m, 0.2e-3);
  EXPECT_EQ(limits->name, "12in-33 of limits.toml");
}

TEST(Limits, StandWhereTheFileSaysNothingOfThem) {
  const auto limits = limits_from_toml("name = \"Works\"\n", "goodside.toml", "10in-78");
  ASSERT_TRUE(limits);
  EXPECT_EQ(limits->name, "10in-78");
  EXPECT_TRUE(limits_from_toml("", "goodside.toml", "10in-78"));
}

TEST(Limits, RefuseASlipWithFileAndLine) {
  EXPECT_THAT(refusal("[limits.default]\nhum_dB = -40\nplain_fault_per_side = 1\n"),
              AllOf(StartsWith("works/limits.toml:3: "), HasSubstr("not a known key")));
  EXPECT_THAT(refusal("[limits.default]\nhum_dB = [1]\n"),
              AllOf(StartsWith("works/limits.toml:2: limits.default.hum_dB"), HasSubstr("a list")));
  EXPECT_THAT(refusal("[limits.default]\n\nhum_dB = nan\n"),
              AllOf(StartsWith("works/limits.toml:3: "), HasSubstr("not a finite number")));
  EXPECT_THAT(refusal("[limits.default]\nhum_dB = -inf\n"), HasSubstr("not a finite number"));
  EXPECT_THAT(refusal("[limits.default]\nhum_dB = \"low\"\n"), HasSubstr("not judged"));
  EXPECT_THAT(refusal("[limits.default]\neccentricity_m = 0.2\n"), HasSubstr("outside 0 to 0.1"));
  EXPECT_THAT(refusal("[limits.default]\nplain_faults_per_side = 1.5\n"),
              HasSubstr("a whole number"));
  EXPECT_THAT(refusal("[limits.default]\nplain_faults_per_side = -1\n"), HasSubstr("outside"));
  EXPECT_THAT(refusal("[limits.default]\njumps_allowed = 1\n"), HasSubstr("true or false"));
  EXPECT_THAT(refusal("[limits.12in33]\nhum_dB = -40\n"),
              AllOf(StartsWith("works/limits.toml:1: "), HasSubstr("not a format")));
  EXPECT_THAT(refusal("limits = 3\n"), HasSubstr("where a table should"));
  EXPECT_THAT(refusal("[limits.default]\nhum_dB = \n"),
              AllOf(StartsWith("works/limits.toml:2: "), HasSubstr("not TOML")));
  // A slip in the table of another format is found today, not on the day it is needed.
  EXPECT_THAT(refusal("[limits.\"7in-45\"]\nhum = 3\n"), HasSubstr("not a known key"));
}

TEST(Limits, SurviveNestingThatWouldOverflowTheParser) {
  EXPECT_THAT(refusal("a = " + std::string(100'000, '[')), HasSubstr("nested too deeply"));
  std::string dotted = "a";
  for (int i = 0; i < 100'000; ++i) dotted += ".a";
  EXPECT_THAT(refusal(dotted + " = 1"), HasSubstr("nested too deeply"));
  EXPECT_THAT(refusal(std::string(2'000'000, ' ')), HasSubstr("larger than"));
}

bool equal(const works::Limits& a, const works::Limits& b) {
  const auto all = [](const works::Limits& l) {
    return std::tuple{l.name,
                      l.plain_faults_per_side,
                      l.slight_faults_per_min,
                      l.worst_pattern_faults,
                      l.jumps_allowed,
                      l.loudest_fault_dB,
                      l.eccentricity_m,
                      l.speed_error,
                      l.once_per_rev_peak,
                      l.weighted_2sigma,
                      l.weighted_noise_dB,
                      l.rumble_dB,
                      l.hum_dB,
                      l.echo_dB,
                      l.balance_dB,
                      l.level_deviation_dB};
  };
  return all(a) == all(b);
}

// Property: parse after print is identity, for the defaults and for a set with every odd value.
TEST(Limits, PrintAsTomlThatReadsBackTheSame) {
  const auto text = default_limits_toml();
  for (const auto format : limit_formats()) {
    const auto read = limits_from_toml(text, "defaults", format);
    ASSERT_TRUE(read) << read.error().text;
    EXPECT_TRUE(equal(*read, built_in_limits(format))) << format;
  }
  works::Limits odd = built_in_limits("12in-45");
  odd.name = "a \"quoted\" \\ name\nof two lines, Grünau";
  odd.hum_dB = -1.0 / 3.0;
  odd.plain_faults_per_side.reset();
  odd.weighted_2sigma = 1e-9;
  const auto read = limits_from_toml(limits_toml(odd, "12in-45"), "odd", "12in-45");
  ASSERT_TRUE(read) << read.error().text;
  EXPECT_TRUE(equal(*read, odd));
}

TEST(Limits, AreReadFromAFile) {
  const test::TemporaryFolder folder;
  const auto path = folder.file("limits.toml");
  test::write_bytes(path, "[limits.default]\nname = \"ours\"\n");
  EXPECT_EQ(read_limits(path, "12in-33")->name, "ours");
  EXPECT_EQ(read_limits(folder.file("none"), "12in-33").error().fault, Fault::not_found);
}

}  // namespace
}  // namespace goodside::intake
