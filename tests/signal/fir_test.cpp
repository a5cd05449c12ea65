#include "signal/fir.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <span>
#include <vector>

namespace goodside::signal {
namespace {

std::vector<float> noise(std::size_t length, unsigned seed) {
  std::mt19937 engine{seed};
  std::vector<float> samples(length);
  for (float& sample : samples) sample = static_cast<float>(engine()) / 2147483648.0F - 1.0F;
  return samples;
}

/// Gain of symmetric taps at a frequency given as a share of the rate.
double gain(std::span<const float> taps, double frequency) {
  const double middle = static_cast<double>(taps.size() / 2);
  double sum = 0.0;
  for (std::size_t j = 0; j < taps.size(); ++j)
    sum += static_cast<double>(taps[j]) *
           std::cos(2.0 * std::numbers::pi * frequency * (static_cast<double>(j) - middle));
  return sum;
}

double highest_beyond_dB(std::span<const float> taps, double from) {
  double highest = 0.0;
  for (double frequency = from; frequency <= 0.5; frequency += 2e-4)
    highest = std::max(highest, std::abs(gain(taps, frequency)));
  return 20.0 * std::log10(highest);
}

// Reference: SciPy 1.10.1:
//     n = numpy.arange(-6, 7)
//     t = numpy.sinc(0.4*n) * scipy.signal.windows.kaiser(15, 7)[1:-1];  t / t.sum()
TEST(LowPassTaps, AgreeWithSciPy) {
  constexpr double half_of_them[] = {0.002414991566804536,
                                     0.0,
                                     -0.023932188577092724,
                                     -0.033485787850185113,
                                     0.071480054269065549,
                                     0.28342082193246848,
                                     0.40020421731787881};
  const std::vector<float> taps = low_pass_taps(0.2, 6, 7.0);
  ASSERT_EQ(taps.size(), 13U);
  for (std::size_t j = 0; j < 7; ++j) {
    EXPECT_NEAR(taps[j], half_of_them[j], 2e-8) << j;
    EXPECT_EQ(taps[j], taps[12 - j]) << j;
  }
}

TEST(LowPassTaps, PassZeroWholeAndHalveTheCutoff) {
  for (const double cutoff : {0.05, 0.2, 0.4}) {
    const std::vector<float> taps = low_pass_taps(cutoff, 100, 7.0);
    EXPECT_NEAR(gain(taps, 0.0), 1.0, 1e-6) << cutoff;
    EXPECT_NEAR(20.0 * std::log10(gain(taps, cutoff)), -6.02, 0.02) << cutoff;
  }
}

// Published: Kaiser 1974 (from memory): with attenuation A in dB, beta = 0.1102 (A - 8.7) and a
// transition of (A - 8)/(2.285 * 2 pi * 2 half) of the rate, half of it beyond the cutoff.
TEST(LowPassTaps, StopAsFarDownAsTheirBetaSays) {
  for (const double beta : {7.0, 10.0}) {
    const double attenuation_dB = beta / 0.1102 + 8.7;
    const double transition =
        (attenuation_dB - 8.0) / (2.285 * 2.0 * std::numbers::pi * 2.0 * 100.0);
    const std::vector<float> taps = low_pass_taps(0.2, 100, beta);
    EXPECT_LT(highest_beyond_dB(taps, 0.2 + 0.5 * transition), 1.0 - attenuation_dB) << beta;
  }
}

// Second road: the defining sum in double, over strides and over lengths that fill no whole block.
TEST(SlideFilter, AgreesWithItsDefiningSum) {
  const std::vector<float> in = noise(3000, 1);
  for (const std::size_t step : {1U, 2U, 3U, 8U})
    for (const std::size_t tap_count : {1U, 2U, 31U, 64U})
      for (const std::size_t count : {1U, 255U, 256U, 300U}) {
        const std::vector<float> taps = noise(tap_count, 2);
        std::vector<float> out(count);
        slide_filter(in, 5, step, taps, out);
        for (std::size_t k = 0; k < count; ++k) {
          double sum = 0.0;
          for (std::size_t j = 0; j < tap_count; ++j)
            sum += static_cast<double>(taps[j]) * static_cast<double>(in[5 + k * step + j]);
          ASSERT_NEAR(out[k], sum, 5e-6) << step << ", " << tap_count << ", " << k;
        }
      }
}

TEST(SlideFilter, ReadsUpToTheLastSampleAndWritesNothingForNoOutput) {
  const std::vector<float> in{1.0F, 2.0F, 4.0F, 8.0F, 16.0F};
  const std::vector<float> taps{1.0F, 10.0F};
  std::vector<float> out(2);
  slide_filter(in, 0, 3, taps, out);
  EXPECT_EQ(out, (std::vector{21.0F, 168.0F}));
  slide_filter(in, 99, 3, taps, {});
  EXPECT_EQ(out, (std::vector{21.0F, 168.0F}));
}

TEST(SplitPairs, PartsLeftFromRight) {
  const std::vector<float> pairs = noise(2 * 77, 3);
  std::vector<float> left(77);
  std::vector<float> right(77);
  split_pairs(pairs, left, right);
  for (std::size_t j = 0; j < 77; ++j) {
    EXPECT_EQ(left[j], pairs[2 * j]);
    EXPECT_EQ(right[j], pairs[2 * j + 1]);
  }
}

TEST(ApplyWindow, MultipliesSampleBySample) {
  const std::vector<float> in = noise(77, 4);
  const std::vector<float> window = noise(77, 5);
  std::vector<float> out(77);
  apply_window(in, window, out);
  for (std::size_t j = 0; j < 77; ++j) EXPECT_EQ(out[j], in[j] * window[j]);
}

}  // namespace
}  // namespace goodside::signal
