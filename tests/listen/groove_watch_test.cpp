#include "listen/groove_watch.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <numbers>
#include <string>
#include <vector>

#include "intake/audio_file.hpp"
#include "listen/simulated_frames.hpp"

namespace goodside::listen {
namespace {

using State = GrooveWatch::State;
using End = GrooveWatch::End;

/// What a bench hears, bit by bit: its own noise and mains hum throughout.
class Bench {
 public:
  explicit Bench(double rate_Hz, double noise_dB = -84.0)
      : rate_Hz_{rate_Hz}, noise_{std::pow(10.0, noise_dB / 20.0)} {}

  Bench& add(double seconds, const std::function<double(double, int)>& wave) {
    const auto frames = static_cast<std::size_t>(std::lround(seconds * rate_Hz_));
    for (std::size_t k = 0; k < frames; ++k)
      for (int c = 0; c < 2; ++c) {
        const double now_s = static_cast<double>(samples_.size() / 2) / rate_Hz_;
        const double hum = 0.01 * std::sin(2.0 * std::numbers::pi * 50.0 * now_s);
        samples_.push_back(static_cast<float>(hum + noise_ * draw_() +
                                              wave(static_cast<double>(k) / rate_Hz_, c)));
      }
    return *this;
  }
  Bench& quiet(double seconds) {
    return add(seconds, [](double, int) { return 0.0; });
  }
  /// White noise of a groove, or of a brush.
  Bench& rush(double seconds, double level_dB) {
    const double level = std::pow(10.0, level_dB / 20.0);
    return add(seconds, [&](double, int) { return level * draw_(); });
  }
  [[nodiscard]] double length_s() const {
    return static_cast<double>(samples_.size() / 2) / rate_Hz_;
  }
  [[nodiscard]] const std::vector<float>& samples() const { return samples_; }

