#include "listen/infrasound.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

#include "listen/simulated_frames.hpp"

namespace goodside::listen {
namespace {

using std::numbers::pi;

constexpr double rate_Hz = 100.0;
constexpr double turn_Hz = 100.0 / 180.0;

struct Disc {
  double once{}, twice{}, noise{1e-4};
  double low_cut_Hz{};  ///< of a first-order high-pass run `low_cut_times`
  int low_cut_times{2};
  double duration_s{120.0};
  double turns_Hz{turn_Hz};
};

std::vector<float> vertical_of(const Disc& disc) {
  simulated::Noise noise{3};
  std::vector<float> samples;
  const auto count = static_cast<std::size_t>(disc.duration_s * rate_Hz);
  double before[4]{}, held[4]{};
  const double step = std::exp(-2.0 * pi * disc.low_cut_Hz / rate_Hz);
  for (std::size_t k = 0; k < count; ++k) {
    const double angle = 2.0 * pi * disc.turns_Hz * static_cast<double>(k) / rate_Hz;
    double sample = disc.once * std::cos(angle + 0.7) + disc.twice * std::cos(2.0 * angle) +
                    disc.noise * noise();
    if (disc.low_cut_Hz > 0.0)
      for (int i = 0; i < disc.low_cut_times; ++i) {
        held[i] = step * held[i] + sample - before[i];
        before[i] = sample;
        sample = held[i];
      }
    samples.push_back(static_cast<float>(sample));
  }
  return samples;
}

InfrasoundFound found_in(const std::vector<float>& vertical, double gain_dB = 0.0) {
  Infrasound meter{rate_Hz};
  meter.take(700, vertical);
  return meter.finish(turn_Hz, gain_dB);
}

// Second road: a sine of amplitude a reads 20 log10 a, less the gain.
TEST(Infrasound, ReadsTheLinesOfAWarp) {
  const auto found = found_in(vertical_of({.once = 0.01, .twice = 0.003}), -6.0);
  ASSERT_TRUE(found.warp);
  EXPECT_NEAR(*found.warp->once_per_turn_dB, -40.0 + 6.0, 0.1);
  EXPECT_NEAR(*found.warp->harmonics_dB, 20.0 * std::log10(0.003) + 6.0, 0.1);
  EXPECT_LT(found.warp->background_dB, -60.0);
  EXPECT_NE(found.warp->reference.find("vertical"), std::string::npos);
  EXPECT_TRUE(found.undetermined.empty());
}

// Property: noise is no warp, and neither is a line that the disc's turning does not explain.
TEST(Infrasound, FindsNoWarpWhereNoLineIs) {
  for (const auto& vertical :
       {vertical_of({}), vertical_of({.once = 0.01, .turns_Hz = 1.55 * turn_Hz})}) {
    const auto found = found_in(vertical);
    ASSERT_TRUE(found.warp);
    EXPECT_FALSE(found.warp->once_per_turn_dB);
    EXPECT_FALSE(found.warp->harmonics_dB);
    EXPECT_EQ(found.undetermined.size(), 2U);
  }
}

TEST(Infrasound, SaysThatTheCaptureWasHighPassed) {
  const auto kept = found_in(vertical_of({.once = 0.01, .low_cut_Hz = 5.0}));
  EXPECT_TRUE(kept.warp);
  const auto cut = found_in(vertical_of({.once = 0.01, .low_cut_Hz = 20.0, .low_cut_times = 4}));
  ASSERT_FALSE(cut.warp);
  ASSERT_EQ(cut.undetermined.size(), 1U);
  EXPECT_NE(cut.undetermined[0].why.find("high-passed"), std::string::npos);
}

TEST(Infrasound, SaysWhatIsTooLittle) {
  const auto why = [](const InfrasoundFound& found) {
    EXPECT_FALSE(found.warp);
    return found.undetermined.at(0).why;
  };
  EXPECT_NE(why(found_in(vertical_of({.duration_s = 20.0}))).find("16 turns"), std::string::npos);
  EXPECT_NE(why(found_in(std::vector<float>(12000, 0.0F))).find("mono"), std::string::npos);
  EXPECT_FALSE(Infrasound{rate_Hz}.finish(5.0, 0.0).warp);
}

// Property: pieces merged in order are one stretch; a gap begins another.
TEST(Infrasound, JoinsPieces) {
  const auto vertical = vertical_of({.once = 0.004, .twice = 0.001});
  const auto whole = found_in(vertical);
  Infrasound joined{rate_Hz}, broken{rate_Hz};
  std::int64_t at = 700;
  for (std::size_t from = 0; from < vertical.size(); from += 611) {
    const std::size_t count = std::min<std::size_t>(611, vertical.size() - from);
    Infrasound piece{rate_Hz}, apart{rate_Hz};
    piece.take(at, std::span{vertical}.subspan(from, count));
    apart.take(at + 50 * static_cast<std::int64_t>(from), std::span{vertical}.subspan(from, count));
    joined.merge(piece);
    broken.merge(apart);
    at += static_cast<std::int64_t>(count);
  }
  const auto merged = joined.finish(turn_Hz, 0.0);
  ASSERT_TRUE(merged.warp);
  EXPECT_EQ(*merged.warp->once_per_turn_dB, *whole.warp->once_per_turn_dB);
  EXPECT_EQ(*merged.warp->harmonics_dB, *whole.warp->harmonics_dB);
  EXPECT_FALSE(broken.finish(turn_Hz, 0.0).warp);
}

}  // namespace
}  // namespace goodside::listen
