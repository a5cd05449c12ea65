#include "listen/learn_limits.hpp"

#include <gmock/gmock.h>

#include <algorithm>
#include <limits>
#include <string>
#include <vector>

#include "listen/bench_reports.hpp"
#include "listen/verdict.hpp"

namespace goodside::listen {
namespace {

using testing::HasSubstr;
using works::Limits;

std::size_t index_of(std::string_view rule) {
  const auto all = judged_measures();
  return static_cast<std::size_t>(std::ranges::find(all, rule, &JudgedMeasure::rule) - all.begin());
}

ListenedDisc disc(const std::string& path, bool passed, double noise_dB, double offset_m = 0.0) {
  ListenedDisc one{.path = path, .passed = passed, .measured = {}};
  one.measured.placed = true;
  one.measured.values[index_of("weighted_noise_dB")] = noise_dB;
  one.measured.values[index_of("eccentricity_m")] = offset_m;
  return one;
}

const works::LearnedMeasure& of(const works::LearnedLimits& learned, std::string_view rule) {
  return learned.measures[index_of(rule)];
}

Limits old_limits() {
  Limits limits;
  limits.weighted_noise_dB = -40.0;
  limits.eccentricity_m = 0.2e-3;
  return limits;
}

/// Listeners fail what is over -50 dB.
std::vector<ListenedDisc> discs_by_noise() {
  std::vector<ListenedDisc> all;
  for (int k = 0; k < 12; ++k) all.push_back(disc("good", true, -62.0 + k));
  for (int k = 0; k < 12; ++k) all.push_back(disc("bad", false, -49.0 + k));
  return all;
}

TEST(LearnLimits, FindsWhereTheListenersDraw) {
  const auto learned = learn_limits(discs_by_noise(), {.format = "12in-33", .from = old_limits()});
  ASSERT_TRUE(learned.limits.weighted_noise_dB);
  EXPECT_GE(*learned.limits.weighted_noise_dB, -51.0);
  EXPECT_LT(*learned.limits.weighted_noise_dB, -49.0);
  EXPECT_EQ(learned.learned.agreed(), 24);
  EXPECT_TRUE(learned.misses.empty());
  EXPECT_GT(of(learned, "weighted_noise_dB").gained, 2);
  // Left out, the disc beside the gap moves it: at most one may go wrong.
  EXPECT_GE(learned.left_out.agreed(), 23);
  EXPECT_LT(learned.left_out.low, learned.left_out.share);
}

TEST(LearnLimits, KeepsALimitThatNothingSpeaksAgainst) {
  const auto learned = learn_limits(discs_by_noise(), {.format = "12in-33", .from = old_limits()});
  EXPECT_EQ(learned.limits.eccentricity_m, 0.2e-3);
  EXPECT_EQ(of(learned, "eccentricity_m").gained, 0);
  EXPECT_THAT(of(learned, "eccentricity_m").why, HasSubstr("kept"));
  EXPECT_FALSE(learned.limits.rumble_dB);
  EXPECT_THAT(of(learned, "rumble_dB").why, HasSubstr("not judged"));
}

TEST(LearnLimits, LearnsNothingFromTooFewDiscs) {
  auto few = discs_by_noise();
  few.erase(few.begin() + 16, few.end());  // twelve passed, four failed
  const auto learned = learn_limits(few, {.format = "12in-33", .from = old_limits()});
  EXPECT_EQ(learned.limits.weighted_noise_dB, -40.0);
  EXPECT_EQ(learned.left_out.discs(), 0);
  EXPECT_THAT(of(learned, "weighted_noise_dB").why, HasSubstr("5 of each are needed"));
}

// Property: where listeners judge by lot, a limit is learned no oftener than the sign test's 1 in
// 20; of 60 works, 4 sigma: 10.
TEST(LearnLimits, LearnsNothingWhereListenersJudgeByLot) {
  int learned_something = 0;
  for (std::uint64_t works = 0; works < 60; ++works) {
    test::Draws draws{works};
    std::vector<ListenedDisc> all;
    for (int k = 0; k < 40; ++k)
      all.push_back(disc("lot", draws.chance(0.5), -52.0 + 16.0 * draws.uniform(), 1e-4));
    const auto learned = learn_limits(all, {.format = "12in-33", .from = old_limits()});
    learned_something += learned.limits.weighted_noise_dB != -40.0 ? 1 : 0;
  }
  EXPECT_LE(learned_something, 10);
}

TEST(LearnLimits, NamesTheMissesWithTheirReason) {
  auto all = discs_by_noise();
  all.push_back(disc("quiet-but-failed", false, -55.5));
  all.push_back(disc("loud-but-passed", true, -39.5));
  const auto learned = learn_limits(all, {.format = "12in-33", .from = old_limits()});
  ASSERT_EQ(learned.misses.size(), 2U);
  EXPECT_EQ(learned.misses[0].path, "quiet-but-failed");
  EXPECT_FALSE(learned.misses[0].listeners_passed);
  EXPECT_THAT(learned.misses[0].why, HasSubstr("within every limit"));
  EXPECT_EQ(learned.misses[1].path, "loud-but-passed");
  EXPECT_THAT(learned.misses[1].why, HasSubstr("surface noise: -39.5 dB, limit"));
}

TEST(LearnLimits, PassesOverADiscThatIsAnother) {
  auto all = discs_by_noise();
  all.push_back({.path = "other-title", .passed = false, .measured = {}});
  const auto learned = learn_limits(all, {.format = "12in-33", .from = old_limits()});
  EXPECT_EQ(learned.learned.discs(), 24);
  EXPECT_THAT(learned.remarks, testing::ElementsAre(HasSubstr("other-title")));
}

// Second road: every pair of limits on a fine grid. Two measures and noisy listeners; no pair is
// cheaper than what was learned, but by the votes that a move needs.
TEST(LearnLimits, NoPairOfLimitsOnAGridIsCheaper) {
  for (const double weighs : {1.0, 3.0}) {
    test::Draws draws{21};
    std::vector<ListenedDisc> all;
    for (int k = 0; k < 80; ++k) {
      const double noise_dB = -62.0 + 24.0 * draws.uniform(), offset_m = 4e-4 * draws.uniform();
      const bool good = noise_dB < -48.0 && offset_m < 2.8e-4;
      all.push_back(disc("d", good != draws.chance(0.08), noise_dB, offset_m));
    }
    const auto learned =
        learn_limits(all, {.format = "12in-33", .from = old_limits(), .missed_weighs = weighs});
    const auto cost = [&](double noise_dB, double offset_m) {
      double sum = 0.0;
      for (const auto& one : all) {
        const bool held = *one.measured.values[index_of("weighted_noise_dB")] > noise_dB ||
                          *one.measured.values[index_of("eccentricity_m")] > offset_m;
        if (one.passed && held) sum += 1.0;
        if (!one.passed && !held) sum += weighs;
      }
      return sum;
    };
    double least = std::numeric_limits<double>::infinity();
    for (int i = 0; i <= 240; ++i)
      for (int k = 0; k <= 200; ++k) least = std::min(least, cost(-62.0 + 0.1 * i, 2e-6 * k));
    const double found = cost(*learned.limits.weighted_noise_dB, *learned.limits.eccentricity_m);
    EXPECT_LE(found, least + 1e-9) << weighs;
    EXPECT_GT(of(learned, "weighted_noise_dB").gained, 0);
    EXPECT_GT(of(learned, "eccentricity_m").gained, 0);
  }
}

// The figures are the verdict's own: held against any limits, they say what it says.
TEST(JudgedValues, AreWhatTheVerdictCompares) {
  auto report = test::clean_play("side.wav");
  for (int k = 0; k < 3; ++k) test::add_fault(report, 100.0 + k);
  test::add_fault(report, 300.0, works::Audibility::slight);
  report.alignment->speed_error_ppm = -3000.0;
  report.levels.balance_dB = -1.5;
  const auto values = judged_values(report);
  EXPECT_TRUE(values.placed);
  EXPECT_EQ(values.values[index_of("plain_faults_per_side")], 3.0);
  EXPECT_NEAR(*values.values[index_of("slight_faults_per_min")], 1.0 / 20.0, 1e-12);
  EXPECT_EQ(values.values[index_of("worst_pattern_faults")], 0.0);
  EXPECT_NEAR(*values.values[index_of("speed_error")], 3e-3, 1e-12);
  EXPECT_EQ(values.values[index_of("balance_dB")], 1.5);
  EXPECT_EQ(values.values[index_of("weighted_noise_dB")], -60.0);
  EXPECT_FALSE(values.values[index_of("rumble_dB")]);
  for (std::size_t m = 0; m < judged_count; ++m) {
    if (!values.values[m]) continue;
    Limits limits;
    set_limit(limits, judged_measures()[m], *values.values[m]);
    EXPECT_TRUE(judge(report, limits).verdict.pass) << judged_measures()[m].rule;
  }
}

}  // namespace
}  // namespace goodside::listen
