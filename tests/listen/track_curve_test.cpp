#include "listen/track_curve.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

namespace goodside::listen {
namespace {

constexpr double pi = std::numbers::pi;

// A capture that starts 0.7 s before the cut, 0.3 % fast, with wow of 0.2 % at 0.55 Hz.
double programme_of(double capture_s) {
  const double wow = 2e-3 / (2.0 * pi * 0.55);
  return 1.003 * capture_s - 0.7 + wow * std::sin(2.0 * pi * 0.55 * capture_s);
}

TrackCurve curved() {
  std::vector<double> values;
  constexpr std::int64_t first = 50;
  for (std::int64_t k = first; k <= 300; ++k)
    values.push_back(programme_of(static_cast<double>(k) * track_hop_s));
  return {first, maths::UniformSpline{values}};
}

TEST(TrackCurve, CaptureAtInvertsProgrammeAt) {
  const TrackCurve curve = curved();
  EXPECT_DOUBLE_EQ(curve.from_s(), 1.0);
  for (double capture_s = -1.0; capture_s < 9.0; capture_s += 0.137)
    EXPECT_NEAR(curve.capture_at(curve.programme_at(capture_s)), capture_s, 1e-9);
}

TEST(TrackCurve, FollowsTheMotion) {
  const TrackCurve curve = curved();
  for (double capture_s = 1.5; capture_s < 5.5; capture_s += 0.0137)
    EXPECT_NEAR(curve.programme_at(capture_s), programme_of(capture_s), 1e-9);
}

TEST(TrackCurve, WarpsASineToItsAnalyticValue) {
  constexpr double rate_Hz = 44100.0;
  constexpr double capture_rate_Hz = 48000.0;
  constexpr double tone_Hz = 5000.0;
  constexpr std::int64_t reference_first = 20000;
  std::vector<float> left(100000);
  std::vector<float> right(left.size());
  const auto tone = [](double time_s) { return 0.5 * std::sin(2.0 * pi * tone_Hz * time_s); };
  for (std::size_t j = 0; j < left.size(); ++j) {
    const double time_s = (static_cast<double>(j) + reference_first) / rate_Hz;
    left[j] = static_cast<float>(tone(time_s));
    right[j] = -left[j];
  }
  std::vector<float> out_left(48000);
  std::vector<float> out_right(out_left.size());
  constexpr std::int64_t first_sample = 72000;
  const std::span<const float> reference[] = {left, right};
  const std::span<float> out[] = {out_left, out_right};
  curved().warp(signal::WarpReader{},
                reference,
                reference_first,
                rate_Hz,
                first_sample,
                capture_rate_Hz,
                out);
  double worst = 0.0;
  for (std::size_t n = 0; n < out_left.size(); ++n) {
    const double expected =
        tone(programme_of((static_cast<double>(n) + first_sample) / capture_rate_Hz));
    worst = std::max(worst, std::abs(static_cast<double>(out_left[n]) - expected));
    ASSERT_EQ(out_right[n], -out_left[n]);
  }
  EXPECT_LT(worst, 0.5 * std::pow(10.0, -80.0 / 20.0));
}

}  // namespace
}  // namespace goodside::listen
