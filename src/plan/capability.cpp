#include "plan/capability.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/expects.hpp"
#include "stats/individuals.hpp"
#include "stats/interval.hpp"
#include "stats/spread_constants.hpp"

namespace goodside::plan {
namespace {

using works::CapabilityIndex;

/// A spread's index: its interval is the deviation's turned over.
CapabilityIndex of_spread(double width, double sigma, double freedom, double confidence) {
  const auto spread = stats::deviation_interval(sigma, freedom, confidence);
  return {width / (6.0 * sigma), width / (6.0 * spread.high), width / (6.0 * spread.low)};
}

struct Sigma {
  double value, freedom;
};

CapabilityIndex with_mean(const CapabilityInput& input, const Sigma& sigma) {
  double nearest = std::numeric_limits<double>::infinity();
  if (input.high) nearest = std::min(nearest, *input.high - input.mean);
  if (input.low) nearest = std::min(nearest, input.mean - *input.low);
  const double index = nearest / (3.0 * sigma.value);
  const double z = stats::normal_quantile(0.5 + 0.5 * input.confidence);
  const auto n = static_cast<double>(input.values.size());
  const double half = z * std::sqrt(1.0 / (9.0 * n) + index * index / (2.0 * sigma.freedom));
  return {index, index - half, index + half};
}

/// The freedom of a scaled chi that has this relative variance, nearly: Var/mean^2 = 1/(2 nu).
double freedom_of(double relative_variance) {
  return 1.0 / (2.0 * relative_variance);
}

}  // namespace

double moving_range_freedom(int n) {
  EXPECTS(n >= 2);
  const double pi = std::numbers::pi;
  const double square = stats::d2_of_two * stats::d2_of_two;
  const double variance = 2.0 - square;
  // Neighbouring ranges share a value: |U||V| of normals of variance 2 and correlation -1/2.
  const double neighbours = 4.0 / pi * (std::sqrt(3.0) / 2.0 + std::asin(-0.5) * -0.5) - square;
  const double ranges = n - 1.0;
  const double mean_variance =
      (ranges * variance + 2.0 * (ranges - 1.0) * neighbours) / (ranges * ranges);
  return freedom_of(mean_variance / square);
}

double range_freedom(int samples, int n) {
  const auto constants = stats::spread_constants(n);
  return freedom_of(constants.d3 * constants.d3 / (constants.d2 * constants.d2 * samples));
}

works::Capability capability(const CapabilityInput& input) {
  EXPECTS(input.values.size() >= 2 && input.sigma > 0.0 && (input.low || input.high));
  works::Capability result{.low = input.low, .high = input.high, .confidence = input.confidence};
  const auto n = static_cast<double>(input.values.size());
  double mean = 0.0, square = 0.0;
  for (const double value : input.values) mean += value / n;
  for (const double value : input.values) square += (value - mean) * (value - mean);
  const Sigma own{input.sigma, input.degrees_of_freedom};
  const Sigma all{std::sqrt(square / (n - 1.0)), n - 1.0};
  if (input.low && input.high) {
    const double width = *input.high - *input.low;
    result.cp = of_spread(width, own.value, own.freedom, input.confidence);
    result.pp = of_spread(width, all.value, all.freedom, input.confidence);
  }
  result.cpk = with_mean(input, own);
  result.ppk = with_mean(input, all);
  for (const double value : input.values)
    result.outside +=
        (input.low && value < *input.low) || (input.high && value > *input.high) ? 1 : 0;
  result.values = static_cast<std::int64_t>(input.values.size());
  if (input.high)
    result.outside_expected += stats::normal_below((input.mean - *input.high) / all.value);
  if (input.low)
    result.outside_expected += stats::normal_below((*input.low - input.mean) / all.value);
  const auto share = stats::proportion_interval(
      static_cast<int>(result.outside), static_cast<int>(result.values), input.confidence);
  result.outside_low = share.low;
  result.outside_high = share.high;
  return result;
}

}  // namespace goodside::plan
