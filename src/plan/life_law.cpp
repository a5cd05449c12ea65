#include "plan/life_law.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "stats/quadrature.hpp"

namespace goodside::plan {

double LifeLaw::survival(double closings) const {
  if (closings <= 0.0) return 1.0;
  if (pull_closings && closings >= *pull_closings) return 0.0;
  double hazard = 0.0;
  for (const Cause& cause : causes)
    hazard += std::pow(closings / cause.scale_closings, cause.shape);
  return std::exp(-hazard);
}

double LifeLaw::age_of(double share) const {
  double high = 1.0;
  while (survival(high) > 1.0 - share && high < 1e15) high *= 2.0;
  double low = 0.0;
  for (int k = 0; k < 200 && high - low > 1e-12 * high; ++k) {
    const double middle = 0.5 * (low + high);
    (survival(middle) > 1.0 - share ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

double LifeLaw::mean_closings() const {
  // By quantiles: S falls smoothly between them, and the last holds under 1e-13 of the whole.
  double sum = 0.0, from = 0.0;
  for (const double share : {0.01, 0.1, 0.3, 0.6, 0.9, 0.99, 0.9999, 1.0 - 1e-7, 1.0 - 1e-13}) {
    const double to = std::min(age_of(share), pull_closings.value_or(1e18));
    if (to > from) sum += stats::integrate([this](double t) { return survival(t); }, from, to);
    from = std::max(from, to);
  }
  return sum;
}

Outcome check(const LifeLaw& law) {
  constexpr double longest = 1e9, least_shape = 0.1, most_shape = 50.0;
  if (law.causes.empty())
    return Error{Fault::out_of_range, "no law of stampers' lives; give a scale and a shape"};
  for (const auto& cause : law.causes) {
    if (!(cause.scale_closings >= 1.0 && cause.scale_closings <= longest))
      return Error{Fault::out_of_range,
                   fmt::format("a life of scale {:g} closings; 1 to 1e9", cause.scale_closings)};
    if (!(cause.shape >= least_shape && cause.shape <= most_shape))
      return Error{Fault::out_of_range,
                   fmt::format("a life of shape {:g}; 0.1 to 50, 1 is an even risk", cause.shape)};
  }
  if (law.pull_closings && !(*law.pull_closings >= 1.0 && *law.pull_closings <= longest))
    return Error{Fault::out_of_range,
                 fmt::format("pulled at {:g} closings; 1 to 1e9", *law.pull_closings)};
  return Done{};
}

std::function<double(double)> pair_survival(const LifeBelief& belief, std::vector<double> ages) {
  return [belief, ages = std::move(ages)](double closings) {
    double good = 0.0;
    for (const auto& [weight, law] : belief) {
      double all = 1.0;
      for (const double age : ages) {
        const double now = law.survival(age);
        all *= now > 0.0 ? law.survival(age + closings) / now : 0.0;
      }
      good += weight * all;
    }
    return good;
  };
}

}  // namespace goodside::plan
