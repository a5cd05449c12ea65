#include "plan/control_chart.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <random>
#include <sstream>
#include <string>

#include "plan/capability.hpp"
#include "plan/run_rules.hpp"
#include "stats/interval.hpp"
#include "stats/spread_constants.hpp"

namespace goodside::plan {
namespace {

using works::ChartKind;
using works::RunRule;

std::vector<std::vector<double>> numbers_of(const std::string& name) {
  std::ifstream file{GOODSIDE_SOURCE_DIR "/tests/published/charts/" + name};
  std::vector<std::vector<double>> rows;
  std::string line;
  std::getline(file, line);
  while (std::getline(file, line)) {
    std::istringstream cells{line};
    rows.emplace_back();
    for (std::string cell; std::getline(cells, cell, ',');)
      rows.back().push_back(cell == "TRUE" ? 1.0 : cell == "FALSE" ? 0.0 : std::stod(cell));
  }
  return rows;
}

std::vector<Subgroup> singles(std::initializer_list<double> values) {
  std::vector<Subgroup> groups;
  for (const double value : values) groups.push_back({std::to_string(groups.size() + 1), {value}});
  return groups;
}

/// Two points, each a count and a size.
std::vector<Counted> pair_of(const Counted& first, const Counted& second) {
  std::vector<Counted> both;
  both.push_back(first);
  both.push_back(second);
  return both;
}

/// Standardised normal draws.
class Normal {
 public:
  explicit Normal(std::uint64_t seed) : engine_{seed} {}
  double operator()() {
    return stats::normal_quantile((static_cast<double>(engine_() >> 11U) + 0.5) * 0x1p-53);
  }