 private:
  double rate_Hz_, noise_;
  simulated::Noise draw_{7};
  std::vector<float> samples_;
};

/// Surface noise of a real LP without music: tests/published/record_noise.
struct Surface {
  double rate_Hz{};
  std::vector<float> samples{};  ///< two channels
  [[nodiscard]] double length_s() const {
    return static_cast<double>(samples.size() / 2) / rate_Hz;
  }
  [[nodiscard]] double at(double time_s, int channel) const {
    const auto frame = static_cast<std::size_t>(std::lround(time_s * rate_Hz));
    const std::size_t at = 2 * frame + static_cast<std::size_t>(channel);
    return at < samples.size() ? static_cast<double>(samples[at]) : 0.0;
  }
};

Surface real_surface(const std::string& name) {
  const auto source = intake::open_audio(std::string{GOODSIDE_SOURCE_DIR} +
                                         "/tests/published/record_noise/" + name);
  EXPECT_TRUE(source) << source.error().text;
  Surface surface{.rate_Hz = (*source)->sample_rate_Hz()};
  EXPECT_EQ((*source)->channels(), 2);
  surface.samples.resize(2 * static_cast<std::size_t>((*source)->frames()));
  EXPECT_TRUE((*source)->read(0, surface.samples));
  return surface;
}

GrooveWatch heard(const Bench& bench, const GrooveWatch::Setting& setting) {
  GrooveWatch watch{setting};
  watch.take(bench.samples());
  return watch;
}

// Real grooves: the stylus is found going down and coming up, within a second of the truth.
TEST(GrooveWatch, HearsTheStylusGoDownAndUpInRealGrooves) {
  for (const char* name : {"lp_surface_01.mp3", "lp_surface_12.mp3", "lp_surface_25.mp3"}) {
    const Surface surface = real_surface(name);
    Bench bench{surface.rate_Hz};
    bench.quiet(4.0).add(surface.length_s(), [&](double t, int c) { return surface.at(t, c); });
    const double up_s = bench.length_s();
    bench.quiet(12.0);
    const GrooveWatch watch =
        heard(bench, {.sample_rate_Hz = surface.rate_Hz, .turn_s = 1.8, .programme_s = 6.0});
    EXPECT_EQ(watch.state(), State::ended) << name;
    EXPECT_EQ(watch.how_ended(), End::lifted) << name;
    EXPECT_NEAR(static_cast<double>(watch.from_frame()) / surface.rate_Hz, 4.0, 1.0) << name;
    EXPECT_LE(static_cast<double>(watch.from_frame()) / surface.rate_Hz, 4.0) << name;
    EXPECT_GE(static_cast<double>(watch.to_frame()) / surface.rate_Hz, up_s) << name;
    EXPECT_NEAR(static_cast<double>(watch.to_frame()) / surface.rate_Hz, up_s, 2.0) << name;
  }
}

TEST(GrooveWatch, KnowsTheFloorAfterASecondAndNeverStartsOnIt) {
  Bench bench{48000.0};
  bench.quiet(0.9);
  EXPECT_EQ(heard(bench, {.sample_rate_Hz = 48000.0}).state(), State::settling);
  bench.quiet(20.0);
  const auto watch = heard(bench, {.sample_rate_Hz = 48000.0});
  EXPECT_EQ(watch.state(), State::waiting);
  // White noise of -84 dB over 24 kHz has -84 + 10 lg(7.5 / 24) = -89.05 dB in 7.5 kHz; second-order
  // skirts of both sides pass a little more.
  EXPECT_NEAR(*watch.floor_dB(), -89.05, 0.6);
}

TEST(GrooveWatch, AKnockIsNoGrooveAndABrushIsForgotten) {
  Bench bench{48000.0};
  bench.quiet(3.0).rush(0.4, -20.0).quiet(3.0);
  EXPECT_EQ(heard(bench, {.sample_rate_Hz = 48000.0}).state(), State::waiting);
  EXPECT_EQ(heard(bench, {.sample_rate_Hz = 48000.0}).false_starts(), 0);
  bench.rush(4.0, -30.0);
  EXPECT_EQ(heard(bench, {.sample_rate_Hz = 48000.0}).state(), State::playing);
  bench.quiet(11.0);
  const auto brushed = heard(bench, {.sample_rate_Hz = 48000.0});
  EXPECT_EQ(brushed.state(), State::waiting);
  EXPECT_EQ(brushed.false_starts(), 1);
  const double down_s = bench.length_s();
  bench.rush(20.0, -55.0).quiet(12.0);
  const auto played = heard(bench, {.sample_rate_Hz = 48000.0});
  EXPECT_EQ(played.how_ended(), End::lifted);
  EXPECT_NEAR(static_cast<double>(played.from_frame()) / 48000.0, down_s, 0.5);
}

// One turn of a real groove over and over, under the bench's own noise, is a locked groove; a
// groove that goes on is none, however long.
TEST(GrooveWatch, EndsInALockedGrooveAndNotInARunOut) {
  const Surface surface = real_surface("lp_surface_12.mp3");
  constexpr double turn_s = 60.0 / 33.98;  // the recording's own: SOURCES of the data
  Bench locked{surface.rate_Hz, -70.0}, going{surface.rate_Hz, -70.0};
  locked.quiet(3.0).rush(12.0, -50.0);
  locked.add(40.0, [&](double t, int c) { return surface.at(std::fmod(t, turn_s) + 0.5, c); });
  going.quiet(3.0).rush(60.0, -50.0);
  const GrooveWatch::Setting setting{
      .sample_rate_Hz = surface.rate_Hz, .turn_s = 1.8, .programme_s = 10.0};
  const auto ended = heard(locked, setting);
  EXPECT_EQ(ended.how_ended(), End::locked_groove);
  // Two turns show that they are one, two more that it stays so; then nothing is waited for.
  const double in_lock_s = static_cast<double>(ended.to_frame()) / surface.rate_Hz - 15.0;
  EXPECT_GE(in_lock_s, 3.0 * turn_s);
  EXPECT_LE(in_lock_s, 7.0 * turn_s);
  EXPECT_EQ(heard(going, setting).state(), State::playing);
}

// Music may keep the turn's own time: 133 1/3 beats a minute at 33 1/3.
TEST(GrooveWatch, MusicAtATurnsPaceIsNoLock) {
  Bench bench{48000.0};
  bench.quiet(2.0).add(30.0, [](double t, int) {
    const double beat = std::fmod(t, 0.45);
    return 0.4 * std::exp(-beat * 20.0) * std::sin(2.0 * std::numbers::pi * 880.0 * t) + 0.003;
  });
  for (const auto programme_s : {std::optional{35.0}, std::optional<double>{}}) {
    const auto watch =
        heard(bench, {.sample_rate_Hz = 48000.0, .turn_s = 1.8, .programme_s = programme_s});
    EXPECT_EQ(watch.state(), State::playing);
  }
}

// A fade falls alike in every turn, and is no lock.
TEST(GrooveWatch, AFadeIsNoLock) {
  Bench bench{22050.0, -90.0};
  bench.quiet(2.0).rush(10.0, -20.0);
  for (int second = 0; second < 35; ++second) bench.rush(1.0, -20.0 - second);
  EXPECT_EQ(heard(bench, {.sample_rate_Hz = 22050.0, .turn_s = 1.8}).state(), State::playing);
  EXPECT_EQ(heard(bench, {.sample_rate_Hz = 22050.0, .turn_s = 1.8, .programme_s = 20.0}).state(),
            State::playing);
}

TEST(GrooveWatch, APersonMayBeginAndEnd) {
  Bench bench{48000.0};
  bench.rush(5.0, -50.0);
  GrooveWatch watch{{.sample_rate_Hz = 48000.0}};
  watch.take(bench.samples());
  EXPECT_EQ(watch.state(), State::waiting);  // down from the beginning: that is its floor
  watch.begin();
  EXPECT_EQ(watch.state(), State::playing);
  watch.take(bench.samples());
  watch.end();
  EXPECT_EQ(watch.how_ended(), End::by_hand);
  EXPECT_EQ(watch.from_frame(), 4 * 48000);
  EXPECT_EQ(watch.to_frame(), 10 * 48000);
}

TEST(GrooveWatch, EndsByItselfWhereNothingElseEndsIt) {
  Bench bench{22050.0};
  bench.quiet(2.0).rush(80.0, -50.0);
  const auto watch = heard(bench, {.sample_rate_Hz = 22050.0, .programme_s = 10.0});
  EXPECT_EQ(watch.how_ended(), End::too_long);
  EXPECT_NEAR(static_cast<double>(watch.to_frame()) / 22050.0, 2.0 + 1.1 * 10.0 + 60.0, 1.0);
}

// Property: any split into blocks gives the same.
TEST(GrooveWatch, BlocksOfAnySizeGiveTheSame) {
  Bench bench{22050.0};
  bench.quiet(2.0).rush(20.0, -50.0).quiet(12.0);
  const GrooveWatch whole = heard(bench, {.sample_rate_Hz = 22050.0});
  for (const std::size_t frames : {1U, 77U, 4096U}) {
    GrooveWatch pieces{{.sample_rate_Hz = 22050.0}};
    const std::span<const float> all{bench.samples()};
    for (std::size_t at = 0; at < all.size(); at += 2 * frames)
      pieces.take(all.subspan(at, std::min(2 * frames, all.size() - at)));
    EXPECT_EQ(pieces.from_frame(), whole.from_frame());
    EXPECT_EQ(pieces.to_frame(), whole.to_frame());
    EXPECT_EQ(pieces.how_ended(), End::lifted);
  }
}

}  // namespace
}  // namespace goodside::listen
