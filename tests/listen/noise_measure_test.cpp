#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <string>
#include <vector>

#include "listen/bands.hpp"
#include "listen/low_noise.hpp"
#include "listen/noise_levels.hpp"
#include "listen/noise_map.hpp"
#include "listen/simulated_frames.hpp"
#include "listen/weighting.hpp"

namespace goodside::listen {
namespace {

using simulated::Played;
using simulated::Track;

constexpr double rate_Hz = 48000.0;
constexpr std::size_t length = 1024;
constexpr double rpm = 78.26;
constexpr double leak = 0.01;  // the programme is taken away by 40 dB

// A shellac-type surface: noise whose level follows angle and radius, `depth_dB` up and down.
struct Surface {
  double rms{0.02}, depth_dB{3.0}, duration_s{60.0};
  [[nodiscard]] double level_dB(double at_s) const {
    const double turn = 2.0 * std::numbers::pi * at_s * rpm / 60.0;
    return depth_dB * (0.7 * std::cos(turn - 0.5) + 0.3 * std::cos(2.0 * turn + 1.0)) -
           2.0 * at_s / duration_s;
  }
};

Played play(const Surface& surface, double programme_rms, double range_dB) {
  const auto size = static_cast<std::size_t>(surface.duration_s * rate_Hz);
  Played played;
  played.rate_Hz = rate_Hz;
  for (std::size_t c = 0; c < 2; ++c) {
    const auto seed = static_cast<std::uint32_t>(41 + c);
    played.prediction[c] = simulated::programme(size, rate_Hz, programme_rms, range_dB, seed);
    played.reference[c] = played.prediction[c];
    played.residual[c] = simulated::white(size, surface.rms, seed + 10);
    for (std::size_t j = 0; j < size; ++j)
      played.residual[c][j] *= static_cast<float>(
          std::pow(10.0, surface.level_dB(static_cast<double>(j) / rate_Hz) / 20.0));
    simulated::add(played.residual[c], played.prediction[c], leak);
  }
  return played;
}

// Mean square of white noise of unit mean square after A-weighting between two frequencies, re a
// full-scale sine.
double weighted_white_dB(double rms,
                         double low_Hz,
                         double high_Hz,
                         double (*weighting_power)(double) = a_weighting_power) {
  constexpr double step_Hz = 1.0;
  double sum = 0.0;
  for (double f = low_Hz; f < high_Hz; f += step_Hz)
    sum += weighting_power(f + step_Hz / 2.0) * step_Hz / (rate_Hz / 2.0);
  return 10.0 * std::log10(sum * rms * rms / 0.5);
}

// The bench's requirement: shellac-type places within 1 dB, aim 0.6 dB, of the true modulation.
TEST(NoiseMap, FollowsAShellacTypeSurfaceUnderTheProgramme) {
  const Surface surface;
  NoiseMap meter{rpm, surface.duration_s};
  simulated::each_frame(
      play(surface, 0.1, 40.0), length, [&](const SpectralFrame& frame) { meter.take(frame); });
  const NoiseMapFound found = meter.finish(0.0);
  ASSERT_TRUE(found.map);
  const works::PolarMap& map = *found.map;
  EXPECT_EQ(map.columns, 24);
  EXPECT_EQ(map.revolutions_per_row, 4.0);
  EXPECT_EQ(map.rows, 20);
  ASSERT_EQ(map.dB.size(), 480U);
  ASSERT_EQ(map.coverage.size(), 480U);

  const double base_dB = weighted_white_dB(surface.rms, 1000.0, 8000.0);
  double squares = 0.0, sum = 0.0;
  int places = 0;
  for (int row = 0; row < map.rows; ++row)
    for (int column = 0; column < map.columns; ++column) {
      const auto& level = map.dB[static_cast<std::size_t>(row * map.columns + column)];
      if (!level) continue;
      const double turns = row * 4.0 + 2.0 + (column + 0.5) / 24.0;
      const double error = *level - base_dB - surface.level_dB(turns * 60.0 / rpm);
      squares += error * error;
      sum += error;
      ++places;
    }
  ASSERT_GT(places, 300);
  const double mean = sum / places, rms = std::sqrt(squares / places - mean * mean);
  RecordProperty("rms_dB", std::to_string(rms));
  RecordProperty("mean_dB", std::to_string(mean));
  EXPECT_LT(rms, 0.6);
  EXPECT_LT(std::abs(mean), 0.25);
}

TEST(NoiseMap, ShowsNothingWhereTheProgrammeIsLoudThroughout) {
  const Surface surface{.rms = 0.0001, .duration_s = 10.0};
  NoiseMap meter{rpm, surface.duration_s};
  simulated::each_frame(
      play(surface, 0.3, 1.0), length, [&](const SpectralFrame& frame) { meter.take(frame); });
  const NoiseMapFound found = meter.finish(0.0);
  EXPECT_FALSE(found.map);
  EXPECT_FALSE(found.why.empty());
}

TEST(NoiseMap, LeavesPlacesEmptyWhereTheStylusHasNotBeen) {
  const Surface surface{.duration_s = 12.0};
  NoiseMap meter{rpm, 60.0};
  simulated::each_frame(
      play(surface, 0.02, 40.0), length, [&](const SpectralFrame& frame) { meter.take(frame); });
  const NoiseMapFound found = meter.finish(0.0);
  ASSERT_TRUE(found.map);
  EXPECT_TRUE(found.map->dB.front().has_value());
  EXPECT_FALSE(found.map->dB.back().has_value());
  EXPECT_EQ(found.map->coverage.back(), 0.0);
}

// Property: the pieces in order give what the whole gives; a unit of gain moves every level by
// itself.
TEST(NoiseMap, MergesPiecesAndFollowsTheGain) {
  const Surface surface{.duration_s = 12.0};
  const Played played = play(surface, 0.05, 40.0);
  NoiseMap whole{rpm, surface.duration_s}, merged{rpm, surface.duration_s};
  simulated::each_frame(played, length, [&](const SpectralFrame& frame) { whole.take(frame); });
  for (std::size_t from = 0; from < 1200; from += 300) {
    NoiseMap part{rpm, surface.duration_s};
    simulated::each_frame(
        played, length, [&](const SpectralFrame& frame) { part.take(frame); }, from, from + 300);
    merged.merge(part);
  }
  const auto a = whole.finish(0.0).map, b = merged.finish(-6.0).map;
  ASSERT_TRUE(a && b);
  for (std::size_t i = 0; i < a->dB.size(); ++i) {
    ASSERT_EQ(a->dB[i].has_value(), b->dB[i].has_value());
    EXPECT_NEAR(a->dB[i].value_or(0.0), b->dB[i].value_or(6.0) - 6.0, 1e-9);
  }
}

// Second road: the weighted integrals of white noise.
TEST(NoiseLevels, WeighWhiteNoiseUnderTheProgramme) {
  const Surface surface{.rms = 0.005, .depth_dB = 0.0, .duration_s = 20.0};
  NoiseLevels meter;
  simulated::each_frame(
      play(surface, 0.02, 40.0), length, [&](const SpectralFrame& frame) { meter.take(frame); });
  const WeightedNoiseFound found = meter.finish(-3.0);
  ASSERT_TRUE(found.weighted_dB);
  // The surface falls by 2 dB from end to end; its mean power stands 0.98 dB under the start.
  EXPECT_NEAR(*found.weighted_dB, weighted_white_dB(surface.rms, 20.0, 22000.0) - 0.98 + 3.0, 0.3);
  EXPECT_NEAR(*found.weighted_468_dB,
              weighted_white_dB(surface.rms, 20.0, 22000.0, itu_468_weighting_power) - 0.98 + 3.0,
              0.3);
  EXPECT_NEAR(*found.weighted_k_dB,
              weighted_white_dB(surface.rms, 20.0, 22000.0, k_weighting_power) - 0.98 + 3.0,
              0.3);
  EXPECT_NE(found.weighted_reference.find("IEC 61672-1"), std::string::npos);
  EXPECT_NE(found.weighted_468_reference.find("BS.468"), std::string::npos);
  EXPECT_NE(found.weighted_468_reference.find("full-scale"), std::string::npos);
  EXPECT_NE(found.weighted_k_reference.find("BS.1770"), std::string::npos);
}

TEST(NoiseLevels, SayWhyTheyCannotKnow) {
  const Surface surface{.rms = 0.0001, .duration_s = 6.0};
  NoiseLevels meter;
  simulated::each_frame(
      play(surface, 0.3, 1.0), length, [&](const SpectralFrame& frame) { meter.take(frame); });
  const WeightedNoiseFound found = meter.finish(0.0);
  EXPECT_FALSE(found.weighted_dB || found.weighted_468_dB || found.weighted_k_dB);
  ASSERT_EQ(found.undetermined.size(), 3U);
  EXPECT_EQ(found.undetermined[0].field, "noise.weighted_dB");
  EXPECT_FALSE(NoiseLevels{}.finish(0.0).weighted_dB);
}

TEST(NoiseLevels, MergePiecesIntoTheWhole) {
  const Surface surface{.duration_s = 6.0};
  const Played played = play(surface, 0.05, 40.0);
  NoiseLevels whole, merged;
  simulated::each_frame(played, length, [&](const SpectralFrame& frame) { whole.take(frame); });
  for (std::size_t from = 0; from < 600; from += 150) {
    NoiseLevels part;
    simulated::each_frame(
        played, length, [&](const SpectralFrame& frame) { part.take(frame); }, from, from + 150);
    merged.merge(part);
  }
  ASSERT_TRUE(whole.finish(0.0).weighted_dB && merged.finish(0.0).weighted_dB);
  EXPECT_NEAR(*whole.finish(0.0).weighted_dB, *merged.finish(0.0).weighted_dB, 1e-9);
}

struct Low {
  double noise_rms{1e-3}, hum_Hz{}, hum_amplitude{}, second_amplitude{}, programme_rms{0.02},
      duration_s{60.0};
};

LowNoise listen_low(const Low& low, std::size_t block) {
  constexpr double low_rate_Hz = 1000.0;
  const auto size = static_cast<std::size_t>(low.duration_s * low_rate_Hz);
  std::array<Track, 2> residual, prediction;
  for (std::size_t c = 0; c < 2; ++c) {
    const auto seed = static_cast<std::uint32_t>(61 + c);
    residual[c] = simulated::white(size, low.noise_rms, seed);
    // Loud and quiet passages of 8 s, so that some 2-s windows are clear of the programme.
    prediction[c] = simulated::white(size, low.programme_rms, seed + 10);
    for (std::size_t j = 0; j < size; ++j) {
      if (j / 8000 % 2 == 1) prediction[c][j] *= 0.01F;
      const double t = static_cast<double>(j) / low_rate_Hz;
      residual[c][j] += static_cast<float>(
          low.hum_amplitude * std::sin(2.0 * std::numbers::pi * low.hum_Hz * t) +
          low.second_amplitude * std::sin(4.0 * std::numbers::pi * low.hum_Hz * t + 1.0));
    }
    simulated::add(residual[c], prediction[c], leak);
  }
  LowNoise meter{low_rate_Hz};
  for (std::size_t from = 0; from < size; from += block) {
    const std::size_t count = std::min(block, size - from);
    const auto part = [&](const Track& track) { return std::span{track}.subspan(from, count); };
    meter.take({part(residual[0]), part(residual[1])}, {part(prediction[0]), part(prediction[1])});
  }
  return meter;
}

// Second road: white noise of density d through (f/315)^2 holds d 315/5 up to 315 Hz.
TEST(LowNoise, WeighsRumbleAsCurveB) {
  const Low low;
  const LowNoiseFound found = listen_low(low, 700).finish(0.0);
  ASSERT_TRUE(found.rumble_dB);
  const double mean_square = low.noise_rms * low.noise_rms / 500.0 * 315.0 / 5.0;
  EXPECT_NEAR(*found.rumble_dB, 10.0 * std::log10(mean_square / 0.5), 0.5);
  // Flat from 8.9 Hz, the lower edge of the third octave of 10 Hz.
  const double flat_mean_square = low.noise_rms * low.noise_rms / 500.0 * (315.0 - 8.9);
  ASSERT_TRUE(found.rumble_unweighted_dB);
  EXPECT_NEAR(*found.rumble_unweighted_dB, 10.0 * std::log10(flat_mean_square / 0.5), 0.5);
}

TEST(LowNoise, ReadsHumWhicheverTheMains) {
  for (const double hum_Hz : {50.04, 59.95}) {
    const Low low{.hum_Hz = hum_Hz, .hum_amplitude = 0.003, .second_amplitude = 0.001};
    const LowNoiseFound found = listen_low(low, 1000).finish(-2.0);
    ASSERT_TRUE(found.hum_dB) << hum_Hz;
    EXPECT_NEAR(*found.hum_dB, 10.0 * std::log10(0.003 * 0.003 + 0.001 * 0.001) + 2.0, 0.3)
        << hum_Hz;
  }
}

TEST(LowNoise, InventsNoHum) {
  for (const double other_Hz : {47.0, 55.0, 73.3}) {
    const Low low{.hum_Hz = other_Hz, .hum_amplitude = 0.003};
    const LowNoiseFound found = listen_low(low, 1000).finish(0.0);
    EXPECT_FALSE(found.hum_dB) << other_Hz;
    ASSERT_EQ(found.undetermined.size(), 1U);
    EXPECT_EQ(found.undetermined[0].field, "noise.hum_dB");
  }
}

TEST(LowNoise, NeedsALittleWhile) {
  const LowNoiseFound found = listen_low({.duration_s = 5.0}, 1000).finish(0.0);
  EXPECT_FALSE(found.rumble_dB);
  EXPECT_FALSE(found.hum_dB);
  EXPECT_FALSE(found.rumble_unweighted_dB);
  EXPECT_EQ(found.undetermined.size(), 3U);
}

// Property: any block split gives the same bits.
TEST(LowNoise, DoesNotMindTheBlockSize) {
  const Low low{.hum_Hz = 50.0, .hum_amplitude = 0.003};
  const LowNoiseFound a = listen_low(low, 313).finish(0.0), b = listen_low(low, 60000).finish(0.0);
  EXPECT_EQ(a.rumble_dB, b.rumble_dB);
  EXPECT_EQ(a.hum_dB, b.hum_dB);
}

}  // namespace
}  // namespace goodside::listen
