#include "intake/audio_file.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sndfile.h>
#include <sys/stat.h>

#include <cmath>
#include <limits>

#include "intake/audio_files.hpp"

namespace goodside::intake {
namespace {

using test::record;
using test::TemporaryFolder;
using testing::HasSubstr;

struct Kind {
  const char* name;
  int major, coding;
  float step;  ///< of the coding, at full scale 1
};

constexpr Kind kinds[] = {
    {"wav16.wav", SF_FORMAT_WAV, SF_FORMAT_PCM_16, 0x1p-15F},
    {"wav24.wav", SF_FORMAT_WAV, SF_FORMAT_PCM_24, 0x1p-23F},
    {"wav32.wav", SF_FORMAT_WAV, SF_FORMAT_PCM_32, 0x1p-24F},
    {"float.wav", SF_FORMAT_WAV, SF_FORMAT_FLOAT, 0.0F},
    {"double.wav", SF_FORMAT_WAV, SF_FORMAT_DOUBLE, 0.0F},
    {"wavex.wav", SF_FORMAT_WAVEX, SF_FORMAT_PCM_24, 0x1p-23F},
    {"rf64.wav", SF_FORMAT_RF64, SF_FORMAT_PCM_24, 0x1p-23F},
    {"w64.w64", SF_FORMAT_W64, SF_FORMAT_PCM_24, 0x1p-23F},
    {"flac16.flac", SF_FORMAT_FLAC, SF_FORMAT_PCM_16, 0x1p-15F},
    {"flac24.flac", SF_FORMAT_FLAC, SF_FORMAT_PCM_24, 0x1p-23F},
    {"aiff.aiff", SF_FORMAT_AIFF, SF_FORMAT_PCM_24, 0x1p-23F},
    {"caf.caf", SF_FORMAT_CAF, SF_FORMAT_PCM_24, 0x1p-23F},
};

/// The text of the Error that opening gives, or an empty one. Every refusal is one line that names
/// the file.
std::string refusal(const std::string& path) {
  const auto source = open_audio(path);
  if (source) return {};
  EXPECT_THAT(source.error().text, HasSubstr(path));
  EXPECT_EQ(source.error().text.find('\n'), std::string::npos);
  EXPECT_THAT(source.error().text, HasSubstr(";")) << "the mend is missing";
  return source.error().text;
}

// Second road: libsndfile wrote the samples, the formula says what they were.
TEST(AudioFile, GivesTheRecordedSamplesOfEveryKind) {
  const TemporaryFolder folder;
  for (const auto& kind : kinds) {
    for (const int channels : {1, 2}) {
      const auto path = folder.file(kind.name);
      record(path,
             {.major = kind.major, .coding = kind.coding, .channels = channels, .frames = 5000});
      const auto source = open_audio(path);
      ASSERT_TRUE(source) << source.error().text;
      EXPECT_EQ((*source)->frames(), 5000);
      EXPECT_EQ((*source)->channels(), channels);
      EXPECT_EQ((*source)->sample_rate_Hz(), 48000.0);
      std::vector<float> samples(static_cast<std::size_t>(5000 * channels));
      ASSERT_TRUE((*source)->read(0, samples));
      for (int i = 0; i < 5000; ++i)
        for (int c = 0; c < channels; ++c)
          ASSERT_NEAR(
              samples[static_cast<std::size_t>(i * channels + c)], test::two_tones(i, c), kind.step)
              << kind.name << " frame " << i;
    }
  }
}

TEST(AudioFile, OpensEveryRateFrom8To192kHzAndNoOther) {
  const TemporaryFolder folder;
  const auto path = folder.file("a.wav");
  for (const int rate_Hz : {8000, 11025, 44100, 48000, 88200, 96000, 176400, 192000}) {
    record(path,
           {.major = SF_FORMAT_WAV,
            .coding = SF_FORMAT_PCM_16,
            .sample_rate_Hz = rate_Hz,
            .frames = 100});
    EXPECT_EQ(refusal(path), "") << rate_Hz;
  }
  for (const int rate_Hz : {7999, 192001, 384000}) {
    record(path,
           {.major = SF_FORMAT_WAV,
            .coding = SF_FORMAT_PCM_16,
            .sample_rate_Hz = rate_Hz,
            .frames = 100});
    EXPECT_THAT(refusal(path), HasSubstr(std::to_string(rate_Hz) + " samples a second"));
  }
}

// Property: however the reads are cut, ordered or overlapped, each frame has its one value.
TEST(AudioFile, ReadsTheSameFramesInAnyOrder) {
  const TemporaryFolder folder;
  for (const char* name : {"a.wav", "a.flac"}) {
    const auto path = folder.file(name);
    const int major = std::string_view{name} == "a.wav" ? SF_FORMAT_WAV : SF_FORMAT_FLAC;
    record(path, {.major = major, .coding = SF_FORMAT_PCM_24, .frames = 30000});
    const auto source = open_audio(path);
    ASSERT_TRUE(source);
    for (const std::int64_t from : {29000, 0, 1000, 2000, 2000, 17777, 4096, 5096}) {
      std::vector<float> samples(2000);
      ASSERT_TRUE((*source)->read(from, samples));
      for (std::int64_t i = 0; i < 1000; ++i)
        ASSERT_NEAR(
            samples[static_cast<std::size_t>(2 * i + 1)], test::two_tones(from + i, 1), 0x1p-23F)
            << name << " from " << from;
    }
  }
}

TEST(AudioFile, IsZeroOutsideTheRecording) {
  const TemporaryFolder folder;
  const auto path = folder.file("a.wav");
  record(path,
         {.major = SF_FORMAT_WAV, .coding = SF_FORMAT_FLOAT, .channels = 1, .frames = 10},
         [](std::int64_t i, int) { return static_cast<float>(i + 1); });
  const auto source = open_audio(path);
  ASSERT_TRUE(source);
  const auto read = [&](std::int64_t from, std::size_t frames) {
    std::vector<float> samples(frames, 99.0F);
    EXPECT_TRUE((*source)->read(from, samples));
    return samples;
  };
  using testing::Each;
  using testing::ElementsAre;
  EXPECT_THAT(read(-2, 4), ElementsAre(0, 0, 1, 2));
  EXPECT_THAT(read(8, 4), ElementsAre(9, 10, 0, 0));
  EXPECT_THAT(read(-1, 12), ElementsAre(0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 0));
  EXPECT_THAT(read(-4, 4), Each(0));
  EXPECT_THAT(read(10, 4), Each(0));
  EXPECT_THAT(read(std::numeric_limits<std::int64_t>::min(), 4), Each(0));
  EXPECT_THAT(read(std::numeric_limits<std::int64_t>::max(), 4), Each(0));
}

TEST(AudioFile, OpensAgainOnTheSameRecording) {
  const TemporaryFolder folder;
  const auto path = folder.file("a.flac");
  record(path, {.major = SF_FORMAT_FLAC, .coding = SF_FORMAT_PCM_16, .frames = 9000});
  const auto first = open_audio(path);
  ASSERT_TRUE(first);
  const auto second = (*first)->again();
  ASSERT_TRUE(second);
  std::vector<float> a(2000), b(2000);
  ASSERT_TRUE((*first)->read(3000, a));
  ASSERT_TRUE((*second)->read(3000, b));
  EXPECT_EQ(a, b);
}

TEST(AudioFile, TellsWhatIsNoRecordingApart) {
  const TemporaryFolder folder;
  EXPECT_THAT(refusal(folder.file("none.wav")), HasSubstr("no such file"));
  EXPECT_EQ(open_audio(folder.file("none.wav")).error().fault, Fault::not_found);
  EXPECT_THAT(refusal(folder.file("")), HasSubstr("a folder"));
  test::write_bytes(folder.file("empty.wav"), "");
  EXPECT_THAT(refusal(folder.file("empty.wav")), HasSubstr("0 bytes"));
  test::write_bytes(folder.file("words.wav"),
                    "These are words and no sound at all, whatever the name says.\n");
  EXPECT_THAT(refusal(folder.file("words.wav")), HasSubstr("not audio"));
  ASSERT_EQ(mkfifo(folder.file("pipe").c_str(), 0600), 0);
  EXPECT_THAT(refusal(folder.file("pipe")), HasSubstr("a pipe"));
  // By its name alone libsndfile would take this for the bare samples of a telephone coder.
  test::write_bytes(folder.file("bare.vox"), std::string(1000, 'x'));
  EXPECT_THAT(refusal(folder.file("bare.vox")), HasSubstr("without a header"));
}

TEST(AudioFile, RefusesMoreThanTwoChannels) {
  const TemporaryFolder folder;
  const auto path = folder.file("a.wav");
  record(path, {.major = SF_FORMAT_WAV, .coding = SF_FORMAT_PCM_16, .channels = 3, .frames = 100});
  EXPECT_THAT(refusal(path), HasSubstr("3 channels"));
}

TEST(AudioFile, RefusesAHeaderWithoutSamples) {
  const TemporaryFolder folder;
  for (const auto& kind : kinds) {
    if (kind.major == SF_FORMAT_FLAC) continue;
    const auto path = folder.file(kind.name);
    record(path, {.major = kind.major, .coding = kind.coding, .frames = 0});
    EXPECT_THAT(refusal(path), HasSubstr("without samples")) << kind.name;
  }
}

TEST(AudioFile, RefusesAFlacThatDoesNotSayHowLongItIs) {
  const TemporaryFolder folder;
  const auto path = folder.file("a.flac");
  record(path, {.major = SF_FORMAT_FLAC, .coding = SF_FORMAT_PCM_16, .frames = 48000});
  // The number of samples: the last 36 bits before the checksum in the block STREAMINFO (RFC
  // 9639, 8.2).
  auto bytes = test::bytes_of(path);
  bytes[21] = static_cast<char>(bytes[21] & 0xF0);
  bytes.replace(22, 4, 4, '\0');
  test::write_bytes(path, bytes);
  EXPECT_THAT(refusal(path), HasSubstr("does not say how long"));
}

// Regression against a known trap: libsndfile opens all of these without a word, with fewer frames
// or with none missing until the reading stops.
TEST(AudioFile, RefusesEveryKindWhenItBreaksOff) {
  const TemporaryFolder folder;
  for (const auto& kind : kinds) {
    if (kind.major == SF_FORMAT_CAF) continue;
    for (const double share : {0.999, 0.7, 0.3}) {
      const auto path = folder.file(kind.name);
      record(path, {.major = kind.major, .coding = kind.coding, .frames = 200000});
      test::cut_to(path, share);
      EXPECT_THAT(refusal(path), HasSubstr("broken off")) << kind.name << " cut to " << share;
    }
  }
}

TEST(AudioFile, SaysHowMuchOfACutFlacCanBeRead) {
  const TemporaryFolder folder;
  const auto path = folder.file("a.flac");
  record(path, {.major = SF_FORMAT_FLAC, .coding = SF_FORMAT_PCM_16, .frames = 480000});
  test::cut_to(path, 0.5);
  const auto text = refusal(path);
  EXPECT_THAT(text, HasSubstr(" s of 10.0 s can be read"));
  const double readable_s = std::stod(text.substr(text.find("damaged, ") + 9));
  EXPECT_GT(readable_s, 3.5);
  EXPECT_LT(readable_s, 6.5);
}

TEST(AudioFile, NamesTheReadThatADamagedFlacFails) {
  const TemporaryFolder folder;
  const auto path = folder.file("a.flac");
  record(path, {.major = SF_FORMAT_FLAC, .coding = SF_FORMAT_PCM_16, .frames = 480000});
  auto bytes = test::bytes_of(path);
  for (std::size_t i = bytes.size() / 2; i < bytes.size() / 2 + 400; ++i)
    bytes[i] = static_cast<char>(~bytes[i]);
  test::write_bytes(path, bytes);
  const auto source = open_audio(path);
  ASSERT_TRUE(source) << source.error().text;
  std::vector<float> samples(2 * 4800);
  std::string text;
  for (std::int64_t from = 0; from < 480000 && text.empty(); from += 4800)
    if (const auto outcome = (*source)->read(from, samples); !outcome) {
      EXPECT_EQ(outcome.error().fault, Fault::io);
      text = outcome.error().text;
    }
  EXPECT_THAT(text, HasSubstr("breaks off near"));
}

TEST(AudioFile, TellsAWrappedWavFromATruncatedOne) {
  const TemporaryFolder folder;
  const auto path = folder.file("long.wav");
  // 566 million frames of 8 bytes in a field that counts to 4 GiB; a sparse file takes no room.
  constexpr std::uint64_t data_bytes = 566'000'000ULL * 8;
  test::write_bytes(path, test::wav_header(static_cast<std::uint32_t>(data_bytes)));
  std::filesystem::resize_file(path, 44 + data_bytes);
  EXPECT_THAT(refusal(path), testing::AllOf(HasSubstr("4.53 GB"), HasSubstr("RF64")));
}

TEST(AudioFile, ReadsRf64Beyond4GiBToItsEnd) {
  const TemporaryFolder folder;
  const auto path = folder.file("long.wav");
  record(path, {.major = SF_FORMAT_RF64, .coding = SF_FORMAT_PCM_16, .frames = 1});
  // The data size is the second 64-bit number of the chunk ds64, which libsndfile puts first.
  constexpr std::uint64_t data_bytes = 5'000'000'000ULL;
  auto bytes = test::bytes_of(path);
  for (std::size_t i = 0; i < 8; ++i)
    bytes[28 + i] = static_cast<char>(data_bytes >> (8 * i) & 0xFFU);
  test::write_bytes(path, bytes);
  EXPECT_THAT(refusal(path), HasSubstr("broken off"));
  std::filesystem::resize_file(path, bytes.size() - 4 + data_bytes);
  const auto source = open_audio(path);
  ASSERT_TRUE(source) << source.error().text;
  EXPECT_EQ((*source)->frames(), static_cast<std::int64_t>(data_bytes / 4));
}

TEST(AudioFile, RefusesALengthThatWasNeverWritten) {
  const TemporaryFolder folder;
  const auto path = folder.file("a.wav");
  for (const std::uint32_t claimed : {0U, 0xFFFFFFFFU}) {
    test::write_bytes(path, test::wav_header(claimed) + std::string(4000, '\0'));
    EXPECT_THAT(refusal(path), HasSubstr("never wrote the length"));
  }
}

struct Broken {
  float value;
  const char* words;
};

class AudioFileValues : public testing::TestWithParam<Broken> {};

TEST_P(AudioFileValues, AreRefusedWithTheFirstPlaceInSeconds) {
  const TemporaryFolder folder;
  const auto path = folder.file("a.wav");
  record(path,
         {.major = SF_FORMAT_WAV, .coding = SF_FORMAT_FLOAT, .frames = 48000},
         [](std::int64_t i, int c) {
           return (i == 12000 && c == 1) || i > 30000 ? GetParam().value : test::two_tones(i, c);
         });
  const auto source = open_audio(path);
  ASSERT_TRUE(source);
  std::vector<float> samples(2 * 48000);
  const auto outcome = (*source)->read(0, samples);
  ASSERT_FALSE(outcome);
  EXPECT_EQ(outcome.error().fault, Fault::bad_input);
  EXPECT_THAT(outcome.error().text,
              testing::AllOf(HasSubstr("0.250000 s"), HasSubstr(GetParam().words)));
  // What lies before the place is still good.
  EXPECT_TRUE((*source)->read(0, std::span{samples}.first(2 * 12000)));
}

INSTANTIATE_TEST_SUITE_P(All,
                         AudioFileValues,
                         testing::Values(Broken{std::nanf(""), "NaN"},
                                         Broken{-std::numeric_limits<float>::infinity(),
                                                "infinite"},
                                         Broken{-30000.0F, "3e+04 times full scale"}));

TEST(AudioFile, IsIdentifiedForTheReport) {
  const TemporaryFolder folder;
  const auto path = folder.file("a.wav");
  record(path,
         {.major = SF_FORMAT_WAV, .coding = SF_FORMAT_PCM_16, .channels = 1, .frames = 24000});
  const auto source = open_audio(path);
  ASSERT_TRUE(source);
  const auto facts = identify(path, **source);
  ASSERT_TRUE(facts);
  EXPECT_EQ(facts->path, path);
  EXPECT_EQ(facts->channels, 1);
  EXPECT_EQ(facts->duration_s, 0.5);
  EXPECT_EQ(facts->sha256.size(), 64U);
}

}  // namespace
}  // namespace goodside::intake
