#include "intake/audio_survey.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sndfile.h>

#include <cmath>

#include "intake/audio_file.hpp"
#include "intake/audio_files.hpp"

namespace goodside::intake {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;

AudioSurvey surveyed(const test::Recording& recording, const test::Wave& wave) {
  const test::TemporaryFolder folder;
  const auto path = folder.file("a.wav");
  test::record(path, recording, wave);
  const auto source = open_audio(path);
  const auto result = survey(**source);
  return *result;
}

constexpr test::Recording three_seconds{
    .major = SF_FORMAT_WAV, .coding = SF_FORMAT_PCM_16, .frames = 3 * 48000};

// Second road: a whole number of turns of a sine has the rms peak/sqrt(2) and the mean that was
// added.
TEST(AudioSurvey, MeasuresPeakRmsAndMean) {
  const auto found = surveyed(three_seconds, [](std::int64_t i, int c) {
    const double turn = static_cast<double>(i) * 2.0 * M_PI / 48.0;
    return static_cast<float>(c == 0 ? 0.5 * std::sin(turn) : 0.25 * std::sin(turn) + 0.125);
  });
  constexpr double step = 0x1p-15;
  EXPECT_EQ(found.frames, 3 * 48000);
  EXPECT_NEAR(found.channels[0].peak, 0.5, step);
  EXPECT_NEAR(found.channels[0].rms, 0.5 / std::sqrt(2.0), step);
  EXPECT_NEAR(found.channels[0].mean, 0.0, step);
  EXPECT_NEAR(found.channels[1].peak, 0.375, step);
  EXPECT_NEAR(found.channels[1].mean, 0.125, step);
  EXPECT_NEAR(found.channels[1].rms, std::hypot(0.25 / std::sqrt(2.0), 0.125), step);
  EXPECT_THAT(remarks(found, "side A"),
              testing::ElementsAre(HasSubstr("right channel stands 12.5 %")));
}

TEST(AudioSurvey, CountsRunsOfThreeAtFullScaleAcrossSeconds) {
  const auto found = surveyed(three_seconds, [](std::int64_t i, int c) {
    if (c == 1) return test::two_tones(i, 1);
    if (i == 100 || i == 101) return 1.0F;     // a pair may be the programme's own peak
    if (i >= 200 && i < 203) return -1.0F;     // the shortest run
    if (i >= 47998 && i < 48003) return 1.0F;  // over the seam between two seconds
    return test::two_tones(i, 0);
  });
  EXPECT_EQ(found.channels[0].clipped_frames, 8);
  EXPECT_EQ(found.channels[0].longest_clipped_run, 5);
  EXPECT_EQ(found.channels[1].clipped_frames, 0);
  EXPECT_DOUBLE_EQ(found.clipped_share(), 8.0 / (2.0 * 3.0 * 48000.0));
  EXPECT_THAT(remarks(found, "side A"), testing::ElementsAre(HasSubstr("runs of up to 5")));
}

TEST(AudioSurvey, TellsSilenceFromVeryQuiet) {
  const auto silent = surveyed(three_seconds, [](std::int64_t, int) { return 0.0F; });
  EXPECT_TRUE(silent.silent());
  EXPECT_THAT(require_sound(silent, "side A").error().text, HasSubstr("side A: silent"));
  const auto quiet =
      surveyed(three_seconds, [](std::int64_t i, int) { return i == 70000 ? 1e-4F : 0.0F; });
  EXPECT_FALSE(quiet.silent());
  EXPECT_TRUE(require_sound(quiet, "side A"));
  EXPECT_THAT(remarks(quiet, "side A"), IsEmpty());
}

TEST(AudioSurvey, FindsTheDeadChannelButNotTheQuieterOne) {
  const auto with_right = [](float gain) {
    return surveyed(three_seconds, [gain](std::int64_t i, int c) {
      return c == 0 ? test::two_tones(i, 0) : gain * test::two_tones(i, 1);
    });
  };
  EXPECT_THAT(remarks(with_right(0.05F), "side A"), IsEmpty());
  EXPECT_THAT(remarks(with_right(0.0F), "side A"),
              testing::ElementsAre(HasSubstr("the right channel is dead in 100 %")));
}

TEST(AudioSurvey, NamesTheFirstNaN) {
  const test::TemporaryFolder folder;
  const auto path = folder.file("a.wav");
  test::record(path,
               {.major = SF_FORMAT_WAV, .coding = SF_FORMAT_FLOAT, .frames = 3 * 48000},
               [](std::int64_t i, int) { return i == 72000 ? std::nanf("") : 0.1F; });
  const auto source = open_audio(path);
  ASSERT_TRUE(source);
  const auto result = survey(**source);
  ASSERT_FALSE(result);
  EXPECT_THAT(result.error().text, HasSubstr("1.500000 s"));
}

}  // namespace
}  // namespace goodside::intake
