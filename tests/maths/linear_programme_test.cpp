#include "maths/linear_programme.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <string>
#include <thread>
#include <vector>

namespace goodside::maths {
namespace {

using Term = LinearProgramme::Term;
constexpr double endless = LinearProgramme::endless;

struct Row {
  std::vector<Term> terms;
  double low{}, high{};
};
struct Case {
  LinearProgramme programme;
  std::vector<Row> rows;
  std::string kind, found;
  double cost{};
};

double side(std::istream& in) {
  double value{};
  in >> value;
  return std::abs(value) > 1e299 ? std::copysign(endless, value) : value;
}

std::vector<Case> cases() {
  std::ifstream in{GOODSIDE_SOURCE_DIR "/tests/published/linear/cases.txt"};
  std::vector<Case> all;
  int variables{}, rows{};
  for (Case next; in >> variables >> rows >> next.kind >> next.found >> next.cost; next = {}) {
    for (int j = 0; j < variables; ++j) {
      const double cost = side(in), low = side(in), high = side(in);
      next.programme.add({.cost = cost, .low = low, .high = high, .whole = next.kind == "whole"});
    }
    for (int i = 0; i < rows; ++i) {
      const double low = side(in), high = side(in);
      std::vector<Term> terms;
      for (int j = 0; j < variables; ++j) terms.push_back({.variable = j, .factor = side(in)});
      next.programme.constrain(terms, low, high);
      next.rows.push_back({terms, low, high});
    }
    all.push_back(next);
  }
  return all;
}

/// By how much the worst row is missed.
double miss(const Case& one, const std::vector<double>& values) {
  double worst = 0.0;
  for (const auto& [terms, low, high] : one.rows) {
    double sum = 0.0;
    for (const auto& [variable, factor] : terms)
      sum += factor * values[static_cast<std::size_t>(variable)];
    worst = std::max({worst, low - sum, sum - high});
  }
  return worst;
}

std::string word(Found found) {
  constexpr const char* words[] = {"best", "some", "none", "endless", "undecided"};
  return words[static_cast<int>(found)];
}

// Published: SciPy 1.10 (HiGHS) over random programmes, tests/published/linear/cases.py.
TEST(LinearProgramme, AgreesWithScipyOverRandomCases) {
  const auto all = cases();
  ASSERT_EQ(all.size(), 60U);
  for (std::size_t k = 0; k < all.size(); ++k) {
    const auto& [programme, rows, kind, found, cost] = all[k];
    for (const bool exactly : {false, true}) {
      if (exactly && kind == "whole") continue;
      const auto solution = programme.solve({.exactly = exactly});
      if (found == "none-or-endless") {
        EXPECT_FALSE(solution.is_feasible()) << k;
        continue;
      }
      EXPECT_EQ(word(solution.found), found) << k;
      if (found != "best") continue;
      EXPECT_NEAR(solution.cost, cost, 1e-7 * (1.0 + std::abs(cost))) << k;
      EXPECT_EQ(solution.bound, solution.cost) << k;
      EXPECT_LT(miss(all[k], solution.values), 1e-6) << k;
    }
  }
}

// Published: G. B. Dantzig's kind of diet problem, solved by hand: 2x + y >= 8, x + 3y >= 9,
// costs 3 and 2 meet at x = 3, y = 2.
TEST(LinearProgramme, PricesWhatARowHoldsBack) {
  const auto programme = [](double first, double second) {
    LinearProgramme diet;
    const int x = diet.add({.cost = 3.0}), y = diet.add({.cost = 2.0});
    diet.constrain({{x, 2.0}, {y, 1.0}}, first, endless);
    diet.constrain({{x, 1.0}, {y, 3.0}}, second, endless);
    diet.constrain({{x, 1.0}}, -endless, 100.0);
    return diet.solve();
  };
  const auto at = programme(8.0, 9.0);
  EXPECT_NEAR(at.values[0], 3.0, 1e-12);
  EXPECT_NEAR(at.values[1], 2.0, 1e-12);
  EXPECT_NEAR(at.cost, 13.0, 1e-12);
  EXPECT_NEAR(at.prices[0], programme(8.5, 9.0).cost / 0.5 - at.cost / 0.5, 1e-9);
  EXPECT_NEAR(at.prices[1], programme(8.0, 9.5).cost / 0.5 - at.cost / 0.5, 1e-9);
  EXPECT_EQ(at.prices[2], 0.0);
}

// Property: terms of one variable in a row are added up.
TEST(LinearProgramme, AddsTermsOfOneVariable) {
  LinearProgramme programme;
  const int x = programme.add({.cost = 1.0});
  programme.constrain({{x, 1.0}, {x, 2.0}}, 6.0, endless);
  EXPECT_NEAR(programme.solve().values[0], 2.0, 1e-12);
}

/// A knapsack whose weights are near each other, which a tree takes long over.
LinearProgramme knapsack(int things) {
  LinearProgramme programme;
  std::vector<Term> weights;
  double all = 0.0;
  for (int k = 0; k < things; ++k) {
    const double weight = 1000.0 + (k * 7919) % 997;
    weights.push_back(
        {programme.add({.cost = -weight - (k * 31) % 11, .high = 1.0, .whole = true}), weight});
    all += weight;
  }
  programme.constrain(weights, -endless, std::floor(all / 2.0) + 0.5);
  return programme;
}

// Property: what a limit cut short is feasible, and says between which costs the least lies.
TEST(LinearProgramme, BoundsWhatALimitCutShort) {
  const auto programme = knapsack(34);
  const auto first = programme.solve({.nodes = 60, .cuts = false});
  ASSERT_EQ(first.found, Found::some);
  EXPECT_LT(first.bound, first.cost);
  const auto near = programme.solve({.time_s = 20.0, .gap = 1e-3});
  ASSERT_EQ(near.found, Found::best);
  EXPECT_LE(near.cost - near.bound, 1e-3 * std::abs(near.cost) + 1e-6);
  EXPECT_LE(first.bound, near.cost + 1e-6);
  for (const double value : near.values) EXPECT_EQ(value, std::round(value));
}

// Property: no state is shared: threads of their own find the same.
TEST(LinearProgramme, FindsTheSameInEveryThread) {
  const auto all = cases();
  const auto costs = [&] {
    std::vector<double> sum;
    for (const auto& one : all)
      if (one.kind == "real") sum.push_back(one.programme.solve().cost);
    return sum;
  };
  const auto alone = costs();
  std::vector<std::vector<double>> found(4);
  {
    std::vector<std::jthread> threads;
    for (auto& one : found) threads.emplace_back([&one, &costs] { one = costs(); });
  }
  for (const auto& one : found) EXPECT_EQ(one, alone);
}

}  // namespace
}  // namespace goodside::maths
