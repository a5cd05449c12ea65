#include "signal/fft.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>
#include <span>
#include <thread>
#include <vector>

namespace goodside::signal {
namespace {

constexpr double tau = 2.0 * std::numbers::pi;

Aligned<float> noise(std::size_t length, unsigned seed) {
  std::mt19937 engine{seed};
  Aligned<float> samples(length);
  for (float& sample : samples) sample = static_cast<float>(engine()) / 2147483648.0F - 1.0F;
  return samples;
}

Aligned<std::complex<float>> spectrum_of(std::span<const float> samples) {
  const RealFft& fft = shared_fft(samples.size());
  Aligned<std::complex<float>> spectrum(fft.bins());
  fft.forward(samples, spectrum);
  return spectrum;
}

std::vector<std::complex<double>> sum_by_definition(std::span<const float> samples) {
  const std::size_t n = samples.size();
  std::vector<std::complex<double>> turns(n);
  for (std::size_t j = 0; j < n; ++j)
    turns[j] = std::polar(1.0, -tau * static_cast<double>(j) / static_cast<double>(n));
  std::vector<std::complex<double>> spectrum(n / 2 + 1);
  for (std::size_t k = 0; k < spectrum.size(); ++k)
    for (std::size_t j = 0; j < n; ++j)
      spectrum[k] += static_cast<double>(samples[j]) * turns[j * k % n];
  return spectrum;
}

// Second road: the defining sum in double; lengths of several prime factors.
TEST(RealFft, AgreesWithTheDefiningSum) {
  for (const std::size_t length : {2U, 6U, 64U, 210U, 626U, 2048U}) {
    const Aligned<float> samples = noise(length, 1);
    const auto spectrum = spectrum_of(samples);
    const auto expected = sum_by_definition(samples);
    double error = 0.0;
    double power = 0.0;
    for (std::size_t k = 0; k < expected.size(); ++k) {
      error += std::norm(std::complex<double>{spectrum[k]} - expected[k]);
      power += std::norm(expected[k]);
    }
    EXPECT_LT(std::sqrt(error / power), 3e-7) << length;
  }
}

// Closed form: a cosine of m whole turns and phase p is n/2 exp(ip) in bin m and nothing elsewhere.
TEST(RealFft, PutsATurningCosineIntoItsBinWithItsPhase) {
  constexpr std::size_t n = 480;
  constexpr std::size_t turns = 37;
  Aligned<float> samples(n);
  for (std::size_t j = 0; j < n; ++j)
    samples[j] =
        static_cast<float>(std::cos(tau * static_cast<double>(turns * j) / double{n} + 0.7));
  const auto spectrum = spectrum_of(samples);
  for (std::size_t k = 0; k < spectrum.size(); ++k) {
    const std::complex<double> expected = k == turns ? std::polar(n / 2.0, 0.7) : 0.0;
    EXPECT_LT(std::abs(std::complex<double>{spectrum[k]} - expected), 1e-4) << k;
  }
}

TEST(RealFft, ComesBackAsLengthTimesTheSignal) {
  for (const std::size_t length : {2U, 90U, 4096U}) {
    const Aligned<float> samples = noise(length, 2);
    auto spectrum = spectrum_of(samples);
    Aligned<float> back(length);
    shared_fft(length).inverse(spectrum, back);
    for (std::size_t j = 0; j < length; ++j)
      EXPECT_NEAR(back[j] / static_cast<float>(length), samples[j], 1e-6F) << j;
  }
}

// Property: Parseval, the inner bins counted twice.
TEST(RealFft, KeepsThePower) {
  constexpr std::size_t n = 1000;
  const Aligned<float> samples = noise(n, 3);
  const auto spectrum = spectrum_of(samples);
  double in_time = 0.0;
  double in_bins = 0.0;
  for (const float sample : samples) in_time += std::pow(static_cast<double>(sample), 2);
  for (std::size_t k = 0; k < spectrum.size(); ++k)
    in_bins += (k == 0 || k == n / 2 ? 1.0 : 2.0) * std::norm(std::complex<double>{spectrum[k]});
  EXPECT_NEAR(in_bins / (n * in_time), 1.0, 1e-6);
}

TEST(RealFft, LeavesItsInputAloneAndTakesFramesOfALargerBuffer) {
  constexpr std::size_t n = 256;
  const Aligned<float> buffer = noise(n + 8, 4);
  const Aligned<float> before = buffer;
  const auto inside = spectrum_of(std::span{buffer}.subspan(8));
  EXPECT_EQ(buffer, before);
  EXPECT_EQ(inside, spectrum_of(Aligned<float>(buffer.begin() + 8, buffer.end())));
}

TEST(RealFft, GivesTheSameBitsOnManyThreads) {
  const Aligned<float> samples = noise(1536, 5);
  const auto alone = spectrum_of(samples);
  std::vector<Aligned<std::complex<float>>> found(4);
  std::vector<std::thread> threads;
  for (auto& spectrum : found)
    threads.emplace_back([&] {
      for (int turn = 0; turn < 20; ++turn) spectrum = spectrum_of(samples);
    });
  for (std::thread& thread : threads) thread.join();
  for (const auto& spectrum : found) EXPECT_EQ(spectrum, alone);
}

TEST(SharedFft, IsPlannedOncePerLength) {
  EXPECT_EQ(&shared_fft(128), &shared_fft(128));
  EXPECT_NE(&shared_fft(128), &shared_fft(130));
  EXPECT_EQ(shared_fft(130).length(), 130U);
  EXPECT_EQ(shared_fft(130).bins(), 66U);
}

}  // namespace
}  // namespace goodside::signal
