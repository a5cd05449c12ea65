#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "plan/sampling_design.hpp"
#include "plan/sampling_tables.hpp"
#include "plan/sampling_walk.hpp"
#include "stats/discrete.hpp"

namespace goodside::plan {
namespace {

std::vector<std::vector<std::string>> rows_of(const std::string& name) {
  std::ifstream file{GOODSIDE_SOURCE_DIR "/tests/published/sampling/" + name};
  std::vector<std::vector<std::string>> rows;
  std::string line;
  std::getline(file, line);  // the columns' names
  while (std::getline(file, line)) {
    std::istringstream cells{line};
    rows.emplace_back();
    for (std::string cell; std::getline(cells, cell, ',');) rows.back().push_back(cell);
  }
  return rows;
}

double ships(const std::vector<SamplingStage>& stages, const DiscSource& source) {
  return walk(boundaries_of(stages, false), source).ships;
}

// Published: SciPy 1.10.1 (tests/published/sampling/values.py), to 13 digits.
TEST(Discrete, AgreesWithSciPy) {
  struct Row {
    stats::Draw draw;
    int count;
    double cdf;
  };
  constexpr Row rows[] = {{{100, 1, 20}, 0, 8.0000000000000e-01},
                          {{100, 5, 20}, 1, 7.3945344460808e-01},
                          {{500, 20, 50}, 1, 3.8650610346057e-01},
                          {{1000, 20, 80}, 2, 7.8924713628910e-01},
                          {{300, 5, 13}, 0, 8.0009341848414e-01},
                          {{100000, 1000, 1250}, 21, 9.9134017499883e-01},
                          {{100000, 2000, 1250}, 3, 2.9598207153922e-08},
                          {{50, 3, 50}, 3, 1.0},
                          {{200, 140, 150}, 100, 5.1836711870420e-02}};
  for (const Row& row : rows)
    EXPECT_NEAR(stats::hypergeometric_cdf(row.count, row.draw) / row.cdf, 1.0, 1e-9) << row.count;
  EXPECT_NEAR(stats::binomial_cdf(0, 13, 0.05), 5.1334208327951e-01, 1e-13);
  EXPECT_NEAR(stats::binomial_cdf(7, 315, 0.05), 1.0140587114137e-02, 1e-13);
  EXPECT_NEAR(stats::binomial_cdf(21, 2000, 0.02), 6.6666424458399e-04, 1e-14);
}

// Second road: disc by disc against the closed forms, lots and processes.
TEST(SamplingWalk, OfASingleSampleIsTheDistribution) {
  for (const SamplingStage& stage : {SamplingStage{20, 1, 2}, SamplingStage{80, 2, 3}}) {
    for (const std::int64_t flawed : {0, 1, 5, 40, 100})
      EXPECT_NEAR(ships({stage}, {.lot = 100, .flawed = flawed}),
                  stats::hypergeometric_cdf(stage.accept, {100, flawed, stage.heard}),
                  1e-12);
    for (const double share : {0.0, 0.01, 0.2, 1.0})
      EXPECT_NEAR(ships({stage}, {.share = share}),
                  stats::binomial_cdf(stage.accept, stage.heard, share),
                  1e-12);
  }
}

// Published: SciPy's binomial, summed over the first sample (values.py).
TEST(SamplingWalk, OfTwoStagesAgreesWithTheSum) {
  const std::vector<SamplingStage> plan{{80, 3, 7}, {160, 8, 9}};
  struct Row {
    double share, ships, heard;
  };
  for (const Row& row : {Row{0.02, 9.9541587140175e-01, 86.057462455},
                         Row{0.04, 8.3602201739996e-01, 108.57578332123},
                         Row{0.08, 1.5762907938347e-01, 114.46834054385}}) {
    const WalkResult result = walk(boundaries_of(plan, false), {.share = row.share});
    EXPECT_NEAR(result.ships, row.ships, 1e-12);
    EXPECT_NEAR(result.heard_mean, row.heard, 1e-9);
  }
}

// Property: stopping early changes no verdict, hears fewer discs, and ships and holds make one.
TEST(SamplingWalk, StoppingEarlyChangesNoVerdict) {
  const std::vector<std::vector<SamplingStage>> plans{
      {{50, 2, 3}}, {{32, 0, 3}, {64, 3, 4}}, {{20, 1, 4}}, {{5, 4, 5}, {10, 6, 7}}};
  for (const auto& plan : plans)
    for (const DiscSource& source : {DiscSource{.lot = 90, .flawed = 7},
                                     DiscSource{.share = 0.03},
                                     DiscSource{.share = 0.6}}) {
      const WalkResult late = walk(boundaries_of(plan, false), source);
      const WalkResult early = walk(boundaries_of(plan, true), source);
      EXPECT_NEAR(early.ships, late.ships, 1e-12);
      EXPECT_NEAR(early.ships + early.holds, 1.0, 1e-12);
      EXPECT_LT(early.heard_mean, late.heard_mean);
    }
}

// Published: outgoing quality of a single plan, AOQ = p P(ship) (N - n)/N (Dodge and Romig), for a lot
// whose flawed discs are drawn from a process: here summed over the counts that a lot may hold.
TEST(SamplingWalk, OutgoingQualityIsDodgeAndRomigs) {
  const std::int64_t lot = 60, heard = 13;
  const double share = 0.06;
  double outgoing = 0.0, inspected = 0.0;
  for (std::int64_t flawed = 0; flawed <= lot; ++flawed) {
    const double chance =
        stats::binomial_cdf(flawed, lot, share) - stats::binomial_cdf(flawed - 1, lot, share);
    const WalkResult one =
        walk(boundaries_of(std::vector<SamplingStage>{{heard, 1, 2}}, false), {lot, flawed});
    outgoing += chance * one.flawed_shipped / static_cast<double>(lot);
    inspected += chance * one.inspected_mean;
  }
  const double shipped = stats::binomial_cdf(1, heard, share);
  EXPECT_NEAR(outgoing, share * shipped * 47.0 / 60.0, 1e-12);
  EXPECT_NEAR(inspected, 13.0 + 47.0 * (1.0 - shipped), 1e-10);
}

// Published: MIL-STD-105E, tables I and II-A, every level, lot and limit (attribute_single_normal.csv).
TEST(SamplingTables, SinglePlansOfNormalInspectionAreThePublishedOnes) {
  int checked = 0;
  for (const auto& row : rows_of("attribute_single_normal.csv")) {
    const std::int64_t lot = std::stoll(row[2]);  // the row's smallest
    const auto plan =
        table_plan({.lot = lot, .quality_limit = std::stod(row[3]), .level = *read_level(row[1])});
    ASSERT_TRUE(plan) << row[1] << " " << row[2] << " " << row[3];
    const auto& stage = plan->stages.back();
    EXPECT_EQ(plan->whole_lot, std::stoll(row[4]) >= lot);
    EXPECT_EQ(stage.heard, std::min<std::int64_t>(lot, std::stoll(row[4])))
        << row[1] << " " << row[2] << " " << row[3];
    EXPECT_EQ(stage.accept, std::stoll(row[5])) << row[1] << " " << row[2] << " " << row[3];
    EXPECT_EQ(stage.reject, std::stoll(row[6])) << row[1] << " " << row[2] << " " << row[3];
    ++checked;
  }
  EXPECT_EQ(checked, 2730);
}

/// A lot that has the code letter at level II or, for the last ones, III; so large that the sample is
/// smaller.
std::pair<std::int64_t, Level> lot_of(char letter) {
  for (const Level level :
       {Level::s1, Level::s2, Level::s3, Level::s4, Level::one, Level::two, Level::three})
    for (const std::int64_t lot :
         {900'000, 400'000, 100'000, 30'000, 9'000, 3'000, 1'000, 400, 200, 100, 60, 30, 20, 12, 6})
      if (code_letter(lot, level) == letter) return {lot, level};
  return {};
}

// Published: MIL-STD-105E, tables II-A to II-C, limits 0.10 to 15, every letter, arrows followed.
TEST(SamplingTables, LettersOfAllThreeInspectionsAreThePublishedOnes) {
  int checked = 0;
  for (const auto& row : rows_of("attribute_single_letters.csv")) {
    const auto inspection = row[0] == "normal"      ? Inspection::normal
                            : row[0] == "tightened" ? Inspection::tightened
                                                    : Inspection::reduced;
    const auto [lot, level] = lot_of(row[1][0]);
    const auto plan = table_plan(
        {.lot = lot, .quality_limit = std::stod(row[2]), .level = level, .inspection = inspection});
    ASSERT_TRUE(plan);
    if (!plan->whole_lot) {
      EXPECT_EQ(plan->stages[0].heard, std::stoll(row[3]));
    }
    EXPECT_EQ(plan->stages[0].accept, std::stoll(row[4])) << row[0] << row[1] << row[2];
    EXPECT_EQ(plan->stages[0].reject, std::stoll(row[5])) << row[0] << row[1] << row[2];
    ++checked;
  }
  EXPECT_EQ(checked, 576);
}

/// The share at which a plan ships this part of all lots.
double share_at(const std::vector<SamplingStage>& plan, double shipped) {
  double low = 0.0, high = 1.0;
  for (int k = 0; k < 25; ++k) {
    const double middle = 0.5 * (low + high);
    (ships(plan, {.share = middle}) > shipped ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

// The double plans are from memory; the tables are made so that the double and the single plan of a
// cell have nearly one curve. A wrong row would part them (the next row's share lies 25 % off and
// more), a digit wrong by one in the greater numbers need not.
TEST(SamplingTables, DoublePlansHaveTheirSinglePlansCurve) {
  int checked = 0;
  double widest = 0.0, widest_reduced = 0.0;
  for (const auto inspection : {Inspection::normal, Inspection::tightened, Inspection::reduced})
    for (const char letter : std::string{"DFHK"})
      for (const double limit : {0.4, 1.0, 1.5, 2.5, 4.0, 6.5, 10.0}) {
        const auto [lot, level] = lot_of(letter);
        TableRequest request{.lot = lot, .quality_limit = limit, .level = level};
        request.inspection = inspection;
        const auto single = table_plan(request);
        request.two_stages = true;
        const auto twice = table_plan(request);
        ASSERT_TRUE(single && twice);
        if (twice->one_stage || twice->whole_lot || twice->stages.size() < 2) continue;
        for (const double shipped : {0.5, 0.1}) {
          const double off =
              std::abs(share_at(twice->stages, shipped) / share_at(single->stages, shipped) - 1.0);
          double& most = inspection == Inspection::reduced ? widest_reduced : widest;
          most = std::max(most, off);
        }
        ++checked;
      }
  EXPECT_GT(checked, 50);
  EXPECT_LT(widest, 0.11);
  EXPECT_LT(widest_reduced, 0.17);  // samples of two and three discs among them
}

TEST(SamplingTables, RefusesWhatIsInNoTable) {
  EXPECT_NE(table_plan({.lot = 500, .quality_limit = 2.0}).error().text.find("1.5 and 2.5"),
            std::string::npos);
  EXPECT_FALSE(table_plan({.lot = 500, .quality_limit = NAN}));
  EXPECT_FALSE(table_plan({.lot = 1, .quality_limit = 1.0}));
  EXPECT_FALSE(table_plan({.lot = 5, .quality_limit = 65.0, .inspection = Inspection::reduced}));
  EXPECT_FALSE(read_level("IV"));
}

// Published: plain search over every n and c with SciPy's hypergeometric distribution (values.py).
TEST(SamplingDesign, TheLeastSinglePlanOfALot) {
  struct Row {
    std::int64_t lot;
    double p1, p2, a, b;
    std::int64_t n, c;
  };
  for (const Row& row : {Row{500, 0.01, 0.065, 0.05, 0.10, 76, 2},
                         Row{300, 0.01, 0.10, 0.05, 0.05, 57, 2},
                         Row{1000, 0.01, 0.05, 0.05, 0.10, 128, 3},
                         Row{120, 0.01, 0.10, 0.10, 0.10, 34, 1}}) {
    const auto plan = design_single({row.lot, row.p1, row.a, row.p2, row.b});
    ASSERT_TRUE(plan);
    EXPECT_EQ(plan->stages[0].heard, row.n);
    EXPECT_EQ(plan->stages[0].accept, row.c);
    EXPECT_LE(plan->producer_risk, row.a);
    EXPECT_LE(plan->consumer_risk, row.b);
  }
}

// Property: every design keeps its risks, and each kind hears fewer discs of good lots than the one
// before it.
TEST(SamplingDesign, TwoStagesAndSequentialHearFewerDiscs) {
  for (const Risks& risks : {Risks{500, 0.01, 0.05, 0.065, 0.10},
                             Risks{1000, 0.01, 0.05, 0.05, 0.10},
                             Risks{0, 0.01, 0.05, 0.06, 0.10}}) {
    const auto one = design_single(risks), two = design_double(risks),
               many = design_sequential(risks);
    ASSERT_TRUE(one && two && many);
    for (const auto& plan : {*one, *two, *many}) {
      EXPECT_LE(plan.producer_risk, risks.producer_risk);
      EXPECT_LE(plan.consumer_risk, risks.consumer_risk);
    }
    EXPECT_LT(two->heard_good, one->heard_good);
    EXPECT_LT(many->heard_good, two->heard_good);
    EXPECT_LT(many->heard_bad, one->heard_bad);
  }
}

// Published: Wald's lines (Sequential Analysis, 1947; formulae evaluated apart) and the exact figures
// by a recursion over heard and flawed (values.py). Wald's averages leave out the overshoot: 6 % low
// for good discs, 20 % for bad ones.
TEST(SequentialListening, WaldsFiguresAndTheExactOnes) {
  const Risks risks{0, 0.01, 0.05, 0.06, 0.10};
  const WaldLines lines = wald_lines(risks);
  EXPECT_NEAR(lines.h1, 1.2211492, 1e-6);
  EXPECT_NEAR(lines.h2, 1.5678000, 1e-6);
  EXPECT_NEAR(lines.slope, 0.0281110, 1e-6);
  EXPECT_NEAR(lines.heard_good, 59.73, 0.005);
  EXPECT_NEAR(lines.heard_bad, 40.42, 0.005);
  EXPECT_NEAR(lines.heard_at_slope, 70.08, 0.005);
  EXPECT_NEAR(lines.ships_at_slope, 0.56215, 5e-6);
  const Boundaries plan = boundaries_of(lines, 2000);
  EXPECT_EQ(plan.ship_at[42], -1);
  EXPECT_EQ(plan.ship_at[43], 0);  // the first disc after which none flawed is enough is the 44th
  struct Row {
    double share, ships, heard;
  };
  for (const Row& row : {Row{0.01, 9.714184005516e-01, 63.58349098338},
                         Row{0.028111, 6.037907482778e-01, 86.43467857380},
                         Row{0.06, 9.892114591097e-02, 50.50808336069}}) {
    const WalkResult result = walk(plan, {.share = row.share});
    EXPECT_NEAR(result.ships, row.ships, 1e-11);
    EXPECT_NEAR(result.heard_mean, row.heard, 1e-8);
  }
  // Drawn together until the risks are those asked for, the lines hear less than Wald's.
  const auto tuned = design_sequential(risks);
  ASSERT_TRUE(tuned);
  EXPECT_LT(tuned->heard_good, 63.58);
  EXPECT_LT(tuned->heard_bad, 50.51);
}

// Property: going on from what was heard is the rest of the same walk.
TEST(SequentialListening, GoesOnFromWhatWasHeard) {
  const Risks risks{400, 0.02, 0.05, 0.08, 0.10};
  const auto plan = design_sequential(risks);
  ASSERT_TRUE(plan);
  const DiscSource source{400, 12};
  const WalkResult whole = walk(plan->boundaries, source);
  ASSERT_GT(plan->boundaries.hold_at[0], 1);  // over the first disc's two outcomes
  const double flawed = 12.0 / 400.0;
  const WalkResult good = walk(plan->boundaries, source, {1, 0}),
                   bad = walk(plan->boundaries, source, {1, 1});
  EXPECT_NEAR(whole.ships, (1 - flawed) * good.ships + flawed * bad.ships, 1e-12);
  EXPECT_NEAR(whole.heard_mean, (1 - flawed) * good.heard_mean + flawed * bad.heard_mean, 1e-10);
}

// 2026-11-26: Wald's lines alone miss one of the risks in some lots, and no plan was found.
TEST(SamplingDesign, EveryLotHasASequentialPlan) {
  for (std::int64_t lot = 20; lot <= 700; lot += 31) {
    const Risks risks{lot, 0.01, 0.05, 0.065, 0.10};
    if (risks.good().flawed >= risks.bad().flawed) continue;
    const auto plan = design_sequential(risks);
    ASSERT_TRUE(plan) << lot;
    EXPECT_LE(plan->producer_risk, 0.05) << lot;
    EXPECT_LE(plan->consumer_risk, 0.10) << lot;
  }
}

TEST(SamplingDesign, RefusesRisksThatCannotBe) {
  EXPECT_FALSE(design_single({500, 0.05, 0.05, 0.01, 0.10}));
  EXPECT_FALSE(design_single({500, 0.01, 0.0, 0.05, 0.10}));
  EXPECT_FALSE(design_single({500, NAN, 0.05, 0.05, 0.10}));
  const auto same = design_sequential({10, 0.0, 0.05, 1e-12, 0.10});
  ASSERT_FALSE(same);
  EXPECT_NE(same.error().text.find("part the two further"), std::string::npos);
  EXPECT_FALSE(design_sequential({100, 0.01, 0.05, 0.05, 0.10}, 3));
}

TEST(PlanCurves, TheWorstOutgoingShareIsAMaximum) {
  const Boundaries plan = boundaries_of(std::vector<SamplingStage>{{50, 1, 2}}, false);
  const PlanCurves all = curves(plan, 500);
  EXPECT_DOUBLE_EQ(all.points.front().ships, 1.0);
  EXPECT_LT(all.points.back().ships, 0.01);
  for (std::size_t i = 0; i < all.points.size(); ++i) {
    EXPECT_LE(all.points[i].outgoing, all.worst.outgoing);
    if (i > 0) {
      EXPECT_LE(all.points[i].ships, all.points[i - 1].ships + 1e-12);
    }
  }
  // Second road: the closed form over every count of flawed discs.
  double most = 0.0;
  for (std::int64_t flawed = 0; flawed <= 500; ++flawed) {
    const double none = stats::hypergeometric_cdf(0, {500, flawed, 50});
    const double one = stats::hypergeometric_cdf(1, {500, flawed, 50}) - none;
    const auto left = static_cast<double>(flawed);
    most = std::max(most, (none * left + one * (left - 1.0)) / 500.0);
  }
  EXPECT_NEAR(all.worst.outgoing, most, 1e-12);
}

}  // namespace
}  // namespace goodside::plan