 private:
  std::mt19937_64 engine_;
};

// Published: ASTM Manual on Presentation of Data and Control Chart Analysis, constants as printed.
TEST(SpreadConstants, AreASTMs) {
  struct Row {
    int n;
    double d2, d3, c4;
  };
  for (const Row& row : {Row{2, 1.128, 0.8525, 0.7979},
                         Row{3, 1.693, 0.8884, 0.8862},
                         Row{5, 2.326, 0.8641, 0.9400},
                         Row{10, 3.078, 0.7971, 0.9727},
                         Row{25, 3.931, 0.7084, 0.9896}}) {
    const auto made = stats::spread_constants(row.n);
    EXPECT_NEAR(made.d2, row.d2, 0.0005) << row.n;
    EXPECT_NEAR(made.d3, row.d3, 0.00005) << row.n;
    EXPECT_NEAR(made.c4, row.c4, 0.00005) << row.n;
  }
  // Closed forms for two: 2/sqrt(pi), and the range's own deviation.
  const auto two = stats::spread_constants(2);
  EXPECT_NEAR(two.d2, 2.0 / std::sqrt(std::acos(-1.0)), 1e-10);
  EXPECT_NEAR(two.d3, std::sqrt(2.0 - 4.0 / std::acos(-1.0)), 1e-7);
}

// Published: piston rings (tests/published/charts/README), trial samples: grand mean 74.001176, mean
// range 0.02276, upper limit of the means 74.01431.
TEST(ControlChart, MeansAndRangesOfThePistonRings) {
  std::vector<Subgroup> groups;
  for (const auto& row : numbers_of("spc_pistonrings.csv")) {
    const auto sample = static_cast<std::size_t>(row[1]);
    if (groups.size() < sample) groups.push_back({std::to_string(sample), {}});
    groups.back().values.push_back(row[0]);
  }
  ASSERT_EQ(groups.size(), 40U);
  const auto chart = chart_values(groups, {.kind = ChartKind::mean_range, .baseline = 25});
  ASSERT_TRUE(chart);
  EXPECT_NEAR(chart->centre, 74.001176, 5e-7);
  const auto& means = chart->panels[0].points;
  const auto& ranges = chart->panels[1].points;
  EXPECT_NEAR(ranges[0].centre, 0.02276, 5e-6);
  EXPECT_NEAR(*means[0].upper, 74.01431, 0.0005 * 0.02276 + 5e-6);  // printed with A2 = 0.577
  EXPECT_FALSE(ranges[0].lower);
  // The trial samples stand still; of those after them the last ones are out.
  for (std::size_t i = 0; i < 25; ++i) EXPECT_TRUE(means[i].rules.empty()) << i;
  EXPECT_FALSE(means[36].rules.empty());
  EXPECT_FALSE(means[37].rules.empty());
  const auto deviations = chart_values(groups, {.kind = ChartKind::mean_deviation, .baseline = 25});
  ASSERT_TRUE(deviations);
  EXPECT_NEAR(deviations->sigma, chart->sigma, 0.03 * chart->sigma);
}

// Published: cans of orange juice (tests/published/charts/README), the first 30 samples of 50: mean
// share 0.2313, limits 0.0524 and 0.4102; samples 15 and 23 are out. The p and the np chart are one.
TEST(ControlChart, SharesOfTheOrangeJuice) {
  std::vector<Counted> points;
  for (const auto& row : numbers_of("spc_orangejuice_np.csv"))
    points.push_back({std::to_string(points.size() + 1),
                      static_cast<std::int64_t>(row[1]),
                      static_cast<std::int64_t>(row[2])});
  const auto chart = chart_counts(points, {.kind = ChartKind::share, .baseline = 30});
  ASSERT_TRUE(chart);
  EXPECT_NEAR(chart->centre, 0.2313, 5e-5);
  const auto& shares = chart->panels[0].points;
  EXPECT_NEAR(*shares[0].lower, 0.0524, 5e-5);
  EXPECT_NEAR(*shares[0].upper, 0.4102, 5e-5);
  for (std::size_t i = 0; i < 30; ++i) EXPECT_EQ(!shares[i].rules.empty(), i == 14 || i == 22) << i;
  const auto numbers = chart_counts(points, {.kind = ChartKind::number, .baseline = 30});
  ASSERT_TRUE(numbers);
  EXPECT_NEAR(*numbers->panels[0].points[0].upper, 50.0 * *shares[0].upper, 1e-9);
  // All 54 rows: p = 0.17778.
  EXPECT_NEAR(chart_counts(points, {.kind = ChartKind::share})->centre, 0.17778, 5e-6);
}

// Published: NIST/SEMATECH e-Handbook, 6.3.3.1: defects on 25 wafers, 400 in all: centre 16, limits 28
// and 4; the third wafer is on the limit, the 24th out. (Figures from memory, recomputed here.)
TEST(ControlChart, CountsOfTheWafers) {
  std::vector<Counted> points;
  for (const int count : {16, 14, 28, 16, 12, 20, 10, 12, 10, 17, 19, 17, 14,
                          16, 15, 13, 14, 16, 11, 20, 11, 19, 16, 31, 13})
    points.push_back({std::to_string(points.size() + 1), count, 1});
  const auto chart = chart_counts(points, {.kind = ChartKind::count});
  ASSERT_TRUE(chart);
  EXPECT_DOUBLE_EQ(chart->centre, 16.0);
  EXPECT_DOUBLE_EQ(*chart->panels[0].points[0].upper, 28.0);
  EXPECT_DOUBLE_EQ(*chart->panels[0].points[0].lower, 4.0);
  EXPECT_EQ(chart->signals(), 1);
  EXPECT_FALSE(chart->panels[0].points[23].rules.empty());
}

// Published: NIST/SEMATECH e-Handbook, 6.3.2.2: ten batches, centre 50.81, mean moving range 1.8778,
// limits 55.8041 and 45.8159. (From memory, recomputed here.)
TEST(ControlChart, SingleValuesOfTheBatches) {
  const auto chart =
      chart_values(singles({49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}), {});
  ASSERT_TRUE(chart);
  EXPECT_NEAR(chart->centre, 50.81, 1e-9);
  const double rounded = 1.128 / 1.1283791671;  // the printed limits have d2 = 1.128
  EXPECT_NEAR(*chart->panels[0].points[0].upper - 50.81, (55.8041 - 50.81) * rounded, 1e-4);
  EXPECT_NEAR(*chart->panels[0].points[0].lower - 50.81, (45.8159 - 50.81) * rounded, 1e-4);
  EXPECT_EQ(chart->panels[1].points.size(), 9U);
  EXPECT_EQ(chart->signals(), 0);
}

// Published: NIST/SEMATECH e-Handbook, 6.3.2.4: mean 50, sigma 2.0539, weight 0.3, limits 52.5884 and
// 47.4115 after many points; the average of 20 values ends at 51.99. (From memory, recomputed here.)
TEST(ControlChart, MovingAverageOfTheHandbook) {
  ChartRequest request{.kind = ChartKind::ewma, .centre = 50.0, .sigma = 2.0539};
  request.ewma = {0.3, 3.0};
  const auto chart =
      chart_values(singles({52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5,
                            49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}),
                   request);
  ASSERT_TRUE(chart);
  const auto& points = chart->panels[0].points;
  for (const auto& [at, printed] : {std::pair<std::size_t, double>{0, 50.60},
                                    {1, 49.52},
                                    {2, 50.56},
                                    {9, 50.33},
                                    {16, 50.73},
                                    {19, 51.99}})
    EXPECT_NEAR(points[at].value, printed, 0.0051) << at;
  EXPECT_NEAR(*points[19].upper, 52.5884, 0.004);
  EXPECT_NEAR(*points[19].lower, 47.4115, 0.004);
  EXPECT_LT(*points[0].upper, *points[19].upper);
  EXPECT_EQ(chart->signals(), 0);
}

// Second road: the sums by their plain recursion; the shift is found where it was put.
TEST(ControlChart, CumulativeSumsFindTheShift) {
  Normal draw{7};
  std::vector<Subgroup> groups;
  for (int i = 0; i < 60; ++i)
    groups.push_back({std::to_string(i + 1), {20.0 + 0.5 * (draw() + (i >= 30 ? 1.5 : 0.0))}});
  const ChartRequest request{.kind = ChartKind::cusum, .centre = 20.0, .sigma = 0.5};
  const auto chart = chart_values(groups, request);
  ASSERT_TRUE(chart);
  double sum = 0.0;
  int first = 0;
  for (int i = 0; i < 60; ++i) {
    sum = std::max(0.0, sum + (groups[static_cast<std::size_t>(i)].values[0] - 20.0) / 0.5 - 0.5);
    EXPECT_NEAR(chart->panels[0].points[static_cast<std::size_t>(i)].value, sum, 1e-12);
    if (first == 0 && sum > 5.0) first = i + 1;
  }
  EXPECT_GT(first, 30);
  EXPECT_LT(first, 42);
  ASSERT_FALSE(chart->remarks.empty());
  EXPECT_NE(chart->remarks.front().find("rising sum"), std::string::npos);
}

// Property: whatever unit the values are written in, the same points are out.
TEST(ControlChart, DoesNotDependOnTheUnit) {
  Normal draw{11};
  std::vector<Subgroup> grams, kilograms;
  for (int i = 0; i < 80; ++i) {
    const double mass = 140.0 + draw() + (i > 60 ? 2.0 : 0.0);
    grams.push_back({std::to_string(i), {mass}});
    kilograms.push_back({std::to_string(i), {1e6 + mass / 1000.0}});
  }
  const ChartRequest request{.baseline = 50, .rules = *read_rules("western-electric")};
  const auto one = chart_values(grams, request), other = chart_values(kilograms, request);
  ASSERT_TRUE(one && other);
  EXPECT_GT(one->signals(), 0);
  for (std::size_t i = 0; i < 80; ++i)
    EXPECT_EQ(one->panels[0].points[i].rules, other->panels[0].points[i].rules);
}

TEST(RunRules, EachPatternIsFoundWhereItEnds) {
  const auto fires = [](RunRule rule, const std::vector<double>& values) {
    const auto broken = broken_rules(values, std::vector{rule});
    for (std::size_t i = 0; i + 1 < broken.size(); ++i)
      if (!broken[i].empty()) return false;
    return !broken.back().empty();
  };
  using enum RunRule;
  EXPECT_TRUE(fires(beyond_limits, {0.0, -3.01}));
  EXPECT_FALSE(fires(beyond_limits, {0.0, 3.0}));
  EXPECT_TRUE(fires(two_of_three, {2.1, 0.0, 2.1}));
  EXPECT_FALSE(fires(two_of_three, {2.1, 0.0, -2.1}));
  EXPECT_TRUE(fires(four_of_five, {-1.1, -1.1, 0.5, -1.1, -1.1}));
  EXPECT_TRUE(fires(eight_aside, {.1, .2, .1, .3, .1, .2, .1, .1}));
  EXPECT_FALSE(fires(nine_aside, {.1, .2, .1, .3, .1, .2, .1, .1}));
  EXPECT_TRUE(fires(six_trending, {.1, .2, .3, .4, .5, .6}));
  EXPECT_FALSE(fires(six_trending, {.1, .2, .3, .3, .5, .6}));
  EXPECT_TRUE(fires(fourteen_alternating, {0, 1, 0, 1, 0, 1, 0, 1, 0, 1, 0, 1, 0, 1}));
  EXPECT_TRUE(fires(fifteen_within, std::vector<double>(15, 0.5)));
  EXPECT_TRUE(fires(eight_outside, {1.1, -1.1, 1.1, -1.1, 1.1, 1.1, -1.1, 1.1}));
  EXPECT_FALSE(read_rules("shewhart"));
}

// Published: Champ and Woodall, Technometrics 29, 1987, table 1 (from memory): limits alone 370.40 at no
// shift and 43.89 at one sigma; with all four Western Electric rules 91.75 and 9.22.
TEST(RunRules, RunLengthsAreChampAndWoodalls) {
  const auto limits = *read_rules("limits"), all = *read_rules("western-electric");
  EXPECT_NEAR(*run_length(limits, 0.0), 370.40, 0.005);
  EXPECT_NEAR(*run_length(limits, 1.0), 43.89, 0.005);
  EXPECT_NEAR(*run_length(all, 0.0), 91.75, 0.005);
  EXPECT_NEAR(*run_length(all, 1.0), 9.22, 0.005);
  EXPECT_FALSE(run_length(*read_rules("nelson"), 0.0));
}

// Published: D. C. Montgomery, Introduction to Statistical Quality Control, table of two-sided sums with
// an allowance of 0.5 and decisions of 4 and 5 (from memory; also NIST/SEMATECH e-Handbook, 6.3.2.3).
TEST(RunLength, OfCumulativeSumsIsThePrintedOne) {
  struct Row {
    double shift, four, five;
  };
  const auto half_digit = [](double printed) {
    return printed >= 100.0 ? 0.5 : printed >= 10.0 ? 0.051 : 0.0051;
  };
  for (const Row& row : {Row{0.0, 168.0, 465.0},
                         Row{0.25, 74.2, 139.0},
                         Row{0.5, 26.6, 38.0},
                         Row{0.75, 13.3, 17.0},
                         Row{1.0, 8.38, 10.4},
                         Row{1.5, 4.75, 5.75},
                         Row{2.0, 3.34, 4.01},
                         Row{2.5, 2.62, 3.11},
                         Row{3.0, 2.19, 2.57},
                         Row{4.0, 1.71, 2.01}}) {
    EXPECT_NEAR(run_length(CusumDesign{0.5, 4.0}, row.shift), row.four, half_digit(row.four));
    EXPECT_NEAR(run_length(CusumDesign{0.5, 5.0}, row.shift), row.five, half_digit(row.five));
  }
  const auto design = cusum_for(0.5, 370.0);
  ASSERT_TRUE(design);
  EXPECT_NEAR(
      design->decision, 4.77, 0.006);  // Hawkins 1993, table of k and h at 370 (from memory)
  EXPECT_FALSE(cusum_for(0.5, 1.0));
  EXPECT_FALSE(cusum_for(5.0, 100.0));
}

// Published: Lucas and Saccucci, Technometrics 32, 1990, table 3 (from memory): weights and widths at
// 500 points, and a shift of one sigma.
TEST(RunLength, OfTheMovingAverageIsThePrintedOne) {
  struct Row {
    double weight, width, shifted;
  };
  for (const Row& row : {Row{0.4, 3.054, 14.3},
                         Row{0.25, 2.998, 11.1},
                         Row{0.2, 2.962, 10.5},
                         Row{0.1, 2.814, 10.3},
                         Row{0.05, 2.615, 11.4}}) {
    const EwmaDesign design{row.weight, row.width};
    EXPECT_NEAR(run_length(design, 0.0), 500.0, 1.5) << row.weight;
    EXPECT_NEAR(run_length(design, 1.0), row.shifted, 0.06) << row.weight;
    EXPECT_NEAR(ewma_for(row.weight, 500.0)->width, row.width, 0.001);
  }
  // A weight of one is a chart of single values.
  EXPECT_NEAR(run_length(EwmaDesign{1.0, 3.0}, 0.0), 370.398, 1e-3);
}

// Coverage: 95 % intervals of 2,000 drawn processes hold the true index 95 times of 100.
TEST(Capability, IntervalsHoldWhatTheyPromise) {
  Normal draw{20261126};
  constexpr int processes = 2000, n = 50;
  int cp = 0, cpk = 0, ppk = 0;
  const double moving = moving_range_freedom(n);
  for (int p = 0; p < processes; ++p) {
    std::vector<double> values;
    for (int i = 0; i < n; ++i) values.push_back(0.5 + draw());
    double mean = 0.0, ranges = 0.0;
    for (int i = 0; i < n; ++i) {
      mean += values[static_cast<std::size_t>(i)] / n;
      if (i > 0)
        ranges += std::abs(values[static_cast<std::size_t>(i)] -
                           values[static_cast<std::size_t>(i) - 1]) /
                  (n - 1);
    }
    const auto made = capability({.values = values,
                                  .mean = mean,
                                  .sigma = ranges / 1.1283791670955126,
                                  .degrees_of_freedom = moving,
                                  .low = -4.0,
                                  .high = 4.0});
    const double true_cp = 8.0 / 6.0, true_cpk = 3.5 / 3.0;
    cp += made.cp->low <= true_cp && true_cp <= made.cp->high ? 1 : 0;
    cpk += made.cpk.low <= true_cpk && true_cpk <= made.cpk.high ? 1 : 0;
    ppk += made.ppk.low <= true_cpk && true_cpk <= made.ppk.high ? 1 : 0;
  }
  for (const int held : {cp, cpk, ppk}) {
    EXPECT_GT(held, 0.935 * processes);
    EXPECT_LT(held, 0.967 * processes);
  }
}

TEST(ControlChart, RefusesWhatCannotBeCharted) {
  EXPECT_FALSE(chart_values({}, {}));
  EXPECT_FALSE(chart_values(singles({1.0, 1.0, 1.0, 1.0}), {}));
  EXPECT_FALSE(chart_values(singles({1.0, NAN, 2.0, 3.0}), {}));
  EXPECT_FALSE(chart_values(singles({1.0, 2.0}), {}));
  EXPECT_FALSE(chart_values(singles({1.0, 2.0, 3.0}), {.baseline = 9}));
  EXPECT_FALSE(chart_values(singles({1.0, 2.0, 3.0}), {.kind = ChartKind::mean_range}));
  EXPECT_FALSE(chart_values(singles({1.0, 2.0, 3.0}), {.spec_low = 2.0, .spec_high = 1.0}));
  const auto sizes = pair_of({.count = 1, .size = 50}, {.count = 2, .size = 60});
  EXPECT_NE(chart_counts(sizes, {.kind = ChartKind::number}).error().text.find("kind p"),
            std::string::npos);
  EXPECT_TRUE(chart_counts(sizes, {.kind = ChartKind::share}));
  EXPECT_FALSE(chart_counts(pair_of({.count = 0, .size = 5}, {.count = 0, .size = 5}),
                            {.kind = ChartKind::share}));
  EXPECT_FALSE(chart_counts(pair_of({.count = 6, .size = 5}, {.count = 0, .size = 5}),
                            {.kind = ChartKind::share}));
}

}  // namespace
}  // namespace goodside::plan
