#include "line/demo_tune.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace goodside::line {
namespace {

constexpr DemoTune short_tune{.duration_s = 12.0};

TEST(DemoTune, HasItsLengthItsPeakAndSilentEnds) {
  const auto samples = demo_tune(short_tune, 48000.0);
  ASSERT_EQ(samples.size(), 2U * 12U * 48000U);
  float loudest = 0.0F;
  for (const float sample : samples) loudest = std::max(loudest, std::abs(sample));
  EXPECT_NEAR(loudest, 0.4F, 0.01F);  // the fade at the end may take a little off
  EXPECT_EQ(samples.front(), 0.0F);
  EXPECT_NEAR(samples.back(), 0.0F, 1e-4F);
}

TEST(DemoTune, IsFixedByItsSeed) {
  EXPECT_EQ(demo_tune(short_tune, 16000.0), demo_tune(short_tune, 16000.0));
  DemoTune other = short_tune;
  other.seed = 2;
  EXPECT_NE(demo_tune(short_tune, 16000.0), demo_tune(other, 16000.0));
}

TEST(DemoTune, KeepsToWhatAGrooveCanCarry) {
  // The slope that the stylus meets: velocity over groove speed at the last radius, full scale cut
  // with 0.1 m/s and the treble raised by the 75 us of IEC 60098.
  // Tracing distortion grows with its square; over a half no cutter would let it (common practice,
  // no source).
  const double rate_Hz = 48000.0;
  const auto samples = demo_tune(short_tune, rate_Hz);
  double steepest = 0.0;
  for (std::size_t k = 2; k < samples.size(); k += 2)
    steepest =
        std::max(steepest,
                 std::abs(static_cast<double>(samples[k]) +
                          75e-6 * rate_Hz * static_cast<double>(samples[k] - samples[k - 2])));
  const double groove_speed_m_per_s = 2.0 * 3.14159265 * 0.0770 * 0.75;
  EXPECT_LT(0.1 * steepest, 0.5 * groove_speed_m_per_s);
}

}  // namespace
}  // namespace goodside::line
