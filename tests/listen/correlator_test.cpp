#include "listen/correlator.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <string>

#include "listen/simulated_frames.hpp"

namespace goodside::listen {
namespace {

constexpr double rate_Hz = 24000.0;
constexpr std::size_t length = 4096;
constexpr double reach_s = 2e-3;

struct Pair {
  signal::Aligned<float> heard, expected;
};

// White noise of unit power and the same delayed by turning its phases: band-limited, circular,
// exact.
Pair delayed_noise(double delay_s, std::uint32_t seed) {
  const signal::RealFft& fft = signal::shared_fft(2 * length);
  simulated::Noise noise{seed};
  signal::Aligned<std::complex<float>> straight(fft.bins());
  signal::Aligned<std::complex<float>> late(fft.bins());
  const double scale = std::sqrt(0.5 / static_cast<double>(fft.length()));
  for (std::size_t k = 1; k + 1 < fft.bins(); ++k) {
    const double frequency_Hz =
        static_cast<double>(k) * rate_Hz / static_cast<double>(fft.length());
    const double real = scale * noise();
    const std::complex<double> value{real, scale * noise()};
    straight[k] = std::complex<float>{value};
    late[k] = std::complex<float>{
        value * std::polar(1.0, -2.0 * std::numbers::pi * frequency_Hz * delay_s)};
  }
  Pair pair{signal::Aligned<float>(fft.length()), signal::Aligned<float>(fft.length())};
  fft.inverse(late, pair.heard);
  fft.inverse(straight, pair.expected);
  pair.heard.resize(length);
  pair.expected.resize(length);
  return pair;
}

// Delay in samples that a parabola reads off a flat band of 9 kHz: R(x) = sin(pi r x)/(pi r x), r =
// 9/12. It leans to the nearest whole sample by up to 0.06 of one, most of it between a quarter and
// a third of the way.
double parabola_reads(double delay) {
  const auto pulse = [](double x) {
    const double angle = std::numbers::pi * 0.75 * x;
    return std::abs(angle) < 1e-9 ? 1.0 : std::sin(angle) / angle;
  };
  const double whole = std::round(delay);
  const double before = pulse(whole - 1.0 - delay);
  const double at = pulse(whole - delay);
  const double after = pulse(whole + 1.0 - delay);
  return whole + 0.5 * (after - before) / (2.0 * at - before - after);
}

TEST(Correlator, FindsADelayOfWholeAndHalfSamples) {
  Correlator correlator{length, rate_Hz, reach_s};
  for (const double samples : {-17.0, -3.5, -1.0, 0.0, 0.49, 1.0, 2.51, 30.0}) {
    const Pair pair = delayed_noise(samples / rate_Hz, 5);
    const DelayFix fix = correlator.fix(pair.heard, pair.expected);
    EXPECT_NEAR(fix.delay_s, samples / rate_Hz, 1e-6);
    EXPECT_EQ(fix.sign, 1);
    EXPECT_GT(fix.sharpness, 1.0);
  }
}

TEST(Correlator, ReadsADelayBetweenAsItsParabolaMust) {
  Correlator correlator{length, rate_Hz, reach_s};
  for (const double samples : {-16.807, -0.75, -0.3, 0.1, 0.264, 0.4, 2.962}) {
    const Pair pair = delayed_noise(samples / rate_Hz, 5);
    const double read_s = correlator.fix(pair.heard, pair.expected).delay_s;
    EXPECT_NEAR(read_s, parabola_reads(samples) / rate_Hz, 1e-6);
    EXPECT_NEAR(read_s, samples / rate_Hz, 3e-6);
  }
}

TEST(Correlator, TellsAnInvertedPolarity) {
  Correlator correlator{length, rate_Hz, reach_s};
  Pair pair = delayed_noise(3.0 / rate_Hz, 6);
  for (float& sample : pair.heard) sample = -sample;
  const DelayFix fix = correlator.fix(pair.heard, pair.expected);
  EXPECT_EQ(fix.sign, -1);
  EXPECT_NEAR(fix.delay_s, 3.0 / rate_Hz, 1e-6);
}

TEST(Correlator, UnrelatedNoiseIsNoBetterThanChance) {
  Correlator correlator{length, rate_Hz, reach_s};
  int sharp = 0;
  for (std::uint32_t seed = 0; seed < 100; ++seed) {
    const Pair one = delayed_noise(0.0, 100 + seed);
    const Pair other = delayed_noise(0.0, 300 + seed);
    if (correlator.fix(one.heard, other.expected).sharpness > 0.0) ++sharp;
  }
  EXPECT_LE(sharp, 1);
}

// The Cramer-Rao bound for the delay of a known flat-spectrum signal of bandwidth B heard for T in
// flat noise,
//     var >= 1 / [2 SNR B T (2 pi)^2 B^2/3]
// (Knapp & Carter, IEEE Trans. ASSP 24 (1976) 320-327, their bound with one noiseless receiver;
// from memory). The correlator hears B = 9 kHz; its Hann window on both signals alone costs
// sqrt(35/18) = 1.4 of it. Delays are spread evenly over a sample, so that the parabola's lean
// counts as error and cannot pass for precision.
TEST(Correlator, ComesNearTheCramerRaoBoundInNoise) {
  Correlator correlator{length, rate_Hz, reach_s};
  constexpr int windows = 500;
  constexpr double band_Hz = 9000.0;
  for (const double snr : {0.05, 0.1, 0.2}) {
    const double duration_s = static_cast<double>(length) / rate_Hz;
    const double bound_s = 1.0 / std::sqrt(2.0 * snr * band_Hz * duration_s *
                                           std::pow(2.0 * std::numbers::pi * band_Hz, 2) / 3.0);
    double sum = 0.0;
    for (int window = 0; window < windows; ++window) {
      const auto seed = static_cast<std::uint32_t>(1000 + window);
      const double delay_s = ((window + 0.5) / windows - 0.5) / rate_Hz;
      Pair pair = delayed_noise(delay_s, seed);
      simulated::Noise noise{seed + 5000};
      for (float& sample : pair.heard) sample += static_cast<float>(noise() / std::sqrt(snr));
      const double error_s = correlator.fix(pair.heard, pair.expected).delay_s - delay_s;
      sum += error_s * error_s;
    }
    const double rms_s = std::sqrt(sum / windows);
    RecordProperty("rms_over_bound_at_" + std::to_string(snr), std::to_string(rms_s / bound_s));
    EXPECT_GT(rms_s, bound_s) << "SNR " << snr;
    EXPECT_LT(rms_s, 2.5 * bound_s) << "SNR " << snr;
  }
}

}  // namespace
}  // namespace goodside::listen
