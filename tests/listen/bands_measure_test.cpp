#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

#include "listen/bands.hpp"
#include "listen/simulated_frames.hpp"

namespace goodside::listen {
namespace {

// Published: IEC 61260-1:2014, base-ten exact mid-band and edge frequencies, 10^(3 + n/10) and
// 10^(3 + (n -+ 0.5)/10) Hz (five digits, from memory of the standard's annex).
TEST(ThirdOctaves, HaveTheEdgesOfTheBaseTenSeries) {
  const std::vector<Band> bands = third_octaves();
  ASSERT_EQ(bands.size(), 31U);
  struct Row {
    std::size_t index;
    double centre_Hz, low_Hz, high_Hz;
  };
  for (const Row& row : {Row{0, 20, 17.783, 22.387},
                         Row{7, 100, 89.125, 112.20},
                         Row{11, 250, 223.87, 281.84},
                         Row{17, 1000, 891.25, 1122.0},
                         Row{23, 4000, 3548.1, 4466.8},
                         Row{30, 20000, 17783., 22387.}}) {
    EXPECT_EQ(bands[row.index].centre_Hz, row.centre_Hz);
    EXPECT_NEAR(bands[row.index].low_Hz, row.low_Hz, 5e-5 * row.low_Hz);
    EXPECT_NEAR(bands[row.index].high_Hz, row.high_Hz, 5e-5 * row.high_Hz);
  }
}

TEST(ThirdOctaves, TouchAndHoldTheirNames) {
  const std::vector<Band> bands = third_octaves();
  for (std::size_t b = 0; b < bands.size(); ++b) {
    EXPECT_GT(bands[b].centre_Hz, bands[b].low_Hz);
    EXPECT_LT(bands[b].centre_Hz, bands[b].high_Hz);
  }
  for (std::size_t b = 1; b < bands.size(); ++b)
    EXPECT_DOUBLE_EQ(bands[b].low_Hz, bands[b - 1].high_Hz);
}

// Property: touching bands share out a spectrum without loss, wherever their edges fall among the
// bins.
TEST(BandPowers, ShareOutTheWholePower) {
  simulated::Noise noise{1};
  std::vector<std::complex<float>> spectrum(1025);
  double total = 0.0;
  for (auto& bin : spectrum) {
    bin = {static_cast<float>(noise()), static_cast<float>(noise())};
    total += static_cast<double>(std::norm(bin));
  }
  const double bin_Hz = 23.4375;
  std::vector<Band> bands{{.low_Hz = -100.0, .high_Hz = 31.0}};
  for (const double edge_Hz : {33.0, 40.0, 500.1, 5000.0, 30000.0})
    bands.push_back({.low_Hz = bands.back().high_Hz, .high_Hz = edge_Hz});
  const BandPowers powers{bands, bin_Hz, spectrum.size()};
  double shared = 0.0, width = 0.0;
  for (std::size_t b = 0; b < powers.size(); ++b) {
    shared += static_cast<double>(powers.power(b, spectrum));
    width += powers.width_bins(b);
  }
  EXPECT_NEAR(shared, total, 1e-5 * total);
  EXPECT_NEAR(width, 1025.0, 1e-9);
}

// Second road: a naive DFT of a windowed sine of known mean square, summed over a band round it.
TEST(BandPowers, GiveASinesMeanSquareFromANaiveTransform) {
  constexpr std::size_t n = 512;
  constexpr double rate_Hz = 8000.0, frequency_Hz = 1031.0, amplitude = 0.25;
  std::vector<double> windowed(n);
  double window_power = 0.0;
  for (std::size_t j = 0; j < n; ++j) {
    const double t = static_cast<double>(j);
    const double w = 0.5 * (1.0 - std::cos(2.0 * std::numbers::pi * t / n));
    windowed[j] =
        w * amplitude * std::sin(2.0 * std::numbers::pi * frequency_Hz * t / rate_Hz + 0.3);
    window_power += w * w;
  }
  std::vector<std::complex<float>> spectrum;
  for (std::size_t k = 0; k <= n / 2; ++k) {
    std::complex<double> sum;
    for (std::size_t j = 0; j < n; ++j)
      sum += windowed[j] *
             std::polar(1.0, -2.0 * std::numbers::pi * static_cast<double>(k * j % n) / n);
    spectrum.emplace_back(sum);
  }
  const std::vector<Band> bands{{.low_Hz = 900.0, .high_Hz = 1200.0}};
  const BandPowers powers{bands, rate_Hz / n, spectrum.size()};
  const double mean_square = static_cast<double>(powers.power(0, spectrum)) *
                             mean_square_factor(spectrum.size(), window_power);
  EXPECT_NEAR(mean_square, amplitude * amplitude / 2.0, 1e-4 * amplitude * amplitude);
}

}  // namespace
}  // namespace goodside::listen
