#include "listen/mains_hum.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

#include "base/expects.hpp"

namespace goodside::listen {
namespace {

// Power of the line near a frequency, zero when none stands out.
double line_power(std::span<const double> mean_square, double bin_Hz, double frequency_Hz) {
  constexpr double slack = 0.004, stands_out = 4.0;
  constexpr std::ptrdiff_t near_bins = 5, far_bins = 12, lobe = 2;
  const double centre = frequency_Hz / bin_Hz, reach = slack * centre + 1.0;
  const auto low = static_cast<std::ptrdiff_t>(std::ceil(centre - reach));
  const auto high = static_cast<std::ptrdiff_t>(std::floor(centre + reach));
  const auto size = static_cast<std::ptrdiff_t>(mean_square.size());
  if (low - far_bins < 1 || high + far_bins >= size) return 0.0;

  const auto at = [&](std::ptrdiff_t k) { return mean_square[static_cast<std::size_t>(k)]; };
  std::ptrdiff_t peak = low;
  for (std::ptrdiff_t k = low; k <= high; ++k)
    if (at(k) > at(peak)) peak = k;
  std::vector<double> beside;
  for (std::ptrdiff_t away = near_bins; away <= far_bins; ++away) {
    beside.push_back(at(peak - away));
    beside.push_back(at(peak + away));
  }
  const auto middle = beside.begin() + static_cast<std::ptrdiff_t>(beside.size() / 2);
  std::nth_element(beside.begin(), middle, beside.end());
  if (!(at(peak) > stands_out * *middle)) return 0.0;

  double power = 0.0;
  for (std::ptrdiff_t k = peak - lobe; k <= peak + lobe; ++k) power += at(k) - *middle;
  return std::max(power, 0.0);
}

}  // namespace

std::optional<MainsHum> mains_hum(std::span<const double> mean_square, double bin_Hz) {
  EXPECTS(bin_Hz > 0.0);
  constexpr int multiples = 5;
  std::optional<MainsHum> strongest;
  for (const double mains_Hz : {50.0, 60.0}) {
    double total = 0.0;
    int lines = 0;
    bool fundamental = false;
    for (int m = 1; m <= multiples; ++m) {
      const double power = line_power(mean_square, bin_Hz, m * mains_Hz);
      if (!(power > 0.0)) continue;
      total += power;
      ++lines;
      fundamental = fundamental || m == 1;
    }
    if (!fundamental && lines < 2) continue;
    if (!strongest || total > strongest->mean_square)
      strongest = MainsHum{.mains_Hz = mains_Hz, .mean_square = total};
  }
  return strongest;
}

}  // namespace goodside::listen
