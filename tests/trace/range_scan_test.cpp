#include "trace/range_scan.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace goodside::trace {
namespace {

struct Case {
  std::vector<double> onset, end, from, upto, together;
  double never{};
  bool survived{};
  std::size_t blocks{1};
  [[nodiscard]] Range range() const {
    return {onset, end, never, survived, from, upto, blocks, together};
  }
};

Case random_case(std::mt19937_64& random, std::size_t cells, std::size_t blocks) {
  std::uniform_real_distribution<double> mass{0.0, 1.0}, log_likelihood{-30.0, 30.0};
  Case one;
  one.blocks = blocks;
  for (std::size_t k = 0; k < cells; ++k) {
    one.onset.push_back(mass(random) < 0.1 ? 0.0 : mass(random));
    one.from.push_back(log_likelihood(random));
  }
  for (std::size_t k = 0; k <= cells; ++k) {
    one.end.push_back(mass(random) < 0.1 ? 0.0 : mass(random));
    one.upto.push_back(k == cells ? 0.0 : log_likelihood(random));
  }
  if (blocks > 1)
    for (std::size_t i = 0; i < blocks * blocks; ++i)
      one.together.push_back(0.2 * log_likelihood(random));
  one.never = mass(random);
  one.survived = mass(random) < 0.5;
  return one;
}

/// Every pair visited, sums in the linear domain.
RangePosterior plainly(const Case& one) {
  const std::size_t cells = one.onset.size();
  RangePosterior all{
      0.0, std::vector<double>(cells, 0.0), std::vector<double>(cells + 1, 0.0), 0.0};
  long double total = 0.0L, never = 0.0L;
  std::vector<long double> onset(cells, 0.0L), end(cells + 1, 0.0L);
  for (std::size_t x = 0; x < cells; ++x) {
    long double mass = 0.0L;
    for (std::size_t e = x + 1; e <= cells; ++e) mass += one.end[e];
    const long double begun = one.onset[x] * std::exp(static_cast<long double>(one.from[x]));
    const long double left = one.survived ? mass + static_cast<long double>(one.never) : mass;
    const long double ends = one.survived ? 1.0L : 1.0L - one.never;
    const long double rest = one.survived ? one.never / left : static_cast<long double>(one.never);
    const long double stays = begun * (mass > 0.0L ? rest : 1.0L);
    total += stays;
    never += stays;
    onset[x] += stays;
    for (std::size_t e = x + 1; e <= cells && mass > 0.0L; ++e) {
      const double more = one.together.empty()
                              ? 0.0
                              : one.together[block_of(x, cells, one.blocks) * one.blocks +
                                             block_of(e, cells, one.blocks)];
      const long double both =
          begun * ends * one.end[e] / left * std::exp(static_cast<long double>(one.upto[e] + more));
      total += both;
      onset[x] += both;
      end[e] += both;
    }
  }
  all.log_total = static_cast<double>(std::log(total));
  all.never = static_cast<double>(never / total);
  for (std::size_t x = 0; x < cells; ++x) all.onset[x] = static_cast<double>(onset[x] / total);
  for (std::size_t e = 0; e <= cells; ++e) all.end[e] = static_cast<double>(end[e] / total);
  return all;
}

// Second road: the running sums against every pair of onset and end.
TEST(RangeScan, IsTheSumOverEveryPairOfOnsetAndEnd) {
  std::mt19937_64 random{7};
  for (const std::size_t cells : {1U, 2U, 3U, 7U, 40U})
    for (int turn = 0; turn < 20; ++turn)
      for (const std::size_t blocks :
           {std::size_t{1}, std::size_t{2}, (cells + 1) / 2 + 1, cells + 1}) {
        if (blocks > cells + 1) continue;
        const Case one = random_case(random, cells, blocks);
        const auto expected = plainly(one);
        if (!std::isfinite(expected.log_total)) continue;
        const auto found = posterior(one.range());
        ASSERT_NEAR(found.log_total, expected.log_total, 1e-9) << cells << " cells";
        ASSERT_NEAR(log_total(one.range()), expected.log_total, 1e-9);
        ASSERT_NEAR(found.never, expected.never, 1e-9);
        for (std::size_t k = 0; k < cells; ++k)
          ASSERT_NEAR(found.onset[k], expected.onset[k], 1e-9);
        for (std::size_t k = 0; k <= cells; ++k) ASSERT_NEAR(found.end[k], expected.end[k], 1e-9);
      }
}

// Property: the margins are distributions.
TEST(RangeScan, ItsMarginsSumToOne) {
  std::mt19937_64 random{8};
  for (int turn = 0; turn < 50; ++turn) {
    const auto found = posterior(random_case(random, 25, 6).range());
    double onset = 0.0, end = found.never;
    for (const double one : found.onset) onset += one;
    for (const double one : found.end) end += one;
    EXPECT_NEAR(onset, 1.0, 1e-9);
    EXPECT_NEAR(end, 1.0, 1e-9);
  }
}

TEST(RangeScan, KnowsWhenNothingIsPossible) {
  const std::vector<double> none{0.0, 0.0}, ends{0.0, 0.5, 0.5}, from{1.0, 2.0},
      upto{0.0, 0.0, 0.0};
  const auto found = posterior({none, ends, 0.5, false, from, upto});
  EXPECT_TRUE(std::isinf(found.log_total));
  EXPECT_EQ(found.onset[0], 0.0);
}

}  // namespace
}  // namespace goodside::trace
