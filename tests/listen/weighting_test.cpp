#include "listen/weighting.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <utility>

namespace goodside::listen {
namespace {

double decibel(double power) {
  return 10.0 * std::log10(power);
}

// Published: IEC 61672-1 A-weighting at exact mid-band frequencies 10^(n/10) Hz, printed to 0.01
// dB; agrees with the classic tabulation in sound level meter manuals to its 0.1 dB.
TEST(AWeighting, AgreesWithTheStandardsTable) {
  struct Row {
    int n;
    double weight_dB;
  };
  for (const Row& row : {Row{10, -70.43},
                         Row{13, -50.45},
                         Row{15, -39.44},
                         Row{17, -30.23},
                         Row{20, -19.14},
                         Row{24, -8.63},
                         Row{27, -3.23},
                         Row{30, 0.00},
                         Row{33, 1.20},
                         Row{34, 1.27},
                         Row{36, 0.97},
                         Row{38, -0.12},
                         Row{40, -2.49},
                         Row{42, -6.60},
                         Row{43, -9.32}}) {
    EXPECT_NEAR(decibel(a_weighting_power(std::pow(10.0, row.n / 10.0))), row.weight_dB, 0.0051)
        << "n = " << row.n;
  }
}

// Published: ITU-R BS.468-4, table 1 (from memory), printed to 0.1 dB; the recommendation's own
// tolerances run from 0.2 dB near its maximum to 2 dB at 31.5 Hz.
TEST(Weighting, AgreesWithTheTableOf468) {
  for (const auto& [frequency_Hz, weight_dB] :
       {std::pair{31.5, -29.9},   {63.0, -23.9},   {100.0, -19.8},   {200.0, -13.8},
        std::pair{400.0, -7.8},   {800.0, -1.9},   {1000.0, 0.0},    {2000.0, 5.6},
        std::pair{3150.0, 9.0},   {4000.0, 10.5},  {5000.0, 11.7},   {6300.0, 12.2},
        std::pair{7100.0, 12.0},  {8000.0, 11.4},  {9000.0, 10.1},   {10000.0, 8.1},
        std::pair{12500.0, 0.0},  {14000.0, -5.3}, {16000.0, -11.7}, {20000.0, -22.2},
        std::pair{31500.0, -42.7}})
    EXPECT_NEAR(decibel(itu_468_weighting_power(frequency_Hz)), weight_dB, 0.065) << frequency_Hz;
}

// Published: ITU-R BS.1770 reads a full-scale sine of 997 Hz in one channel as -3.01 LKFS, so that
// its filters gain 0.691 dB there. Second road: the rest is scipy.signal.freqz (SciPy 1.10.1) of the
// recommendation's coefficients, to 0.001 dB.
TEST(Weighting, AgreesWithTheFiltersOfK) {
  constexpr double at_997_Hz_dB = 0.691;
  const double offset_dB = at_997_Hz_dB - decibel(k_weighting_power(997.0));
  EXPECT_NEAR(decibel(k_weighting_power(1000.0)), 0.0, 1e-12);
  for (const auto& [frequency_Hz, gain_dB] : {std::pair{20.0, -13.275},
                                              {50.0, -3.934},
                                              {100.0, -1.133},
                                              {500.0, 0.042},
                                              {2000.0, 3.071},
                                              {4000.0, 3.968},
                                              {10000.0, 4.042}})
    EXPECT_NEAR(decibel(k_weighting_power(frequency_Hz)) + offset_dB, gain_dB, 0.0011)
        << frequency_Hz;
  EXPECT_EQ(k_weighting_power(30000.0), 0.0);
}

// From memory: curve B of IEC 60098 lies 20 dB down at 100 Hz and 40 dB at 31.5 Hz.
TEST(Weighting, RumbleFallsTwelveDecibelsAnOctave) {
  EXPECT_NEAR(decibel(rumble_weighting_power(315.0)), 0.0, 1e-12);
  EXPECT_NEAR(decibel(rumble_weighting_power(157.5)), -12.04, 0.005);
  EXPECT_NEAR(decibel(rumble_weighting_power(100.0)), -20.0, 0.1);
  EXPECT_NEAR(decibel(rumble_weighting_power(31.5)), -40.0, 0.01);
}

// Second road: closed form of the mean of f^4 over a band.
TEST(Weighting, IsAveragedOverABand) {
  const Band band{.centre_Hz = 100.0, .low_Hz = 80.0, .high_Hz = 125.0};
  const double exact = (std::pow(125.0, 5) - std::pow(80.0, 5)) / (5.0 * 45.0 * std::pow(315.0, 4));
  EXPECT_NEAR(mean_weight(rumble_weighting_power, band), exact, 1e-3 * exact);
}

}  // namespace
}  // namespace goodside::listen
