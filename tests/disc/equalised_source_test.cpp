#include "disc/equalised_source.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <cstring>
#include <numbers>
#include <vector>

#include "disc/equalisation.hpp"
#include "support/formula_source.hpp"

namespace goodside::disc {
namespace {

using std::numbers::pi;
using testing::FormulaSource;

std::unique_ptr<signal::SampleSource> recorded(double rate_Hz, FormulaSource::Wave wave) {
  return std::make_unique<FormulaSource>(
      FormulaSource::Shape{.sample_rate_Hz = rate_Hz, .channels = 2, .duration_s = 4.0},
      std::move(wave));
}

/// What comes out of a click of height 0.5, a second of it.
std::vector<float> click_through(const Curve& curve, double rate_Hz) {
  EqualisedSource played{recorded(rate_Hz, [=](double t, int) { return t == 1.0 ? 0.5 : 0.0; }),
                         curve};
  std::vector<float> samples(2 * static_cast<std::size_t>(rate_Hz));
  EXPECT_TRUE(played.read(std::llround(rate_Hz), samples));
  return samples;
}

/// Size of its transform, in double.
double gain_dB(const std::vector<float>& click, double rate_Hz, double frequency_Hz) {
  std::complex<double> sum, turn{1.0};
  const auto step = std::polar(1.0, -2.0 * pi * frequency_Hz / rate_Hz);
  for (std::size_t k = 0; k < click.size(); k += 2, turn *= step)
    sum += static_cast<double>(click[k]) * turn;
  return 20.0 * std::log10(std::abs(sum) / 0.5);
}

// Second road: the analogue curve of the time constants, which equalisation_test.cpp holds against
// the tables of the standards.
TEST(EqualisedSource, PlaysThroughTheCurvesOfTheTimeConstants) {
  for (const Curve& curve : curves())
    for (const double rate_Hz : {44100.0, 96000.0}) {
      const std::vector<float> click = click_through(curve, rate_Hz);
      for (const double frequency_Hz :
           {20.0, 50.0, 100.0, 315.0, 1000.0, 3150.0, 10000.0, 16000.0, 20000.0}) {
        // A turnover without a shelf is played with one at 5 Hz: 0.26 dB less at 20 Hz.
        const bool open = curve.turnover_s > 0.0 && curve.bass_s == 0.0;
        const double shelf_dB =
            open ? -10.0 * std::log10(1.0 + std::pow(5.0 / frequency_Hz, 2)) : 0.0;
        EXPECT_NEAR(gain_dB(click, rate_Hz, frequency_Hz),
                    playback_gain_dB(curve, frequency_Hz) + shelf_dB,
                    0.04)
            << curve.name << " at " << frequency_Hz << " Hz of " << rate_Hz;
      }
    }
  const Curve iec = *curve("iec-60098");
  const std::vector<float> slow = click_through(iec, 22050.0);
  for (const double frequency_Hz : {50.0, 1000.0, 4000.0, 10000.0})
    EXPECT_NEAR(gain_dB(slow, 22050.0, frequency_Hz), playback_gain_dB(iec, frequency_Hz), 0.1);
}

double rough(double t, int channel) {
  return 0.3 * std::sin(2.0 * pi * 47.3 * t) + 0.1 * std::sin(2.0 * pi * 5011.0 * t + channel) +
         0.05;
}

// Property: a sample's bits depend on its place alone.
TEST(EqualisedSource, ReadsTheSameAnywhereAndInAnyOrder) {
  for (const char* name : {"iec-60098-amended", "nab-1942"}) {
    const Curve iec = *curve(name);
    EqualisedSource straight{recorded(48000.0, rough), iec};
    std::vector<float> whole(2 * static_cast<std::size_t>(straight.frames()));
    for (std::size_t from = 0; from < whole.size(); from += 2 * 1777)
      ASSERT_TRUE(straight.read(
          static_cast<std::int64_t>(from / 2),
          std::span{whole}.subspan(from, std::min<std::size_t>(2 * 1777, whole.size() - from))));
    EqualisedSource jumping{recorded(48000.0, rough), iec};
    const auto again = jumping.again();
    ASSERT_TRUE(again);
    for (const std::int64_t from : {190000LL, 65530LL, 3LL, 130000LL, 65536LL, 131071LL}) {
      for (signal::SampleSource* source :
           {static_cast<signal::SampleSource*>(&jumping), again->get()}) {
        std::vector<float> part(2 * 700);
        ASSERT_TRUE(source->read(from, part));
        EXPECT_EQ(std::memcmp(part.data(), whole.data() + 2 * from, part.size() * sizeof(float)), 0)
            << name << " from " << from;
      }
    }
  }
}

// Second road: one filter run through without blocks, as a plain player would.
TEST(EqualisedSource, DoesNotShowItsBlocks) {
  const Curve curve_of_us = *curve("aes-1951");
  EqualisedSource played{recorded(48000.0, rough), curve_of_us};
  std::vector<float> whole(2 * static_cast<std::size_t>(played.frames()));
  ASSERT_TRUE(played.read(0, whole));
  PlaybackFilter filter{curve_of_us, 48000.0};
  double worst = 0.0;
  for (std::size_t k = 0; k < whole.size() / 2; ++k) {
    const auto sample = static_cast<float>(rough(static_cast<double>(k) / 48000.0, 0));
    worst = std::max(
        worst, std::abs(filter(static_cast<double>(sample)) - static_cast<double>(whole[2 * k])));
  }
  EXPECT_LT(worst, 2e-6);  // the bass is lifted thirtyfold: one bit of a float there
}

TEST(EqualisedSource, IsSilentOutsideTheRecording) {
  EqualisedSource played{recorded(48000.0, rough), *curve("iec-60098")};
  std::vector<float> samples(2 * 100, 1.0F);
  ASSERT_TRUE(played.read(-50, samples));
  for (std::size_t k = 0; k < 100; ++k) EXPECT_EQ(samples[k], 0.0F);
  ASSERT_TRUE(played.read(played.frames() - 50, samples));
  for (std::size_t k = 100; k < 200; ++k) EXPECT_EQ(samples[k], 0.0F);
}

TEST(PlaybackCurve, IsReadFromTimeConstantsToo) {
  const auto own = curve("3180/318/75");
  ASSERT_TRUE(own);
  for (const double frequency_Hz : {30.0, 300.0, 15000.0})
    EXPECT_DOUBLE_EQ(playback_gain_dB(*own, frequency_Hz),
                     playback_gain_dB(*curve("riaa"), frequency_Hz));
  EXPECT_EQ(describe(*curve("iec-60098-amended")), "iec-60098-amended (3180/318/75/7950 us)");
  EXPECT_TRUE(is_flat(*curve("flat")));
  EXPECT_TRUE(is_flat(*curve("0/0/0")));
  EXPECT_FALSE(is_flat(*curve("0/318/100")));
  for (const char* wrong : {"3180/318",
                            "3180/318/75/7950/1",
                            "318/3180/75",
                            "3180/0/75",
                            "3180/318/nan",
                            "3180/318/",
                            "/318/75",
                            "inf/318/75",
                            "3180/75/318",
                            "1e9/318/75",
                            "-3180/318/75",
                            "3180 / 318 / 75"})
    EXPECT_EQ(curve(wrong).error().fault, Fault::bad_input) << wrong;
  EXPECT_NE(curve("78").error().text.find("bs-1928-coarse"), std::string::npos);
}

}  // namespace
}  // namespace goodside::disc
