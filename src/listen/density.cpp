#include "listen/density.hpp"

#include <algorithm>
#include <cmath>

#include "base/expects.hpp"

namespace goodside::listen {

void DensityCurve::add(double frequency_Hz, double density) {
  EXPECTS(frequency_Hz > 0.0 && density > 0.0);
  points_.emplace_back(std::log(frequency_Hz), std::log(density));
}

double DensityCurve::at(double frequency_Hz) const {
  EXPECTS(!points_.empty());
  const double x = std::log(frequency_Hz);
  const auto above = std::find_if(
      points_.begin(), points_.end(), [&](const auto& point) { return point.first >= x; });
  if (above == points_.begin()) return std::exp(points_.front().second);
  if (above == points_.end()) return std::exp(points_.back().second);
  const auto below = above - 1;
  const double part = (x - below->first) / (above->first - below->first);
  return std::exp(below->second + part * (above->second - below->second));
}

double re_full_scale_dB(double mean_square, double gain_dB) {
  constexpr double full_scale_sine = 0.5;
  return 10.0 * std::log10(mean_square / full_scale_sine) - gain_dB;
}

}  // namespace goodside::listen
