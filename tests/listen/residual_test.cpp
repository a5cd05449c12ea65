#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <numbers>

#include "listen/audibility.hpp"
#include "listen/residual_events.hpp"
#include "listen/simulated_frames.hpp"
#include "listen/whitening.hpp"

namespace goodside::listen {
namespace {

using simulated::Noise;
constexpr double rate_Hz = 48000.0;

TEST(Whitening, MakesAnAutoregressiveNoiseWhite) {
  // x[n] = 1.2 x[n-1] - 0.6 x[n-2] + 0.01 e[n]: lag-1 correlation 1.2/(1 + 0.6) = 0.75.
  signal::Aligned<float> in(10 * 48000);
  Noise noise{3};
  double before = 0.0;
  double earlier = 0.0;
  for (float& sample : in) {
    const double now = 1.2 * before - 0.6 * earlier + 0.01 * noise();
    earlier = before;
    before = now;
    sample = static_cast<float>(now);
  }
  signal::Aligned<float> out;
  whiten(fit_whitener(in, rate_Hz), in, out);
  ASSERT_EQ(out.size(), in.size());
  const auto correlation = [](const signal::Aligned<float>& x, std::size_t lag) {
    double sum = 0.0;
    for (std::size_t n = 100; n + lag < x.size(); ++n)
      sum += static_cast<double>(x[n] * x[n + lag]);
    return sum / static_cast<double>(x.size() - 100 - lag);
  };
  EXPECT_NEAR(correlation(in, 1) / correlation(in, 0), 0.75, 0.01);
  EXPECT_NEAR(correlation(out, 0), 1.0, 0.05);
  for (std::size_t lag = 1; lag <= 3; ++lag) EXPECT_NEAR(correlation(out, lag), 0.0, 0.03);
}

// Second-order Butterworth: |H|^2 = 1 / (1 + (tan(pi fc/fs)/tan(pi f/fs))^4) after the bilinear
// transform.
TEST(Whitening, HighPassIsThreeDecibelDownAtItsCorner) {
  constexpr double corner_Hz = 200.0;
  for (const double tone_Hz : {50.0, 200.0, 1000.0}) {
    std::vector<float> samples(96000);
    for (std::size_t n = 0; n < samples.size(); ++n)
      samples[n] = static_cast<float>(
          std::sin(2.0 * std::numbers::pi * tone_Hz * static_cast<double>(n) / rate_Hz));
    high_pass(samples, corner_Hz, rate_Hz);
    double power = 0.0;
    for (std::size_t n = 48000; n < samples.size(); ++n)
      power += static_cast<double>(samples[n] * samples[n]);
    const double ratio = std::tan(std::numbers::pi * corner_Hz / rate_Hz) /
                         std::tan(std::numbers::pi * tone_Hz / rate_Hz);
    EXPECT_NEAR(
        10.0 * std::log10(power / 24000.0), -10.0 * std::log10(1.0 + std::pow(ratio, 4)), 0.01);
  }
}

struct Heard {
  StereoSamples capture, prediction;
};

// Programme as predicted, and Gaussian surface noise 46 dB under it.
Heard side(double seconds, std::uint32_t seed) {
  const auto size = static_cast<std::size_t>(seconds * rate_Hz);
  Heard heard;
  for (std::uint32_t c = 0; c < 2; ++c) {
    const auto programme = simulated::programme(size, rate_Hz, 0.1, 12.0, seed + c);
    heard.prediction[c].assign(programme.begin(), programme.end());
    heard.capture[c] = heard.prediction[c];
    Noise noise{seed + 10 + c};
    for (float& sample : heard.capture[c]) sample += static_cast<float>(5e-4 * noise());
  }
  return heard;
}

bool audible(const ResidualEvent& event) {
  return audibility({event.fault_energy, event.noise_energy, event.programme_energy}) !=
         works::Audibility::masked;
}

TEST(FindEvents, HearsNothingInSurfaceNoiseAlone) {
  for (const std::uint32_t seed : {100U, 200U, 300U}) {
    const Heard heard = side(10.0, seed);
    EventBuffers buffers;
    const Residual found = find_events(heard.capture, heard.prediction, {}, rate_Hz, 1.0, buffers);
    EXPECT_EQ(std::ranges::count_if(found.events, audible), 0) << "seed " << seed;
    // White noise of mean square 2.5e-7, 23/24 of it above 1 kHz.
    for (const double power : found.noise_power)
      EXPECT_NEAR(10.0 * std::log10(power / (2.5e-7 * 23.0 / 24.0)), 0.0, 0.3);
  }
}

TEST(FindEvents, FindsTicksWhereTheyWerePlanted) {
  Heard heard = side(10.0, 400);
  const std::size_t planted[] = {50001, 123456, 222222, 345678, 430003};
  for (const std::size_t at : planted) {
    constexpr float tick[] = {0.05F, -0.04F, 0.02F, -0.01F};
    for (auto& channel : heard.capture)
      for (std::size_t j = 0; j < std::size(tick); ++j) channel[at + j] += tick[j];
  }
  EventBuffers buffers;
  const Residual found = find_events(heard.capture, heard.prediction, {}, rate_Hz, 1.0, buffers);
  std::vector<ResidualEvent> events;
  std::ranges::copy_if(found.events, std::back_inserter(events), audible);
  ASSERT_EQ(events.size(), std::size(planted));
  for (std::size_t k = 0; k < events.size(); ++k) {
    EXPECT_NEAR(events[k].at_s, static_cast<double>(planted[k]) / rate_Hz, 0.05e-3);
    const FaultClass named = classify(events[k].features);
    EXPECT_EQ(named.kind, works::FaultKind::tick);
    EXPECT_EQ(named.channel, works::FaultChannel::both);
    EXPECT_EQ(named.plane, works::Plane::lateral);
    EXPECT_NEAR(events[k].features.peak_dB, 20.0 * std::log10(0.05), 0.5);
  }
}

TEST(FindEvents, FindsADropoutOfOneChannel) {
  Heard heard = side(10.0, 500);
  constexpr std::size_t from = 240000;
  constexpr std::size_t to = from + 960;  // 20 ms
  Noise noise{9};
  for (std::size_t n = from; n < to; ++n) heard.capture[0][n] = static_cast<float>(5e-4 * noise());
  EventBuffers buffers;
  const Residual found = find_events(heard.capture, heard.prediction, {}, rate_Hz, 1.0, buffers);
  std::vector<ResidualEvent> events;
  std::ranges::copy_if(found.events, std::back_inserter(events), audible);
  ASSERT_EQ(events.size(), 1U);
  EXPECT_NEAR(events[0].at_s, static_cast<double>(from) / rate_Hz, 2e-3);
  EXPECT_NEAR(events[0].features.duration_s, 0.02, 4e-3);
  const FaultClass named = classify(events[0].features);
  EXPECT_EQ(named.kind, works::FaultKind::dropout);
  EXPECT_EQ(named.channel, works::FaultChannel::left);
}

}  // namespace
}  // namespace goodside::listen
