#include "listen/tone_track.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "listen/simulated_frames.hpp"
#include "published/wow_and_flutter.hpp"
#include "support/formula_source.hpp"

namespace goodside::listen {
namespace {

using std::numbers::pi;

struct Played {
  double carrier_Hz{3150.0}, modulation_Hz{4.0}, peak{}, drift_per_s{};
  double noise{};
  double duration_s{30.0};
  double rate_Hz{48000.0};
  double left{0.5}, right{0.5};
  double tick_every_s{};
};

/// Noise that is a formula, so that it can be read at any place: a hash of the sample's number.
double hashed(double time_s, double rate_Hz, int channel) {
  auto x = static_cast<std::uint64_t>(std::llround(time_s * rate_Hz)) * 2U +
           static_cast<std::uint64_t>(channel) + 0x9E3779B97F4A7C15U;
  double sum = 0.0;
  for (int i = 0; i < 4; ++i) {
    x += 0x9E3779B97F4A7C15U;
    std::uint64_t z = x;
    z = (z ^ (z >> 30U)) * 0xBF58476D1CE4E5B9U;
    z = (z ^ (z >> 27U)) * 0x94D049BB133111EBU;
    sum += static_cast<double>((z ^ (z >> 31U)) >> 11U) * 0x1p-53 - 0.5;
  }
  return sum * std::sqrt(3.0);
}

testing::FormulaSource source_of(const Played& played) {
  return {{.sample_rate_Hz = played.rate_Hz, .channels = 2, .duration_s = played.duration_s},
          [played](double t, int channel) {
            const double turning = 2.0 * pi * played.modulation_Hz;
            const double swing =
                played.peak == 0.0 ? 0.0 : -played.peak * std::cos(turning * t + 0.4) / turning;
            const double phase =
                2.0 * pi * played.carrier_Hz * (t + 0.5 * played.drift_per_s * t * t + swing);
            double sample = (channel == 0 ? played.left : played.right) * std::sin(phase);
            if (played.noise > 0.0) sample += played.noise * hashed(t, played.rate_Hz, channel);
            if (played.tick_every_s > 0.0 && std::fmod(t, played.tick_every_s) < 3e-4)
              sample += 0.9;
            return sample;
          }};
}

works::Tone tone_of(const Played& played) {
  const auto source = source_of(played);
  const auto found = track_tone(source, {});
  EXPECT_TRUE(found);
  EXPECT_TRUE(found->tone) << found->why;
  return found->tone.value_or(works::Tone{});
}

// Published: see the header of the rows; the unweighted reading of a sine is its peak times
// sin(0.95 pi/2). A sine that meets the track's points at a few phases only is played 0.2 % flat,
// which moves its weight by less than 0.01 dB.
TEST(ToneTrack, AgreesWithThePublishedTones) {
  for (const auto& row : published::modulated_tones) {
    const double played_Hz = row.modulation_Hz * (row.modulation_Hz < 1.0 ? 1.0 : 0.998);
    const auto tone = tone_of({.modulation_Hz = played_Hz,
                               .peak = row.peak_percent / 100.0,
                               .duration_s = row.modulation_Hz < 1.0 ? 142.0 : 22.0,
                               .rate_Hz = 22050.0});
    ASSERT_TRUE(tone.weighted_2sigma);
    const double slack_percent = 0.002 * row.two_sigma_percent;
    EXPECT_NEAR(100.0 * *tone.weighted_2sigma,
                row.two_sigma_percent,
                row.half_last_digit_percent + slack_percent)
        << row.modulation_Hz << " Hz, " << row.peak_percent << " %";
    EXPECT_NEAR(*tone.unweighted_2sigma,
                0.01 * row.peak_percent * std::sin(0.475 * pi),
                0.004 * 0.01 * row.peak_percent)
        << row.modulation_Hz << " Hz";
    EXPECT_NEAR(*tone.unweighted_peak, 0.01 * row.peak_percent, 0.004 * 0.01 * row.peak_percent);
    EXPECT_EQ(tone.nominal_Hz, 3150.0);
  }
}

// Property: a pure tone has no wow; what is left is the arithmetic's own.
TEST(ToneTrack, APureToneIsSteady) {
  const auto tone = tone_of({.carrier_Hz = 3153.15});
  EXPECT_NEAR(tone.speed_error_ppm, 1000.0, 0.05);
  EXPECT_LT(*tone.weighted_2sigma, 2e-7);
  EXPECT_LT(*tone.unweighted_peak, 2e-6);
  EXPECT_LT(tone.speed_sigma_ppm, 0.05);
  EXPECT_NEAR(*tone.drift_ppm_per_min, 0.0, 0.2);
}

TEST(ToneTrack, TellsTheOldToneFromTheNew) {
  const auto tone = tone_of({.carrier_Hz = 3000.0 * 0.995, .duration_s = 10.0});
  EXPECT_EQ(tone.nominal_Hz, 3000.0);
  EXPECT_NEAR(tone.speed_error_ppm, -5000.0, 0.1);
  const auto source = source_of({.carrier_Hz = 3040.0, .duration_s = 10.0});
  const auto named = track_tone(source, {.nominal_Hz = 3150.0});
  ASSERT_TRUE(named && named->tone);
  EXPECT_NEAR(named->tone->speed_error_ppm, 1e6 * (3040.0 / 3150.0 - 1.0), 0.1);
  EXPECT_TRUE(named->remarks.empty());
}

TEST(ToneTrack, FollowsDriftAtAnyRateAndInAnyChannel) {
  for (const double rate_Hz : {22050.0, 44100.0, 96000.0}) {
    const auto tone = tone_of(
        {.drift_per_s = 2e-6, .duration_s = 40.0, .rate_Hz = rate_Hz, .left = 0.0, .right = 0.3});
    EXPECT_NEAR(*tone.drift_ppm_per_min, 120.0, 1.0) << rate_Hz;
  }
  const auto vertical = tone_of({.peak = 1e-3, .duration_s = 12.0, .left = 0.3, .right = -0.3});
  EXPECT_NEAR(*vertical.weighted_2sigma, 1e-3 * std::sin(0.475 * pi), 5e-6);
}

// Second road: white noise 25 dB under the tone in each channel is all that there is to read, and
// the noise figure says so.
TEST(ToneTrack, KnowsWhatTheSurfaceNoiseAdds) {
  const auto tone = tone_of({.noise = 0.02, .duration_s = 40.0});
  ASSERT_TRUE(tone.noise_2sigma && tone.weighted_2sigma);
  EXPECT_NEAR(*tone.noise_2sigma, *tone.weighted_2sigma, 0.06 * *tone.weighted_2sigma);
}

TEST(ToneTrack, LeavesTicksOut) {
  const auto clean = tone_of({.peak = 1e-3, .duration_s = 30.0});
  const auto ticked = tone_of({.peak = 1e-3, .duration_s = 30.0, .tick_every_s = 2.3});
  EXPECT_NEAR(*ticked.weighted_2sigma, *clean.weighted_2sigma, 0.02 * *clean.weighted_2sigma);
  EXPECT_NEAR(*ticked.unweighted_peak, *clean.unweighted_peak, 0.1 * *clean.unweighted_peak);
}

TEST(ToneTrack, SaysWhenThereIsNone) {
  const auto why = [](const testing::FormulaSource& source) {
    const auto found = track_tone(source, {});
    EXPECT_TRUE(found);
    EXPECT_FALSE(found->tone);
    return found->why;
  };
  const testing::FormulaSource::Shape shape{.sample_rate_Hz = 16000.0, .duration_s = 12.0};
  EXPECT_NE(why(testing::FormulaSource{shape, [](double, int) { return 0.0; }}).find("no steady"),
            std::string::npos);
  EXPECT_FALSE(why(testing::FormulaSource{
                       shape, [](double t, int c) { return 0.3 * hashed(t, 16000.0, c); }})
                   .empty());
  // Noise of the tone's own band, from 2.9 to 3.3 kHz: forty sines of chance phases.
  const std::string narrow = why(testing::FormulaSource{
      shape, [](double t, int) {
        double sum = 0.0;
        for (int i = 0; i < 40; ++i)
          sum +=
              std::sin(2.0 * pi * (2900.0 + 10.0 * i + 1.3 * hashed(i, 1.0, 0)) * t + 7.0 * i * i);
        return 0.03 * sum;
      }});
  EXPECT_NE(narrow.find("level is not steady"), std::string::npos) << narrow;
  // Three seconds of tone are too few.
  EXPECT_FALSE(why(testing::FormulaSource{shape,
                                          [](double t, int) {
                                            return t < 3.0 ? 0.5 * std::sin(2.0 * pi * 3150.0 * t)
                                                           : 0.0;
                                          }})
                   .empty());
}

// Property: where the tone lies in the capture is found, and what is outside does not matter.
TEST(ToneTrack, FindsTheToneAmongOtherBands) {
  const testing::FormulaSource source{{.duration_s = 30.0}, [](double t, int) {
                                        if (t < 6.0) return 0.5 * std::sin(2.0 * pi * 1000.0 * t);
                                        if (t < 20.0) return 0.5 * std::sin(2.0 * pi * 3150.0 * t);
                                        return 0.5 * std::sin(2.0 * pi * 300.0 * t);
                                      }};
  const auto found = track_tone(source, {});
  ASSERT_TRUE(found && found->tone);
  EXPECT_NEAR(found->tone->from_s, 6.0, 0.3);
  EXPECT_NEAR(found->tone->to_s, 20.0, 0.3);
  EXPECT_NEAR(found->tone->speed_error_ppm, 0.0, 0.1);
  EXPECT_FALSE(found->tone->drift_ppm_per_min);
}

}  // namespace
}  // namespace goodside::listen
