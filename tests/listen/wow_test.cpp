#include "listen/wow.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "listen/played_track.hpp"
#include "published/wow_and_flutter.hpp"

namespace goodside::listen {
namespace {

using std::numbers::pi;
constexpr double unknown_s = std::numeric_limits<double>::infinity();

struct Sine {
  double frequency_Hz{}, peak{}, length_s{};
};

TimeTrack sine_track(Sine sine) {
  Stretch stretch{0.0, 0.02, {}, {}};
  const int points = static_cast<int>(std::lround(sine.length_s / stretch.hop_s));
  for (int k = 0; k < points; ++k) {
    const double turning = 2.0 * pi * sine.frequency_Hz;
    const double time_s = k * stretch.hop_s;
    stretch.programme_s.push_back(7.0 + time_s +
                                  sine.peak * std::sin(turning * time_s + 0.3) / turning);
    stretch.sigma_s.push_back(1e-9);
  }
  return {stretch};
}

// Published: see the header of the rows. A 50-Hz track meets a tone of 4 or 20 Hz at a handful of
// phases only, too few for a percentile, so those are played 0.2 % flat; that moves their weight by
// less than 0.01 dB.
TEST(WeightedWow, AgreesWithThePublishedTones) {
  for (const auto& tone : published::modulated_tones) {
    const double played_Hz = tone.modulation_Hz * (tone.modulation_Hz < 1.0 ? 1.0 : 0.998);
    const auto weighted =
        weighted_wow(sine_track({played_Hz, tone.peak_percent / 100.0, 400.0}), 1.0);
    ASSERT_TRUE(weighted);
    const double slack_percent = 0.0015 * tone.two_sigma_percent;  // 0.01 dB
    EXPECT_NEAR(100.0 * weighted->two_sigma,
                tone.two_sigma_percent,
                tone.half_last_digit_percent + slack_percent)
        << tone.modulation_Hz << " Hz, " << tone.peak_percent << " %";
  }
}

// Second road: the table of IEC 60386 interpolated by NumPy (numpy.interp over log f).
TEST(WeightedWow, WeightsTheTurnRates) {
  EXPECT_NEAR(wow_weight(100.0 / 180.0), 0.308067798, 1e-9);
  EXPECT_NEAR(wow_weight(0.75), 0.465137184, 1e-9);
  EXPECT_NEAR(wow_weight(78.26 / 60.0), 0.720834801, 1e-9);
  EXPECT_EQ(wow_weight(4.0), 1.0);
  EXPECT_EQ(wow_weight(0.0), 0.0);
}

// Property: the reading is proportional to the wow and does not know where the programme began.
TEST(WeightedWow, IsProportional) {
  const double one = weighted_wow(sine_track({2.03, 1e-3, 60.0}), 1.0)->two_sigma;
  const double three = weighted_wow(sine_track({2.03, 3e-3, 60.0}), 1.0)->two_sigma;
  EXPECT_NEAR(three, 3.0 * one, 1e-4 * three);
}

// Second road: white errors of the track alone read what the docstring says that they put in.
TEST(WeightedWow, KnowsItsOwnNoise) {
  testing::Normal normal{4};
  auto track = sine_track({2.0, 0.0, 300.0});
  for (std::size_t k = 0; k < track[0].programme_s.size(); ++k) {
    track[0].programme_s[k] += 2e-6 * normal();
    track[0].sigma_s[k] = 2e-6;
  }
  const auto weighted = weighted_wow(track, 1.0);
  ASSERT_TRUE(weighted);
  EXPECT_NEAR(weighted->two_sigma, weighted->noise_two_sigma, 0.04 * weighted->noise_two_sigma);
}

TEST(WeightedWow, ForgivesStrayPointsAndGaps) {
  const double clean = weighted_wow(sine_track({4.1, 1e-3, 120.0}), 1.0)->two_sigma;
  auto track = sine_track({4.1, 1e-3, 120.0});
  for (std::size_t k = 50; k < track[0].programme_s.size(); k += 311)
    track[0].programme_s[k] += 4e-3;
  for (std::size_t k = 3000; k < 3200; ++k) {
    track[0].sigma_s[k] = unknown_s;
    track[0].programme_s[k] = std::nan("");
  }
  const auto weighted = weighted_wow(track, 1.0);
  ASSERT_TRUE(weighted);
  EXPECT_NEAR(weighted->two_sigma, clean, 0.02 * clean);
  EXPECT_LT(weighted->heard_s, 116.0);
}

TEST(WeightedWow, IsSilentBelowFiveSeconds) {
  EXPECT_FALSE(weighted_wow(sine_track({4.0, 1e-3, 6.5}), 1.0));
  EXPECT_TRUE(weighted_wow(sine_track({4.0, 1e-3, 8.0}), 1.0));
  EXPECT_FALSE(weighted_wow({}, 1.0));
}

// Property: the curve is the derivative of the track, thinned to what is asked, with gaps left out.
TEST(WowCurve, IsTheRateOfTheTrack) {
  auto track = sine_track({0.55, 1e-3, 40.0});
  for (std::size_t k = 500; k < 600; ++k) track[0].sigma_s[k] = unknown_s;
  const auto curve = wow_curve(track, 1.0);
  ASSERT_GT(curve.time_s.size(), 1800u);
  for (std::size_t i = 0; i < curve.time_s.size(); ++i) {
    const double expected = 1e-3 * std::cos(2.0 * pi * 0.55 * curve.time_s[i] + 0.3);
    EXPECT_NEAR(curve.deviation[i], expected, 2e-5);
    EXPECT_FALSE(curve.time_s[i] > 10.001 && curve.time_s[i] < 11.97);
  }
  const auto thinned = wow_curve(sine_track({0.55, 1e-3, 900.0}), 1.0, 20000);
  EXPECT_LE(thinned.time_s.size(), 20000u);
  EXPECT_GT(thinned.time_s.size(), 10000u);
  EXPECT_TRUE(std::is_sorted(thinned.time_s.begin(), thinned.time_s.end()));
}

}  // namespace
}  // namespace goodside::listen
