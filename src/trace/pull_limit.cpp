#include "trace/pull_limit.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "base/expects.hpp"
#include "stats/minimise.hpp"
#include "stats/quadrature.hpp"

namespace goodside::trace {
namespace {

// Beyond this hazard a share of 1e-16 is left.
constexpr double whole_hazard = 37.0;
constexpr int grid = 400;
constexpr double worth_while = 1e-3, near_cheapest = 1.01;

double total(std::span<const WeibullLaw> laws, double age) {
  return std::accumulate(laws.begin(), laws.end(), 0.0, [&](double sum, const auto& law) {
    return sum + law.accumulated(age);
  });
}

/// No stamper outlives it, but for 1e-16.
double longest_life(std::span<const WeibullLaw> laws) {
  double age = never;
  for (const auto& law : laws) age = std::min(age, law.age(whole_hazard));
  return age;
}

/// The integral of S. With few causes and shapes below 1, S falls steeply near nought: it is taken
/// over the cube root of the age, in which it is smooth for shapes from 1/3 upwards.
double mean_use(std::span<const WeibullLaw> laws, double age) {
  const double to = std::min(age, longest_life(laws));
  return stats::integrate([&](double x) { return 3.0 * x * x * std::exp(-total(laws, x * x * x)); },
                          0.0,
                          std::cbrt(to));
}

double failure(const PullCosts& costs, std::size_t cause) {
  return costs.failures[cause].change + costs.disc * costs.failures[cause].scrapped_discs;
}

Outcome check(std::span<const WeibullLaw> laws, const PullCosts& costs) {
  const auto good = [](double cost) { return std::isfinite(cost) && cost >= 0.0; };
  EXPECTS(costs.failures.size() == laws.size() && !laws.empty());
  bool all = good(costs.planned_change) && good(costs.disc);
  for (const auto& one : costs.failures) all = all && good(one.change) && good(one.scrapped_discs);
  if (!all || !(costs.planned_change > 0.0))
    return Error{Fault::out_of_range,
                 "a pull limit needs costs from 0 upwards, that of a planned change above 0"};
  return Done{};
}

}  // namespace

double ended_by(std::span<const WeibullLaw> laws, std::size_t cause, double age) {
  if (laws.size() == 1) return -std::expm1(-laws[cause].accumulated(age));
  const auto& own = laws[cause];
  // Over the share of the cause's own ends, where what the others leave is smooth.
  const double most = -std::expm1(-std::min(own.accumulated(age), whole_hazard));
  return stats::integrate(
      [&](double share) {
        const double at = own.age(-std::log1p(-share));
        return std::exp(-(total(laws, at) - own.accumulated(at)));
      },
      0.0,
      most);
}

double cost_per_disc(std::span<const WeibullLaw> laws, const PullCosts& costs, double age) {
  double cost = age == never ? 0.0 : costs.planned_change * std::exp(-total(laws, age));
  for (std::size_t k = 0; k < laws.size(); ++k) cost += failure(costs, k) * ended_by(laws, k, age);
  return cost / mean_use(laws, age);
}

Result<works::PullLimit> pull_limit(std::span<const WeibullLaw> laws, const PullCosts& costs) {
  if (const auto checked = check(laws, costs); !checked) return checked.error();
  const double last = std::log(longest_life(laws)), first = last - 14.0;
  const auto at = [&](int i) { return first + (last - first) * i / (grid - 1.0); };
  const auto cost = [&](double log_age) { return cost_per_disc(laws, costs, std::exp(log_age)); };
  int best = 0;
  double least = cost(at(0));
  for (int i = 1; i < grid; ++i)
    if (const double one = cost(at(i)); one < least) {
      least = one;
      best = i;
    }
  works::PullLimit limit{.cost_per_disc_unpulled = cost_per_disc(laws, costs, never)};
  limit.cost_per_disc = limit.cost_per_disc_unpulled;
  if (!(least < (1.0 - worth_while) * limit.cost_per_disc_unpulled)) return limit;

  const auto found =
      stats::minimise([&](std::span<const double> point) { return cost(point[0]) / least; },
                      {.start = {at(best)},
                       .first_step = {0.5 * (at(1) - at(0))},
                       .low = {at(std::max(best - 1, 0))},
                       .high = {at(std::min(best + 1, grid - 1))}});
  if (!found) return found.error();
  const double log_age = found->at[0];
  limit.closings = std::exp(log_age);
  limit.cost_per_disc = cost(log_age);
  const auto dearer = [&](double other) {
    return cost(other) - near_cheapest * limit.cost_per_disc;
  };
  if (const auto low = stats::root(dearer, first, log_age)) limit.low_closings = std::exp(*low);
  if (const auto high = stats::root(dearer, log_age, last)) limit.high_closings = std::exp(*high);
  return limit;
}

}  // namespace goodside::trace
