#include "signal/half_band.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace goodside::signal {
namespace {

Aligned<float> tone(double cycles_a_sample, std::size_t count) {
  Aligned<float> samples(count);
  for (std::size_t j = 0; j < count; ++j)
    samples[j] = static_cast<float>(
        std::sin(2.0 * std::numbers::pi * cycles_a_sample * static_cast<double>(j) + 0.3));
  return samples;
}

double largest(const Aligned<float>& samples, std::size_t guard) {
  double most = 0.0;
  for (std::size_t j = guard; j + guard < samples.size(); ++j)
    most = std::max(most, std::abs(static_cast<double>(samples[j])));
  return most;
}

// Theory: a tone under half the rate is the same tone on the finer grid; lengths round the filter's stretches.
TEST(HalfBand, DoublesATone) {
  for (const std::size_t count : {1U, 31U, 2047U, 2048U, 2049U, 6000U})
    for (const double share : {0.01, 0.2, 0.43}) {
      Aligned<float> fine;
      double_rate(tone(share, count), fine);
      ASSERT_EQ(fine.size(), 2 * count);
      const Aligned<float> expected = tone(0.5 * share, 2 * count);
      for (std::size_t j = 64; j + 64 < fine.size(); ++j)
        ASSERT_NEAR(fine[j], expected[j], 1.5e-3) << count << " " << share << " " << j;
      for (std::size_t k = 0; k < count; ++k) ASSERT_NEAR(fine[2 * k], expected[2 * k], 2e-4);
    }
}

// Theory: what the higher rate holds over the lower's half is taken away, not folded; what lies under it stays.
TEST(HalfBand, HalvesWithoutFolding) {
  for (const std::size_t count : {64U, 2048U, 2049U, 6001U}) {
    Aligned<float> coarse(count);
    halve_rate(tone(0.5 * 0.57, 2 * count), coarse);
    EXPECT_LT(largest(coarse, 20), 4e-4) << count;
    halve_rate(tone(0.5 * 0.43, 2 * count), coarse);
    const Aligned<float> expected = tone(0.43, count);
    for (std::size_t k = 20; k + 20 < count; ++k) ASSERT_NEAR(coarse[k], expected[k], 1.5e-3);
  }
}

}  // namespace
}  // namespace goodside::signal
