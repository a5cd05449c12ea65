#include "trace/closings.hpp"

#include <gtest/gtest.h>

namespace goodside::trace {
namespace {

// Two mountings: 300 closings, then 400 after others had the press.
const std::vector<works::Impressions> mounted{{1, 300}, {801, 1200}};

TEST(OwnClosings, AddUpOverMountings) {
  EXPECT_EQ(own_closings(mounted, 0), 0);
  EXPECT_EQ(own_closings(mounted, 1), 1);
  EXPECT_EQ(own_closings(mounted, 300), 300);
  EXPECT_EQ(own_closings(mounted, 650), 300);
  EXPECT_EQ(own_closings(mounted, 801), 301);
  EXPECT_EQ(own_closings(mounted, 5000), 700);
}

TEST(LifeOf, AnOnsetIsAnIntervalOfTheStampersOwnAge) {
  const auto life = life_of({.known = {.stamper = "S1", .cause = works::LifeCause::crack},
                             .mounted = mounted,
                             .onset = works::Impressions{250, 900}});
  EXPECT_EQ(life.good_to_closings, 249.0);
  EXPECT_EQ(life.ended_by_closings, 400.0);
  EXPECT_EQ(life.cause, works::LifeCause::crack);
}

TEST(LifeOf, WithoutAnOnsetItIsGoodToItsLastClosing) {
  const auto life = life_of({.known = {.stamper = "S1"}, .mounted = mounted});
  EXPECT_EQ(life.good_to_closings, 700.0);
  EXPECT_FALSE(life.ended_by_closings);
}

// An onset exactly known still needs one closing to have happened in.
TEST(LifeOf, AnExactOnsetIsOneClosing) {
  const auto life = life_of({.mounted = mounted, .onset = works::Impressions{801, 801}});
  EXPECT_EQ(life.good_to_closings, 300.0);
  EXPECT_EQ(life.ended_by_closings, 301.0);
}

// Published: SciPy 1.10: the bounds are where the confidence band of stats.linregress' line, with
// stats.t.ppf(0.975, 8), meets the limit (scipy.optimize.brentq), on the rows below.
TEST(WornAge, IsWhereTheBandOfTheLineMeetsTheLimit) {
  const std::vector<NoiseAtAge> rows{{50, -62.1},
                                     {200, -61.4},
                                     {350, -61.5},
                                     {500, -60.3},
                                     {650, -59.8},
                                     {800, -59.9},
                                     {950, -58.6},
                                     {1100, -58.4},
                                     {1250, -57.2},
                                     {1400, -57.0}};
  const auto reached = worn_age(rows, -58.0, 0.95);
  ASSERT_TRUE(reached);
  EXPECT_NEAR(reached->above, 1064.645989, 1e-4);
  ASSERT_TRUE(reached->to);
  EXPECT_NEAR(*reached->to, 1240.080568, 1e-4);
}

TEST(WornAge, IsStillToComeBeyondTheLastReading) {
  const std::vector<NoiseAtAge> rows{{0, -62.0}, {400, -61.1}, {800, -59.9}, {1200, -59.0}};
  const auto reached = worn_age(rows, -55.0, 0.95);
  ASSERT_TRUE(reached);
  EXPECT_EQ(reached->above, 1200.0);
  EXPECT_FALSE(reached->to);
}

TEST(WornAge, IsNotToldByALineThatMayNotRise) {
  const std::vector<NoiseAtAge> rows{{0, -62.0}, {400, -63.1}, {800, -61.2}, {1200, -62.4}};
  EXPECT_FALSE(worn_age(rows, -55.0, 0.95));
}

}  // namespace
}  // namespace goodside::trace
