#include "intake/growing_wav.hpp"

#include <gtest/gtest.h>
#include <sys/resource.h>

#include <cmath>
#include <csignal>
#include <fstream>
#include <vector>

#include "intake/audio_file.hpp"
#include "intake/temporary_folder.hpp"

namespace goodside::intake {
namespace {

std::vector<float> some(std::size_t frames) {
  std::vector<float> samples;
  for (std::size_t k = 0; k < 2 * frames; ++k)
    samples.push_back(
        static_cast<float>(std::lround(8e6 * std::sin(0.01 * static_cast<double>(k)))) /
        8388608.0F);
  return samples;
}

std::vector<float> read_back(const std::string& path) {
  const auto source = open_audio(path);
  EXPECT_TRUE(source) << source.error().text;
  if (!source) return {};
  EXPECT_EQ((*source)->sample_rate_Hz(), 96000.0);
  std::vector<float> samples(static_cast<std::size_t>((*source)->frames() * (*source)->channels()));
  EXPECT_TRUE((*source)->read(0, samples));
  return samples;
}

class GrowingWavTest : public ::testing::Test {
 protected:
  [[nodiscard]] std::string path() const { return folder_->file("a.wav"); }

 private:
  Result<TemporaryFolder> folder_ = TemporaryFolder::create();
};

// Second road: libsndfile reads to the last bit what was written, whatever the pieces.
TEST_F(GrowingWavTest, AnotherReaderFindsEverySample) {
  const auto samples = some(1001);
  {
    const auto wav = GrowingWav::create(path(), 96000, 2);
    ASSERT_TRUE(wav) << wav.error().text;
    ASSERT_TRUE((*wav)->write(std::span{samples}.first(600)));
    ASSERT_TRUE((*wav)->write(std::span{samples}.subspan(600)));
    ASSERT_TRUE((*wav)->keep());
    EXPECT_EQ((*wav)->kept_frames(), 1001);
  }
  EXPECT_EQ(read_back(path()), samples);
}

TEST_F(GrowingWavTest, WhatWasKeptIsThereAfterABreak) {
  const auto samples = some(500);
  {
    const auto wav = GrowingWav::create(path(), 96000, 2);
    ASSERT_TRUE((*wav)->write(samples));
    ASSERT_TRUE((*wav)->keep());
    ASSERT_TRUE((*wav)->write(some(77)));  // and then the lights go out
  }
  const auto bytes = mend_growing_wav(path());
  ASSERT_TRUE(bytes) << bytes.error().text;
  EXPECT_EQ(*bytes, 44 + 500 * 6);
  EXPECT_EQ(read_back(path()), samples);
}

TEST_F(GrowingWavTest, NothingKeptIsNothing) {
  { ASSERT_TRUE(GrowingWav::create(path(), 96000, 2)); }
  EXPECT_EQ(*mend_growing_wav(path()), 0);
  EXPECT_FALSE(GrowingWav::create(path(), 96000, 2));  // never over another recording
  std::ofstream{path(), std::ios::trunc} << "no WAV at all, of any kind, however long it is";
  EXPECT_FALSE(mend_growing_wav(path()));
}

TEST_F(GrowingWavTest, IsCutAndHoldsAtFullScale) {
  const auto wav = GrowingWav::create(path(), 96000, 1);
  ASSERT_TRUE((*wav)->write(some(500)));
  ASSERT_TRUE((*wav)->cut(1));
  const std::vector<float> loud{2.0F, -2.0F, 0.5F, 1.0F};
  ASSERT_TRUE((*wav)->write(loud));
  ASSERT_TRUE((*wav)->keep());
  const float top = 8388607.0F / 8388608.0F;
  EXPECT_EQ(read_back(path()), (std::vector<float>{some(1)[0], top, -1.0F, 0.5F, top}));
}

// The system's limit on a file's size stands in for a full disk.
TEST_F(GrowingWavTest, AFullDiskIsToldAndLosesNothingKept) {
  const auto wav = GrowingWav::create(path(), 96000, 2);
  const auto samples = some(500);
  ASSERT_TRUE((*wav)->write(samples));
  ASSERT_TRUE((*wav)->keep());
  rlimit before{};
  getrlimit(RLIMIT_FSIZE, &before);
  const auto heard = std::signal(SIGXFSZ, SIG_IGN);
  const rlimit small{.rlim_cur = 4000, .rlim_max = before.rlim_max};
  setrlimit(RLIMIT_FSIZE, &small);
  const auto written = (*wav)->write(samples);
  setrlimit(RLIMIT_FSIZE, &before);
  std::signal(SIGXFSZ, heard);
  ASSERT_FALSE(written);
  EXPECT_EQ(written.error().fault, Fault::io);
  EXPECT_EQ(written.error().text, "the recording cannot be written (the disk is full)");
  EXPECT_EQ((*wav)->kept_frames(), 500);
  EXPECT_EQ(*mend_growing_wav(path()), 44 + 500 * 6);
  EXPECT_EQ(read_back(path()), samples);
}

}  // namespace
}  // namespace goodside::intake
