#include "disc/filter.hpp"

#include <array>
#include <cmath>
#include <complex>
#include <numbers>

#include "base/expects.hpp"

namespace goodside::disc {
namespace {

constexpr double tau = 2.0 * std::numbers::pi;
constexpr double beyond_audible_s = 2e-6;

struct Warped {
  double cosine, alpha;
};

Warped warped(const Resonance& resonance, double rate_Hz) {
  EXPECTS(resonance.frequency_Hz > 0.0 && resonance.frequency_Hz < rate_Hz / 2.0 &&
          resonance.quality > 0.0);
  const double w = tau * resonance.frequency_Hz / rate_Hz;
  return {std::cos(w), std::sin(w) / (2.0 * resonance.quality)};
}

using Quadratic = std::array<double, 3>;  ///< in 1/z

/// (1 + s P)(1 + s Q) (1 + 1/z)^2 under the bilinear transform.
Quadratic bilinear(double p_s, double q_s, double rate_Hz) {
  const double p = 2.0 * rate_Hz * p_s;
  const double q = 2.0 * rate_Hz * q_s;
  return {
      (1.0 + p) * (1.0 + q), (1.0 + p) * (1.0 - q) + (1.0 - p) * (1.0 + q), (1.0 - p) * (1.0 - q)};
}

Biquad ratio(const Quadratic& over, const Quadratic& under, double factor) {
  return {factor * over[0] / under[0],
          factor * over[1] / under[0],
          factor * over[2] / under[0],
          under[1] / under[0],
          under[2] / under[0]};
}

}  // namespace

Biquad low_pass(const Resonance& resonance, double rate_Hz) {
  const auto [cosine, alpha] = warped(resonance, rate_Hz);
  const double norm = 1.0 + alpha;
  const double b1 = (1.0 - cosine) / norm;
  return {b1 / 2.0, b1, b1 / 2.0, -2.0 * cosine / norm, (1.0 - alpha) / norm};
}

Biquad high_pass(const Resonance& resonance, double rate_Hz) {
  const auto [cosine, alpha] = warped(resonance, rate_Hz);
  const double norm = 1.0 + alpha;
  const double b0 = (1.0 + cosine) / 2.0 / norm;
  return {b0, -2.0 * b0, b0, -2.0 * cosine / norm, (1.0 - alpha) / norm};
}

Emphasis emphasis(const TimeConstants& constants, double rate_Hz) {
  const Quadratic zeros = bilinear(constants.turnover_s, beyond_audible_s, rate_Hz);
  const Quadratic poles = bilinear(constants.bass_s, constants.treble_s, rate_Hz);
  const std::complex<double> back = std::polar(1.0, -tau * 1000.0 / rate_Hz);
  const auto size = [&](const Quadratic& q) {
    return std::abs(q[0] + back * (q[1] + back * q[2]));
  };
  const double gain = size(poles) / size(zeros);
  return {ratio(poles, zeros, 1.0 / gain), ratio(zeros, poles, gain)};
}

}  // namespace goodside::disc
