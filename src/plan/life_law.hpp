#pragma once
#include <functional>
#include <optional>
#include <vector>

#include "base/result.hpp"

namespace goodside::plan {

/// How long a stamper lasts, in closings: independent causes that compete, each Weibull,
///   S(t) = exp(-sum over causes (t / scale)^shape),
/// cut off at the age at which the works pulls a stamper that is still good.
struct LifeLaw {
  struct Cause {
    double scale_closings{}, shape{1.0};
  };
  std::vector<Cause> causes{};
  std::optional<double> pull_closings{};

  /// Share still on the press after so many closings, t >= 0.
  [[nodiscard]] double survival(double closings) const;
  /// Mean life: the integral of S over all ages (to the pull).
  [[nodiscard]] double mean_closings() const;
  /// Age at which `share` of all stampers have ended, 0 < share < 1.
  [[nodiscard]] double age_of(double share) const;
};

/// Laws that the evidence allows, each with its weight; the weights make 1. All stampers of a works
/// live by one of them, nobody knows which.
struct WeightedLaw {
  double weight{1.0};
  LifeLaw law{};
};
using LifeBelief = std::vector<WeightedLaw>;

/// Errors: Fault::out_of_range for no cause, a scale or shape that is no number above 0 (shape 0.1 to
/// 50, scale to 1e9), or a pull at no age.
[[nodiscard]] Outcome check(const LifeLaw&);

/// The share of pairs (or single stampers) still good so many closings after ages that they have.
[[nodiscard]] std::function<double(double)> pair_survival(const LifeBelief&,
                                                          std::vector<double> ages);

}  // namespace goodside::plan
