#include "listen/listen_alone.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <vector>

#include "listen/capture_noise.hpp"
#include "listen/prediction_faults.hpp"
#include "support/formula_source.hpp"

namespace goodside::listen {
namespace {

using ::testing::HasSubstr;
constexpr double rate_Hz = 48000.0;

/// Stereo samples made once.
struct Recording {
  explicit Recording(double seconds)
      : left(static_cast<std::size_t>(seconds * rate_Hz)), right(left.size()) {}

  [[nodiscard]] testing::FormulaSource source(int channels = 2) const {
    return {{rate_Hz, channels, static_cast<double>(left.size()) / rate_Hz},
            [this](double time_s, int channel) {
              const auto at = static_cast<std::size_t>(std::llround(time_s * rate_Hz));
              return static_cast<double>(channel == 0 ? left[at] : right[at]);
            }};
  }
  [[nodiscard]] double duration_s() const { return static_cast<double>(left.size()) / rate_Hz; }

  std::vector<float> left, right;
};

/// Coloured noise x[n] = 1.5 x[n-1] - 0.7 x[n-2] + e[n], separate in the two channels, `level` rms of e.
Recording surface(double seconds, double level, unsigned seed = 1) {
  Recording made{seconds};
  std::mt19937 engine{seed};
  std::normal_distribution<double> draw{0.0, level};
  for (auto* channel : {&made.left, &made.right}) {
    double one = 0.0;
    double two = 0.0;
    for (float& sample : *channel) {
      const double now = 1.5 * one - 0.7 * two + draw(engine);
      two = one;
      one = now;
      sample = static_cast<float>(now);
    }
  }
  return made;
}

/// A cartridge's ring of half a millisecond.
void strike(std::vector<float>& channel, double at_s, double peak) {
  const auto first = static_cast<std::size_t>(std::llround(at_s * rate_Hz));
  for (std::size_t j = 0; j < 24; ++j)
    channel[first + j] += static_cast<float>(peak * std::exp(-static_cast<double>(j) / 5.0) *
                                             std::cos(0.9 * static_cast<double>(j)));
}

PredictionFindings find(const Recording& recording, int jobs = 2, int channels = 2) {
  auto found = find_prediction_faults(recording.source(channels), {.jobs = jobs}, {});
  EXPECT_TRUE(found);
  return *found;
}

// Property: each tick is found once, at its first sample, in its channel, with its own peak.
TEST(PredictionFaults, FindsTicksInNoiseWhereTheyAre) {
  Recording recording = surface(20.0, 1e-3);
  const double times_s[] = {1.3, 4.001, 5.9999, 8.7, 11.98, 17.123};
  for (const double at_s : times_s) strike(recording.left, at_s, 0.1);
  const auto found = find(recording);
  ASSERT_EQ(found.faults.size(), std::size(times_s));
  for (std::size_t k = 0; k < found.faults.size(); ++k) {
    const PredictionFault& fault = found.faults[k];
    EXPECT_NEAR(fault.at_s, times_s[k], 2.5 / rate_Hz);
    EXPECT_EQ(fault.named.channel, works::FaultChannel::left);
    EXPECT_EQ(fault.named.kind, works::FaultKind::tick);
    EXPECT_EQ(fault.named.plane, works::Plane::mixed);
    EXPECT_NEAR(fault.features.peak_dB, -20.0, 1.0);
    EXPECT_LT(fault.duration_s, 1e-3);
  }
}

TEST(PredictionFaults, TellsThePlaneOfATick) {
  Recording recording = surface(12.0, 1e-3);
  strike(recording.left, 3.0, 0.1);
  strike(recording.right, 3.0, 0.1);
  strike(recording.left, 7.0, 0.1);
  strike(recording.right, 7.0, -0.1);
  const auto found = find(recording);
  ASSERT_EQ(found.faults.size(), 2U);
  EXPECT_EQ(found.faults[0].named.plane, works::Plane::lateral);
  EXPECT_EQ(found.faults[1].named.plane, works::Plane::vertical);
  EXPECT_EQ(found.faults[1].named.channel, works::FaultChannel::both);
}

// Property: two minutes of Gaussian noise hold no fault: expected 1 at the set rate before the neighbourhood is asked.
TEST(PredictionFaults, NoiseAloneHoldsNone) {
  EXPECT_EQ(find(surface(120.0, 1e-3, 7)).faults.size(), 0U);
}

// Property: what goes on is no tick: a voice's pulses every 8 ms, and bursts of 30 ms.
TEST(PredictionFaults, PulsesOfAVoiceAndConsonantsAreNoFaults) {
  Recording recording = surface(20.0, 1e-3);
  for (double at_s = 2.0; at_s < 6.0; at_s += 8e-3) {
    strike(recording.left, at_s, 0.1);
    strike(recording.right, at_s, 0.1);
  }
  const Recording loud = surface(20.0, 2e-2, 3);
  for (const double from_s : {9.0, 10.5, 13.0, 15.2})
    for (std::size_t j = 0; j < 1440; ++j) {
      const std::size_t at = static_cast<std::size_t>(from_s * rate_Hz) + j;
      recording.left[at] += loud.left[at];
      recording.right[at] += loud.right[at];
    }
  const auto found = find(recording);
  // The first pulse and the last may stand alone on one side only; neither counts.
  EXPECT_EQ(found.faults.size(), 0U);
}

TEST(PredictionFaults, AreTheSameForAnyNumberOfJobsAndInMono) {
  Recording recording = surface(31.0, 1e-3);
  for (double at_s = 0.7; at_s < 30.5; at_s += 2.9) strike(recording.left, at_s, 0.08);
  recording.right = recording.left;
  const auto one = find(recording, 1);
  const auto three = find(recording, 3);
  const auto mono = find(recording, 2, 1);
  ASSERT_EQ(one.faults.size(), 11U);
  ASSERT_EQ(three.faults.size(), one.faults.size());
  ASSERT_EQ(mono.faults.size(), one.faults.size());
  EXPECT_EQ(one.line_dB, three.line_dB);
  for (std::size_t k = 0; k < one.faults.size(); ++k) {
    EXPECT_EQ(one.faults[k].at_s, three.faults[k].at_s);
    EXPECT_EQ(one.faults[k].fault_energy, three.faults[k].fault_energy);
    EXPECT_EQ(one.faults[k].at_s, mono.faults[k].at_s);
  }
}

TEST(PredictionFaults, StopsWhenAsked) {
  const Recording recording = surface(8.0, 1e-3);
  const auto stopped = find_prediction_faults(recording.source(), {}, [](double) { return false; });
  ASSERT_FALSE(stopped);
  EXPECT_EQ(stopped.error().fault, Fault::conflict);
}

Recording tone(double seconds, double frequency_Hz, double amplitude) {
  Recording made{seconds};
  for (std::size_t n = 0; n < made.left.size(); ++n)
    made.left[n] = static_cast<float>(amplitude * std::sin(2.0 * std::numbers::pi * frequency_Hz *
                                                           static_cast<double>(n) / rate_Hz));
  made.right = made.left;
  return made;
}

CaptureNoiseFound noise_of(const Recording& recording) {
  auto found =
      measure_noise(recording.source(), {.rpm = 100.0 / 3.0, .disturbed = {}, .jobs = 2}, {});
  EXPECT_TRUE(found);
  return *found;
}

// Published: IEC 61672-1, table of A-weighting: 0 dB at 1 kHz, -8.6 dB at 250 Hz (251.19 Hz exact), printed to 0.1 dB.
TEST(CaptureNoise, WeighsATonePublished) {
  EXPECT_NEAR(*noise_of(tone(8.0, 1000.0, 0.1)).noise.weighted_dB, -20.0, 0.05);
  EXPECT_NEAR(*noise_of(tone(8.0, 251.19, 0.1)).noise.weighted_dB, -28.6, 0.1);
}

// Property: the quiet stretch is what counts; 3 s of surface between programme 40 dB louder.
TEST(CaptureNoise, ReadsTheSurfaceInAPause) {
  Recording recording = surface(20.0, 1e-3);
  const Recording pure = recording;
  const Recording loud = surface(20.0, 0.1, 5);
  for (std::size_t n = 0; n < loud.left.size(); ++n) {
    const double time_s = static_cast<double>(n) / rate_Hz;
    if (time_s > 8.0 && time_s < 11.0) continue;
    recording.left[n] += loud.left[n];
    recording.right[n] += loud.right[n];
  }
  const auto found = noise_of(recording);
  EXPECT_NEAR(*found.noise.weighted_dB, *noise_of(pure).noise.weighted_dB, 0.3);
  EXPECT_GE(found.quietest.from_s, 7.9);
  EXPECT_LE(found.quietest.to_s, 11.1);
  EXPECT_FALSE(found.noise.polar);
  EXPECT_FALSE(found.swing);
}

// Property: digital silence is no surface.
TEST(CaptureNoise, PassesOverDigitalSilence) {
  Recording recording = surface(12.0, 1e-3);
  const double level_dB = *noise_of(recording).noise.weighted_dB;
  std::fill_n(recording.left.begin(), 96000, 0.0F);
  std::fill_n(recording.right.begin(), 96000, 0.0F);
  EXPECT_NEAR(*noise_of(recording).noise.weighted_dB, level_dB, 0.2);
  const auto silent = noise_of(Recording{6.0});
  EXPECT_FALSE(silent.noise.weighted_dB);
  EXPECT_EQ(silent.undetermined.front().field, "noise.weighted_dB");
}

// Second road: noise of power 1 + 2 m cos(theta - 60 deg), m = 0.2, swings by 10 log10(1.4/0.6) = 3.68 dB.
TEST(CaptureNoise, ReadsTheSwingOfTheSurfaceRoundTheTurn) {
  Recording recording = surface(60.0, 1e-3);
  const auto even = noise_of(recording);
  EXPECT_FALSE(even.swing);
  ASSERT_TRUE(even.noise.polar);
  for (std::size_t n = 0; n < recording.left.size(); ++n) {
    const double turn = static_cast<double>(n) / rate_Hz / 1.8;
    const auto gain = static_cast<float>(
        std::sqrt(1.0 + 0.4 * std::cos(2.0 * std::numbers::pi * (turn - 1.0 / 6.0))));
    recording.left[n] *= gain;
    recording.right[n] *= gain;
  }
  const auto found = noise_of(recording);
  ASSERT_TRUE(found.swing);
  EXPECT_NEAR(found.swing->swing_dB, 3.68, 0.2);
  EXPECT_NEAR(found.swing->loudest_deg, 60.0, 3.0);
  ASSERT_TRUE(found.noise.polar);
  const auto& map = *found.noise.polar;
  EXPECT_NEAR(*map.dB[4] - *map.dB[16], 3.68, 0.8);  // 60 and 240 degrees, first four turns
}

TEST(CaptureNoise, FindsHum) {
  Recording recording = surface(30.0, 1e-4);
  const Recording hum = tone(30.0, 50.0, 1e-2);
  for (std::size_t n = 0; n < hum.left.size(); ++n) {
    recording.left[n] += hum.left[n];
    recording.right[n] += hum.right[n];
  }
  EXPECT_NEAR(*noise_of(recording).noise.hum_dB, -40.0, 0.5);
}

Options lp() {
  Options options;
  options.side.format = "12in-33";
  options.side.rpm = 100.0 / 3.0;
  options.side.outer_radius_m = 0.146;
  options.side.inner_radius_m = 0.06;
  options.side.pitch_m = 1e-4;
  options.limits.name = "12in-33";
  options.limits.plain_faults_per_side = 0;
  options.limits.worst_pattern_faults = 3;
  options.limits.weighted_noise_dB = -90.0;
  options.limits.loudest_fault_dB = -60.0;
  options.limits.eccentricity_m = 0.2e-3;
  options.limits.jumps_allowed = false;
  return options;
}

bool names(const works::ListeningReport& report, const std::string& field) {
  return std::ranges::any_of(
      report.undetermined, [&](const auto& one) { return one.field == field && !one.why.empty(); });
}

// Property: a scratch over six turns is one radial line; nothing has a place in a programme that is not there.
TEST(ListenAlone, SaysWhatItKnowsAndNamesWhatItCannot) {
  Recording recording = surface(30.0, 1e-3);
  for (int turn = 3; turn < 9; ++turn) strike(recording.left, 1.8 * turn + 0.45, 0.3);
  const auto heard = listen_alone(recording.source(), lp(), {});
  ASSERT_TRUE(heard);
  const works::ListeningReport& report = *heard;
  EXPECT_FALSE(report.reference);
  EXPECT_FALSE(report.alignment);
  EXPECT_TRUE(report.heard.empty());
  ASSERT_EQ(report.faults.size(), 6U);
  for (const works::FaultEvent& fault : report.faults) {
    EXPECT_FALSE(fault.programme_s || fault.revolution || fault.angle_deg || fault.radius_m);
    EXPECT_EQ(fault.audibility, works::Audibility::plain);
    EXPECT_NEAR(fault.peak_dB, -10.5, 1.0);
    EXPECT_GT(fault.excess_dB, 10.0);
  }
  ASSERT_EQ(report.patterns.size(), 1U);
  EXPECT_EQ(report.patterns[0].kind, works::PatternKind::radial);
  EXPECT_EQ(report.patterns[0].first_revolution, 3);
  EXPECT_NEAR(*report.patterns[0].angle_deg, 90.0, 0.5);
  for (const char* field : {"alignment",
                            "heard",
                            "faults.programme_s",
                            "faults.angle_deg",
                            "wow",
                            "levels",
                            "faults.slight",
                            "faults.dropout",
                            "faults.jump",
                            "noise.echo",
                            "noise.hum_dB"})
    EXPECT_TRUE(names(report, field)) << field;

  EXPECT_FALSE(report.verdict.pass);
  ASSERT_EQ(report.verdict.reasons.size(),
            2U);  // faults and their line: nothing whose zero is the cut's
  EXPECT_EQ(report.verdict.reasons[0].rule, "plain_faults_per_side");
  EXPECT_EQ(report.verdict.reasons[1].rule, "worst_pattern_faults");
  EXPECT_THAT(report.remarks.back(),
              HasSubstr("jumps and repeats, the loudest fault, eccentricity, surface noise"));
}

// Property: a tone of 3150 Hz played 0.5 % fast says so, and that is judged.
TEST(ListenAlone, TellsTheSpeedOfASteadyTone) {
  Recording recording = surface(20.0, 1e-4);
  const Recording played = tone(20.0, 3150.0 * 1.005, 0.2);
  for (std::size_t n = 0; n < played.left.size(); ++n) {
    recording.left[n] += played.left[n];
    recording.right[n] += played.right[n];
  }
  Options options = lp();
  options.limits.speed_error = 0.003;
  const auto heard = listen_alone(recording.source(), options, {});
  ASSERT_TRUE(heard);
  ASSERT_TRUE(heard->tone);
  EXPECT_NEAR(heard->tone->speed_error_ppm, 5000.0, 5.0);
  EXPECT_TRUE(heard->wow.weighted_2sigma);
  EXPECT_TRUE(names(*heard, "wow.eccentricity_m"));
  ASSERT_EQ(heard->verdict.reasons.size(), 1U);
  EXPECT_EQ(heard->verdict.reasons[0].rule, "speed_error");
}

TEST(ListenAlone, PassesWhatNoLimitItCanJudgeForbids) {
  const auto heard = listen_alone(surface(20.0, 1e-3).source(), lp(), {});
  ASSERT_TRUE(heard);
  EXPECT_TRUE(heard->verdict.pass);
  EXPECT_TRUE(heard->verdict.reasons.empty());
}

TEST(ListenAlone, RefusesTooLittle) {
  const auto heard = listen_alone(surface(4.0, 1e-3).source(), lp(), {});
  ASSERT_FALSE(heard);
  EXPECT_EQ(heard.error().fault, Fault::bad_input);
}

}  // namespace
}  // namespace goodside::listen
