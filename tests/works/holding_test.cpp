#include "works/holding.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <functional>
#include <random>
#include <vector>

namespace goodside::works {
namespace {

const Spot press{Place::press, "", "", {}}, pressed{Place::pressed, "SP-1", "", {}},
    good{Place::good_stock, "", "", {}}, scrap{Place::scrap, "", "chip", {}},
    unaccounted{Place::unaccounted, "", "recount", {}};

Movement move(Impressions impressions, std::int64_t quantity, Spot from, Spot to) {
  return {"R-1", impressions, quantity, std::move(from), std::move(to)};
}

std::int64_t held(const RunStock& stock, const Spot& spot) {
  std::int64_t sum = 0;
  for (const Holding& holding : stock.holdings())
    if (holding.spot == spot) sum += holding.quantity;
  return sum;
}

TEST(RunStock, SplitsAnExactRangeIntoExactRanges) {
  RunStock stock;
  ASSERT_TRUE(stock.post(move({1, 100}, 100, press, pressed)));
  ASSERT_TRUE(stock.post(move({40, 49}, 10, pressed, good)));
  const std::vector<Holding> expected{
      {{1, 39}, pressed, 39}, {{40, 49}, good, 10}, {{50, 100}, pressed, 51}};
  EXPECT_EQ(stock.holdings(), expected);
  EXPECT_EQ(stock.sum(), 100);
}

TEST(RunStock, KeepsTheIntervalWhereDiscsAreNotKnownOneByOne) {
  RunStock stock;
  ASSERT_TRUE(stock.post(move({1, 100}, 100, press, pressed)));
  ASSERT_TRUE(stock.post(move({41, 60}, 3, pressed, scrap)));
  const std::vector<Holding> expected{{{1, 40}, pressed, 40},
                                      {{41, 60}, pressed, 17},
                                      {{41, 60}, scrap, 3},
                                      {{61, 100}, pressed, 40}};
  EXPECT_EQ(stock.holdings(), expected);
}

TEST(RunStock, RangesThatTouchAgainAreOneRange) {
  RunStock stock;
  ASSERT_TRUE(stock.post(move({1, 100}, 100, press, pressed)));
  ASSERT_TRUE(stock.post(move({40, 49}, 10, pressed, good)));
  ASSERT_TRUE(stock.post(move({40, 49}, 10, good, pressed)));
  EXPECT_EQ(stock.holdings(), (std::vector<Holding>{{{1, 100}, pressed, 100}}));
}

TEST(RunStock, MixesWhatNobodyCanTellApart) {
  RunStock stock;
  ASSERT_TRUE(stock.post(move({1, 100}, 100, press, pressed)));
  ASSERT_TRUE(stock.post(move({1, 20}, 20, pressed, good)));
  ASSERT_TRUE(stock.post(move({51, 70}, 20, pressed, good)));
  ASSERT_TRUE(stock.post(move({11, 70}, 25, good, scrap)));
  const std::vector<Holding> expected{{{1, 10}, good, 10},
                                      {{11, 70}, good, 5},
                                      {{11, 70}, scrap, 25},
                                      {{21, 50}, pressed, 30},
                                      {{71, 100}, pressed, 30}};
  EXPECT_EQ(stock.holdings(), expected);
  EXPECT_FALSE(stock.post(move({11, 70}, 6, good, scrap)).has_value());
}

TEST(RunStock, RefusesWhatIsNotThere) {
  RunStock stock;
  ASSERT_TRUE(stock.post(move({1, 10}, 10, press, pressed)));
  const auto before = stock.holdings();
  EXPECT_EQ(stock.post(move({1, 10}, 10, good, scrap)).error().fault, Fault::conflict);
  EXPECT_EQ(stock.post(move({1, 11}, 11, pressed, good)).error().fault, Fault::conflict);
  EXPECT_EQ(stock.post(move({1, 10}, 11, pressed, good)).error().fault, Fault::bad_input);
  EXPECT_EQ(stock.post(move({1, 10}, 0, pressed, good)).error().fault, Fault::bad_input);
  EXPECT_EQ(stock.post(move({1, 10}, -5, pressed, good)).error().fault, Fault::bad_input);
  EXPECT_EQ(stock.post(move({10, 1}, 1, pressed, good)).error().fault, Fault::bad_input);
  // The same impressions cannot be pressed twice, nor with a gap.
  EXPECT_EQ(stock.post(move({1, 10}, 10, press, pressed)).error().fault, Fault::conflict);
  EXPECT_EQ(stock.post(move({12, 20}, 9, press, pressed)).error().fault, Fault::conflict);
  EXPECT_EQ(stock.holdings(), before);
}

TEST(RunStock, RefusesMoreDiscsThanAnIntervalCanHold) {
  RunStock stock;
  ASSERT_TRUE(stock.post(move({1, 10}, 10, press, pressed)));
  ASSERT_TRUE(stock.post(move({1, 10}, 5, pressed, scrap)));
  ASSERT_TRUE(stock.post(move({1, 5}, 5, pressed, good)));
  // The other five are among 1 to 10 too, so they are 6 to 10.
  const auto refused = stock.post(move({1, 5}, 5, scrap, good));
  ASSERT_FALSE(refused.has_value());
  EXPECT_NE(refused.error().text.find("widen"), std::string::npos);
  EXPECT_EQ(stock.sum(), 10);
  EXPECT_TRUE(stock.post(move({6, 10}, 5, scrap, good)));
}

TEST(RunStock, ARecountPostsItsDifferenceAndTheCountStillCloses) {
  RunStock stock;
  ASSERT_TRUE(stock.post(move({1, 100}, 100, press, good)));
  ASSERT_TRUE(stock.post(move({1, 100}, 2, good, unaccounted)));
  EXPECT_EQ(stock.sum(), 100);
  EXPECT_EQ(held(stock, unaccounted), 2);
  ASSERT_TRUE(stock.post(move({1, 100}, 5, unaccounted, good)));
  EXPECT_EQ(held(stock, good), 103);
  EXPECT_EQ(held(stock, unaccounted), -3);
  EXPECT_EQ(stock.sum(), 100);
  EXPECT_FALSE(stock.overfull().has_value());
}

/// The slow road: is there an assignment of discs to impressions? Brute force by matching.
bool can_be(const std::vector<Holding>& holdings, std::int64_t made) {
  std::vector<const Holding*> discs;
  for (const Holding& holding : holdings)
    for (std::int64_t i = 0; i < holding.quantity; ++i) discs.push_back(&holding);
  std::vector<int> owner(static_cast<std::size_t>(made) + 1, -1);
  const std::function<bool(int, std::vector<char>&)> place = [&](int disc,
                                                                 std::vector<char>& seen) {
    const auto& range = discs[static_cast<std::size_t>(disc)]->impressions;
    for (auto n = static_cast<std::size_t>(range.first); n <= static_cast<std::size_t>(range.last);
         ++n) {
      if (seen[n] != 0) continue;
      seen[n] = 1;
      if (owner[n] < 0 || place(owner[n], seen)) {
        owner[n] = disc;
        return true;
      }
    }
    return false;
  };
  for (int disc = 0; disc < static_cast<int>(discs.size()); ++disc) {
    std::vector<char> seen(static_cast<std::size_t>(made) + 1, 0);
    if (!place(disc, seen)) return false;
  }
  return true;
}

// Property: whatever is tried, what is accepted leaves the sum equal to the impressions made and
// every disc with an impression of its own (checked by bipartite matching); what is refused leaves
// everything as it was.
TEST(RunStock, RandomHistoriesNeverBreakTheCount) {
  std::mt19937 random{20261126};
  const auto draw = [&](int low, int high) {
    return std::uniform_int_distribution<int>{low, high}(random);
  };
  const std::vector<Spot> spots{pressed,
                                good,
                                scrap,
                                {Place::suspect, "", "tick", Place::good_stock},
                                {Place::packed, "K-1", "", {}},
                                {Place::packed, "K-2", "", {}}};
  int accepted = 0, refused = 0;
  for (int history = 0; history < 60; ++history) {
    RunStock stock;
    for (int step = 0; step < 60; ++step) {
      const auto before = stock.holdings();
      const auto made = stock.made();
      Movement movement;
      if (draw(0, 9) < 2 && made < 60) {
        movement = move({made + 1, made + draw(1, 12)}, 0, press, pressed);
        movement.quantity = movement.impressions.width();
      } else {
        const int first = draw(1, static_cast<int>(made) + 1), last = first + draw(0, 15);
        movement = move({first, last},
                        draw(0, 6),
                        spots[static_cast<std::size_t>(draw(0, 5))],
                        spots[static_cast<std::size_t>(draw(0, 5))]);
        if (!before.empty() && draw(0, 2) > 0) {  // mostly something that is there
          const Holding& some =
              before[static_cast<std::size_t>(draw(0, static_cast<int>(before.size()) - 1))];
          movement.from = some.spot;
          const auto low = draw(static_cast<int>(some.impressions.first),
                                static_cast<int>(some.impressions.last));
          movement.impressions = {low, draw(low, static_cast<int>(some.impressions.last))};
          movement.quantity =
              draw(1, static_cast<int>(std::min(some.quantity, movement.impressions.width())));
        }
      }
      if (stock.post(movement)) {
        ++accepted;
        ASSERT_TRUE(can_be(stock.holdings(), stock.made()));
        ASSERT_FALSE(stock.overfull().has_value());
      } else {
        ++refused;
        ASSERT_EQ(stock.holdings(), before);
        ASSERT_EQ(stock.made(), made);
      }
      ASSERT_EQ(stock.sum(), stock.made());
    }
  }
  EXPECT_GT(accepted, 1000);
  EXPECT_GT(refused, 200);
}

// What overfull() says against matching, on stock that no history made.
TEST(RunStock, KnowsAnImpossibleStock) {
  std::mt19937 random{7};
  const auto draw = [&](int low, int high) {
    return std::uniform_int_distribution<int>{low, high}(random);
  };
  int impossible = 0;
  for (int trial = 0; trial < 500; ++trial) {
    std::vector<Holding> holdings;
    for (int i = draw(1, 6); i > 0; --i) {
      const int first = draw(1, 12), last = draw(first, 12);
      holdings.push_back({{first, last},
                          Spot{Place::packed, std::to_string(i), "", {}},
                          draw(1, last - first + 1)});
    }
    const bool possible = can_be(holdings, 12);
    impossible += possible ? 0 : 1;
    EXPECT_EQ(!RunStock{holdings}.overfull().has_value(), possible);
  }
  EXPECT_GT(impossible, 50);
  EXPECT_LT(impossible, 450);
}

TEST(Place, IsReadAsItIsWritten) {
  for (int i = 0; i <= static_cast<int>(Place::unaccounted); ++i) {
    const auto place = static_cast<Place>(i);
    EXPECT_EQ(read_place(word(place)).value(), place);
  }
  EXPECT_EQ(read_place("edge-finished").value(), Place::edge_finished);
  EXPECT_FALSE(read_place("shelf").has_value());
}

}  // namespace
}  // namespace goodside::works
