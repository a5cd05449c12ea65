#pragma once
#include <span>
#include <vector>

namespace goodside::maths {

/// Natural cubic spline through evenly spaced values, twice continuously differentiable.
/// Position u counts in spacings from the first value; past the ends the end's straight line is
/// carried on.
class UniformSpline {
 public:
  /// At least two values.
  explicit UniformSpline(std::vector<double> values);

  struct Cubic {
    double value, slope, bend,
        twist;  ///< value + slope x + bend x^2 + twist x^3, x = u - k in [0, 1]
  };
  /// The cubic from value k to value k + 1, 0 <= k < size - 1.
  [[nodiscard]] Cubic piece(std::size_t k) const;
  [[nodiscard]] double at(double u) const;
  [[nodiscard]] double slope_at(double u) const;
  [[nodiscard]] std::size_t size() const { return values_.size(); }
  [[nodiscard]] std::span<const double> values() const { return values_; }

 private:
  std::vector<double> values_, second_;  // second_: half of each value's second derivative
};

}  // namespace goodside::maths
