#include "signal/window.hpp"

#include <cmath>
#include <numbers>

namespace goodside::signal {
namespace {

double bessel_i0(double x) {
  const double quarter_square = 0.25 * x * x;
  double term = 1.0;
  double sum = 1.0;
  for (int k = 1; term > 1e-17 * sum; ++k) {
    term *= quarter_square / (static_cast<double>(k) * static_cast<double>(k));
    sum += term;
  }
  return sum;
}

}  // namespace

std::vector<float> hann(std::size_t length) {
  std::vector<float> window(length);
  for (std::size_t j = 0; j < length; ++j) {
    const double phase =
        2.0 * std::numbers::pi * static_cast<double>(j) / static_cast<double>(length);
    window[j] = static_cast<float>(0.5 - 0.5 * std::cos(phase));
  }
  return window;
}

double kaiser(double x, double beta) {
  const double inside = 1.0 - x * x;
  return inside < 0.0 ? 0.0 : bessel_i0(beta * std::sqrt(inside)) / bessel_i0(beta);
}

}  // namespace goodside::signal
