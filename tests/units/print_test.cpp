#include "units/print.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <random>
#include <string>

#include "units/read.hpp"

namespace goodside::units {
namespace {

TEST(Print, ShowsAsFewDigitsAsTellTheValue) {
  EXPECT_EQ(print(0.254, millimetre), "254 mm");
  EXPECT_EQ(print(0.254, inch), "10 in");
  EXPECT_EQ(print(1e-4, millimetre), "0.1 mm");
  EXPECT_EQ(print(438.15, celsius), "165 °C");
  EXPECT_EQ(print(620000.0, bar), "6.2 bar");
  EXPECT_EQ(print(0.0254 / 120.0, lines_per_inch), "120 lpi");
  EXPECT_EQ(print(0.95, plain), "0.95");
  EXPECT_EQ(print(-120e-6, ppm), "-120 ppm");
}

TEST(Print, ToGivenDecimals) {
  EXPECT_EQ(print(0.0000512, millimetre, 3), "0.051 mm");
  EXPECT_EQ(print(100.0 / 3.0, turns_per_minute, 2), "33.33 rpm");
  EXPECT_EQ(print(-1e-9, millimetre, 2), "0.00 mm");
  EXPECT_EQ(print(-0.0, decibel, 1), "0.0 dB");
  EXPECT_EQ(print(-0.05, decibel, 2), "-0.05 dB");
}

TEST(Print, ClockReadings) {
  EXPECT_EQ(print_clock(222.0, 0), "3:42");
  EXPECT_EQ(print_clock(222.44, 1), "3:42.4");
  EXPECT_EQ(print_clock(59.96, 1), "1:00.0");
  EXPECT_EQ(print_clock(3599.99, 1), "1:00:00.0");
  EXPECT_EQ(print_clock(3822.5, 3), "1:03:42.500");
  EXPECT_EQ(print_clock(0.0, 1), "0:00.0");
  EXPECT_EQ(print_clock(-1.5, 1), "-0:01.5");
  EXPECT_EQ(print_clock(-0.01, 1), "0:00.0");
}

struct Pair {
  Result<double> (*read)(std::string_view);
  Unit unit;
  double low_si, high_si;
};

// Property: reading what was printed gives the value back, to the accuracy that the header states.
// The offset of a temperature scale is the largest term of its conversion.
TEST(Print, ReadingItBackGivesTheValue) {
  const std::array pairs{Pair{length_m, metre, 1e-9, 1e3},
                         Pair{length_m, millimetre, 1e-9, 1e3},
                         Pair{length_m, micrometre, 1e-9, 1e3},
                         Pair{length_m, inch, 1e-9, 1e3},
                         Pair{length_m, mil, 1e-9, 1e3},
                         Pair{pitch_m, lines_per_inch, 2e-6, 5e-3},
                         Pair{pitch_m, lines_per_millimetre, 2e-6, 5e-3},
                         Pair{duration_s, hour, 1e-6, 1e8},
                         Pair{duration_s, millisecond, 1e-6, 1e8},
                         Pair{frequency_Hz, kilohertz, 1e-3, 1e6},
                         Pair{temperature_K, celsius, 200.0, 2000.0},
                         Pair{temperature_K, fahrenheit, 200.0, 2000.0},
                         Pair{pressure_Pa, psi, 1.0, 1e8},
                         Pair{pressure_Pa, bar, 1.0, 1e8},
                         Pair{fraction, per_cent, 1e-6, 0.9},
                         Pair{deviation, ppm, 1e-9, 0.9},
                         Pair{level_dB, decibel, 1e-3, 200.0}};
  std::mt19937_64 engine{78};
  double worst = 0.0;
  for (const auto& [read, unit, low_si, high_si] : pairs)
    for (int trial = 0; trial < 2000; ++trial) {
      const double share = static_cast<double>(engine() >> 11) * 0x1p-53;
      const double si = low_si * std::pow(high_si / low_si, share);
      const auto text = print(si, unit);
      const double back = read(text).value();
      worst = std::max(
          worst,
          std::abs(back - si) / std::max(si, unit.offset * unit.numerator / unit.denominator));
    }
  EXPECT_LE(worst, 4e-16);
  RecordProperty("worst_relative_error", std::to_string(worst * 1e16) + "e-16");
}

// Property: a clock reading gives back what was shown, to half of its last digit.
TEST(Print, ClockReadingsReadBack) {
  std::mt19937_64 engine{45};
  for (int trial = 0; trial < 2000; ++trial) {
    const double time_s = static_cast<double>(engine() % 20'000'000) / 1543.0;
    EXPECT_NEAR(duration_s(print_clock(time_s, 3)).value(), time_s, 0.0005 + 1e-9);
  }
}

TEST(PrintDeathTest, ANumberThatIsNoneIsOurOwnBug) {
  EXPECT_DEATH((void)print(std::nan(""), metre), "broken promise");
  EXPECT_DEATH((void)print(std::numeric_limits<double>::infinity(), metre, 1), "broken promise");
  EXPECT_DEATH((void)print_clock(std::nan(""), 1), "broken promise");
}

}  // namespace
}  // namespace goodside::units
