#include "listen/place.hpp"

#include <gtest/gtest.h>

#include "listen/simulated_frames.hpp"

namespace goodside::listen {
namespace {

constexpr double turn_s = 1.8;
constexpr double frame_s = 1.0 / Features::rate_Hz;

// Loudness that wanders in every band for itself, with a memory of some 50 ms as music has.
Features title(std::size_t frames, std::uint32_t seed) {
  simulated::Noise noise{seed};
  Features features;
  features.values.resize(frames * Features::bands);
  std::array<double, Features::bands> state{};
  for (std::size_t k = 0; k < frames; ++k)
    for (std::size_t b = 0; b < Features::bands; ++b) {
      state[b] += 0.2 * (noise() - state[b]);
      features.values[k * Features::bands + b] = static_cast<float>(state[b]);
    }
  return features;
}

// Frames [from, to) of a title with noise half as strong as the title's own features (rms 1/3).
void play(const Features& title, std::size_t from, std::size_t to, Features& capture) {
  simulated::Noise noise{77};
  for (std::size_t i = from * Features::bands; i < to * Features::bands; ++i)
    capture.values.push_back(title.values[i] + static_cast<float>(0.17 * noise()));
}

TEST(Place, FindsTheOffsetOfASteadyPlaying) {
  const Features cut = title(6000, 1);
  Features capture;
  play(cut, 1234, 4234, capture);
  const Placement placement = place(capture, cut, turn_s);
  ASSERT_TRUE(placement.found);
  ASSERT_EQ(placement.stretches.size(), 1U);
  // Correlation with noise of half the rms: 1 / sqrt(1 + 1/4) = 0.89.
  EXPECT_NEAR(placement.confidence, 0.89, 0.05);
  for (const double capture_s : {0.0, 7.0, 15.0, 29.9})
    EXPECT_NEAR(placement.stretches[0].programme_at(capture_s), capture_s + 12.34, 0.2 * frame_s);
}

TEST(Place, RefusesAWrongTitle) {
  const Features cut = title(6000, 1);
  for (std::uint32_t seed = 2; seed < 7; ++seed)
    EXPECT_FALSE(place(title(3000, seed), cut, turn_s).found) << "title " << seed;
}

// A recording that was cut short: some lead-in, and the first seconds of the side.
TEST(Place, FindsTheFirstSecondsOfASideBehindTheLeadIn) {
  const Features cut = title(6000, 1);
  Features capture = title(340, 9);
  for (float& value : capture.values) value *= 0.1F;
  play(cut, 0, 600, capture);
  const Placement placement = place(capture, cut, turn_s);
  ASSERT_TRUE(placement.found);
  EXPECT_NEAR(placement.stretches[0].programme_at(8.0), 4.6, 0.2 * frame_s);
  for (std::uint32_t seed = 2; seed < 12; ++seed)
    EXPECT_FALSE(place(title(940, seed), cut, turn_s).found) << "title " << seed;
}

TEST(Place, FindsASkipOfOneTurn) {
  const Features cut = title(6000, 1);
  const auto turn = static_cast<std::size_t>(turn_s / frame_s);
  Features capture;
  play(cut, 1000, 2500, capture);
  play(cut, 2500 + turn, 4000, capture);
  const Placement placement = place(capture, cut, turn_s);
  ASSERT_TRUE(placement.found);
  ASSERT_EQ(placement.stretches.size(), 2U);
  const PlacedStretch& before = placement.stretches[0];
  const PlacedStretch& after = placement.stretches[1];
  EXPECT_NEAR(before.programme_at(8.0), 18.0, 0.2 * frame_s);
  EXPECT_NEAR(after.programme_at(20.0), 30.0 + turn_s, 0.2 * frame_s);
  // The skip is at 15 s; a chunk of 1.2 s can straddle it.
  EXPECT_NEAR(0.5 * (before.capture_to_s + after.capture_from_s), 15.0, 0.6);
}

}  // namespace
}  // namespace goodside::listen
