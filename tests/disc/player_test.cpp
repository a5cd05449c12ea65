#include "disc/player.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <numbers>

#include "disc/equalisation.hpp"
#include "disc/format.hpp"
#include "support/formula_source.hpp"

namespace goodside::disc {
namespace {

using testing::FormulaSource;
using works::PlannedKind;

constexpr double tau = 2.0 * std::numbers::pi;

FormulaSource tone(double frequency_Hz, double duration_s = 8.0) {
  return {{48000.0, 2, duration_s},
          [=](double t, int) { return 0.5 * std::sin(tau * frequency_Hz * t); }};
}

FormulaSource silence(double duration_s = 8.0) {
  return {{48000.0, 2, duration_s}, [](double, int) { return 0.0; }};
}

/// A player without a fault of its own: what is left is what a test adds.
works::PlayedSide plain() {
  works::PlayedSide play;
  play.side = *cut_side("7in-45");
  play.sample_rate_Hz = 96000.0;
  play.level_dB = 0.0;
  play.drive.wander_rms = 0.0;
  play.cartridge = {.resonance_Hz = 0.0,
                    .arm_resonance_Hz = 0.0,
                    .crosstalk_dB = std::nullopt,
                    .stylus_radius_m = 0.0};
  play.surface = {.noise_dB = -200.0, .modulation_noise_dB = -200.0, .rumble_dB = -200.0};
  play.hum_dB = -200.0;
  play.lead_in_s = 1.0;
  play.run_out_s = 1.0;
  return play;
}

std::vector<float> rendered(const signal::SampleSource& programme,
                            const works::PlayedSide& play,
                            std::size_t block_frames = 5000) {
  auto player = Player::put_on(programme, play);
  EXPECT_TRUE(player) << player.error().text;
  std::vector<float> all;
  std::vector<float> block(block_frames * static_cast<std::size_t>(play.channels));
  while (true) {
    const auto frames = player->render(block);
    EXPECT_TRUE(frames);
    all.insert(all.end(), block.begin(), block.begin() + *frames * play.channels);
    if (*frames < static_cast<std::int64_t>(block_frames)) break;
  }
  EXPECT_EQ(static_cast<std::int64_t>(all.size()), player->frames() * play.channels);
  return all;
}

works::Truth truth(const signal::SampleSource& programme, const works::PlayedSide& play) {
  return Player::put_on(programme, play)->truth();
}

/// A tone in one channel of interleaved stereo, over one second.
struct Tone {
  std::size_t channel;
  double rate_Hz, from_s, frequency_Hz;
};

/// Its complex amplitude.
std::complex<double> line(const std::vector<float>& stereo, const Tone& tone) {
  std::complex<double> sum{};
  const auto from = static_cast<std::size_t>(tone.from_s * tone.rate_Hz);
  const auto count = static_cast<std::size_t>(tone.rate_Hz);
  for (std::size_t k = 0; k < count; ++k)
    sum += static_cast<double>(stereo[2 * (from + k) + tone.channel]) *
           std::polar(2.0 / static_cast<double>(count),
                      -tau * tone.frequency_Hz * static_cast<double>(k) / tone.rate_Hz);
  return sum;
}

struct Span {
  double rate_Hz, from_s, to_s;
};

double rms(const std::vector<float>& stereo, const Span& span) {
  double sum = 0.0;
  const auto from = static_cast<std::size_t>(2.0 * span.from_s * span.rate_Hz);
  const auto to = static_cast<std::size_t>(2.0 * span.to_s * span.rate_Hz);
  for (std::size_t k = from; k < to; ++k) sum += std::pow(static_cast<double>(stereo[k]), 2);
  return std::sqrt(sum / static_cast<double>(to - from));
}

TEST(Player, GivesTheProgrammeBackWhereNothingIsWrong) {
  const auto programme = tone(1000.0);
  works::PlayedSide play = plain();
  play.drive.clock_error_ppm = 40.0;
  play.drive.speed_error = 0.002;
  const auto samples = rendered(programme, play);
  const works::Truth told = truth(programme, play);
  // d programme / d capture = 1.002 / (1 + 40e-6).
  EXPECT_NEAR(told.speed_error_ppm, 1e6 * (1.002 / (1.0 + 40e-6) - 1.0), 1e-6);
  for (std::size_t k = 200000; k < 600000; k += 97) {
    const double capture_s = static_cast<double>(k) / 96000.0;
    const double programme_s =
        (capture_s - told.programme_start_s) * (1.0 + told.speed_error_ppm * 1e-6);
    EXPECT_NEAR(samples[2 * k], 0.5 * std::sin(tau * 1000.0 * programme_s), 4e-5);
  }
}

TEST(Player, GivesTheSameWhateverTheBlocks) {
  const auto programme = tone(440.0, 5.0);
  works::PlayedSide play;
  play.side = *cut_side("10in-78");
  play.sample_rate_Hz = 44100.0;
  play.eccentricity_m = 0.2e-3;
  play.arm = {0.2302, 0.2148};
  play.warp.height_m = 0.3e-3;
  play.echo_lag_dB = -40.0;
  play.surface.crackle_per_s = 50.0;
  play.drive.lines = {{4.0, 5e-4, 10.0}};
  for (const PlannedKind kind : {PlannedKind::tick,
                                 PlannedKind::burst,
                                 PlannedKind::dropout,
                                 PlannedKind::jump,
                                 PlannedKind::clip}) {
    works::FaultPlan plan;
    plan.kind = kind;
    plan.programme_s = 1.0 + 0.5 * static_cast<double>(play.faults.size());
    play.faults.push_back(plan);
  }
  const auto once = rendered(programme, play, 1 << 20);
  EXPECT_EQ(once, rendered(programme, play, 1));
  EXPECT_EQ(once, rendered(programme, play, 4097));
  play.seed = 2;
  EXPECT_NE(once, rendered(programme, play, 4097));
}

// Second road: tracing distortion's closed form, R A w / (2 V^2) relative to the tone, the tone's
// velocity raised by the recording curve before and the harmonic lowered by the playback curve
// after.
TEST(Player, TracesTheSecondHarmonicOfTheClosedForm) {
  constexpr double frequency_Hz = 3000.0;
  const auto programme = tone(frequency_Hz);
  works::PlayedSide play = plain();
  play.sample_rate_Hz = 192000.0;
  play.cartridge.stylus_radius_m = 18e-6;
  play.cartridge.full_scale_velocity_m_per_s = 0.05;
  play.side.inner_radius_m = 0.0;
  play.side.outer_radius_m = 0.06;
  play.side.pitch_m = 1e-8;
  const auto samples = rendered(programme, play);
  const Curve iec = *curve("iec-60098");
  const double speed_m_per_s = tau * 0.06 * 45.0 / 60.0;
  const double cut_m_per_s =
      0.5 * 0.05 * std::pow(10.0, -playback_gain_dB(iec, frequency_Hz) / 20.0);
  const double expected =
      18e-6 * cut_m_per_s * tau * frequency_Hz / (2.0 * speed_m_per_s * speed_m_per_s) *
      std::pow(
          10.0,
          (playback_gain_dB(iec, 2.0 * frequency_Hz) - playback_gain_dB(iec, frequency_Hz)) / 20.0);
  const auto left = line(samples, {0, 192000.0, 3.0, 2.0 * frequency_Hz});
  const auto right = line(samples, {1, 192000.0, 3.0, 2.0 * frequency_Hz});
  EXPECT_NEAR(std::abs(left) / std::abs(line(samples, {0, 192000.0, 3.0, frequency_Hz})),
              expected,
              0.02 * expected);
  // A lateral tone's harmonic is vertical.
  EXPECT_LT(std::abs(left + right), 0.01 * std::abs(left));
}

TEST(Player, KeepsTheLevelsItIsGiven) {
  works::PlayedSide play = plain();
  play.surface.noise_dB = -40.0;
  play.surface.once_per_turn = 0.0;
  play.sample_rate_Hz = 44100.0;
  const double band_dB = 10.0 * std::log10(0.5 + 0.5 * 22050.0 / 20000.0);
  EXPECT_NEAR(
      20.0 * std::log10(rms(rendered(silence(), play), {44100.0, 2.0, 9.0})), -40.0 + band_dB, 0.1);
  play.surface.noise_dB = -200.0;
  play.surface.rumble_dB = -50.0;
  EXPECT_NEAR(
      20.0 * std::log10(rms(rendered(silence(20.0), play), {44100.0, 2.0, 21.0})), -50.0, 0.5);
  play.surface.rumble_dB = -200.0;
  play.hum_dB = -60.0;
  EXPECT_NEAR(20.0 * std::log10(std::abs(line(rendered(silence(), play), {0, 44100.0, 3.0, 50.0})) /
                                std::numbers::sqrt2),
              -60.0,
              0.1);
  play.hum_dB = -200.0;
  play.cartridge.crosstalk_dB = -30.0;
  const FormulaSource left_only{{48000.0, 2, 8.0}, [](double t, int c) {
                                  return c == 0 ? 0.5 * std::sin(tau * 300.0 * t) : 0.0;
                                }};
  const auto leaked = rendered(left_only, play);
  EXPECT_NEAR(20.0 * std::log10(std::abs(line(leaked, {1, 44100.0, 3.0, 300.0})) /
                                std::abs(line(leaked, {0, 44100.0, 3.0, 300.0}))),
              -30.0,
              0.1);
}

TEST(Player, PutsEachFaultWhereTheTruthSays) {
  works::PlayedSide play = plain();
  for (const double place_s : {1.2345678, 5.0}) {
    works::FaultPlan plan;
    plan.programme_s = place_s;
    plan.peak_dB = -6.0;
    plan.channel = works::FaultChannel::left;
    play.faults.push_back(plan);
  }
  play.eccentricity_m = 0.3e-3;
  const auto samples = rendered(silence(), play);
  const works::Truth told = truth(silence(), play);
  ASSERT_EQ(told.faults.size(), 2u);
  for (const works::TrueFault& fault : told.faults) {
    const auto at = static_cast<std::size_t>(std::lround(fault.capture_s * 96000.0));
    double peak = 0.0;
    std::size_t peak_at = 0;
    for (std::size_t k = at - 100; k < at + 100; ++k) {
      const double size = std::abs(static_cast<double>(samples[2 * k]));
      if (size > peak) {
        peak = size;
        peak_at = k;
      }
      EXPECT_LT(std::abs(samples[2 * k + 1]), 1e-4f);
    }
    EXPECT_NEAR(20.0 * std::log10(peak), -6.0, 0.3);
    EXPECT_NEAR(static_cast<double>(peak_at), fault.capture_s * 96000.0, 3.0);
    EXPECT_EQ(fault.revolution, static_cast<std::int64_t>(fault.programme_s * 0.75));
    // The truth's own track leads from capture to programme time.
    const double hops = fault.capture_s / told.track_hop_s;
    const auto hop = static_cast<std::size_t>(hops);
    const double on_track = std::lerp(told.track_programme_s[hop],
                                      told.track_programme_s[hop + 1],
                                      hops - static_cast<double>(hop));
    EXPECT_NEAR(on_track, fault.programme_s, 1e-6);
  }
}

TEST(Player, MakesEachKindOfFaultAsItIsDescribed) {
  const auto programme = tone(1000.0, 20.0);
  works::PlayedSide play = plain();
  play.faults = {
      {.kind = PlannedKind::dropout, .programme_s = 3.0, .duration_s = 0.5, .peak_dB = -20.0},
      {.kind = PlannedKind::clip, .programme_s = 5.0, .duration_s = 0.5, .peak_dB = -12.0},
      {.kind = PlannedKind::burst,
       .programme_s = 7.0,
       .duration_s = 0.5,
       .peak_dB = -10.0,
       .channel = works::FaultChannel::right},
      {.kind = PlannedKind::scratch, .programme_s = 9.0, .turns = 5, .span_deg = 8.0},
      {.kind = PlannedKind::arc, .programme_s = 12.0, .turns = 3, .span_deg = 36.0}};
  const auto samples = rendered(programme, play);
  const works::Truth told = truth(programme, play);
  const auto at = [&](double programme_s) { return told.programme_start_s + programme_s; };
  const double usual = 0.5 / std::numbers::sqrt2;
  EXPECT_NEAR(rms(samples, {96000.0, at(2.9), at(3.1)}), 0.1 * usual, 0.01 * usual);
  EXPECT_NEAR(rms(samples, {96000.0, at(2.0), at(2.6)}), usual, 0.01 * usual);
  for (int k = 0; k < 400; ++k) {
    const double t = 4.8 + k * 0.001;
    EXPECT_LE(std::abs(samples[2 * static_cast<std::size_t>(at(t) * 96000.0)]), 0.2512f);
  }
  double left = 0.0;
  double right = 0.0;
  for (std::size_t k = static_cast<std::size_t>(at(6.9) * 96000.0);
       k < static_cast<std::size_t>(at(7.1) * 96000.0);
       ++k) {
    const double cut =
        0.5 * std::sin(tau * 1000.0 * (static_cast<double>(k) / 96000.0 - told.programme_start_s));
    left += std::pow(static_cast<double>(samples[2 * k]) - cut, 2) / 19200.0;
    right += std::pow(static_cast<double>(samples[2 * k + 1]) - cut, 2) / 19200.0;
  }
  EXPECT_LT(left, 1e-8);
  EXPECT_NEAR(10.0 * std::log10(right), -10.0 - 20.0 * std::log10(3.0), 1.0);
  int ticks = 0;
  int sectors = 0;
  for (const works::TrueFault& fault : told.faults) {
    if (fault.pattern == works::PatternKind::radial) {
      EXPECT_NEAR(
          std::remainder(fault.angle_deg - 360.0 * 0.75 * 9.0 - 2.0 * ticks, 360.0), 0.0, 0.3);
      ++ticks;
    }
    if (fault.pattern == works::PatternKind::arc) {
      EXPECT_NEAR(std::remainder(fault.angle_deg - 18.0, 360.0), 0.0, 1e-6);
      EXPECT_NEAR(fault.duration_s, 0.1 * 60.0 / 45.0, 1e-12);
      ++sectors;
    }
  }
  EXPECT_EQ(ticks, 5);
  EXPECT_EQ(sectors, 3);
}

TEST(Player, FindsAFaultByRadiusAndAngle) {
  works::PlayedSide play = plain();
  works::FaultPlan plan;
  plan.radius_m = 0.07;
  plan.angle_deg = 123.0;
  play.faults = {plan};
  const works::Truth told = truth(silence(60.0), play);
  ASSERT_EQ(told.faults.size(), 1u);
  EXPECT_NEAR(told.faults[0].angle_deg, 123.0, 1e-9);
  EXPECT_NEAR(told.faults[0].radius_m, 0.07, told.geometry.pitch_m / 2.0 + 1e-9);
}

TEST(Player, JumpsRepeatsAndLocksByWholeTurns) {
  works::PlayedSide play = plain();
  const auto add = [&](PlannedKind kind, double programme_s, int turns) {
    works::FaultPlan plan;
    plan.kind = kind;
    plan.programme_s = programme_s;
    plan.turns = turns;
    play.faults.push_back(plan);
  };
  add(PlannedKind::jump, 4.0, 3);
  add(PlannedKind::repeat, 12.0, 2);
  add(PlannedKind::locked, 20.0, 4);
  add(PlannedKind::tick, 5.0, 0);   // under the jump: never met
  add(PlannedKind::tick, 11.0, 0);  // within the repeat: met twice
  add(PlannedKind::tick, 19.5, 0);  // in the locked turn: met five times
  const works::Truth told = truth(silence(30.0), play);
  int jumps = 0;
  int repeats = 0;
  int ticks_at[3] = {};
  for (const works::TrueFault& fault : told.faults) {
    if (fault.kind == works::FaultKind::jump) {
      EXPECT_NEAR(*fault.programme_jump_s, 3.0 * 60.0 / 45.0, 1e-9);
      ++jumps;
    }
    if (fault.kind == works::FaultKind::repeat) {
      const double turns = fault.programme_s < 15.0 ? -2.0 : -1.0;
      EXPECT_NEAR(*fault.programme_jump_s, turns * 60.0 / 45.0, 1e-9);
      ++repeats;
    }
    if (fault.kind == works::FaultKind::tick)
      ++ticks_at[fault.programme_s < 8.0 ? 0 : fault.programme_s < 15.0 ? 1 : 2];
  }
  EXPECT_EQ(jumps, 1);
  EXPECT_EQ(repeats, 5);
  EXPECT_EQ(ticks_at[0], 0);
  EXPECT_EQ(ticks_at[1], 2);
  EXPECT_EQ(ticks_at[2], 5);
  EXPECT_EQ(told.stretches.size(), 7u);
  EXPECT_NEAR(
      told.programme_end_s - told.programme_start_s, 30.0 + (2.0 + 4.0 - 3.0) * 60.0 / 45.0, 1e-8);
}

TEST(Player, PlaysAnExcerptWithoutNeedleNoise) {
  const auto programme = tone(500.0);
  works::PlayedSide play = plain();
  play.from_s = 2.5;
  play.to_s = 6.0;
  const auto samples = rendered(programme, play);
  EXPECT_EQ(samples.size(), 672000u);
  EXPECT_NEAR(truth(programme, play).programme_start_s, -2.5, 1e-9);
  EXPECT_NEAR(samples[9600], 0.5 * std::sin(tau * 500.0 * 2.55), 1e-4);
}

TEST(Player, SwapsInvertsMixesAndEchoes) {
  const FormulaSource left_only{{48000.0, 2, 8.0}, [](double t, int c) {
                                  return c == 0 ? 0.5 * std::sin(tau * 300.0 * t) : 0.0;
                                }};
  works::PlayedSide play = plain();
  const auto usual = line(rendered(left_only, play), {0, 96000.0, 3.0, 300.0});
  play.swapped = true;
  play.inverted = true;
  const auto turned = rendered(left_only, play);
  EXPECT_LT(std::abs(line(turned, {1, 96000.0, 3.0, 300.0}) + usual), 1e-4);
  EXPECT_LT(std::abs(line(turned, {0, 96000.0, 3.0, 300.0})), 1e-4);
  play = plain();
  play.echo_lead_dB = -20.0;
  // A burst from 4 s on, heard a turn ahead at a tenth.
  const FormulaSource late{{48000.0, 2, 8.0}, [](double t, int) {
                             return t > 4.0 ? 0.5 * std::sin(tau * 300.0 * t) : 0.0;
                           }};
  const auto echoed = rendered(late, play);
  const double start_s = truth(late, play).programme_start_s;
  EXPECT_NEAR(std::abs(line(echoed, {0, 96000.0, start_s + 2.8, 300.0})), 0.05, 1e-4);
  EXPECT_LT(std::abs(line(echoed, {0, 96000.0, start_s + 1.5, 300.0})), 1e-4);
}

TEST(Player, RefusesWhatCannotBePlayed) {
  const auto refused = [](const works::PlayedSide& play) {
    const auto player = Player::put_on(silence(), play);
    return player ? std::string{} : player.error().text;
  };
  works::PlayedSide play = plain();
  play.sample_rate_Hz = 22050.0;
  EXPECT_NE(refused(play).find("22050"), std::string::npos);
  play = plain();
  play.surface.noise_dB = std::nan("");
  EXPECT_NE(refused(play).find("noise"), std::string::npos);
  play = plain();
  play.from_s = 7.0;
  play.to_s = 3.0;
  EXPECT_FALSE(refused(play).empty());
  play = plain();
  play.faults.push_back({.kind = PlannedKind::tick, .programme_s = 9.0});
  EXPECT_NE(refused(play).find("outside the programme"), std::string::npos);
  play.faults = {{.kind = PlannedKind::jump, .programme_s = 7.5, .turns = 5}};
  EXPECT_FALSE(refused(play).empty());
}

}  // namespace
}  // namespace goodside::disc
