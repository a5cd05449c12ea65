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

double together(const Range& range, std::size_t onset, std::size_t end) {
  return range.together.empty() ? 0.0 : range.together[onset * range.blocks + end];
}

/// For each block of onsets, log of the sum over all ends in later blocks.
std::vector<double> later_ends(const Range& range) {
  const std::size_t cells = range.onset.size();
  std::vector<double> sum(range.blocks, nothing), later(range.blocks, nothing);
  for (std::size_t e = 1; e <= cells; ++e) {
    double& block = sum[block_of(e, cells, range.blocks)];
    block = log_add(block, log_of(range.end[e]) + range.upto[e]);
  }
  for (std::size_t i = 0; i < range.blocks; ++i)
    for (std::size_t j = i + 1; j < range.blocks; ++j)
      if (sum[j] > nothing) later[i] = log_add(later[i], sum[j] + together(range, i, j));
  return later;
}

/// For each onset x from the last: its share that never ends, log of what an end's mass is worth there
/// or nothing, and log of the sum over never and all ends.
template <class Take>
void scan(const Range& range, Take take) {
  const std::size_t cells = range.onset.size();
  const auto later = later_ends(range);
  const double ends_in_all = range.survived ? 1.0 : 1.0 - range.never;
  double behind_mass = 0.0, here = nothing;
  std::size_t block = range.blocks;
  for (std::size_t x = cells; x-- > 0;) {
    const std::size_t of_end = block_of(x + 1, cells, range.blocks);
    const std::size_t of_onset = block_of(x, cells, range.blocks);
    const double mass = range.end[x + 1];
    behind_mass += mass;
    if (of_onset != block) here = nothing;
    block = of_onset;
    if (of_end == of_onset && mass > 0.0) here = log_add(here, std::log(mass) + range.upto[x + 1]);
    const bool may_end = behind_mass > 0.0 && ends_in_all > 0.0;
    const double left = range.survived ? behind_mass + range.never : behind_mass;
    const double log_each = may_end ? std::log(ends_in_all / left) : nothing;
    const double stays = may_end ? log_of(range.survived ? range.never / left : range.never) : 0.0;
    const double ends = log_add(here + together(range, block, block), later[block]);
    take(x, stays, log_each, may_end ? log_add(stays, log_each + ends) : 0.0);
  }
}

}  // namespace

double log_add(double a, double b) {
  if (a < b) std::swap(a, b);
  if (!(b > a - 38.0)) return a;  // under the last digit, or nothing
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
  std::vector<double> begun(range.blocks, nothing);  // by block of the onset
  for (std::size_t x = 0; x < cells; ++x) {
    double& sum = begun[block_of(x, cells, range.blocks)];
    sum = log_add(sum, log_onset[x] + log_each[x]);
  }
  std::vector<double> earlier(range.blocks, nothing);
  for (std::size_t j = 0; j < range.blocks; ++j)
    for (std::size_t i = 0; i < j; ++i)
      if (begun[i] > nothing) earlier[j] = log_add(earlier[j], begun[i] + together(range, i, j));
  double here = nothing;
  std::size_t block = 0;
  for (std::size_t x = 0; x < cells; ++x) {
    result.onset[x] = std::exp(result.onset[x] - result.log_total);
    result.never += std::exp(log_onset[x] + log_never[x] - result.log_total);
    if (const std::size_t of_onset = block_of(x, cells, range.blocks); of_onset != block) {
      block = of_onset;
      here = nothing;
    }
    here = log_add(here, log_onset[x] + log_each[x]);
    const double mass = range.end[x + 1];
    if (mass <= 0.0) continue;
    const std::size_t of_end = block_of(x + 1, cells, range.blocks);
    const double before = of_end == block
                              ? log_add(here + together(range, block, block), earlier[block])
                              : earlier[of_end];
    result.end[x + 1] = std::exp(std::log(mass) + range.upto[x + 1] + before - result.log_total);
  }
  return result;
}

}  // namespace goodside::trace
