#include "listen/trace_cut.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <numbers>

#include "listen/simulated_frames.hpp"

namespace goodside::listen {
namespace {

constexpr double rate_Hz = 96000.0;  // the groove's, of a capture at 48 kHz
constexpr std::size_t groove_cell = bend_cell * groove_oversampling;

signal::Aligned<float> tone(double frequency_Hz, double amplitude, std::size_t count) {
  signal::Aligned<float> samples(count);
  for (std::size_t j = 0; j < count; ++j)
    samples[j] = static_cast<float>(amplitude * std::sin(2.0 * std::numbers::pi * frequency_Hz *
                                                         static_cast<double>(j) / rate_Hz));
  return samples;
}

/// Amplitude of a tone over the last second.
double amplitude_of(const signal::Aligned<float>& samples, double frequency_Hz) {
  const auto length = static_cast<std::size_t>(rate_Hz);
  std::complex<double> sum;
  for (std::size_t j = samples.size() - length; j < samples.size(); ++j)
    sum +=
        static_cast<double>(samples[j]) *
        std::polar(1.0, -2.0 * std::numbers::pi * frequency_Hz * static_cast<double>(j) / rate_Hz);
  return 2.0 * std::abs(sum) / static_cast<double>(length);
}

/// |H| of the playback curve of IEC 60098, from its time constants, over that at 1 kHz.
double playback(double frequency_Hz) {
  const auto gain = [](double f_Hz) {
    const std::complex<double> s{0.0, 2.0 * std::numbers::pi * f_Hz};
    return std::abs((1.0 + s * 318e-6) / ((1.0 + s * 3180e-6) * (1.0 + s * 75e-6)));
  };
  return gain(frequency_Hz) / gain(1000.0);
}

// Published: Hunt and Pierce (1938), from memory: v' = v -+ (kappa/2) d/dt v^2, so that v = A sin(wt) gains a
// second harmonic of kappa A^2 w / 2; it leaves through the playback curve at twice the frequency.
TEST(TraceCut, GivesATonesSecondHarmonicAsTheTheorySays) {
  constexpr double strength_m2 = 1.2e-6;
  constexpr double speed_m_per_s = 0.4;
  constexpr double kappa_s = strength_m2 / (speed_m_per_s * speed_m_per_s);
  for (const double frequency_Hz : {500.0, 1000.0, 3000.0}) {
    const double heard = 0.05;
    StereoSamples cut{tone(frequency_Hz, heard, 2 * 96000), tone(frequency_Hz, heard, 2 * 96000)};
    StereoSamples storage;
    BendEnergy bend;
    trace_cut(cut, {strength_m2, speed_m_per_s, rate_Hz}, bend, storage);
    const double velocity = heard / playback(frequency_Hz);
    const double expected = 0.5 * kappa_s * velocity * velocity * 2.0 * std::numbers::pi *
                            frequency_Hz * playback(2.0 * frequency_Hz);
    for (const auto& wall : cut) {
      EXPECT_NEAR(amplitude_of(wall, 2.0 * frequency_Hz), expected, 0.02 * expected);
      EXPECT_NEAR(amplitude_of(wall, frequency_Hz), heard, 2e-3 * heard);
    }
  }
}

// Property: the walls lean to opposite sides, so what the stylus adds is vertical, save for odd orders.
TEST(TraceCut, BendsTheWallsOppositeWays) {
  StereoSamples cut{tone(1000.0, 0.05, 96000), tone(1000.0, 0.05, 96000)};
  const StereoSamples before = cut;
  StereoSamples storage;
  BendEnergy bend;
  trace_cut(cut, {1.2e-6, 0.4, rate_Hz}, bend, storage);
  double lateral = 0.0, vertical = 0.0;
  for (std::size_t j = 1000; j + 1000 < cut[0].size(); ++j) {
    const auto left = static_cast<double>(cut[0][j] - before[0][j]);
    const auto right = static_cast<double>(cut[1][j] - before[1][j]);
    lateral += (left + right) * (left + right);
    vertical += (left - right) * (left - right);
  }
  EXPECT_GT(vertical, 0.0);
  EXPECT_LT(lateral, 0.01 * vertical);
}

// Property: without strength the groove is heard as it was cut, but for the rounding of the curve there and back.
TEST(TraceCut, LeavesACutAloneWithoutStrength) {
  StereoSamples cut{tone(3000.0, 0.5, 96000), tone(200.0, 0.5, 96000)};
  const StereoSamples before = cut;
  StereoSamples storage;
  BendEnergy bend;
  trace_cut(cut, {0.0, 0.4, rate_Hz}, bend, storage);
  for (std::size_t i = 0; i < 2; ++i)
    for (std::size_t j = 0; j < cut[i].size(); ++j) ASSERT_NEAR(cut[i][j], before[i][j], 2e-5);
}

// Property: where the groove bends more sharply than the ball no step settles, and the bend is great there.
TEST(TraceCut, TellsWhereTheBallCannotFollow) {
  StereoSamples cut{tone(1000.0, 0.02, 96000), tone(1000.0, 0.02, 96000)};
  for (std::size_t j = 48000; j < 48480; ++j)
    cut[0][j] += static_cast<float>(
        0.5 * std::sin(2.0 * std::numbers::pi * 9000.0 * static_cast<double>(j) / rate_Hz));
  StereoSamples storage;
  BendEnergy bend;
  trace_cut(cut, {1.2e-6, 0.26, rate_Hz}, bend, storage);
  const std::size_t sharp = 48240 / groove_cell;
  EXPECT_GT(bend[0][sharp], 1e4F * bend[0][20000 / groove_cell]);
  EXPECT_GT(bend[0][sharp], 1e4F * bend[1][sharp]);
}

// Property: the limiter is odd, bends nothing small, and takes x / sqrt(1 + x^2 / L^2) of the rest; worked by hand, 0.6 at
// L^2 = 1 / 1.36 becomes 0.4916.
TEST(LimitCut, BendsLoudSamplesAlone) {
  StereoSamples cut{signal::Aligned<float>(64, 0.01F), signal::Aligned<float>(64, 0.01F)};
  cut[0][10] = 0.6F;
  cut[1][10] = -0.6F;
  StereoSamples storage;
  BendEnergy bend;
  limit_cut(cut, 1.36, bend, storage);
  EXPECT_NEAR(cut[0][10], 0.49161F, 1e-4F);
  EXPECT_EQ(cut[0][10], -cut[1][10]);
  EXPECT_NEAR(cut[0][20], 0.01F, 1e-6F);
  ASSERT_EQ(bend[0].size(), 64 / groove_cell);
  EXPECT_GT(bend[0][10 / groove_cell], 1e6F * bend[0][40 / groove_cell] + 1e-4F);
}

// Worked by hand: a residual ten times greater is ln 100 more in each cell, and a loud fault speaks for its own cell
// alone.
TEST(Leftover, CountsEveryMomentAlike) {
  simulated::Noise noise{5};
  StereoSamples residual{signal::Aligned<float>(96000), signal::Aligned<float>(96000)};
  StereoSamples louder = residual;
  for (std::size_t i = 0; i < 2; ++i)
    for (std::size_t j = 0; j < residual[i].size(); ++j) {
      residual[i][j] = static_cast<float>(0.01 * noise());
      louder[i][j] = 10.0F * residual[i][j];
    }
  Leftover quiet, loud, hurt;
  quiet.add(residual, rate_Hz);
  loud.add(louder, rate_Hz);
  EXPECT_DOUBLE_EQ(quiet.cells, 100.0);
  EXPECT_NEAR(loud.mean() - quiet.mean(), std::log(100.0), 1e-5);
  for (std::size_t j = 48100; j < 48200; ++j) residual[0][j] += 3.0F * static_cast<float>(noise());
  hurt.add(residual, rate_Hz);
  EXPECT_GT(hurt.mean(), quiet.mean());
  EXPECT_LT(hurt.mean() - quiet.mean(), 0.15);
  quiet.merge(loud);
  EXPECT_DOUBLE_EQ(quiet.cells, 200.0);
}

// Property: what nobody hears does not speak: a tone at 24 kHz, ten times the noise, leaves the mean where it was.
TEST(Leftover, LeavesOutWhatIsAboveHearing) {
  simulated::Noise noise{6};
  StereoSamples residual{signal::Aligned<float>(96000), signal::Aligned<float>(96000)};
  for (auto& channel : residual)
    for (float& sample : channel) sample = static_cast<float>(0.01 * noise());
  StereoSamples whistling = residual;
  const auto whistle = tone(24000.0, 0.1, 96000);
  for (auto& channel : whistling)
    for (std::size_t j = 0; j < channel.size(); ++j) channel[j] += whistle[j];
  Leftover quiet, loud;
  quiet.add(residual, rate_Hz);
  loud.add(whistling, rate_Hz);
  EXPECT_NEAR(loud.mean(), quiet.mean(), 0.01);
}

}  // namespace
}  // namespace goodside::listen
