#include "line/kept_track.hpp"

#include <gtest/gtest.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>

#include "intake/compressed_file.hpp"

namespace goodside::line {
namespace {

listen::Kept some_kept() {
  listen::Kept kept;
  kept.mono = true;
  kept.track.polarity = -1;
  kept.track.swapped = true;
  kept.track.gain = 0.7;
  for (const double from_s : {1.0, 9.0}) {
    std::vector<double> points;
    std::vector<float> calm;
    for (int k = 0; k < 300; ++k) {
      points.push_back(from_s - 1.0 + 0.02 * k + 1e-5 * std::sin(0.1 * k));
      calm.push_back(k % 7 == 0 ? 0.0F : 1.0F);
    }
    kept.track.stretches.push_back(
        {.capture_from_s = from_s,
         .capture_to_s = from_s + 6.0,
         .sure_from_s = from_s,
         .sure_to_s = from_s + 6.0,
         .track = {.capture_from_s = from_s, .hop_s = 0.02, .programme_s = {}, .sigma_s = {}},
         .calm = std::move(calm),
         .curve = listen::TrackCurve{std::llround(from_s / 0.02),
                                     maths::UniformSpline{std::move(points)}},
         .start_sigma_s = 0.0,
         .end_sigma_s = 1.0});
  }
  kept.reading = {1e-9, 0.5, 33.3, [](double programme_s) { return 0.146 - 6e-5 * programme_s; }};
  return kept;
}

std::string a_file() {
  return (std::filesystem::path{testing::TempDir()} /
          ("kept_" + std::to_string(::getpid()) + ".gz"))
      .string();
}

// Property: what is read back makes the same of every moment.
TEST(KeptTrack, IsReadBackAsItWasWritten) {
  const KeptTrack before{.capture = "captures/a.wav",
                         .reference = "cuts/a.wav",
                         .reference_played = true,
                         .equalise = "iec-60098",
                         .kept = some_kept()};
  ASSERT_TRUE(write_kept(a_file(), before).has_value());
  const auto after = read_kept(a_file());
  ASSERT_TRUE(after.has_value()) << after.error().text;
  EXPECT_EQ(after->capture, before.capture);
  EXPECT_EQ(after->reference, before.reference);
  EXPECT_EQ(after->equalise, before.equalise);
  EXPECT_TRUE(after->reference_played);
  EXPECT_TRUE(after->kept.mono);
  EXPECT_TRUE(after->kept.track.swapped);
  EXPECT_EQ(after->kept.track.polarity, -1);
  ASSERT_EQ(after->kept.track.stretches.size(), 2U);
  for (std::size_t k = 0; k < 2; ++k) {
    const auto &was = before.kept.track.stretches[k], &now = after->kept.track.stretches[k];
    EXPECT_EQ(now.calm, was.calm);
    for (double capture_s = was.capture_from_s; capture_s < was.capture_to_s; capture_s += 0.0137)
      ASSERT_EQ(now.curve.programme_at(capture_s), was.curve.programme_at(capture_s));
  }
  // The radius is straight between its points, as this groove is.
  for (const double programme_s : {0.0, 3.3, 11.0})
    EXPECT_NEAR(after->kept.reading.speed_m_per_s(programme_s),
                before.kept.reading.speed_m_per_s(programme_s),
                1e-9);
}

TEST(KeptTrack, WhatIsCutShortOrChangedIsRefusedInOneLine) {
  ASSERT_TRUE(write_kept(a_file(), {.kept = some_kept()}).has_value());
  const std::string whole = *intake::read_compressed(a_file(), 1 << 20);
  std::size_t refused = 0;
  for (std::size_t size = 0; size < whole.size(); size += 97) {
    ASSERT_TRUE(intake::write_compressed(a_file(), whole.substr(0, size)).has_value());
    const auto read = read_kept(a_file());
    ASSERT_FALSE(read.has_value()) << size;
    EXPECT_EQ(read.error().text.find('\n'), std::string::npos);
    ++refused;
  }
  EXPECT_GT(refused, 50U);
  for (std::size_t at = 0; at < whole.size(); at += 41) {  // no byte of it makes it fall over
    std::string changed = whole;
    changed[at] = static_cast<char>(changed[at] ^ 0xff);
    ASSERT_TRUE(intake::write_compressed(a_file(), changed).has_value());
    static_cast<void>(read_kept(a_file()).has_value());
  }
  EXPECT_EQ(read_kept(a_file() + ".none").error().fault, Fault::not_found);
}

TEST(KeptTrack, ACurveIsWrittenSoThatItIsReadAgain) {
  for (const disc::Curve& curve : disc::curves())
    EXPECT_EQ(disc::curve(curve_text(curve))->turnover_s, curve.turnover_s);
  const auto own = disc::curve("3180/318/75/7950");
  ASSERT_TRUE(own.has_value());
  const auto again = disc::curve(curve_text(*own));
  ASSERT_TRUE(again.has_value()) << again.error().text;
  EXPECT_NEAR(again->bass_s, own->bass_s, 1e-12);
  EXPECT_NEAR(again->rumble_s, own->rumble_s, 1e-12);
}

}  // namespace
}  // namespace goodside::line
