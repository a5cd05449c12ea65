#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

#include "disc/equalisation.hpp"
#include "disc/filter.hpp"
#include "disc/format.hpp"
#include "disc/instants.hpp"
#include "disc/pickup.hpp"
#include "disc/platter.hpp"
#include "disc/surface_noise.hpp"
#include "stats/draw.hpp"

namespace goodside::disc {
namespace {

using stats::Draw;

constexpr double tau = 2.0 * std::numbers::pi;

double gain_dB(const Biquad& filter, double frequency_Hz, double rate_Hz) {
  const std::complex<double> back = std::polar(1.0, -tau * frequency_Hz / rate_Hz);
  return 20.0 * std::log10(std::abs((filter.b0 + back * (filter.b1 + back * filter.b2)) /
                                    (1.0 + back * (filter.a1 + back * filter.a2))));
}

// Property: cutting and playing are inverse, to rounding, whatever goes through.
TEST(Emphasis, ComesBackUnchanged) {
  Emphasis wall = emphasis({3180e-6, 318e-6, 75e-6}, 44100.0);
  Draw draw{1};
  for (int k = 0; k < 200000; ++k) {
    const double x = draw.normal();
    EXPECT_NEAR(wall.playing(wall.cutting(x)), x, 1e-10);
  }
}

// Second road: the analogue response of the time constants.
TEST(Emphasis, FollowsTheCurveInTheBandThatItPromises) {
  const Curve iec = *curve("iec-60098");
  const Emphasis wall = emphasis({iec.bass_s, iec.turnover_s, iec.treble_s}, 96000.0);
  for (const double frequency_Hz : {20.0, 100.0, 500.0, 1000.0, 3000.0, 7000.0, 10000.0})
    EXPECT_NEAR(
        gain_dB(wall.playing, frequency_Hz, 96000.0), playback_gain_dB(iec, frequency_Hz), 0.5)
        << frequency_Hz;
}

// Second road: at its corner a second-order section has the gain Q.
TEST(Filter, HasItsQualityAtItsCorner) {
  for (const double quality : {0.7, 1.6}) {
    EXPECT_NEAR(gain_dB(low_pass({5000.0, quality}, 48000.0), 5000.0, 48000.0),
                20.0 * std::log10(quality),
                1e-9);
    EXPECT_NEAR(gain_dB(high_pass({10.0, quality}, 48000.0), 10.0, 48000.0),
                20.0 * std::log10(quality),
                1e-6);
  }
  EXPECT_NEAR(gain_dB(low_pass({5000.0, 0.7}, 48000.0), 1e-3, 48000.0), 0.0, 1e-9);
  EXPECT_NEAR(gain_dB(high_pass({10.0, 0.7}, 48000.0), 24000.0, 48000.0), 0.0, 1e-9);
}

TEST(Pickup, TellsTheArmsGainWhereAWarpWorks) {
  works::Cartridge cartridge;
  const Pickup pickup{cartridge, 96000.0};
  EXPECT_NEAR(
      20.0 * std::log10(pickup.arm_gain(1.11)),
      gain_dB(
          high_pass({cartridge.arm_resonance_Hz, cartridge.arm_quality}, 96000.0), 1.11, 96000.0),
      1e-3);
}

// Property: moments of the draws; standard errors at a million draws are 0.001 and less, five of
// them allowed.
TEST(Draw, HasTheMomentsOfItsLaws) {
  Draw draw{7};
  constexpr int count = 1000000;
  double mean = 0.0, square = 0.0, fourth = 0.0, uniform = 0.0, exponential = 0.0;
  for (int k = 0; k < count; ++k) {
    const double x = draw.normal();
    mean += x / count;
    square += x * x / count;
    fourth += x * x * x * x / count;
    uniform += draw.uniform() / count;
    exponential += draw.exponential() / count;
  }
  EXPECT_NEAR(mean, 0.0, 5e-3);
  EXPECT_NEAR(square, 1.0, 7e-3);
  EXPECT_NEAR(fourth, 3.0, 5e-2);
  EXPECT_NEAR(uniform, 0.5, 1.5e-3);
  EXPECT_NEAR(exponential, 1.0, 5e-3);
}

// Published: the first outputs of SplitMix64 are a function of the state alone (Steele, Lea and
// Flood 2014): equal seeds, equal streams; another seed or stream, another sequence.
TEST(Draw, IsFixedBySeedAndStream) {
  EXPECT_EQ(Draw(5, 1).bits(), Draw(5, 1).bits());
  EXPECT_NE(Draw(5, 1).bits(), Draw(5, 2).bits());
  EXPECT_NE(Draw(5, 1).bits(), Draw(6, 1).bits());
}

// Second road: the rate integrated by Simpson's rule; and the inverse.
TEST(Platter, TurnsByTheIntegralOfItsRate) {
  works::Drive drive;
  drive.speed_error = -0.003;
  drive.wander_rms = 1e-3;
  drive.lines = {{0.55, 1e-3, 30.0}, {9.0, 5e-4, 200.0}};
  const Platter platter{45.0, drive, 3};
  double angle_rad = 0.0;
  constexpr double step_s = 1e-3;
  for (int k = 0; k < 20000; ++k) {
    const double t = k * step_s;
    angle_rad += step_s / 6.0 *
                 (platter.rate_rad_per_s(t) + 4.0 * platter.rate_rad_per_s(t + step_s / 2.0) +
                  platter.rate_rad_per_s(t + step_s));
  }
  EXPECT_NEAR(platter.angle_rad(20.0), angle_rad, 1e-9);
  for (const double t : {-3.0, 0.0, 7.7, 1500.0})
    EXPECT_NEAR(platter.time_s(platter.angle_rad(t)), t, 1e-11);
}

TEST(Platter, WandersAsMuchAsAsked) {
  works::Drive drive;
  drive.wander_rms = 4e-4;
  const Platter platter{100.0 / 3.0, drive, 11};
  double square = 0.0;
  constexpr int count = 200000;
  for (int k = 0; k < count; ++k) {
    const double deviation = platter.rate_rad_per_s(k * 0.05) / (tau * 100.0 / 180.0) - 1.0;
    square += deviation * deviation / count;
  }
  EXPECT_NEAR(std::sqrt(square), 4e-4, 1e-5);
}

// Second road: the exact path at every frame, against the cubic between knots.
TEST(Instants, KeepToTheExactPath) {
  works::PlayedSide played;
  played.side = *cut_side("7in-45");
  played.eccentricity_m = 0.3e-3;
  played.arm = {0.2302, 0.2148};
  played.drive.lines = {{100.0, 1e-3, 0.0}, {0.75, 2e-3, 50.0}};
  played.faults.push_back({.kind = works::PlannedKind::jump, .programme_s = 5.0, .turns = 2});
  const Groove groove = *Groove::of(played.side, 30.0);
  const PlayedPath path = *PlayedPath::of(played, groove, 0.0485);
  std::vector<double> instants_s(400000);
  lay_instants(path, 44100.0, 0, instants_s);
  double worst_in_programme_s = 0.0;
  double worst_s = 0.0;
  for (std::size_t k = 0; k < instants_s.size(); k += 7) {
    const double exact_s = path.programme_s(static_cast<double>(k) / 44100.0);
    const double error_s = std::abs(instants_s[k] - exact_s);
    worst_s = std::max(worst_s, error_s);
    if (exact_s > 2e-3) worst_in_programme_s = std::max(worst_in_programme_s, error_s);
  }
  EXPECT_LT(worst_in_programme_s, 1e-10);
  EXPECT_LT(worst_s, 1e-7);
}

// Property: power of each kind of noise, and its growth over the angle.
TEST(SurfaceNoise, SwellsOnceATurnAndFollowsTheProgramme) {
  works::Surface surface{.noise_dB = -40.0,
                         .low_share = 0.0,
                         .once_per_turn = 0.4,
                         .modulation_noise_dB = -300.0,
                         .rumble_dB = -300.0};
  SurfaceNoise noise{surface, 40000.0, 9};
  std::vector<double> power(36, 0.0);
  constexpr int turns = 20000;
  for (int turn = 0; turn < turns; ++turn)
    for (std::size_t sector = 0; sector < 36; ++sector) {
      const auto pair = noise.next(tau * static_cast<double>(sector) / 36.0, {});
      power[sector] += (pair.left * pair.left + pair.right * pair.right) / (2.0 * turns);
    }
  EXPECT_NEAR(*std::max_element(power.begin(), power.end()), 1e-4 * 1.4 * 1.4, 1e-4 * 0.06);
  EXPECT_NEAR(*std::min_element(power.begin(), power.end()), 1e-4 * 0.6 * 0.6, 1e-4 * 0.02);

  surface = {
      .noise_dB = -300.0, .once_per_turn = 0.0, .modulation_noise_dB = -30.0, .rumble_dB = -300.0};
  SurfaceNoise follower{surface, 40000.0, 9};
  double square = 0.0;
  constexpr int count = 400000;
  for (int k = 0; k < count; ++k)
    square += std::pow(follower.next(0.0, {0.5, 0.0}).left, 2) / count;
  EXPECT_NEAR(10.0 * std::log10(square), -30.0 - 6.02, 0.1);
}

TEST(SurfaceNoise, CracklesAsOftenAsAsked) {
  const works::Surface surface{.noise_dB = -300.0,
                               .modulation_noise_dB = -300.0,
                               .crackle_per_s = 50.0,
                               .crackle_dB = -40.0,
                               .rumble_dB = -300.0};
  SurfaceNoise noise{surface, 48000.0, 4};
  int starts = 0;
  double before = 0.0;
  double peaks = 0.0;
  for (int k = 0; k < 48000 * 60; ++k) {
    const double now = noise.next(0.0, {}).left;
    const double keep = std::exp(-tau * 7000.0 / 48000.0);
    const double fresh = now - keep * before;
    if (std::abs(fresh) > 1e-9) {
      ++starts;
      peaks += std::abs(fresh);
    }
    before = now;
  }
  EXPECT_NEAR(starts, 3000, 5 * 55);
  EXPECT_NEAR(peaks / starts, 0.01, 0.001);
}

}  // namespace
}  // namespace goodside::disc
