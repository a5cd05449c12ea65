#include "signal/sinc_reader.hpp"

#include <gtest/gtest.h>

#include <numbers>
#include <vector>

#include "support/formula_source.hpp"

namespace goodside::signal {
namespace {

using testing::FormulaSource;

constexpr double tau = 2.0 * std::numbers::pi;

struct Rates {
  double source_Hz, output_Hz;
};

double worst_error_dB(const Rates& rates, double tone_Hz) {
  const auto [source_rate_Hz, output_rate_Hz] = rates;
  const auto wave = [=](double time_s, int) { return std::sin(tau * tone_Hz * time_s); };
  SincReader reader{
      std::make_unique<FormulaSource>(FormulaSource::Shape{source_rate_Hz, 1, 4.0}, wave),
      output_rate_Hz};
  std::vector<double> places;
  places.reserve(30000);
  for (int k = 0; k < 30000; ++k)
    places.push_back(source_rate_Hz * (0.5 + k * 1.00037 / output_rate_Hz));
  std::vector<float> read(places.size());
  EXPECT_TRUE(reader.read(places, read));
  double worst = 0.0;
  for (std::size_t k = 0; k < places.size(); ++k)
    worst = std::max(worst,
                     std::abs(static_cast<double>(read[k]) - wave(places[k] / source_rate_Hz, 0)));
  return 20.0 * std::log10(worst);
}

// Second road: the tone's own formula at the instants between the samples.
TEST(SincReader, ReadsTonesBetweenTheSamples) {
  for (const double tone_Hz : {20.0, 997.0, 5000.0, 12000.0, 19400.0})
    EXPECT_LT(worst_error_dB({44100.0, 96000.0}, tone_Hz), -95.0) << tone_Hz;
}

TEST(SincReader, KeepsTheBandWhenTheOutputIsSlower) {
  for (const double tone_Hz : {997.0, 12000.0, 19400.0})
    EXPECT_LT(worst_error_dB({192000.0, 44100.0}, tone_Hz), -95.0) << tone_Hz;
}

// What the output cannot hold must not fold back: 28 kHz would come out at 16.1 kHz.
TEST(SincReader, KeepsOutWhatTheOutputCannotHold) {
  const auto wave = [](double time_s, int) { return std::sin(tau * 28000.0 * time_s); };
  SincReader reader{std::make_unique<FormulaSource>(FormulaSource::Shape{192000.0, 1, 1.0}, wave),
                    44100.0};
  std::vector<double> places;
  places.reserve(20000);
  for (int k = 0; k < 20000; ++k) places.push_back(192000.0 * (0.1 + k / 44100.0));
  std::vector<float> read(places.size());
  ASSERT_TRUE(reader.read(places, read));
  for (const float value : read) EXPECT_LT(std::abs(value), 3e-5f);
}

TEST(SincReader, IsSilentOutsideTheRecordingAndDoesNotCareForOrder) {
  const auto wave = [](double time_s, int channel) { return channel == 0 ? time_s : -time_s; };
  SincReader reader{std::make_unique<FormulaSource>(FormulaSource::Shape{48000.0, 2, 2.0}, wave),
                    48000.0};
  const std::vector<double> places{-500.0, 48000.5, 1000.25, 90000.0, -1e18, 1e18};
  std::vector<float> there(12);
  ASSERT_TRUE(reader.read(places, there));
  EXPECT_EQ(there[0], 0.0f);
  EXPECT_NEAR(there[2], 48000.5 / 48000.0, 1e-5);
  EXPECT_NEAR(there[3], -48000.5 / 48000.0, 1e-5);
  EXPECT_EQ(there[8], 0.0f);
  EXPECT_EQ(there[10], 0.0f);
  std::vector<float> back(12);
  ASSERT_TRUE(
      reader.read(std::vector<double>{1e18, -1e18, 90000.0, 1000.25, 48000.5, -500.0}, back));
  for (std::size_t k = 0; k < 6; ++k) EXPECT_EQ(there[2 * k], back[2 * (5 - k)]);
}

}  // namespace
}  // namespace goodside::signal
