#include "listen/listen.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <memory>
#include <numbers>
#include <optional>
#include <vector>

#include "listen/simulated_frames.hpp"
#include "listen/window_audio.hpp"
#include "signal/warp.hpp"

namespace goodside::listen {
namespace {

constexpr double rate_Hz = 48000.0;
constexpr double speed = 1.0 + 500e-6;
constexpr double start_s = 1.5;
constexpr double cut_s = 20.0;
constexpr double capture_s = 22.5;
constexpr double ticks_s[] = {3.25, 6.0, 9.123, 14.5, 19.0};

/// A recording held in memory; `again` shares it.
class HeldSource final : public signal::SampleSource {
 public:
  using Samples = std::shared_ptr<const std::vector<float>>;
  explicit HeldSource(Samples interleaved) : samples_{std::move(interleaved)} {}

  [[nodiscard]] double sample_rate_Hz() const override { return rate_Hz; }
  [[nodiscard]] int channels() const override { return 2; }
  [[nodiscard]] std::int64_t frames() const override { return std::ssize(*samples_) / 2; }
  Outcome read(std::int64_t from, std::span<float> interleaved) override {
    for (std::size_t k = 0; k < interleaved.size(); ++k) {
      const std::int64_t at = 2 * from + static_cast<std::int64_t>(k);
      const bool inside = at >= 0 && at < std::ssize(*samples_);
      interleaved[k] = inside ? (*samples_)[static_cast<std::size_t>(at)] : 0.0F;
    }
    return Done{};
  }
  [[nodiscard]] Result<std::unique_ptr<SampleSource>> again() const override {
    return std::unique_ptr<SampleSource>{std::make_unique<HeldSource>(samples_)};
  }

 private:
  Samples samples_;
};

HeldSource held(const simulated::Stereo& sides) {
  std::vector<float> interleaved;
  for (std::size_t n = 0; n < sides[0].size(); ++n) {
    interleaved.push_back(sides[0][n]);
    interleaved.push_back(sides[1][n]);
  }
  return HeldSource{std::make_shared<const std::vector<float>>(std::move(interleaved))};
}

simulated::Stereo title(std::uint32_t seed) {
  constexpr auto size = static_cast<std::size_t>(cut_s * rate_Hz);
  simulated::Stereo sides;
  const auto middle = simulated::programme(size, rate_Hz, 0.06, 20.0, seed);
  for (std::uint32_t c = 0; c < 2; ++c) {
    sides[c] = simulated::programme(size, rate_Hz, 0.04, 20.0, seed + 1 + c);
    simulated::add(sides[c], middle, 1.0);
  }
  return sides;
}

// The cut played from 1.5 s on, 500 ppm fast, half as loud, over surface noise and five ticks.
simulated::Stereo played(const simulated::Stereo& cut) {
  constexpr auto size = static_cast<std::size_t>(capture_s * rate_Hz);
  simulated::Stereo sides{simulated::Track(size), simulated::Track(size)};
  const std::span<const float> from[] = {cut[0], cut[1]};
  const std::span<float> to[] = {sides[0], sides[1]};
  signal::WarpReader{}.read(from, {-start_s * speed * rate_Hz, speed, 0.0, 0.0}, to);
  for (std::uint32_t c = 0; c < 2; ++c) {
    simulated::Noise noise{90 + c};
    for (float& sample : sides[c]) sample = 0.5F * sample + static_cast<float>(3e-4 * noise());
    for (const double at_s : ticks_s) {
      constexpr float tick[] = {0.08F, -0.06F, 0.03F, -0.01F};
      for (std::size_t j = 0; j < std::size(tick); ++j)
        sides[c][static_cast<std::size_t>(std::lround(at_s * rate_Hz)) + j] += tick[j];
    }
  }
  return sides;
}

Options options(int jobs) {
  Options options;
  options.side.rpm = 100.0 / 3.0;
  options.side.disc_diameter_m = 0.3016;
  options.side.pitch_m = 100e-6;
  options.side.outer_radius_m = 0.146;
  options.side.inner_radius_m = 0.146 - 100e-6 * cut_s * options.side.rpm / 60.0;
  options.jobs = jobs;
  return options;
}

class Listen : public ::testing::Test {
 protected:
  static void SetUpTestSuite() {
    cut_ = std::make_unique<simulated::Stereo>(title(1));
    capture_ = std::make_unique<simulated::Stereo>(played(*cut_));
  }
  static void TearDownTestSuite() {
    cut_.reset();
    capture_.reset();
  }
  static Result<works::ListeningReport> report(int jobs) {
    return listen(held(*capture_), held(*cut_), options(jobs), {});
  }

