#include "disc/playback_filter.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

#include "base/expects.hpp"

namespace goodside::disc {
namespace {

constexpr double tau = 2.0 * std::numbers::pi;
constexpr double shelf_s = 1.0 / (tau * 5.0);
constexpr double time_constants_to_settle = 18.0;  // e^-18 is -156 dB

double step_of(double time_constant_s, double rate_Hz) {
  return std::exp(-1.0 / (rate_Hz * time_constant_s));
}

std::complex<double> response(const Biquad& section, double frequency_Hz, double rate_Hz) {
  const auto back = std::polar(1.0, -tau * frequency_Hz / rate_Hz);
  return (section.b0 + back * (section.b1 + back * section.b2)) /
         (1.0 + back * (section.a1 + back * section.a2));
}

/// The zero within the unit circle whose |1 - zero/z|^2 vanishes where cos w = `cosine`.
std::complex<double> zero_of(std::complex<double> cosine) {
  const auto root = std::sqrt(cosine * cosine - 1.0);
  const auto zero = cosine - root;
  return std::abs(zero) < 1.0 ? zero : cosine + root;
}

/// 1/(1 + s T3): pole exp(-1/(rate T3)), pole -0.4, and the two zeros that make |H|^2 fit.
Biquad treble(double treble_s, double rate_Hz) {
  constexpr int points = 400;
  constexpr double helper = 0.4, lowest_Hz = 20.0;
  const double highest_Hz = std::min(20000.0, 0.47 * rate_Hz);
  const double pole = step_of(treble_s, rate_Hz);
  Biquad section{.b0 = 1.0, .a1 = helper - pole, .a2 = -helper * pole};
  Eigen::MatrixX3d powers(points, 3);
  for (int k = 0; k < points; ++k) {
    const double frequency_Hz = lowest_Hz + (highest_Hz - lowest_Hz) * k / (points - 1);
    const double cosine = std::cos(tau * frequency_Hz / rate_Hz);
    const double wanted = 1.0 / (1.0 + std::pow(tau * frequency_Hz * treble_s, 2));
    const double weight = std::norm(response(section, frequency_Hz, rate_Hz)) / wanted;
    powers.row(k) = weight * Eigen::RowVector3d{1.0, cosine, cosine * cosine};
  }
  const Eigen::Vector3d fit = powers.colPivHouseholderQr().solve(Eigen::VectorXd::Ones(points));
  // c0 + c1 x + c2 x^2 of x = cos w, split into its two factors.
  const std::complex<double> spread =
      std::sqrt(std::complex<double>{fit(1) * fit(1) - 4.0 * fit(0) * fit(2), 0.0});
  const auto first = zero_of((-fit(1) + spread) / (2.0 * fit(2)));
  const auto second = zero_of((-fit(1) - spread) / (2.0 * fit(2)));
  section.b1 = -(first + second).real();
  section.b2 = (first * second).real();
  return section;
}

/// A zero and a pole, such as (1 + s T2)/(1 + s T1).
struct Corner {
  double zero{}, pole{};
};

Biquad both(const Corner& first, const Corner& second) {
  return {.b0 = 1.0,
          .b1 = -first.zero - second.zero,
          .b2 = first.zero * second.zero,
          .a1 = -first.pole - second.pole,
          .a2 = first.pole * second.pole};
}

}  // namespace

PlaybackFilter::PlaybackFilter(const Curve& curve, double rate_Hz) {
  EXPECTS(rate_Hz >= 8000.0);
  const double bass_s = curve.bass_s > 0.0 ? curve.bass_s : shelf_s;
  Corner turnover, rumble;
  if (curve.turnover_s > 0.0)
    turnover = {step_of(curve.turnover_s, rate_Hz), step_of(bass_s, rate_Hz)};
  if (curve.rumble_s > 0.0) rumble = {1.0, step_of(curve.rumble_s, rate_Hz)};
  bass_ = both(turnover, rumble);
  if (curve.treble_s > 0.0) treble_ = treble(curve.treble_s, rate_Hz);
  for (Biquad* section : {&bass_, &treble_}) {
    const double gain = std::abs(response(*section, 1000.0, rate_Hz));
    for (double* b : {&section->b0, &section->b1, &section->b2}) *b /= gain;
  }
  const double slowest_s =
      std::max({curve.turnover_s > 0.0 ? bass_s : 0.0, curve.treble_s, curve.rumble_s});
  settling_ = static_cast<int>(std::ceil(time_constants_to_settle * slowest_s * rate_Hz)) + 64;
}

void PlaybackFilter::reset() {
  for (Biquad* section : {&bass_, &treble_}) section->first = section->second = 0.0;
}

}  // namespace goodside::disc
