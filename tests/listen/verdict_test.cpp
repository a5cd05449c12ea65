#include "listen/verdict.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <vector>

#include "listen/verdict_words.hpp"

namespace goodside::listen {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using works::Audibility;
using works::FaultKind;

works::FaultEvent fault(double programme_s, double peak_dB, Audibility audibility) {
  works::FaultEvent event;
  event.programme_s = programme_s;
  event.radius_m = 0.1042;
  event.peak_dB = peak_dB;
  event.audibility = audibility;
  return event;
}

works::ListeningReport heard_report() {
  works::ListeningReport report;
  report.heard = {{0.0, 120.0}};
  report.alignment.emplace().found = true;
  return report;
}

std::vector<std::string> rules(const Judgement& judgement) {
  std::vector<std::string> names;
  for (const auto& reason : judgement.verdict.reasons) names.push_back(reason.rule);
  return names;
}

TEST(Verdict, PassesWhatBreaksNoLimit) {
  works::Limits limits;
  limits.name = "12in-33";
  limits.plain_faults_per_side = 2;
  auto report = heard_report();
  report.faults = {fault(1.0, -30.0, Audibility::plain), fault(2.0, -30.0, Audibility::plain)};
  const auto judgement = judge(report, limits);
  EXPECT_TRUE(judgement.verdict.pass);
  EXPECT_EQ(judgement.verdict.limits, "12in-33");
  EXPECT_TRUE(judgement.verdict.reasons.empty());
  EXPECT_TRUE(judgement.remarks.empty());
}

TEST(Verdict, SaysWhereTheLoudestPlainFaultLies) {
  works::Limits limits;
  limits.plain_faults_per_side = 2;
  auto report = heard_report();
  report.faults = {fault(1.0, -30.0, Audibility::plain),
                   fault(83.456, -12.0, Audibility::plain),
                   fault(90.0, -40.0, Audibility::plain),
                   fault(95.0, -1.0, Audibility::slight)};
  const auto judgement = judge(report, limits);
  EXPECT_FALSE(judgement.verdict.pass);
  ASSERT_EQ(judgement.verdict.reasons.size(), 1U);
  EXPECT_EQ(judgement.verdict.reasons[0].text,
            "3 plain faults, limit 2: the loudest at 1:23.456, 104.2 mm from the centre");
  EXPECT_EQ(judgement.verdict.reasons[0].value, 3.0);
  EXPECT_EQ(judgement.verdict.reasons[0].limit, 2.0);
}

TEST(Verdict, RefusesACutThatWasNotFoundForThatAlone) {
  works::Limits limits;
  limits.plain_faults_per_side = 0;
  auto report = heard_report();
  report.alignment->found = false;
  report.faults = {fault(1.0, -3.0, Audibility::plain)};
  const auto judgement = judge(report, limits);
  EXPECT_FALSE(judgement.verdict.pass);
  EXPECT_THAT(rules(judgement), ElementsAre("alignment"));
  report.alignment.reset();  // heard without a reference: no alignment to miss
  EXPECT_THAT(rules(judge(report, limits)), ElementsAre("plain_faults_per_side"));
}

TEST(Verdict, PutsTheWorstReasonFirst) {
  works::Limits limits;
  limits.jumps_allowed = false;
  limits.eccentricity_m = 0.2e-3;
  limits.hum_dB = -60.0;
  limits.balance_dB = 1.0;
  auto report = heard_report();
  report.wow.eccentricity_m = 0.4e-3;  // 6.02 dB over
  report.wow.eccentricity_sigma_m = 5e-6;
  report.wow.eccentricity_direction_deg = 134.0;
  report.noise.hum_dB = -50.0;      // 10 dB over
  report.levels.balance_dB = -1.5;  // 0.5 dB over
  report.faults = {fault(10.0, -3.0, Audibility::plain)};
  report.faults[0].kind = FaultKind::repeat;
  const auto judgement = judge(report, limits);
  EXPECT_THAT(rules(judgement),
              ElementsAre("jumps_allowed", "hum_dB", "eccentricity_m", "balance_dB"));
  const auto& reasons = judgement.verdict.reasons;
  EXPECT_EQ(reasons[0].text,
            "the stylus left the groove once, not allowed: a repeat at 0:10.000, 104.2 mm from the "
            "centre");
  EXPECT_EQ(reasons[1].text, "Hum at -50.0 dB, limit -60 dB");
  EXPECT_EQ(reasons[2].text,
            "hole 0.400 mm off the groove's centre (± 0.005 mm), limit 0.2 mm: the centre lies "
            "towards 134°");
  EXPECT_EQ(reasons[3].text, "left channel 1.5 dB louder than in the cut, limit 1 dB");
}

// A measure at its limit passes; the next number up fails.
TEST(Verdict, TakesTheLimitItselfAsGood) {
  works::Limits limits;
  limits.weighted_2sigma = 0.001;
  limits.once_per_rev_peak = 0.002;
  limits.rumble_dB = -40.0;
  auto report = heard_report();
  report.wow.weighted_2sigma = 0.001;
  report.wow.once_per_rev_peak = works::OncePerRevPeak{0.001, 0.002};
  report.noise.rumble_dB = -40.0;
  EXPECT_TRUE(judge(report, limits).verdict.pass);
  report.wow.weighted_2sigma = 0.00101;
  report.wow.once_per_rev_peak->inner = 0.0021;
  report.noise.rumble_dB = -39.9;
  EXPECT_EQ(judge(report, limits).verdict.reasons.size(), 3U);
}

TEST(Verdict, RemarksOnWhatCouldNotBeJudgedAndDoesNotFailIt) {
  works::Limits limits;
  limits.eccentricity_m = 0.2e-3;
  limits.echo_dB = -40.0;
  limits.rumble_dB = -40.0;
  auto report = heard_report();
  report.undetermined = {{"wow", "heard for 7 turns only"},
                         {"noise.echo.lead_dB", "music too much like itself"}};
  const auto judgement = judge(report, limits);
  EXPECT_TRUE(judgement.verdict.pass);
  EXPECT_THAT(
      judgement.remarks,
      ElementsAre("Eccentricity was not judged: heard for 7 turns only.",
                  "Rumble was not judged: it could not be measured.",
                  "Echo of the neighbouring turn was not judged: music too much like itself."));
}

TEST(Verdict, CountsSlightFaultsAMinuteHeard) {
  works::Limits limits;
  limits.slight_faults_per_min = 1.0;
  auto report = heard_report();  // two minutes
  report.faults = {fault(1.0, -50.0, Audibility::slight), fault(2.0, -45.0, Audibility::slight)};
  EXPECT_TRUE(judge(report, limits).verdict.pass);
  report.faults.push_back(fault(3.0, -60.0, Audibility::slight));
  const auto judgement = judge(report, limits);
  ASSERT_EQ(judgement.verdict.reasons.size(), 1U);
  EXPECT_EQ(judgement.verdict.reasons[0].text,
            "1.5 slight faults a minute, limit 1: 3 in 2:00.000 heard, the loudest at 0:02.000, "
            "104.2 mm from the centre");
}

// Gain and balance are taken off before tone is judged; bands outside 250 Hz to 9 kHz are not.
TEST(Verdict, JudgesToneApartFromGainAndBalance) {
  works::Limits limits;
  limits.level_deviation_dB = 1.5;
  auto report = heard_report();
  for (int n = -9; n <= 12; ++n)
    report.levels.third_octave.push_back({1000.0 * std::exp2(n / 3.0), -6.0, -8.0});
  report.levels.third_octave.front().left_dB = -30.0;  // 125 Hz
  report.levels.third_octave.back().left_dB = -30.0;   // 16 kHz
  EXPECT_TRUE(judge(report, limits).verdict.pass);
  report.levels.third_octave[15].right_dB -= 3.0;  // 4 kHz, one of 16 bands
  const auto judgement = judge(report, limits);
  ASSERT_EQ(judgement.verdict.reasons.size(), 1U);
  EXPECT_NEAR(judgement.verdict.reasons[0].value, 3.0 * 15.0 / 16.0, 1e-9);
  EXPECT_THAT(judgement.verdict.reasons[0].text,
              HasSubstr("4000 Hz is 2.8 dB too weak on the right"));
}

TEST(Verdict, PrefersTheDriveCorrectedSpeedAndJudgesTheFullestPattern) {
  works::Limits limits;
  limits.speed_error = 0.002;
  limits.worst_pattern_faults = 3;
  auto report = heard_report();
  report.alignment->speed_error_ppm = -3000.0;
  works::Pattern pattern;
  pattern.kind = works::PatternKind::scatter;
  pattern.faults = {1, 2, 3, 4, 5, 6, 7, 8, 9};
  report.patterns = {pattern};
  pattern.kind = works::PatternKind::radial;
  pattern.faults = {1, 2, 3, 4};
  pattern.first_revolution = 12;
  pattern.last_revolution = 15;
  pattern.angle_deg = 87.4;
  report.patterns.push_back(pattern);
  const auto judgement = judge(report, limits);
  ASSERT_EQ(judgement.verdict.reasons.size(), 2U);
  EXPECT_EQ(judgement.verdict.reasons[0].text,
            "speed 0.30 % too low, limit 0.2 % (as measured, arm and sound card included)");
  EXPECT_EQ(judgement.verdict.reasons[1].text,
            "4 faults in one radial line, limit 3: turns 12 to 15, at 87°");
  report.alignment->drive_error_ppm = 100.0;
  EXPECT_THAT(rules(judge(report, limits)), ElementsAre("worst_pattern_faults"));
}

TEST(VerdictWords, WriteTimesAsTheyAreRead) {
  EXPECT_EQ(clock_time(83.456), "1:23.456");
  EXPECT_EQ(clock_time(59.9996), "1:00.000");
  EXPECT_EQ(clock_time(-0.25), "-0:00.250");
  EXPECT_EQ(clock_time(-0.0001), "0:00.000");
}

}  // namespace
}  // namespace goodside::listen
