#include "listen/transfer.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "listen/match.hpp"
#include "listen/simulated_frames.hpp"
#include "listen/whitening.hpp"

namespace goodside::listen {
namespace {

constexpr std::size_t bins = 257;

Complex mix(std::size_t entry, std::size_t bin) {
  constexpr float gain[] = {0.9F, 0.1F, -0.05F, 1.2F};
  return std::polar(1.0F, 0.01F * static_cast<float>((entry + 1) * bin)) * gain[entry];
}

std::vector<Complex> random_spectrum(simulated::Noise& noise) {
  std::vector<Complex> spectrum(bins);
  for (Complex& value : spectrum) {
    const auto real = static_cast<float>(noise());
    value = {real, static_cast<float>(noise())};
  }
  return spectrum;
}

TEST(TransferFit, RecoversAKnownMix) {
  simulated::Noise noise{1};
  TransferFit fit{bins, false};
  for (int frame = 0; frame < 200; ++frame) {
    const auto left = random_spectrum(noise);
    const auto right = random_spectrum(noise);
    std::vector<Complex> heard_left(bins);
    std::vector<Complex> heard_right(bins);
    for (std::size_t k = 0; k < bins; ++k) {
      heard_left[k] = mix(0, k) * left[k] + mix(1, k) * right[k];
      heard_right[k] = mix(2, k) * left[k] + mix(3, k) * right[k];
    }
    fit.add(0.5F, left, right, heard_left, heard_right);
  }
  const Transfer found = fit.solve(0);
  // The header's ridge of 1e-4 of both channels' power: up to 2e-4 of the larger gain.
  for (std::size_t entry = 0; entry < 4; ++entry)
    for (std::size_t k = 1; k + 1 < bins; ++k)
      EXPECT_LT(std::abs(found[entry][k] - mix(entry, k)), 4e-4F) << entry << ", bin " << k;
}

TEST(TransferFit, RecoversAMonoProgramme) {
  simulated::Noise noise{2};
  TransferFit fit{bins, true};
  for (int frame = 0; frame < 20; ++frame) {
    const auto programme = random_spectrum(noise);
    std::vector<Complex> heard_left(bins);
    std::vector<Complex> heard_right(bins);
    for (std::size_t k = 0; k < bins; ++k) {
      heard_left[k] = mix(0, k) * programme[k];
      heard_right[k] = mix(3, k) * programme[k];
    }
    fit.add(1.0F, programme, {}, heard_left, heard_right);
  }
  const Transfer found = fit.solve(0);
  for (std::size_t k = 1; k + 1 < bins; ++k) {
    EXPECT_LT(std::abs(found[0][k] - mix(0, k)), 1e-5F);
    EXPECT_LT(std::abs(found[2][k] - mix(3, k)), 1e-5F);
  }
}

using Filter = std::vector<float>;

signal::Aligned<float> filtered(const signal::Aligned<float>& in, const Filter& taps) {
  signal::Aligned<float> out(in.size(), 0.0F);
  for (std::size_t n = 0; n < in.size(); ++n)
    for (std::size_t j = 0; j < std::min(taps.size(), n + 1); ++j) out[n] += taps[j] * in[n - j];
  return out;
}

// Error of the prediction re the capture. The cut is free of bass under 40 Hz, as cutting leaves it
// (common practice, no source): the player's transfer is not fitted at 0 Hz, nor in the two bins
// about it.
double error_dB(bool mono) {
  constexpr double rate_Hz = 48000.0;
  constexpr std::size_t size = 48000 * 6;
  StereoSamples cut;
  for (std::size_t c = 0; c < 2; ++c) {
    const auto track =
        simulated::programme(size, rate_Hz, 0.1, 10.0, static_cast<std::uint32_t>(c + 1));
    cut[c].assign(track.begin(), track.end());
    for (int pass = 0; pass < 2; ++pass) high_pass(cut[c], 40.0, rate_Hz);
  }
  if (mono) cut[1].assign(size, 0.0F);
  const Filter to_left[] = {{0.8F, 0.3F, -0.2F, 0.1F}, {0.0F, 0.05F, 0.02F}};
  const Filter to_right[] = {{0.0F, 0.0F, -0.04F, 0.03F}, {1.1F, -0.25F, 0.0F, 0.0F, 0.07F}};
  StereoSamples capture;
  for (std::size_t c = 0; c < 2; ++c) {
    capture[c] = filtered(cut[0], c == 0 ? to_left[0] : to_right[0]);
    const auto second = filtered(cut[1], c == 0 ? to_left[1] : to_right[1]);
    for (std::size_t n = 0; n < size; ++n) capture[c][n] += second[n];
  }
  StereoSamples prediction;
  match_player(
      capture, cut, mono, rate_Hz, [](double) { return 1.0; }, prediction);
  double error = 0.0;
  double power = 0.0;
  for (std::size_t c = 0; c < 2; ++c)
    for (std::size_t n = 4096; n + 4096 < size; ++n) {
      const auto heard = static_cast<double>(capture[c][n]);
      error += std::pow(heard - static_cast<double>(prediction[c][n]), 2);
      power += heard * heard;
    }
  return 10.0 * std::log10(error / power);
}

TEST(MatchPlayer, PredictsAPlayerOfKnownFilters) {
  EXPECT_LT(error_dB(false), -40.0);
}

TEST(MatchPlayer, PredictsAMonoCut) {
  EXPECT_LT(error_dB(true), -40.0);
}

}  // namespace
}  // namespace goodside::listen
