#pragma once
#include "base/result.hpp"

namespace goodside::plan {

/// A cumulative sum of standardised values, signalling beyond `decision`: the sum grows by what a
/// value lies beyond `allowance`, both in sigma.
struct CusumDesign {
  double allowance{0.5}, decision{5.0};
};
/// A weighted moving average z = weight x + (1 - weight) z, its limits `width` of its own sigma.
struct EwmaDesign {
  double weight{0.2}, width{3.0};
};

/// Mean number of normal values to a signal, the mean shifted by `shift` sigma, the sum begun at
/// nought. One side alone:
///   L(u) = 1 + L(0) F(k - u - d) + int over (0, h) of L(x) f(x + k - u - d) dx;
/// both sides: 1/L = 1/L+ + 1/L-. Nystroem's method on Gauss panels: 1e-6 of itself, measured by
/// doubling the panels. Source: A. L. Goel, S. M. Wu, Technometrics 13, 1971. 0 <= allowance, 0 <
/// decision <= 50.
[[nodiscard]] double run_length_one_side(const CusumDesign&, double shift);
[[nodiscard]] double run_length(const CusumDesign&, double shift);

/// The same of the moving average, limits as they are after many points:
///   L(u) = 1 + (1/w) int over (-c, c) of L(x) f((x - (1 - w) u)/w - d) dx.
/// Source: S. V. Crowder, Technometrics 29, 1987. 0.01 <= weight <= 1, 0 < width <= 6.
[[nodiscard]] double run_length(const EwmaDesign&, double shift);

/// The decision (the width) at which a process that stands still gives a false signal every `points`
/// points in the mean. Errors: Fault::out_of_range for points outside 10 to 1e6.
Result<CusumDesign> cusum_for(double allowance, double points);
Result<EwmaDesign> ewma_for(double weight, double points);

}  // namespace goodside::plan
