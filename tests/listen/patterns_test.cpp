#include "listen/patterns.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

namespace goodside::listen {
namespace {

using works::FaultEvent;
using works::FaultKind;
using works::Pattern;
using works::PatternKind;

constexpr double rpm = 100.0 / 3.0;
constexpr double turns_a_side = 700.0;  // 21 minutes
constexpr double s_per_turn = 60.0 / rpm;
const std::vector<works::Interval_s> whole_side{{0.0, turns_a_side* s_per_turn}};

class Draw {
 public:
  explicit Draw(unsigned seed) : engine_{seed} {}
  double uniform() { return (static_cast<double>(engine_() >> 11) + 0.5) * 0x1p-53; }
  double normal() {
    return std::sqrt(-2.0 * std::log(uniform())) * std::cos(6.283185307179586 * uniform());
  }

 private:
  std::mt19937_64 engine_;
};

class Side {
 public:
  void add(double turn, FaultKind kind = FaultKind::tick, double duration_s = 0.3e-3) {
    FaultEvent fault;
    fault.id = 100 + static_cast<int>(faults.size());
    fault.kind = kind;
    fault.programme_s = turn * s_per_turn;
    fault.duration_s = duration_s;
    faults.push_back(fault);
  }
  void at(int revolution,
          double angle_deg,
          FaultKind kind = FaultKind::tick,
          double long_s = 3e-4) {
    add(revolution + angle_deg / 360.0, kind, long_s);
  }
  void background(std::size_t n, Draw& draw) {
    for (std::size_t i = 0; i < n; ++i) add(turns_a_side * draw.uniform());
  }
  std::vector<Pattern> patterns() { return find_patterns(faults, whole_side, {.rpm = rpm}); }
  std::vector<FaultEvent> faults;
};

TEST(Patterns, FindAScratchOfThreeTurnsAmongFewFaults) {
  Side side;
  Draw draw{1};
  side.background(20, draw);
  for (int turn = 300; turn < 303; ++turn) side.at(turn, 358.9 + 0.8 * (turn - 300));
  const auto patterns = side.patterns();
  ASSERT_EQ(patterns.size(), 1U);
  EXPECT_EQ(patterns[0].kind, PatternKind::radial);
  EXPECT_EQ(patterns[0].first_revolution, 300);
  EXPECT_EQ(patterns[0].faults, (std::vector<int>{120, 121, 122}));
  EXPECT_NEAR(*patterns[0].angle_deg, 359.7, 1e-6);
  EXPECT_NEAR(*patterns[0].angle_span_deg, 1.6, 1e-6);
  for (std::size_t i = 0; i < 20; ++i) EXPECT_FALSE(side.faults[i].pattern);
  for (std::size_t i = 20; i < 23; ++i) EXPECT_EQ(side.faults[i].pattern, patterns[0].id);
}

// A scratch is seldom exactly radial, is missed on some turns, and wanders by a fraction of a
// degree.
TEST(Patterns, FollowASlopingScratchOverMissedTurns) {
  for (const double slope_deg : {-11.5, -4.0, 0.0, 2.5, 7.0, 11.5}) {
    Side side;
    Draw draw{7};
    side.background(400, draw);
    std::size_t struck = 0;
    for (int k = 0; k < 24; ++k) {
      if (k == 5 || k == 11 || k == 12) continue;
      side.at(200 + k, 100.0 + slope_deg * k + 0.2 * draw.normal());
      ++struck;
    }
    const auto patterns = side.patterns();
    const auto radial = std::find_if(patterns.begin(), patterns.end(), [](const Pattern& p) {
      return p.kind == PatternKind::radial;
    });
    ASSERT_NE(radial, patterns.end()) << slope_deg;
    EXPECT_GE(radial->faults.size(), struck - 1) << slope_deg;
    EXPECT_LE(radial->faults.size(), struck + 1) << slope_deg;
    EXPECT_NEAR(*radial->angle_span_deg, std::abs(slope_deg) * 23.0, 13.0) << slope_deg;
  }
}

TEST(Patterns, TellTwoCrossingScratchesApart) {
  Side side;
  for (int k = 0; k < 20; ++k) {
    side.at(50 + k, 80.0 + 3.0 * k);
    side.at(50 + k, 139.0 - 3.0 * k);
  }
  const auto patterns = side.patterns();
  ASSERT_EQ(patterns.size(), 2U);
  for (const auto& pattern : patterns) {
    EXPECT_EQ(pattern.kind, PatternKind::radial);
    EXPECT_GE(pattern.faults.size(), 18U);
  }
}

// Property: the expected false patterns are at most 0.05 a side for each of the two searches. Over
// 300 sides that is at most 30; a Poisson count of 30 passes 47 once in 500.
TEST(Patterns, SeldomFindAnythingInIndependentFaults) {
  for (const std::size_t n : {8U, 60U, 500U, 3000U}) {
    std::size_t radial = 0, other = 0;
    const unsigned sides = n > 1000 ? 60 : 300;
    for (unsigned seed = 1; seed <= sides; ++seed) {
      Side side;
      Draw draw{seed};
      side.background(n, draw);
      for (const auto& pattern : side.patterns())
        ++(pattern.kind == PatternKind::radial ? radial : other);
    }
    const double allowed = 0.05 * sides;
    EXPECT_LE(static_cast<double>(radial), allowed + 4.0 * std::sqrt(allowed)) << n;
    EXPECT_LE(static_cast<double>(other), allowed + 4.0 * std::sqrt(allowed)) << n;
  }
}

// Crackle is not even over a disc: it doubles towards one edge and swells on one half of the turn.
TEST(Patterns, FindNoScratchInUnevenCrackle) {
  std::size_t radial = 0;
  constexpr unsigned sides = 40;
  for (unsigned seed = 1; seed <= sides; ++seed) {
    Side side;
    Draw draw{seed};
    while (side.faults.size() < 6000) {
      const double turn = turns_a_side * draw.uniform();
      const double rate = (1.0 + turn / turns_a_side) * (1.5 + std::cos(6.2831853 * turn)) / 5.0;
      if (draw.uniform() < rate) side.add(turn);
    }
    for (const auto& pattern : side.patterns())
      if (pattern.kind == PatternKind::radial) ++radial;
  }
  EXPECT_LE(radial, 8U);  // 0.05 a side, and four standard deviations
}

// Dirt is dense in one place; its ticks line up by chance and must not pass as a scratch.
TEST(Patterns, CallDirtAScatterAndNotAScratch) {
  int scatter = 0, radial = 0;
  for (unsigned seed = 1; seed <= 20; ++seed) {
    Side side;
    Draw draw{seed};
    side.background(40, draw);
    for (int i = 0; i < 40; ++i)
      side.add(std::floor(250.0 + 4.0 * draw.normal()) + (150.0 + 20.0 * draw.normal()) / 360.0);
    for (const auto& pattern : side.patterns()) {
      if (pattern.kind == PatternKind::scatter && pattern.faults.size() >= 20) ++scatter;
      if (pattern.kind == PatternKind::radial) ++radial;
    }
  }
  EXPECT_GE(scatter, 14);
  EXPECT_LE(radial, 4);
}

TEST(Patterns, CallANoisySectorAnArc) {
  Side side;
  Draw draw{3};
  side.background(30, draw);
  for (int k = 0; k < 12; ++k)
    side.at(400 + k, 200.0 + 2.0 * draw.normal(), FaultKind::burst, 40.0 / 360.0 * s_per_turn);
  const auto patterns = side.patterns();
  ASSERT_EQ(patterns.size(), 1U);
  EXPECT_EQ(patterns[0].kind, PatternKind::arc);
  EXPECT_EQ(patterns[0].faults.size(), 12U);
  EXPECT_NEAR(*patterns[0].angle_deg, 220.0, 4.0);
  EXPECT_NEAR(*patterns[0].angle_span_deg, 46.0, 8.0);
}

TEST(Patterns, CallACompactPlaceAPatch) {
  Side side;
  Draw draw{4};
  side.background(30, draw);
  for (int k = 0; k < 8; ++k)
    side.at(500 + k, 10.0 + draw.normal(), FaultKind::burst, 6.0 / 360.0 * s_per_turn);
  const auto patterns = side.patterns();
  ASSERT_EQ(patterns.size(), 1U);
  EXPECT_EQ(patterns[0].kind, PatternKind::patch);
  EXPECT_EQ(patterns[0].last_revolution, 507);
}

// Sparse faults over half a side that keep to one third of the turn: no two are neighbours.
TEST(Patterns, FindASectorThatIsBusierThanTheRest) {
  Side side;
  Draw draw{5};
  for (int k = 0; k < 60; ++k) side.at(100 + 5 * k, 300.0 + 35.0 * draw.normal());
  const auto patterns = side.patterns();
  ASSERT_FALSE(patterns.empty());
  EXPECT_EQ(patterns[0].kind, PatternKind::arc);
  EXPECT_NEAR(*patterns[0].angle_deg, 300.0, 25.0);
}

TEST(Patterns, LeaveJumpsPlacelessAndTakenFaultsAlone) {
  Side side;
  for (int k = 0; k < 12; ++k) side.at(10 + k, 45.0);
  for (std::size_t i = 0; i < 4; ++i) side.faults[i].kind = FaultKind::jump;
  for (std::size_t i = 4; i < 8; ++i) side.faults[i].programme_s.reset();
  for (std::size_t i = 8; i < 12; ++i) side.faults[i].pattern = 99;
  EXPECT_TRUE(side.patterns().empty());
  for (std::size_t i = 8; i < 12; ++i) EXPECT_EQ(side.faults[i].pattern, 99);
  EXPECT_TRUE(find_patterns({}, whole_side, {.rpm = rpm}).empty());
}

// Property: the order in which faults are listed changes nothing.
TEST(Patterns, DoNotDependOnTheOrderOfTheList) {
  Side side;
  Draw draw{8};
  side.background(800, draw);
  for (int k = 0; k < 15; ++k) side.at(33 + k, 200.0 - 5.0 * k);
  for (int k = 0; k < 8; ++k) side.at(500 + k, 10.0, FaultKind::burst, 0.03);
  Side other = side;
  std::reverse(other.faults.begin(), other.faults.end());
  const auto patterns = side.patterns(), reversed = other.patterns();
  ASSERT_EQ(patterns.size(), reversed.size());
  ASSERT_GE(patterns.size(), 2U);
  for (std::size_t i = 0; i < patterns.size(); ++i)
    EXPECT_EQ(patterns[i].faults, reversed[i].faults);
}

// A turn that was not heard speaks neither for a scratch nor against it.
TEST(Patterns, PassOverTurnsThatWereNotHeard) {
  Side side;
  for (int k = 0; k < 14; ++k)
    if (k != 6 && k != 7) side.at(20 + k, 45.0);
  const std::vector<works::Interval_s> heard{{0.0, 26.0 * s_per_turn},
                                             {28.0 * s_per_turn, 60.0 * s_per_turn}};
  const auto patterns = find_patterns(side.faults, heard, {.rpm = rpm});
  ASSERT_EQ(patterns.size(), 1U);
  EXPECT_EQ(patterns[0].faults.size(), 12U);
}

}  // namespace
}  // namespace goodside::listen
