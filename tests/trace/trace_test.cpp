#include "trace/trace.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "trace/next_act.hpp"
#include "trace/small_works.hpp"
#include "trace/touched.hpp"

namespace goodside::trace {
namespace {

using test::SmallWorks;
using testing::Contains;
using testing::HasSubstr;
using works::CauseLevel;

works::TraceReport traced(const SmallWorks& made, int jobs = 1) {
  return trace(made.family, made.plays, {}, {.jobs = jobs});
}

SmallWorks with(std::function<bool(int, int, std::int64_t)> touches) {
  SmallWorks made;
  made.planted = {{321.5, std::move(touches)}};
  made.make();
  return made;
}

TEST(Trace, NamesTheStamperAndTheImpressionItBeganAt) {
  const auto report = traced(with([](int, int s, std::int64_t n) { return s == 1 && n >= 305; }));
  ASSERT_EQ(report.recurring.size(), 1U);
  const auto& fault = report.recurring[0];
  EXPECT_NEAR(fault.programme_s, 321.5, 1e-3);
  EXPECT_THAT((std::vector{CauseLevel::stamper, CauseLevel::mounting}),
              Contains(fault.cause.level));
  EXPECT_LE(fault.cause.onset->low, 305);
  EXPECT_GE(fault.cause.onset->high, 305);
  EXPECT_GT(fault.suspect.discs, 90);
  EXPECT_TRUE(fault.open);
}

// A disc whose play ended before the place is neither with the fault nor clean there.
TEST(Trace, TellsWhichDiscsWereNotHeardAtThePlace) {
  auto made = with([](int, int s, std::int64_t n) { return s == 1 && n >= 305; });
  std::vector<std::string> short_plays;
  for (std::size_t p = 0; p < 4; ++p) {
    made.plays[p].heard = {{0.0, 300.0}};
    std::erase_if(made.plays[p].faults, [](const auto& one) { return one.programme_s > 300.0; });
    short_plays.push_back(made.plays[p].disc);
  }
  const auto whole = traced(with([](int, int s, std::int64_t n) { return s == 1 && n >= 305; }));
  const auto report = traced(made);
  ASSERT_EQ(report.recurring.size(), 1U);
  EXPECT_THAT(report.recurring[0].not_heard, testing::UnorderedElementsAreArray(short_plays));
  EXPECT_EQ(report.recurring[0].heard, whole.recurring[0].heard - 4);
  EXPECT_TRUE(whole.recurring[0].not_heard.empty());
}

TEST(Trace, NamesTheMotherWhoseStampersAllHaveIt) {
  const auto report = traced(with([](int m, int, std::int64_t) { return m == 1; }));
  ASSERT_EQ(report.recurring.size(), 1U);
  const auto& cause = report.recurring[0].cause;
  // Or the father, hurt between its two mothers: then no evidence tells them apart.
  EXPECT_THAT((std::vector{CauseLevel::mother, CauseLevel::father}), Contains(cause.level));
  EXPECT_EQ(cause.onset->best, 401);
}

// Parts that touched the same discs since birth: said, and split by the prior alone.
TEST(Trace, SaysThatACutAndItsOnlyFatherCannotBeToldApart) {
  const auto report = traced(with([](int, int, std::int64_t) { return true; }));
  ASSERT_EQ(report.recurring.size(), 1U);
  const auto& cause = report.recurring[0].cause;
  EXPECT_THAT((std::vector{CauseLevel::cut, CauseLevel::father}), Contains(cause.level));
  EXPECT_THAT(cause.same_discs, Contains(cause.level == CauseLevel::cut ? "F1" : "C1"));
  EXPECT_GT(cause.posterior_with_same, 0.98);
  EXPECT_LT(cause.posterior, 0.95);
}

TEST(Trace, FindsNothingWhereAllIsStray) {
  SmallWorks made;
  made.strays = 20.0;
  made.make();
  EXPECT_TRUE(traced(made).recurring.empty());
}

// Property: groove that was not heard never counts as clean.
TEST(Trace, AnExcerptElsewhereChangesNothing) {
  const auto touches = [](int, int s, std::int64_t) { return s == 2; };
  SmallWorks made = with(touches);
  SmallWorks more = made;
  for (auto& disc : more.family.discs)
    if (disc.id == "D413" || disc.id == "D437" || disc.id == "D557") {
      works::HeardPlay play;
      play.disc = disc.id;
      play.length_s = made.length_s;
      play.sigma_s = made.sigma_s;
      play.heard = {{700.0, 800.0}};
      more.plays.push_back(play);
    }
  const auto before = traced(made), after = traced(more);
  ASSERT_EQ(before.recurring.size(), 1U);
  ASSERT_EQ(after.recurring.size(), 1U);
  EXPECT_EQ(after.recurring[0].heard, before.recurring[0].heard);
  EXPECT_EQ(after.recurring[0].cause.id, before.recurring[0].cause.id);
  EXPECT_NEAR(after.recurring[0].cause.posterior, before.recurring[0].cause.posterior, 0.02);
}

// A fault that is gone after brushing was dust: two strangers at one place become none.
TEST(Trace, WhatBrushingTakesAwayWasDust) {
  SmallWorks made;
  made.strays = 1.0;
  made.make();
  for (const std::size_t p : {std::size_t{3}, std::size_t{4}}) {
    made.plays[p].faults.push_back({.programme_s = 600.0, .excess_dB = 10.0F});
    std::ranges::sort(made.plays[p].faults, {}, &works::HeardFault::programme_s);
  }
  const auto dusty = traced(made);
  auto brushed = made;
  for (const std::size_t p : {std::size_t{3}, std::size_t{4}}) {
    auto again = made.plays[p];
    again.play = 2;
    again.after = works::After::brushed;
    std::erase_if(again.faults, [](const auto& fault) { return fault.programme_s == 600.0; });
    brushed.plays.push_back(again);
  }
  EXPECT_EQ(dusty.recurring.size(), 1U);
  EXPECT_TRUE(traced(brushed).recurring.empty());
}

// Regression, 2026-11-26: where it is open which stamper pressed an impression, its disc was counted
// as flawed twice, so that more discs were flawed than there were.
TEST(Trace, CountsNoMoreFlawedDiscsThanSuspectOnes) {
  for (const auto& made : {with([](int, int, std::int64_t) { return true; }),
                           with([](int m, int, std::int64_t) { return m == 0; })})
    for (const auto& fault : traced(made).recurring) {
      EXPECT_GT(fault.suspect.flawed, 0.0);
      EXPECT_LE(fault.suspect.flawed, static_cast<double>(fault.suspect.discs) + 1.0);
    }
}

// Property: faults are numbered worst first, from 1, and each act says of which it tells.
TEST(Trace, NumbersFaultsWorstFirst) {
  SmallWorks made;
  made.planted = {{100.0, [](int, int s, std::int64_t) { return s == 0; }},
                  {200.0, [](int m, int, std::int64_t) { return m == 1; }},
                  {300.0, [](int, int, std::int64_t) { return true; }}};
  made.make();
  const auto report = traced(made);
  ASSERT_EQ(report.recurring.size(), 3U);
  for (std::size_t i = 0; i < 3; ++i) {
    EXPECT_EQ(report.recurring[i].id, static_cast<int>(i) + 1);
    for (const auto& act : report.recurring[i].next)
      EXPECT_EQ(act.about, (std::vector{report.recurring[i].id}));
  }
  EXPECT_NEAR(report.recurring[0].programme_s, 300.0, 1e-3);
}

// Property: the number of threads changes nothing.
TEST(Trace, IsTheSameForAnyNumberOfJobs) {
  SmallWorks made;
  made.planted = {{100.0, [](int, int s, std::int64_t) { return s == 0; }},
                  {200.0, [](int m, int, std::int64_t) { return m == 1; }},
                  {300.0, [](int, int s, std::int64_t n) { return s == 3 && n > 700; }}};
  made.strays = 10.0;
  made.make();
  const auto one = traced(made, 1), four = traced(made, 4);
  ASSERT_EQ(one.recurring.size(), four.recurring.size());
  for (std::size_t i = 0; i < one.recurring.size(); ++i) {
    EXPECT_EQ(one.recurring[i].programme_s, four.recurring[i].programme_s);
    EXPECT_EQ(one.recurring[i].cause.posterior, four.recurring[i].cause.posterior);
    EXPECT_EQ(one.recurring[i].suspect.flawed, four.recurring[i].suspect.flawed);
  }
}

// Property: the order in which reports and discs are listed changes nothing.
TEST(Trace, IsTheSameForAnyOrderOfReports) {
  SmallWorks made = with([](int, int s, std::int64_t n) { return s == 1 && n >= 305; });
  auto turned = made;
  std::ranges::reverse(turned.plays);
  const auto one = traced(made), other = traced(turned);
  ASSERT_EQ(one.recurring.size(), other.recurring.size());
  EXPECT_NEAR(one.recurring[0].cause.posterior, other.recurring[0].cause.posterior, 1e-9);
  EXPECT_EQ(one.recurring[0].cause.onset->low, other.recurring[0].cause.onset->low);
}

TEST(Trace, ARemarkOfACustomerJoinsAReport) {
  SmallWorks made = with([](int, int s, std::int64_t n) { return s == 1 && n == 310; });
  made.detection = 1.0;
  const auto alone = traced(made);
  for (const int n : {330, 350, 370})
    made.family.remarks.push_back({.disc = "D" + std::to_string(n),
                                   .carton = "",
                                   .run = "",
                                   .side = works::DiscSide::A,
                                   .programme_s = 321.0,
                                   .within_s = 1.0,
                                   .angle_deg = {},
                                   .radius_m = {},
                                   .reliability = 0.9,
                                   .words = "tick at about 5:21",
                                   .from = "customer"});
  EXPECT_TRUE(alone.recurring.empty());
  const auto report = traced(made);
  EXPECT_TRUE(report.refused.empty());
  EXPECT_EQ(report.reports, 40);
}

// Bad input, one line each; the rest is traced all the same.
TEST(Trace, PutsAsideWhatContradictsItselfAndTracesTheRest) {
  SmallWorks made = with([](int, int s, std::int64_t) { return s == 2; });
  auto& family = made.family;
  family.parts[2].parent = "S1";  // M1 from S1, which grew from M1
  family.discs[9].stamper[0] = "S99";
  family.discs[29].stamper[0] = "";
  auto second = made.plays[5];
  made.plays.push_back(second);
  made.plays[6].faults.push_back({.programme_s = 5000.0});
  made.plays[7].faults.push_back({.programme_s = std::nan("")});
  made.plays[8].disc = "nobody";
  made.plays[9].length_s = 0.0;
  const auto report = traced(made);
  std::vector<std::string> said;
  for (const auto& one : report.refused) said.push_back(one.what + ": " + one.why);
  EXPECT_THAT(said, Contains(HasSubstr("M1: it descends from itself")));
  EXPECT_THAT(said, Contains(HasSubstr("disc D10: its stamper S99 is no part")));
  EXPECT_THAT(said, Contains(HasSubstr("disc D30: no stamper is told")));
  EXPECT_THAT(said, Contains(HasSubstr("a second report of play 1 of disc D110")));
  EXPECT_THAT(said, Contains(HasSubstr("1 fault outside the cut's 0 to 1000.0 s")));
  EXPECT_THAT(said, Contains(HasSubstr("disc nobody is not among")));
  EXPECT_THAT(said, Contains(HasSubstr("the length of its cut is not told")));
  ASSERT_EQ(report.recurring.size(), 1U);
  EXPECT_THAT((std::vector<std::string>{"S3", "N3"}), Contains(report.recurring[0].cause.id));
}

TEST(Trace, AnEmptyFamilyIsTracedToNothing) {
  const auto report = trace({}, {});
  EXPECT_TRUE(report.recurring.empty());
  EXPECT_EQ(report.reports, 0);
}

// Second road: mutual information summed over the four outcomes.
TEST(NextAct, ItsGainIsTheMutualInformationOfTheLook) {
  for (const double m : {0.01, 0.3, 0.5, 0.9})
    for (const double q : {0.4, 0.8, 0.99}) {
      const double joint[2][2] = {{m * q, m * (1.0 - q)}, {0.0, 1.0 - m}};
      double sum = 0.0;
      for (int there = 0; there < 2; ++there)
        for (int shows = 0; shows < 2; ++shows) {
          const double both = joint[there][shows];
          const double row = joint[there][0] + joint[there][1];
          const double column = joint[0][shows] + joint[1][shows];
          if (both > 0.0) sum += both * std::log2(both / (row * column));
        }
      EXPECT_NEAR(gain_bits(m, q), sum, 1e-12);
    }
  EXPECT_EQ(gain_bits(0.0, 0.9), 0.0);
  EXPECT_EQ(gain_bits(1.0, 0.9), 0.0);
}

TEST(NextAct, HalvesWhatIsNotKnownOfTheOnset) {
  SmallWorks made;
  made.step = 50;
  made.detection = 0.99;
  made.planted = {{321.5, [](int, int s, std::int64_t n) { return s == 1 && n >= 305; }}};
  made.make();
  const auto report = traced(made);
  ASSERT_EQ(report.recurring.size(), 1U);
  const auto& fault = report.recurring[0];
  const auto spot = std::ranges::find(fault.next, works::ActKind::spot_hear, &works::NextAct::act);
  ASSERT_NE(spot, fault.next.end());
  ASSERT_TRUE(spot->impression);
  EXPECT_GT(spot->impression->first, 275);
  EXPECT_LT(spot->impression->first, 325);
  EXPECT_GT(spot->gain_bits, 0.6);
}

// Second road: impression by impression.
TEST(Credible, LeavesAsMuchOutOnEitherSide) {
  const std::vector<Piece> pieces{{10, 10, 0.3}, {11, 60, 0.2}, {30, 39, 0.4}, {90, 99, 0.1}};
  std::vector<double> each(120, 0.0);
  for (const Piece& piece : pieces)
    for (auto n = piece.low; n <= piece.high; ++n)
      each[static_cast<std::size_t>(n)] +=
          piece.mass / static_cast<double>(piece.high - piece.low + 1);
  const auto first_with = [&](double wanted) {
    double sum = 0.0;
    std::int64_t n = 0;
    for (; n < 120; ++n)
      if (sum += each[static_cast<std::size_t>(n)]; sum >= wanted - 1e-9) break;
    return n;
  };
  for (const double share : {0.3, 0.5, 0.7, 0.9, 0.97}) {
    const auto found = credible(pieces, share, 100.0);
    EXPECT_EQ(found.low, first_with(0.5 * (1.0 - share))) << share;
    EXPECT_EQ(found.high, first_with(0.5 * (1.0 + share))) << share;
    EXPECT_GE(found.best, found.low);
    EXPECT_LE(found.best, found.high);
  }
}

}  // namespace
}  // namespace goodside::trace
