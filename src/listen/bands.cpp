#include "listen/bands.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "base/expects.hpp"

namespace goodside::listen {
namespace {

// Sixteen running sums let the compiler use the whole vector width; one running sum would forbid
// it.
float sum_of_squares(const float* values, std::size_t count) {
  constexpr std::size_t lanes = 16;
  std::array<float, lanes> sums{};
  std::size_t k = 0;
  for (; k + lanes <= count; k += lanes)
    for (std::size_t lane = 0; lane < lanes; ++lane)
      sums[lane] += values[k + lane] * values[k + lane];
  float total = 0.0F;
  for (; k < count; ++k) total += values[k] * values[k];
  for (const float sum : sums) total += sum;
  return total;
}

}  // namespace

std::vector<Band> third_octaves() {
  constexpr std::array nominal_Hz{20.0,   25.0,   31.5,   40.0,    50.0,    63.0,    80.0,   100.0,
                                  125.0,  160.0,  200.0,  250.0,   315.0,   400.0,   500.0,  630.0,
                                  800.0,  1000.0, 1250.0, 1600.0,  2000.0,  2500.0,  3150.0, 4000.0,
                                  5000.0, 6300.0, 8000.0, 10000.0, 12500.0, 16000.0, 20000.0};
  constexpr int first = -17;
  std::vector<Band> bands;
  for (std::size_t b = 0; b < nominal_Hz.size(); ++b) {
    const double n = first + static_cast<double>(b);
    bands.push_back({.centre_Hz = nominal_Hz[b],
                     .low_Hz = 1000.0 * std::pow(10.0, (n - 0.5) / 10.0),
                     .high_Hz = 1000.0 * std::pow(10.0, (n + 0.5) / 10.0)});
  }
  return bands;
}

BandPowers::BandPowers(std::span<const Band> bands, double bin_Hz, std::size_t bins) {
  EXPECTS(bin_Hz > 0.0 && bins >= 2);
  const auto end = static_cast<double>(bins);
  for (const Band& band : bands) {
    const double low = std::clamp(band.low_Hz / bin_Hz + 0.5, 0.0, end);
    const double high = std::clamp(band.high_Hz / bin_Hz + 0.5, low, end);
    Share share;
    share.first = std::min(static_cast<std::size_t>(low), bins - 1);
    share.last = std::min(static_cast<std::size_t>(high), bins - 1);
    share.width = high - low;
    if (share.first == share.last) {
      share.first_share = static_cast<float>(share.width);
    } else {
      share.first_share = static_cast<float>(static_cast<double>(share.first + 1) - low);
      share.last_share = static_cast<float>(high - static_cast<double>(share.last));
    }
    shares_.push_back(share);
  }
}

float BandPowers::power(std::size_t b, std::span<const std::complex<float>> spectrum) const {
  const Share& share = shares_[b];
  EXPECTS(share.last < spectrum.size());
  float total = share.first_share * std::norm(spectrum[share.first]);
  if (share.last > share.first) {
    total += share.last_share * std::norm(spectrum[share.last]);
    const std::size_t inner = share.last - share.first - 1;
    // The standard lets an array of complex be read as an array of its parts.
    const auto* parts = reinterpret_cast<const float*>(spectrum.data() + share.first + 1);
    total += sum_of_squares(parts, 2 * inner);
  }
  return total;
}

double mean_square_factor(std::size_t bins, double window_power) {
  EXPECTS(bins >= 2 && window_power > 0.0);
  return 1.0 / (static_cast<double>(bins - 1) * window_power);
}

}  // namespace goodside::listen
