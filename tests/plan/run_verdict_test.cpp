#include "plan/run_verdict.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "plan/switching.hpp"

namespace goodside::plan {
namespace {

const Risks risks{0, 0.01, 0.05, 0.065, 0.10};

Sample good(std::int64_t at) {
  return {at, at, Sample::State::good};
}
Sample flawed(std::int64_t at, bool contained) {
  return {at, at, Sample::State::flawed, contained};
}

RunEvidence run_of(std::int64_t discs, std::vector<Sample> samples) {
  return {.stretches = {{1, discs}}, .samples = std::move(samples), .shippable = discs};
}

TEST(RunVerdict, OfARunThatNobodyHeardAsksForSamplesOverTheWholeOfIt) {
  const auto verdict = judge_run(run_of(500, {}), risks);
  ASSERT_TRUE(verdict);
  EXPECT_EQ(verdict->act, RunAct::hear_more);
  EXPECT_EQ(verdict->lot, 500);
  EXPECT_GT(verdict->at_least, 20);
  EXPECT_EQ(verdict->places.size(), 12U);
  EXPECT_EQ(verdict->places.back(), 500);
  EXPECT_TRUE(std::ranges::is_sorted(verdict->places));
  // Even over the run: no gap is more than three times another's.
  std::int64_t before = 0, widest = 0, narrowest = 500;
  for (const std::int64_t at : verdict->places) {
    widest = std::max(widest, at - before);
    narrowest = std::min(narrowest, at - before);
    before = at;
  }
  EXPECT_LE(widest, 3 * narrowest);
}

TEST(RunVerdict, ShipsWhenTheCountAndTheEndsAreHeard) {
  RunEvidence run = run_of(500, {});
  std::int64_t heard = 0;
  RunVerdict verdict;
  while (heard < 60) {
    const auto now = judge_run(run, risks);
    ASSERT_TRUE(now);
    verdict = *now;
    if (verdict.act != RunAct::hear_more) break;
    for (const std::int64_t at : verdict.places) {
      run.samples.push_back(good(at));
      --run.shippable;
      ++heard;
    }
  }
  EXPECT_EQ(verdict.act, RunAct::ship);
  EXPECT_EQ(verdict.lot, 500);
  EXPECT_EQ(verdict.flawed, 0);
}

TEST(RunVerdict, HoldsTooManyFlawedAndAllThatIsSuspect) {
  std::vector<Sample> samples;
  for (std::int64_t at = 10; at <= 100; at += 10) samples.push_back(flawed(at, false));
  EXPECT_EQ(judge_run(run_of(500, samples), risks)->act, RunAct::hold);
  RunEvidence all_suspect{.stretches = {{1, 200}}, .suspect = 200};
  EXPECT_EQ(judge_run(all_suspect, risks)->act, RunAct::hold);
  EXPECT_EQ(judge_run({}, risks)->act, RunAct::nothing);
}

// What a flawed sample put in doubt is held: it says nothing of the discs that are left.
TEST(RunVerdict, AContainedFaultDoesNotCount) {
  std::vector<Sample> samples;
  for (std::int64_t k = 1; k <= 45; ++k) samples.push_back(good(8 * k));
  samples.push_back(flawed(420, true));
  RunEvidence run{.stretches = {{1, 500}}, .samples = samples, .shippable = 315, .suspect = 139};
  const auto contained = judge_run(run, risks);
  ASSERT_TRUE(contained);
  EXPECT_EQ(contained->flawed, 0);
  EXPECT_EQ(contained->act, RunAct::ship);
  run.samples.back().contained = false;
  EXPECT_EQ(judge_run(run, risks)->flawed, 1);
}

TEST(RunVerdict, EveryMountingsEndIsHeard) {
  RunEvidence run{.stretches = {{1, 250}, {251, 500}}, .shippable = 440};
  for (std::int64_t k = 1; k <= 60; ++k) run.samples.push_back(good(8 * k));
  const auto verdict = judge_run(run, risks);
  ASSERT_TRUE(verdict);
  EXPECT_EQ(verdict->act, RunAct::hear_more);
  EXPECT_EQ(verdict->places, (std::vector<std::int64_t>{250, 500}));
  EXPECT_EQ(verdict->at_least, 2);
}

// Of ten discs one per cent and six and a half are both under one disc: none may be flawed.
TEST(RunVerdict, SmallLotsAreJudgedToo) {
  const auto verdict = judge_run(run_of(10, {good(10)}), risks);
  ASSERT_TRUE(verdict);
  EXPECT_EQ(verdict->act, RunAct::hear_more);
  EXPECT_LE(verdict->at_least, 10);
}

std::vector<HeardLot> lots(std::initializer_list<std::int64_t> flawed) {
  std::vector<HeardLot> all;
  for (const std::int64_t count : flawed)
    all.push_back({.name = "lot " + std::to_string(all.size() + 1), .lot = 500, .flawed = count});
  return all;
}

// Published: the switching rules of ISO 2859-1, clause 9, walked through by hand. A lot of 500, level II,
// limit 1.0: normal 50 1/2, tightened 80 1/2.
TEST(Switching, TightenedAfterTwoOfFiveAndBackAfterFive) {
  const auto history = judge_lots(lots({0, 2, 1, 0, 3, 0, 1, 0, 1, 0, 1}), {});
  ASSERT_TRUE(history);
  const auto& all = history->lots;
  EXPECT_FALSE(all[1].accepted);
  EXPECT_EQ(all[4].inspection, Inspection::normal);
  EXPECT_FALSE(all[4].accepted);  // the second of the last five
  EXPECT_EQ(all[5].inspection, Inspection::tightened);
  EXPECT_EQ(all[5].plan.stages[0], (SamplingStage{80, 1, 2}));
  EXPECT_EQ(all[9].inspection, Inspection::tightened);
  EXPECT_EQ(all[10].inspection, Inspection::normal);  // five accepted in a row
}

TEST(Switching, StopsAfterFiveUnderTightened) {
  const auto history = judge_lots(lots({2, 2, 2, 0, 2, 0, 2, 2, 0, 2}), {});
  ASSERT_TRUE(history);
  EXPECT_TRUE(history->stopped);
}

// The score, limit 1.0 with an acceptance number of 1: 2 a lot, so that 15 in a row make 30.
TEST(Switching, ReducedAtAScoreOfThirtyIfSteady) {
  std::vector<HeardLot> all = lots({0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0});
  EXPECT_EQ(judge_lots(all, {})->next, Inspection::normal);
  const auto history = judge_lots(all, {.steady = true});
  ASSERT_TRUE(history);
  EXPECT_EQ(history->lots[13].score, 28);
  EXPECT_EQ(history->lots[15].inspection, Inspection::reduced);
  EXPECT_EQ(history->lots[15].plan.stages[0], (SamplingStage{20, 0, 2}));
  all.back().flawed = 1;  // between the numbers: accepted, and back to normal
  const auto back = judge_lots(all, {.steady = true});
  EXPECT_TRUE(back->lots.back().accepted);
  EXPECT_EQ(back->next, Inspection::normal);
}

TEST(Switching, RefusesCountsThatCannotBe) {
  EXPECT_FALSE(judge_lots(lots({51}), {}));
  std::vector<HeardLot> few = lots({0});
  few[0].heard = 20;
  const auto refused = judge_lots(few, {});
  ASSERT_FALSE(refused);
  EXPECT_NE(refused.error().text.find("asks for 50"), std::string::npos);
}

}  // namespace
}  // namespace goodside::plan
