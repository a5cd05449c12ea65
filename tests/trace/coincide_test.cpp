#include "trace/coincide.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "stats/poisson.hpp"
#include "trace/small_works.hpp"

namespace goodside::trace {
namespace {

using test::SmallWorks;

// Second road: of places where n strangers fall together, as many are found as a Poisson process
// has: windows of a fault with at least one more of another disc, counted directly.
TEST(Coincide, ItsChanceIsThatOfAPoissonProcess) {
  int rare = 0, events = 0;
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    SmallWorks made;
    made.seed = seed;
    made.strays = 25.0;
    made.sigma_s = 2e-3;
    made.make();
    const FamilyIndex index = index_side(made.family, made.plays, works::DiscSide::A);
    const auto found = coincide(index, made.plays);
    events += static_cast<int>(found.events.size());
    for (const auto& one : found.candidates) rare += one.chance < 1e-3 ? 1 : 0;
  }
  // A scan at a chance of 1e-3 marks at most so many of independent places; peaks count once, and
  // three scans (side, mothers, stampers) are made.
  EXPECT_LE(rare, 3.0 * 1e-3 * events + 4.0 * std::sqrt(3.0 * 1e-3 * events));
  EXPECT_GT(events, 15000);
}

TEST(Coincide, GivesAPlaceThePoissonTailOfItsLocalRate) {
  SmallWorks made;
  made.strays = 10.0;
  made.planted = {{500.0, [](int, int s, std::int64_t) { return s == 0; }}};
  made.make();
  const FamilyIndex index = index_side(made.family, made.plays, works::DiscSide::A);
  const auto found = coincide(index, made.plays);
  const Candidate* place = nullptr;
  for (const auto& one : found.candidates)
    if (std::abs(one.programme_s - 500.0) < 1e-3) place = &one;
  ASSERT_NE(place, nullptr);
  // 9 to 10 finds on the stamper's 10 discs of 10 strays in 1,000 s, in +-2.5 sigma of 1e-4 s.
  const int others = static_cast<int>(place->events.size()) - 1;
  const double expected = stats::poisson_tail(others, 9.0 * 0.01 * 5e-4);
  EXPECT_NEAR(std::log10(place->chance) / std::log10(expected), 1.0, 0.1);
}

TEST(Coincide, LearnsTheJitterThatTheReportsDoNotKnow) {
  SmallWorks made;
  made.strays = 8.0;
  made.sigma_s = 1.2e-3;
  made.planted = {{100.0, [](int, int, std::int64_t) { return true; }},
                  {300.0, [](int, int, std::int64_t) { return true; }},
                  {700.0, [](int, int, std::int64_t) { return true; }}};
  made.make();
  for (auto& play : made.plays) play.sigma_s = 3e-4;  // a quarter of what it is
  const FamilyIndex index = index_side(made.family, made.plays, works::DiscSide::A);
  const auto found = coincide(index, made.plays);
  EXPECT_NEAR(found.jitter.sigma_s(3e-4), 1.2e-3, 4e-4);
  int whole = 0;
  for (const auto& one : found.candidates) whole += one.events.size() > 28 ? 1 : 0;
  EXPECT_EQ(whole, 3);
}

TEST(Coincide, KnowsWhereTheSideHasMoreFaults) {
  SmallWorks made;
  made.strays = 0.0;
  made.make();
  std::mt19937_64 random{3};
  std::uniform_real_distribution<double> even{0.0, 1.0};
  for (auto& play : made.plays) {
    for (int i = 0; i < 30; ++i) play.faults.push_back({.programme_s = 100.0 * even(random)});
    for (int i = 0; i < 9; ++i)
      play.faults.push_back({.programme_s = 100.0 + 900.0 * even(random)});
    std::ranges::sort(play.faults, {}, &works::HeardFault::programme_s);
  }
  const FamilyIndex index = index_side(made.family, made.plays, works::DiscSide::A);
  const auto found = coincide(index, made.plays);
  EXPECT_NEAR(found.rate.local(50.0), 0.3, 0.06);
  EXPECT_NEAR(found.rate.local(600.0), 0.01, 0.004);
}

// Property: in a hundred thousand chance faults few places stand out of chance. How long it takes, bench/trace_bench
// shows.
TEST(Coincide, FindsLittleInAHundredThousandStrays) {
  SmallWorks made;
  made.stampers_each = 10;
  made.closings = 1000;
  made.step = 40;
  made.strays = 200.0;
  made.make();
  const FamilyIndex index = index_side(made.family, made.plays, works::DiscSide::A);
  const auto found = coincide(index, made.plays);
  EXPECT_GT(found.events.size(), 95000U);
  EXPECT_LT(static_cast<double>(found.candidates.size()),
            0.05 * static_cast<double>(found.events.size()));
}

}  // namespace
}  // namespace goodside::trace
