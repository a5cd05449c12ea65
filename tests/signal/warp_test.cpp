#include "signal/warp.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <span>
#include <vector>

namespace goodside::signal {
namespace {

constexpr double tau = 2.0 * std::numbers::pi;

std::vector<float> sine(double frequency, double phase, std::size_t length) {
  std::vector<float> samples(length);
  for (std::size_t j = 0; j < length; ++j)
    samples[j] = static_cast<float>(std::sin(tau * frequency * static_cast<double>(j) + phase));
  return samples;
}

std::vector<float> read_one(const WarpReader& reader,
                            std::span<const float> samples,
                            const WarpReader::Cubic& position,
                            std::size_t count) {
  std::vector<float> out(count);
  reader.read(std::array{samples}, position, std::array{std::span{out}});
  return out;
}

double at(const WarpReader::Cubic& position, double k) {
  return position.first + position.rate * k + position.bend * k * k + position.twist * k * k * k;
}

double worst_error_dB(const WarpReader& reader,
                      const WarpReader::Cubic& position,
                      double frequency) {
  double worst = 0.0;
  for (const double phase : {0.0, 1.0, 2.0}) {
    const std::vector<float> out = read_one(reader, sine(frequency, phase, 3000), position, 2000);
    for (std::size_t k = 0; k < out.size(); ++k) {
      const double expected =
          std::sin(tau * frequency * at(position, static_cast<double>(k)) + phase);
      worst = std::max(worst, std::abs(static_cast<double>(out[k]) - expected));
    }
  }
  return 20.0 * std::log10(worst);
}

// Second road: the sine's own formula between its samples.
TEST(WarpReader, ReadsASineBetweenItsSamples) {
  const WarpReader reader;
  for (int thousandths = 1; thousandths <= 400; thousandths += thousandths < 360 ? 3 : 1) {
    const double frequency = thousandths / 1000.0;
    EXPECT_LT(worst_error_dB(reader, {100.3, 1.00137, 0.0, 0.0}, frequency),
              frequency <= 0.30 ? -90.0 : -84.5)
        << frequency;
  }
}

TEST(WarpReader, FollowsACubicPath) {
  const WarpReader reader;
  for (const double frequency : {0.01, 0.1, 0.3})
    EXPECT_LT(worst_error_dB(reader, {100.3, 1.2, -2.0e-4, 6e-8}, frequency), -90.0) << frequency;
}

TEST(WarpReader, GivesTheSamplesThemselvesAtWholePositions) {
  const std::vector<float> samples = sine(0.237, 0.4, 600);
  const std::vector<float> out = read_one(WarpReader{}, samples, {100.0, 1.0, 0.0, 0.0}, 400);
  for (std::size_t k = 0; k < out.size(); ++k) EXPECT_NEAR(out[k], samples[100 + k], 2e-7F) << k;
}

TEST(WarpReader, PassesAConstantWholeAtAnyCutoff) {
  const std::vector<float> samples(900, 0.75F);
  for (const double cutoff : {0.5, 0.3, 0.11})
    for (const float value : read_one(WarpReader{cutoff}, samples, {200.1, 0.997, 0.0, 0.0}, 400))
      EXPECT_NEAR(value, 0.75F, 1e-6F) << cutoff;
}

// A target of half the rate: what it holds is kept, what it cannot hold does not fold back.
TEST(WarpReader, GuardsASlowerTargetAgainstAliasing) {
  const WarpReader reader{0.25};
  for (const double frequency : {0.01, 0.1, 0.15})
    EXPECT_LT(worst_error_dB(reader, {100.3, 1.4, 0.0, 0.0}, frequency), -90.0) << frequency;
  for (const double frequency : {0.30, 0.35, 0.4, 0.45, 0.499}) {
    const std::vector<float> out =
        read_one(reader, sine(frequency, 0.0, 3000), {100.3, 2.0, 0.0, 0.0}, 1400);
    for (const float value : out) ASSERT_LT(std::abs(value), 3.16e-5F) << frequency;
  }
}

TEST(WarpReader, WidensWithALowerCutoff) {
  EXPECT_EQ(WarpReader{}.half(), 16U);
  EXPECT_EQ(WarpReader{0.25}.half(), 32U);
  EXPECT_EQ((WarpReader{0.5, 24}.half()), 24U);
}

TEST(WarpReader, ReadsEachOfTwoChannelsAsItWouldAlone) {
  const WarpReader reader;
  const std::vector<float> left = sine(0.11, 0.0, 700);
  const std::vector<float> right = sine(0.23, 1.0, 700);
  for (const WarpReader::Cubic& position :
       {WarpReader::Cubic{-30.2, 1.3, 1e-4, 0.0}, {-30.2, 1.002, 1e-6, 0.0}}) {
    std::vector<float> out_left(600);
    std::vector<float> out_right(600);
    reader.read(std::array{std::span<const float>{left}, std::span<const float>{right}},
                position,
                std::array{std::span{out_left}, std::span{out_right}});
    EXPECT_EQ(out_left, read_one(reader, left, position, 600));
    EXPECT_EQ(out_right, read_one(reader, right, position, 600));
  }
}

// Property: reading near an end is reading the same samples with zeros set before and after.
TEST(WarpReader, TakesWhatLiesOutsideForZero) {
  const WarpReader reader;
  const std::vector<float> samples = sine(0.17, 0.8, 200);
  std::vector<float> padded(600);
  std::ranges::copy(samples, padded.begin() + 200);
  const std::vector<float> bare = read_one(reader, samples, {-50.0, 0.7, 0.0, 0.0}, 430);
  const std::vector<float> within = read_one(reader, padded, {150.0, 0.7, 0.0, 0.0}, 430);
  for (std::size_t k = 0; k < bare.size(); ++k) EXPECT_NEAR(bare[k], within[k], 1e-6F) << k;
  EXPECT_EQ(bare.front(), 0.0F);
  EXPECT_EQ(bare.back(), 0.0F);
}

}  // namespace
}  // namespace goodside::signal
