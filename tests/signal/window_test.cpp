#include "signal/window.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

namespace goodside::signal {
namespace {

// Reference: SciPy 1.10.1, scipy.signal.windows.hann(9, sym=False).
TEST(Hann, AgreesWithSciPy) {
  constexpr double values[] = {0.0,
                               0.11697777844051099,
                               0.41317591116653485,
                               0.75,
                               0.96984631039295421,
                               0.96984631039295421,
                               0.75,
                               0.41317591116653485,
                               0.11697777844051099};
  const std::vector<float> window = hann(9);
  ASSERT_EQ(window.size(), 9U);
  for (std::size_t j = 0; j < 9; ++j) EXPECT_NEAR(window[j], values[j], 6e-8) << j;
}

// Property: what makes overlapped frames sum back to the signal.
TEST(Hann, AddsUpToOneAtAHopOfHalfItsLength) {
  const std::vector<float> window = hann(1024);
  for (std::size_t j = 0; j < 512; ++j) EXPECT_NEAR(window[j] + window[j + 512], 1.0F, 1.2e-7F);
}

// Closed form: sum w = n/2 and sum w^2 = 3 n/8 for every n > 2.
TEST(Hann, HasTheMeanAndTheMeanSquareOfItsFormula) {
  for (const std::size_t length : {3U, 10U, 37U, 4096U}) {
    double sum = 0.0;
    double squares = 0.0;
    for (const float value : hann(length)) {
      sum += static_cast<double>(value);
      squares += static_cast<double>(value) * static_cast<double>(value);
    }
    const auto n = static_cast<double>(length);
    EXPECT_NEAR(sum / n, 0.5, 3e-8) << length;
    EXPECT_NEAR(squares / n, 0.375, 3e-8) << length;
  }
}

// Reference: SciPy 1.10.1, scipy.signal.windows.kaiser(9, beta), the points x = -1, -0.75 .. 0.
TEST(Kaiser, AgreesWithSciPy) {
  struct Row {
    double beta, values[5];
  };
  constexpr Row rows[] = {
      {0.0, {1.0, 1.0, 1.0, 1.0, 1.0}},
      {5.0,
       {0.036710892271286676, 0.23054433409868888, 0.55285176969913241, 0.86801715947847802, 1.0}},
      {9.0,
       {0.000914420856691373, 0.058897747973607188, 0.32258832068531257, 0.76404111479478953, 1.0}},
      {20.0,
       {2.295774629389451e-08,
        0.0014142575905558307,
        0.073788862293837215,
        0.53862681065708973,
        1.0}}};
  for (const auto& [beta, values] : rows)
    for (int k = 0; k < 5; ++k)
      EXPECT_NEAR(kaiser(-1.0 + 0.25 * k, beta) / values[k], 1.0, 2e-15) << beta << ", " << k;
}

// Second road: the Bessel function of the standard library.
TEST(Kaiser, AgreesWithTheStandardLibrarysBesselFunction) {
  for (double beta = 0.5; beta <= 20.0; beta += 0.5)
    for (double x = -1.0; x <= 1.0; x += 0.0625) {
      const double expected =
          std::cyl_bessel_i(0.0, beta * std::sqrt(1.0 - x * x)) / std::cyl_bessel_i(0.0, beta);
      EXPECT_NEAR(kaiser(x, beta) / expected, 1.0, 4e-15) << x << ", " << beta;
    }
}

TEST(Kaiser, IsEvenAndZeroOutside) {
  for (double x = 0.0; x <= 1.0; x += 0.125) EXPECT_EQ(kaiser(x, 8.0), kaiser(-x, 8.0));
  for (const double x : {1.0000001, -1.0000001, 5.0}) EXPECT_EQ(kaiser(x, 8.0), 0.0);
}

}  // namespace
}  // namespace goodside::signal
