#include "trace/range_scan.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>

namespace goodside::trace {
namespace {

constexpr double nothing = -std::numeric_limits<double>::infinity();

double log_of(double mass) {
  return mass > 0.0 ? std::log(mass) : nothing;
}

template <class Take>
void scan(const Range& range, Take take) {
  const std::size_t cells = range.onset.size();
  double behind_mass = 0.0, behind = nothing;
  const double log_never = log_of(range.never), log_ends = log_of(1.0 - range.never);
  for (std::size_t x = cells; x-- > 0;) {
    const double mass = range.end[x + 1];
    behind_mass += mass;
    if (mass > 0.0) behind = log_add(behind, std::log(mass) + range.upto[x + 1]);
    const bool may_end = behind_mass > 0.0 && log_ends > nothing;
    const double log_each = may_end ? log_ends - std::log(behind_mass) : nothing;
    const double stays = may_end ? log_never : 0.0;
    take(x, stays, log_each, may_end ? log_add(stays, log_each + behind) : 0.0);
  }
}

}  // namespace

double log_add(double a, double b) {
  if (a < b) std::swap(a, b);
  if (b == nothing) return a;
  return a + std::log1p(std::exp(b - a));
}

double log_total(const Range& range) {
  double total = nothing;
  scan(range, [&](std::size_t x, double, double, double endings) {
    if (range.onset[x] > 0.0)
      total = log_add(total, std::log(range.onset[x]) + range.from[x] + endings);
  });
  return total;
}

RangePosterior posterior(const Range& range) {
  const std::size_t cells = range.onset.size();
  RangePosterior result{.log_total = nothing,
                        .onset = std::vector<double>(cells, 0.0),
                        .end = std::vector<double>(cells + 1, 0.0),
                        .never = 0.0};
  std::vector<double> log_onset(cells, nothing), log_each(cells, nothing), log_never(cells, 0.0);
  scan(range, [&](std::size_t x, double stays, double each, double endings) {
    log_each[x] = each;
    log_never[x] = stays;
    if (range.onset[x] > 0.0) log_onset[x] = std::log(range.onset[x]) + range.from[x];
    const double log_here = log_onset[x] + endings;
    result.onset[x] = log_here;
    result.log_total = log_add(result.log_total, log_here);
  });
  if (result.log_total == nothing) {
    std::fill(result.onset.begin(), result.onset.end(), 0.0);
    return result;
  }
  double begun = nothing;
  for (std::size_t x = 0; x < cells; ++x) {
    result.onset[x] = std::exp(result.onset[x] - result.log_total);
    result.never += std::exp(log_onset[x] + log_never[x] - result.log_total);
    begun = log_add(begun, log_onset[x] + log_each[x]);
    if (range.end[x + 1] > 0.0)
      result.end[x + 1] =
          std::exp(std::log(range.end[x + 1]) + range.upto[x + 1] + begun - result.log_total);
  }
  return result;
}

}  // namespace goodside::trace
