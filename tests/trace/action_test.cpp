#include "trace/action.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace goodside::trace {
namespace {

using testing::StartsWith;
using works::Remedy;

struct Share {
  Level level;
  double posterior;
  double ends{}, since_birth{};
};

works::Action action_of(std::initializer_list<Share> causes,
                        works::Audibility audibility = works::Audibility::plain,
                        works::TraceCosts costs = {}) {
  Attribution why;
  for (const auto& [level, posterior, ends, since_birth] : causes) {
    Weighed cause;
    cause.level = level;
    cause.posterior = posterior;
    cause.ends = ends;
    cause.since_birth = since_birth;
    why.causes.push_back(cause);
  }
  works::RecurringFault fault;
  fault.audibility = audibility;
  fault.suspect.discs = 200;
  fault.suspect.flawed = 100.0;
  return action_for({}, why, fault, costs);
}

double cost_of(const works::Action& action, Remedy remedy) {
  for (const auto& one : action.remedies)
    if (one.remedy == remedy) return one.cost;
  return -1.0;
}

// Second road: 0.8 of a stamper, 0.2 of its mother, by hand. The new stamper leaves 0.2; then a new
// mother for 260 ends it, which is cheaper than 300 discs out at 6. Looks cost 5 min at 0.5.
TEST(Action, CountsTheNextStepWhereTheFirstWasNotEnough) {
  const auto action = action_of({{Level::stamper, 0.8, 0.0, 1.0}, {Level::mother, 0.2}});
  EXPECT_NEAR(cost_of(action, Remedy::leave), 1800.0, 1e-9);
  EXPECT_NEAR(cost_of(action, Remedy::new_from_mother), 120.0 + 2.5 + 0.2 * (260.0 + 2.5), 1e-9);
  EXPECT_NEAR(cost_of(action, Remedy::back_to_father), 260.0 + 2.5, 1e-9);
  EXPECT_EQ(action.remedies.front().remedy, Remedy::new_from_mother);
}

// A fault that the stamper or its mounting has: washing is cheap, and what it leaves is seen at once.
TEST(Action, WashesFirstWhatMayBeGritBehindTheStamper) {
  const auto action = action_of({{Level::mounting, 0.6}, {Level::stamper, 0.4}});
  EXPECT_NEAR(
      cost_of(action, Remedy::wash), 15.0 + 2.5 + (0.1 * 0.6 + 0.8 * 0.4) * (120.0 + 2.5), 1e-9);
  EXPECT_EQ(action.remedies.front().remedy, Remedy::wash);
}

TEST(Action, GoesBackToTheMotherWhereItIsPlainlyHers) {
  EXPECT_EQ(action_of({{Level::mother, 0.95}, {Level::stamper, 0.05}}).remedies.front().remedy,
            Remedy::back_to_father);
  EXPECT_EQ(action_of({{Level::cut, 0.9}, {Level::mother, 0.1}}).remedies.front().remedy,
            Remedy::new_cut);
}

// Regression, 2026-11-26: a mother's fault that had perhaps ceased was to be washed, as washing came
// with a look.
TEST(Action, WashesNoMother) {
  EXPECT_EQ(action_of({{Level::mother, 0.93}, {Level::father, 0.07, 1.0}}).remedies.front().remedy,
            Remedy::back_to_father);
  EXPECT_EQ(action_of({{Level::mother, 1.0, 0.99}}).remedies.front().remedy, Remedy::leave);
}

// A slight fault is no reason to scrap what passes the limits.
TEST(Action, LetsStockWithASlightFaultGo) {
  const auto slight = action_of({{Level::cut, 1.0}}, works::Audibility::slight);
  EXPECT_EQ(slight.stock.front().remedy, works::StockRemedy::ship);
  EXPECT_NE(action_of({{Level::cut, 1.0}}).stock.front().remedy, works::StockRemedy::ship);
  works::TraceCosts strict;
  strict.slight_disc_out = 6.0;
  EXPECT_NE(action_of({{Level::cut, 1.0}}, works::Audibility::slight, strict).stock.front().remedy,
            works::StockRemedy::ship);
}

// Property: no remedy costs less than what it takes, and dearer discs make none cheaper.
TEST(Action, CostsGrowWithWhatAFlawCosts) {
  works::TraceCosts dear;
  dear.flawed_disc_out = 60.0;
  const auto cheap = action_of({{Level::stamper, 0.5}, {Level::mother, 0.3}, {Level::cut, 0.2}});
  const auto costly = action_of({{Level::stamper, 0.5}, {Level::mother, 0.3}, {Level::cut, 0.2}},
                                works::Audibility::plain,
                                dear);
  for (const auto& one : cheap.remedies) EXPECT_LE(one.cost, cost_of(costly, one.remedy) + 1e-9);
}

}  // namespace
}  // namespace goodside::trace
