#include "line/play_side.hpp"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "disc/format.hpp"
#include "intake/audio_file.hpp"
#include "intake/digest.hpp"
#include "line/recordings.hpp"

namespace goodside::line {
namespace {

Playing playing(const test::Folder& folder) {
  Playing playing;
  playing.programme = test::record(folder / "cut.wav", 4.0);
  playing.played.side = disc::cut_side("7in-45").value();
  playing.played.side.pitch_m = 0.2e-3;
  playing.played.sample_rate_Hz = 44100.0;
  works::FaultPlan tick;
  tick.programme_s = 2.0;
  playing.played.faults = {tick};
  playing.capture = folder / "capture.wav";
  playing.truth = folder / "truth.json";
  return playing;
}

TEST(PlaySide, WritesCaptureAndTruthThatAgree) {
  const test::Folder folder;
  const auto truth = play_side(playing(folder), {});
  ASSERT_TRUE(truth.has_value()) << truth.error().text;
  const auto capture = intake::open_audio(folder / "capture.wav");
  ASSERT_TRUE(capture.has_value());
  EXPECT_EQ((*capture)->frames(), truth->frames);
  EXPECT_EQ((*capture)->sample_rate_Hz(), 44100.0);
  std::ifstream file{folder / "truth.json"};
  const auto json = nlohmann::json::parse(file);
  EXPECT_EQ(json.at("frames"), truth->frames);
  EXPECT_NEAR(json.at("faults").at(0).at("programme_s"), 2.0, 1e-9);
}

TEST(PlaySide, SameSeedSameBytesAnotherSeedOthers) {
  const test::Folder folder;
  Playing one = playing(folder);
  Playing again = one;
  again.capture = folder / "again.wav";
  Playing other = one;
  other.capture = folder / "other.wav";
  other.played.seed = 2;
  for (const Playing& play : {one, again, other}) ASSERT_TRUE(play_side(play, {}).has_value());
  const auto digest = [](const Playing& play) {
    return intake::sha256_of_file(play.capture).value();
  };
  EXPECT_EQ(digest(one), digest(again));
  EXPECT_NE(digest(one), digest(other));
}

TEST(PlaySide, LeavesNothingBehindWhenItFails) {
  const test::Folder folder;
  const auto expect_nothing = [&](const Playing& play, Fault fault, const PlayProgress& progress) {
    const auto truth = play_side(play, progress);
    ASSERT_FALSE(truth.has_value());
    EXPECT_EQ(truth.error().fault, fault) << truth.error().text;
    EXPECT_FALSE(std::filesystem::exists(folder / "capture.wav"));
    EXPECT_FALSE(std::filesystem::exists(folder / "truth.json"));
  };
  const Playing good = playing(folder);
  expect_nothing(good, Fault::conflict, [](double) { return false; });
  Playing beyond = good;
  beyond.played.faults[0].programme_s = 5.0;
  expect_nothing(beyond, Fault::out_of_range, {});
  Playing missing = good;
  missing.programme = folder / "none.wav";
  expect_nothing(missing, Fault::not_found, {});
  Playing crooked = good;
  crooked.played.sample_rate_Hz = 44100.5;
  expect_nothing(crooked, Fault::bad_input, {});
}

TEST(PlaySide, RefusesToWriteOverItsProgramme) {
  const test::Folder folder;
  Playing play = playing(folder);
  const std::string before = intake::sha256_of_file(play.programme).value();
  play.capture = play.programme;
  const auto truth = play_side(play, {});
  ASSERT_FALSE(truth.has_value());
  EXPECT_EQ(truth.error().fault, Fault::bad_input);
  EXPECT_EQ(intake::sha256_of_file(play.programme).value(), before);
}

}  // namespace
}  // namespace goodside::line