  static inline std::unique_ptr<simulated::Stereo> cut_, capture_;
};

// Regression, 2026-11-25: an excerpt that began or ended in the programme on the border of a piece made the
// filters for rumble and echo reach beyond its samples.
TEST_F(Listen, HearsAnExcerptOfAnyLengthFromTheMiddle) {
  for (const double length_s : {5.0, 6.0, 7.3, 12.0, 12.01}) {
    const double from_s = 4.0;
    simulated::Stereo excerpt;
    for (std::size_t c = 0; c < 2; ++c) {
      const auto begin = (*capture_)[c].begin() + std::lround(from_s * rate_Hz);
      excerpt[c].assign(begin, begin + std::lround(length_s * rate_Hz));
    }
    const auto heard = listen(held(excerpt), held(*cut_), options(2), {});
    ASSERT_TRUE(heard) << heard.error().text;
    ASSERT_TRUE(heard->alignment && heard->alignment->found) << length_s;
    EXPECT_NEAR(heard->alignment->programme_start_s, start_s - from_s, 1e-3) << length_s;
    for (const double at_s : ticks_s) {
      if (at_s < from_s + 0.1 || at_s > from_s + length_s - 0.1) continue;
      EXPECT_TRUE(std::ranges::any_of(heard->faults,
                                      [&](const works::FaultEvent& fault) {
                                        return std::abs(fault.capture_s - (at_s - from_s)) < 1e-4;
                                      }))
          << length_s << " s, tick at " << at_s;
    }
  }
}

TEST_F(Listen, PlacesThePlayingAndFindsItsTicks) {
  const auto heard = report(2);
  ASSERT_TRUE(heard) << heard.error().text;
  ASSERT_TRUE(heard->alignment);
  const works::Alignment& alignment = *heard->alignment;
  ASSERT_TRUE(alignment.found);
  EXPECT_NEAR(alignment.programme_start_s, start_s, 20e-6);
  EXPECT_NEAR(alignment.programme_end_s, start_s + cut_s / speed, 20e-6);
  EXPECT_NEAR(alignment.speed_error_ppm, 500.0, 2.0);
  EXPECT_NEAR(alignment.gain_dB, -6.02, 0.05);
  EXPECT_EQ(alignment.polarity, 1);
  EXPECT_EQ(alignment.channels, works::ChannelOrder::as_cut);

  std::vector<works::FaultEvent> audible;
  std::ranges::copy_if(heard->faults, std::back_inserter(audible), [](const auto& fault) {
    return fault.audibility != works::Audibility::masked;
  });
  ASSERT_EQ(audible.size(), std::size(ticks_s));
  for (std::size_t k = 0; k < audible.size(); ++k) {
    EXPECT_NEAR(audible[k].capture_s, ticks_s[k], 0.05e-3);
    ASSERT_TRUE(audible[k].programme_s);
    EXPECT_NEAR(*audible[k].programme_s, (ticks_s[k] - start_s) * speed, 0.1e-3);
    EXPECT_EQ(audible[k].kind, works::FaultKind::tick);
  }
}

TEST_F(Listen, TellsTheSameForAnyNumberOfJobs) {
  const auto one = report(1);
  const auto two = report(2);
  ASSERT_TRUE(one && two);
  ASSERT_TRUE(one->alignment && two->alignment);
  EXPECT_EQ(one->alignment->programme_start_s, two->alignment->programme_start_s);
  EXPECT_EQ(one->alignment->speed_error_ppm, two->alignment->speed_error_ppm);
  EXPECT_EQ(one->alignment->gain_dB, two->alignment->gain_dB);
  EXPECT_EQ(one->wow.curve.deviation, two->wow.curve.deviation);
  EXPECT_EQ(one->noise.weighted_dB, two->noise.weighted_dB);
  EXPECT_EQ(one->noise.rumble_dB, two->noise.rumble_dB);
  EXPECT_EQ(one->noise.weighted_468_dB, two->noise.weighted_468_dB);
  ASSERT_EQ(one->faults.size(), two->faults.size());
  for (std::size_t k = 0; k < one->faults.size(); ++k) {
    EXPECT_EQ(one->faults[k].capture_s, two->faults[k].capture_s);
    EXPECT_EQ(one->faults[k].excess_dB, two->faults[k].excess_dB);
  }
  ASSERT_EQ(one->levels.third_octave.size(), two->levels.third_octave.size());
  for (std::size_t k = 0; k < one->levels.third_octave.size(); ++k)
    EXPECT_EQ(one->levels.third_octave[k].left_dB, two->levels.third_octave[k].left_dB);
  EXPECT_EQ(one->noise.polar.has_value(), two->noise.polar.has_value());
  if (one->noise.polar && two->noise.polar) {
    EXPECT_EQ(one->noise.polar->dB, two->noise.polar->dB);
  }
  EXPECT_EQ(one->remarks, two->remarks);
}

// Second road: a vertical line of amplitude a in the capture reads 20 log10 a less the gain, whatever
// lies over it and between whatever pieces.
TEST_F(Listen, ReadsTheWarpUnderTheProgramme) {
  constexpr double rpm = 78.26, once = 2e-3, twice = 1e-3, gain_dB = -6.02;
  simulated::Stereo warped = *capture_;
  for (std::size_t k = 0; k < warped[0].size(); ++k) {
    const double angle =
        2.0 * std::numbers::pi * rpm / 60.0 * speed * static_cast<double>(k) / rate_Hz;
    const auto line =
        static_cast<float>(once * std::sin(angle) + twice * std::sin(2.0 * angle + 1.0));
    warped[0][k] += line;
    warped[1][k] -= line;
  }
  Options setting = options(2);
  setting.side.rpm = rpm;
  setting.side.inner_radius_m = 0.146 - 100e-6 * cut_s * rpm / 60.0;
  const auto heard = listen(held(warped), held(*cut_), setting, {});
  ASSERT_TRUE(heard) << heard.error().text;
  ASSERT_TRUE(heard->warp && heard->warp->once_per_turn_dB && heard->warp->harmonics_dB);
  EXPECT_NEAR(*heard->warp->once_per_turn_dB, 20.0 * std::log10(once) - gain_dB, 0.3);
  EXPECT_NEAR(*heard->warp->harmonics_dB, 20.0 * std::log10(twice) - gain_dB, 0.3);

  const auto flat = listen(held(*capture_), held(*cut_), setting, {});
  ASSERT_TRUE(flat && flat->warp);
  EXPECT_FALSE(flat->warp->once_per_turn_dB);
}

TEST_F(Listen, DoesNotFindAWrongTitle) {
  const auto heard = listen(held(*capture_), held(title(1001)), options(2), {});
  ASSERT_TRUE(heard) << heard.error().text;
  ASSERT_TRUE(heard->alignment);
  EXPECT_FALSE(heard->alignment->found);
  EXPECT_TRUE(heard->faults.empty());
  EXPECT_FALSE(heard->undetermined.empty());
}

TEST_F(Listen, RefusesASilentCapture) {
  const simulated::Stereo silence{simulated::Track(480000), simulated::Track(480000)};
  const auto heard = listen(held(silence), held(*cut_), options(1), {});
  ASSERT_FALSE(heard);
  EXPECT_EQ(heard.error().fault, Fault::bad_input);
  EXPECT_EQ(heard.error().text.rfind("the capture:", 0), 0U) << heard.error().text;
}

TEST_F(Listen, RefusesACaptureShorterThanFiveSeconds) {
  const simulated::Stereo brief{simulated::Track(239999, 0.1F), simulated::Track(239999, 0.1F)};
  const auto heard = listen(held(brief), held(*cut_), options(1), {});
  ASSERT_FALSE(heard);
  EXPECT_EQ(heard.error().fault, Fault::bad_input);
}

TEST_F(Listen, StopsWhenAsked) {
  const auto heard =
      listen(held(*capture_), held(*cut_), options(2), [](double share) { return share < 0.3; });
  ASSERT_FALSE(heard);
  EXPECT_EQ(heard.error().fault, Fault::conflict);
}

// By construction: a tick begins with 0.08, the surface is 32 dB under the programme, the capture is at 48 kHz
// already. Programme off its place by more than a few microseconds would leave more than -25 dB: last -27.2 dB.
TEST_F(Listen, KeepsWhatAWindowIsHeardAgainFrom) {
  Kept kept;
  int times = 0;
  Options keeping = options(2);
  keeping.keep = [&](Kept&& all) {
    kept = std::move(all);
    ++times;
  };
  ASSERT_TRUE(listen(held(*capture_), held(*cut_), keeping, {}));
  ASSERT_EQ(times, 1);
  const Window window{8.0, 10.5};  // the tick at 9.123 s in it
  const auto heard = window_audio(held(*capture_), held(*cut_), kept, window).value();
  ASSERT_EQ(heard.frames(), 120000U);
  double left_over = 0.0;
  double programme = 0.0;
  double tick = 0.0;
  const auto tick_at = static_cast<std::size_t>(std::lround((9.123 - 8.0) * rate_Hz));
  for (std::size_t n = 0; n < heard.frames(); ++n)
    for (std::size_t c = 0; c < 2; ++c) {
      const std::size_t at = 2 * n + c;
      ASSERT_FLOAT_EQ(heard.difference[at], heard.capture[at] - heard.cut[at]);
      ASSERT_NEAR(heard.capture[at], (*capture_)[c][384000 + n], 2e-5);
      if (n + 10 > tick_at && n < tick_at + 20)
        tick = std::max(tick, static_cast<double>(std::abs(heard.difference[at])));
      else
        left_over += static_cast<double>(heard.difference[at] * heard.difference[at]);
      programme += static_cast<double>(heard.cut[at] * heard.cut[at]);
    }
  EXPECT_NEAR(tick, 0.08, 0.004);
  EXPECT_LT(10.0 * std::log10(left_over / programme), -25.0);
  EXPECT_GT(left_over / (2.0 * 120000.0), 0.8 * 3e-4 * 3e-4)
      << "the surface stays in the difference";
}

// Property: what is heard at a moment does not hang on where its window begins and ends.
TEST_F(Listen, HearsAMomentAlikeInEveryWindow) {
  std::optional<Kept> kept;
  Options keeping = options(2);
  keeping.keep = [&](Kept&& all) { kept = std::move(all); };
  ASSERT_TRUE(listen(held(*capture_), held(*cut_), keeping, {}));
  const auto narrow = window_audio(held(*capture_), held(*cut_), kept.value(), {8.0, 10.0}).value();
  const auto wide = window_audio(held(*capture_), held(*cut_), kept.value(), {6.0, 13.0}).value();
  double apart = 0.0;
  double left_over = 0.0;
  for (std::size_t at = 0; at < narrow.difference.size(); ++at) {
    const double one = narrow.difference[at];
    const double other = wide.difference[at + 2 * 96000];
    apart += (one - other) * (one - other);
    left_over += one * one;
  }
  EXPECT_LT(10.0 * std::log10(apart / left_over), -15.0);
}

TEST_F(Listen, KeepsNothingOfAWrongTitle) {
  Options keeping = options(2);
  int times = 0;
  keeping.keep = [&](Kept&&) { ++times; };
  ASSERT_TRUE(listen(held(title(77)), held(*cut_), keeping, {}));
  EXPECT_EQ(times, 0);
}

TEST_F(Listen, HearsAWindowOfTheCaptureAloneAndSilenceOutsideIt) {
  const auto inside = window_audio(held(*capture_), {2.0, 4.0}).value();
  EXPECT_TRUE(inside.cut.empty() && inside.difference.empty());
  EXPECT_NEAR(inside.capture[2 * 1000], (*capture_)[0][96000 + 1000], 2e-5);
  const auto outside = window_audio(held(*capture_), {-9.0, -7.0}).value();
  EXPECT_EQ(std::ranges::count(outside.capture, 0.0F), std::ssize(outside.capture));
}

TEST_F(Listen, RefusesAWindowThatCannotBeHeard) {
  for (const Window& window : {Window{3.0, 3.0},
                               Window{4.0, 3.0},
                               Window{0.0, 61.0},
                               Window{std::nan(""), 2.0},
                               Window{0.0, std::nan("")}})
    EXPECT_EQ(window_audio(held(*capture_), window).error().fault, Fault::out_of_range);
}

}  // namespace
}  // namespace goodside::listen
