#include "intake/wav_bytes.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdint>
#include <limits>
#include <vector>

namespace goodside::intake {
namespace {

std::uint32_t number(const std::string& bytes, std::size_t at, std::size_t width) {
  std::uint32_t value = 0;
  for (std::size_t i = width; i-- > 0;)
    value = value << 8U | static_cast<unsigned char>(bytes.at(at + i));
  return value;
}

// Published: "Multimedia Programming Interface and Data Specifications 1.0" (1991), RIFF WAVE: 'RIFF' size 'WAVE',
// 'fmt ' 16: format 1 (PCM), channels, rate, bytes a second, bytes a frame, bits; 'data' size; little-endian.
TEST(WavBytes, AreAWaveFileOfSixteenBits) {
  const std::vector<float> samples{0.0F, 0.5F, -0.5F, 3.0F, -3.0F};
  const std::string wav = wav_bytes(samples, 48000).value();
  ASSERT_EQ(wav.size(), 44U + 10U);
  EXPECT_EQ(wav.substr(0, 4), "RIFF");
  EXPECT_EQ(number(wav, 4, 4), wav.size() - 8);
  EXPECT_EQ(wav.substr(8, 8), "WAVEfmt ");
  EXPECT_EQ(number(wav, 16, 4), 16U);
  EXPECT_EQ(number(wav, 20, 2), 1U);
  EXPECT_EQ(number(wav, 22, 2), 1U);
  EXPECT_EQ(number(wav, 24, 4), 48000U);
  EXPECT_EQ(number(wav, 28, 4), 96000U);
  EXPECT_EQ(number(wav, 32, 2), 2U);
  EXPECT_EQ(number(wav, 34, 2), 16U);
  EXPECT_EQ(wav.substr(36, 4), "data");
  EXPECT_EQ(number(wav, 40, 4), 10U);
  const auto sample = [&](std::size_t k) {
    return static_cast<std::int16_t>(number(wav, 44 + 2 * k, 2));
  };
  EXPECT_EQ(sample(0), 0);
  EXPECT_NEAR(sample(1), 16384, 1);
  EXPECT_NEAR(sample(2), -16384, 1);
  EXPECT_EQ(sample(3), 32767);
  EXPECT_EQ(sample(4), -32768);
  EXPECT_EQ(wav, wav_bytes(samples, 48000).value());
}

TEST(WavBytes, RefuseWhatIsNoNumber) {
  for (const float broken :
       {std::numeric_limits<float>::quiet_NaN(), std::numeric_limits<float>::infinity()})
    EXPECT_EQ(wav_bytes(std::vector<float>{0.0F, broken}, 48000).error().fault, Fault::bad_input);
}

}  // namespace
}  // namespace goodside::intake
