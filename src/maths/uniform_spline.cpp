#include "maths/uniform_spline.hpp"

#include <algorithm>
#include <cmath>

#include "base/expects.hpp"

namespace goodside::maths {

UniformSpline::UniformSpline(std::vector<double> values)
    : values_{std::move(values)}, second_(values_.size()) {
  const std::size_t n = values_.size();
  EXPECTS(n >= 2);
  if (n == 2) return;
  // m_{k-1} + 4 m_k + m_{k+1} = 6 (y_{k-1} - 2 y_k + y_{k+1}), m the second derivative, 0 at both
  // ends.
  std::vector<double> ratio(n);
  for (std::size_t k = 1; k + 1 < n; ++k) {
    const double right = 6.0 * (values_[k - 1] - 2.0 * values_[k] + values_[k + 1]);
    const double pivot = 4.0 - ratio[k - 1];
    ratio[k] = 1.0 / pivot;
    second_[k] = (right - second_[k - 1]) / pivot;
  }
  for (std::size_t k = n - 2; k > 0; --k) second_[k] -= ratio[k] * second_[k + 1];
  for (double& value : second_) value *= 0.5;
}

UniformSpline::Cubic UniformSpline::piece(std::size_t k) const {
  const double rise = values_[k + 1] - values_[k];
  const double here = second_[k];
  const double there = second_[k + 1];
  return {values_[k], rise - (2.0 * here + there) / 3.0, here, (there - here) / 3.0};
}

double UniformSpline::at(double u) const {
  const double last = static_cast<double>(values_.size() - 1);
  const double inside = std::clamp(u, 0.0, last);
  const auto k = std::min(static_cast<std::size_t>(inside), values_.size() - 2);
  const Cubic c = piece(k);
  const double x = inside - static_cast<double>(k);
  const double value = c.value + x * (c.slope + x * (c.bend + x * c.twist));
  return value + (u - inside) * (c.slope + x * (2.0 * c.bend + 3.0 * x * c.twist));
}

double UniformSpline::slope_at(double u) const {
  const double last = static_cast<double>(values_.size() - 1);
  const double inside = std::clamp(u, 0.0, last);
  const auto k = std::min(static_cast<std::size_t>(inside), values_.size() - 2);
  const Cubic c = piece(k);
  const double x = inside - static_cast<double>(k);
  return c.slope + x * (2.0 * c.bend + 3.0 * x * c.twist);
}

}  // namespace goodside::maths
