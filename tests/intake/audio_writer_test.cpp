#include "intake/audio_writer.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sndfile.h>

#include <cmath>

#include "intake/audio_file.hpp"
#include "intake/audio_files.hpp"

namespace goodside::intake {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

std::vector<float> tones(std::int64_t frames, int channels) {
  std::vector<float> samples;
  for (std::int64_t i = 0; i < frames; ++i)
    for (int c = 0; c < channels; ++c) samples.push_back(test::two_tones(i, c));
  return samples;
}

std::string error_of(const std::string& path, const AudioFormat& format) {
  const auto writer = AudioWriter::create(path, format);
  return writer ? std::string{} : writer.error().text;
}

struct Case {
  const char* name;
  Coding coding;
  float step;
};

constexpr Case cases[] = {{"a16.wav", Coding::pcm_16, 0x1p-15F},
                          {"a24.wav", Coding::pcm_24, 0x1p-23F},
                          {"afl.WAV", Coding::float_32, 0.0F},
                          {"a24.rf64", Coding::pcm_24, 0x1p-23F},
                          {"a24.w64", Coding::pcm_24, 0x1p-23F},
                          {"afl.wav", Coding::float_32, 0.0F},
                          {"afl.w64", Coding::float_32, 0.0F},
                          {"a16.flac", Coding::pcm_16, 0x1p-15F},
                          {"a24.flac", Coding::pcm_24, 0x1p-23F}};

// Property: what was written, in whatever pieces, is what is read; and equal samples give equal
// bytes.
TEST(AudioWriter, KeepsEverySampleWhateverThePieces) {
  const test::TemporaryFolder folder;
  const auto samples = tones(20000, 2);
  for (const auto& [name, coding, step] : cases) {
    const auto path = folder.file(name);
    std::string bytes;
    for (const std::size_t piece : {std::size_t{2 * 20000}, std::size_t{2 * 777}}) {
      auto writer =
          AudioWriter::create(path, {.sample_rate_Hz = 96000, .channels = 2, .coding = coding});
      ASSERT_TRUE(writer) << writer.error().text;
      for (std::size_t from = 0; from < samples.size(); from += piece)
        ASSERT_TRUE((*writer)->write(
            std::span{samples}.subspan(from, std::min(piece, samples.size() - from))));
      EXPECT_EQ((*writer)->frames(), 20000);
      EXPECT_EQ((*writer)->held_samples(), 0);
      ASSERT_TRUE((*writer)->finish());
      EXPECT_TRUE(bytes.empty() || bytes == test::bytes_of(path)) << name;
      bytes = test::bytes_of(path);
      // The time of day in a PEAK chunk: name, size, version, time.
      if (const auto peak = bytes.find("PEAK"); peak < 512) {
        EXPECT_EQ(bytes.substr(peak + 12, 4), std::string(4, '\0')) << name;
      }
    }
    const auto source = open_audio(path);
    ASSERT_TRUE(source) << source.error().text;
    EXPECT_EQ((*source)->frames(), 20000);
    EXPECT_EQ((*source)->sample_rate_Hz(), 96000.0);
    std::vector<float> read(samples.size());
    ASSERT_TRUE((*source)->read(0, read));
    for (std::size_t i = 0; i < read.size(); ++i) ASSERT_NEAR(read[i], samples[i], step) << name;
  }
}

TEST(AudioWriter, WritesAShortRecordingAsPlainWav) {
  const test::TemporaryFolder folder;
  auto writer = AudioWriter::create(folder.file("a.wav"), {});
  ASSERT_TRUE(writer);
  ASSERT_TRUE((*writer)->write(tones(10, 2)));
  ASSERT_TRUE((*writer)->finish());
  EXPECT_EQ(test::bytes_of(folder.file("a.wav")).substr(0, 4), "RIFF");
}

TEST(AudioWriter, LeavesNothingWhenItIsNotFinished) {
  const test::TemporaryFolder folder;
  for (const auto& [name, coding, step] : cases) {
    auto writer = AudioWriter::create(folder.file(name), {.coding = coding});
    ASSERT_TRUE(writer);
    ASSERT_TRUE((*writer)->write(tones(5000, 2)));
    EXPECT_FALSE(std::filesystem::exists(folder.file(name)));
  }
  EXPECT_THAT(folder.names(), IsEmpty());
}

TEST(AudioWriter, HoldsIntegersAtFullScaleAndCountsThem) {
  const test::TemporaryFolder folder;
  const auto path = folder.file("a.wav");
  auto writer = AudioWriter::create(path, {.channels = 1, .coding = Coding::pcm_16});
  ASSERT_TRUE(writer);
  ASSERT_TRUE((*writer)->write(std::vector<float>{0.5F, 1.5F, -7.0F, -1.0F, 1.0F}));
  EXPECT_EQ((*writer)->held_samples(), 2);
  ASSERT_TRUE((*writer)->finish());
  const auto source = open_audio(path);
  std::vector<float> read(5);
  ASSERT_TRUE((*source)->read(0, read));
  constexpr float highest = 1.0F - 0x1p-15F;
  EXPECT_THAT(read, ElementsAre(0.5F, highest, -1.0F, -1.0F, highest));
}

TEST(AudioWriter, RefusesWhatCannotBeWritten) {
  const test::TemporaryFolder folder;
  EXPECT_THAT(error_of(folder.file("a.mp9"), {}), HasSubstr("extension"));
  EXPECT_THAT(error_of(folder.file("a.wav"), {.channels = 3}), HasSubstr("3 channels"));
  EXPECT_THAT(error_of(folder.file("a.wav"), {.sample_rate_Hz = 400}),
              HasSubstr("400 samples a second"));
  EXPECT_THAT(error_of(folder.file("a.flac"), {.coding = Coding::float_32}),
              HasSubstr("integers only"));
  EXPECT_THAT(error_of(folder.file("no/a.wav"), {}), HasSubstr("cannot be written"));
  EXPECT_THAT(folder.names(), IsEmpty());
  auto writer = AudioWriter::create(folder.file("a.wav"), {.sample_rate_Hz = 48000, .channels = 1});
  ASSERT_TRUE(writer);
  EXPECT_THAT((*writer)->write(std::vector<float>{0.0F, std::nanf("")}).error().text,
              HasSubstr("0.000021 s"));
}

}  // namespace
}  // namespace goodside::intake
