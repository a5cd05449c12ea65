#pragma once
#include <span>

namespace goodside::stats {

/// Mean range of two normal values in units of their standard deviation: 2/sqrt(pi).
inline constexpr double d2_of_two = 1.1283791670955126;

/// A chart of single values: what a process that stands still would do.
struct Individuals {
  double centre{};              ///< mean
  double deviation{};           ///< sample standard deviation, n - 1
  double moving_range_sigma{};  ///< mean moving range / d2
  int count{};
};

/// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2: limits are centre +- 3
/// MR/1.128. At least two values.
[[nodiscard]] Individuals individuals(std::span<const double> values);

/// Half width about the centre within which one more value falls with the confidence of three sigma
/// (0.9973), shared among `family` charts that are watched together (Bonferroni): the wider of 3
/// MR/d2 and Student's prediction,
///   t(1 - 0.00135/family; n - 1) s sqrt(1 + 1/n),
/// since with a few values three sigma of their own promises too much.
[[nodiscard]] double half_width(const Individuals&, int family);

}  // namespace goodside::stats
