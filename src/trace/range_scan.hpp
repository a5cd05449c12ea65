#pragma once
#include <cstddef>
#include <span>
#include <vector>

namespace goodside::trace {

/// What is weighed over every onset x and every end e > x of K cells in order, x = 0 .. K-1,
/// e = 1 .. K, where K means "behind the last":
///   P(x, e) ~ onset[x] exp(from[x]) * ending(e | x) exp(upto[e])
///   ending(e | x) = (1 - never) end[e] / sum_{e' > x} end[e'],   "never" having upto = 0,
/// or, where ends come one by one and each may be survived,
///   ending(e | x) = end[e] / (never + sum_{e' > x} end[e']),     P(never | x) the rest,
/// with from[x] the log-likelihood of a fault that began at x and did not end, and upto[e] what an
/// end at e takes from it. Where no end is possible behind x, it never ends. What does not part into
/// the two, because an onset and an end concern one disc of uncertain place together, is added from
/// `together`, by blocks of neighbouring cells.
struct Range {
  std::span<const double> onset, end;  ///< prior masses, K and K + 1 (end[0] is not used)
  double never{1.0};
  bool survived{};                     ///< the second form
  std::span<const double> from, upto;  ///< K and K + 1
  std::size_t blocks{1};               ///< cell k lies in block block_of(k, K, blocks)
  std::span<const double> together{};  ///< blocks x blocks, onset's by end's; empty: nought
};

/// Blocks are as even as whole cells allow; there are K + 1 cells, the last behind all.
[[nodiscard]] inline std::size_t block_of(std::size_t cell, std::size_t cells, std::size_t blocks) {
  return cell * blocks / (cells + 1);
}

struct RangePosterior {
  double log_total{};         ///< log of the sum over all x and e
  std::vector<double> onset;  ///< K, sums to 1
  std::vector<double> end;    ///< K + 1, with `never` sums to 1
  double never{};
};

/// log of the sum alone. Cost: K additions in the log domain in running sums, and blocks^2: the K^2
/// pairs are never visited. Minus infinity where nothing is possible.
[[nodiscard]] double log_total(const Range& range);
/// With both margins. Cost: as above, twice.
[[nodiscard]] RangePosterior posterior(const Range& range);

/// log(exp a + exp b) without overflow; minus infinity is nothing.
[[nodiscard]] double log_add(double a, double b);

}  // namespace goodside::trace
