#include "listen/masking.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

namespace goodside::listen {
namespace {

// Published: the closed forms that go with ISO/IEC 11172-3 Annex D, model 1 (Terhardt's threshold
// in quiet, Bark scale, spread, thresholds), evaluated in NumPy 1.24; tolerance half a unit of the
// last digit.
TEST(Masking, AgreesWithTheThresholdInQuiet) {
  constexpr double rows[][2] = {{100.0, 22.9529},
                                {500.0, 6.2788},
                                {1000.0, 3.3691},
                                {3300.0, -4.9809},
                                {8000.0, 4.7856},
                                {12000.0, 21.2346},
                                {16000.0, 65.9321}};
  for (const auto& [frequency_Hz, level_dB] : rows)
    EXPECT_NEAR(threshold_in_quiet_dB(frequency_Hz), level_dB, 0.5e-4) << frequency_Hz;
}

TEST(Masking, AgreesWithTheBarkScale) {
  constexpr double rows[][2] = {
      {100.0, 0.9867}, {1000.0, 8.5105}, {4000.0, 17.2589}, {12000.0, 23.1950}};
  for (const auto& [frequency_Hz, place] : rows)
    EXPECT_NEAR(bark(frequency_Hz), place, 0.5e-4) << frequency_Hz;
}

TEST(Masking, AgreesWithTheSpread) {
  constexpr double rows[][3] = {{80, -2, -55},
                                {80, -0.5, -19},
                                {80, 0.5, -8.5},
                                {80, 1, -17},
                                {80, 2, -22},
                                {80, 4, -32},
                                {40, -2, -39},
                                {40, 2, -28},
                                {40, 4, -50}};
  for (const auto& [level_dB, dz, spread_dB] : rows)
    EXPECT_NEAR(masking_spread_dB(level_dB, dz), spread_dB, 1e-9) << level_dB << " at " << dz;
  EXPECT_EQ(masking_spread_dB(80.0, 8.0), -INFINITY);
  EXPECT_EQ(masking_spread_dB(80.0, -3.01), -INFINITY);
}

TEST(Masking, AgreesWithTheMaskingThresholds) {
  constexpr double rows[][3] = {{-2, 16.635, 21.486},
                                {-0.5, 52.635, 57.486},
                                {0.5, 63.135, 67.986},
                                {1, 54.635, 59.486},
                                {3, 44.635, 49.486}};
  for (const auto& [dz, tonal_dB, noise_dB] : rows) {
    EXPECT_NEAR(masking_threshold_dB({80.0, 8.5105, true}, dz), tonal_dB, 0.5e-3);
    EXPECT_NEAR(masking_threshold_dB({80.0, 8.5105, false}, dz), noise_dB, 0.5e-3);
  }
}

constexpr double bin_Hz = 48000.0 / 1024.0;
constexpr std::size_t bins = 513;

/// Naive Hann-windowed spectrum of a sine, in the units that the header asks for.
std::vector<double> sine(double frequency_Hz, double level_dB) {
  constexpr int n = 1024;
  const double amplitude = std::pow(10.0, level_dB / 20.0);
  std::vector<double> samples(n), power(bins);
  std::vector<std::complex<double>> circle(n);
  for (int i = 0; i < n; ++i) {
    const double turn = 2.0 * std::numbers::pi * i / n;
    circle[static_cast<std::size_t>(i)] = std::polar(1.0, -turn);
    samples[static_cast<std::size_t>(i)] =
        (0.5 - 0.5 * std::cos(turn)) * amplitude * std::cos(turn * frequency_Hz / bin_Hz);
  }
  for (std::size_t k = 0; k < bins; ++k) {
    std::complex<double> sum;
    for (std::size_t i = 0; i < n; ++i) sum += samples[i] * circle[i * k % n];
    power[k] = std::norm(sum) * 32.0 / (3.0 * n * n);
  }
  return power;
}

std::vector<double> flat(double line_dB) {
  return std::vector<double>(bins, std::pow(10.0, line_dB / 10.0));
}

TEST(MaskingModel, HearsAFullScaleSineAtTheLevelGiven) {
  const MaskingModel model{bin_Hz, bins};
  const auto maskers = model.maskers(sine(21.0 * bin_Hz, 0.0));
  ASSERT_FALSE(maskers.empty());
  EXPECT_TRUE(maskers.front().tonal);
  EXPECT_NEAR(maskers.front().level_dB, 96.0, 0.01);
  EXPECT_NEAR(maskers.front().bark, bark(21.0 * bin_Hz), 1e-12);
}

// Second road: with nothing to hide it, a sine in the middle of a band stands over the threshold in
// quiet by its own level; the threshold changes by 0.3 dB across that band.
TEST(MaskingModel, HoldsALoneFaultAgainstTheThresholdInQuiet) {
  const MaskingModel model{bin_Hz, bins};
  const std::vector<double> silence(bins, 0.0);
  const double margin_dB = model.margin_dB(silence, sine(3000.0, -60.0));
  EXPECT_NEAR(margin_dB, 36.0 - threshold_in_quiet_dB(3000.0), 0.5);
  EXPECT_EQ(model.margin_dB(silence, silence), -INFINITY);
}

// Second road: one tonal masker and a weaker sine above it, by the formula alone. The middle of the
// band, where the model reads the threshold, lies within half a Bark of the fault, and above the
// masker it falls by 17 dB a Bark.
TEST(MaskingModel, HoldsASineAgainstATonalMaskerBelowIt) {
  const MaskingModel model{bin_Hz, bins};
  const double masker_Hz = 21.0 * bin_Hz, fault_Hz = 32.0 * bin_Hz;
  const double dz = bark(fault_Hz) - bark(masker_Hz);
  const double threshold_dB = masking_threshold_dB({86.0, bark(masker_Hz), true}, dz);
  const double margin_dB = model.margin_dB(sine(masker_Hz, -10.0), sine(fault_Hz, -30.0));
  EXPECT_GT(margin_dB, 66.0 - threshold_dB - 0.5 * 17.0);
  EXPECT_LT(margin_dB, 66.0 - threshold_dB + 0.5 * 17.0);
}

// Property: a louder fault stands higher by as much; more programme never uncovers it.
TEST(MaskingModel, FollowsTheFaultAndYieldsToTheProgramme) {
  const MaskingModel model{bin_Hz, bins};
  const auto fault = sine(5000.0, -50.0);
  auto louder = fault;
  for (double& power : louder) power *= 10.0;
  double last_dB = INFINITY;
  for (const double line_dB : {-130.0, -110.0, -90.0, -70.0, -50.0}) {
    const auto programme = flat(line_dB);
    const double margin_dB = model.margin_dB(programme, fault);
    EXPECT_NEAR(model.margin_dB(programme, louder), margin_dB + 10.0, 1e-9);
    EXPECT_LE(margin_dB, last_dB);
    last_dB = margin_dB;
  }
  EXPECT_LT(last_dB, 0.0);
}

// Property: noise hides like noise 10 dB weaker, and does not hide it 10 dB stronger: a noise
// masker's own index is 2 to 7 dB.
TEST(MaskingModel, HidesWeakerNoiseUnderNoiseAndHearsLouder) {
  const MaskingModel model{bin_Hz, bins};
  EXPECT_LT(model.margin_dB(flat(-80.0), flat(-90.0)), 0.0);
  EXPECT_GT(model.margin_dB(flat(-80.0), flat(-70.0)), 0.0);
}

}  // namespace
}  // namespace goodside::listen
