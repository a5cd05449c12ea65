#include "listen/disc_plays.hpp"

#include <gmock/gmock.h>

#include <array>
#include <cmath>
#include <numeric>
#include <vector>

#include "listen/bench_reports.hpp"
#include "listen/dust.hpp"
#include "listen/fault_places.hpp"

namespace goodside::listen {
namespace {

using test::add_fault;
using test::clean_play;
using test::Draws;
using works::After;
using works::Audibility;
using works::Owner;
using works::Showing;

works::Limits plain_faults_allowed(int count) {
  works::Limits limits;
  limits.plain_faults_per_side = count;
  return limits;
}

works::Limits offset_allowed_m(double eccentricity_m) {
  works::Limits limits;
  limits.eccentricity_m = eccentricity_m;
  return limits;
}

// --- fault_places

TEST(MatchPlaces, GathersFindingsWithinTheirJitterAndNoOthers) {
  std::vector plays{clean_play("1"), clean_play("2")};
  add_fault(plays[0], 100.0);
  add_fault(plays[1], 100.0005);
  add_fault(plays[0], 200.0);
  add_fault(plays[1], 200.01);
  const auto matched = match_places(plays);
  ASSERT_EQ(matched.places.size(), 3U);
  EXPECT_THAT(matched.places[0].plays, testing::ElementsAre(Showing::found, Showing::found));
  EXPECT_THAT(matched.places[1].plays, testing::ElementsAre(Showing::found, Showing::missed));
  EXPECT_THAT(matched.places[2].plays, testing::ElementsAre(Showing::missed, Showing::found));
  // rms of two findings 0.5 ms apart about their mean, one degree of freedom: 0.5 ms / sqrt(2)
  EXPECT_NEAR(*matched.jitter_s, 0.5e-3 / std::sqrt(2.0), 1e-9);
}

TEST(MatchPlaces, GrooveThatWasNotHeardIsNeverMissed) {
  std::vector plays{clean_play("1"), clean_play("2")};
  plays[1].heard = {{0.0, 60.0}};
  add_fault(plays[0], 100.0);
  add_fault(plays[0], 30.0);
  const auto matched = match_places(plays);
  ASSERT_EQ(matched.places.size(), 2U);
  EXPECT_EQ(matched.places[0].plays[1], Showing::missed);
  EXPECT_EQ(matched.places[1].plays[1], Showing::not_heard);
}

// Second road: strangers thrown at random over the side; how often one falls within the window.
TEST(MatchPlaces, TheChanceOfCoincidenceIsHowOftenStrangersCoincide) {
  Draws draws{7};
  constexpr int plays_drawn = 400, faults = 900;
  double foretold = 0.0, looked = 0.0;
  int hit = 0;
  for (int k = 0; k < plays_drawn; ++k) {
    std::vector plays{clean_play("1"), clean_play("2")};
    plays[0].heard = plays[1].heard = {{0.0, 60.0}};
    add_fault(plays[0], 30.0);
    for (int i = 0; i < faults; ++i) add_fault(plays[1], 60.0 * draws.uniform());
    const auto matched = match_places(plays);
    for (const auto& place : matched.places)
      if (place.plays[0] == Showing::found) {
        looked += 1.0;
        hit += place.plays[1] == Showing::found ? 1 : 0;
        foretold += place.coincidence[1];
      }
  }
  EXPECT_EQ(looked, plays_drawn);
  EXPECT_NEAR(hit, foretold, 4.0 * std::sqrt(foretold));
}

// --- dust

/// Second road: every story of a place told to its end, and its chance multiplied out.
double by_all_stories(const Sightings& seen) {
  const std::size_t n = seen.plays.size();
  const auto story = [&](std::size_t from, std::size_t to) {  // there in plays from <= p < to
    double chance = 1.0;
    for (std::size_t p = 0; p < n; ++p) {
      if (seen.plays[p] == Showing::not_heard) continue;
      const bool there = p >= from && p < to;
      const double c = seen.coincidence[p];
      const double found = there ? seen.detection + c - seen.detection * c : c;
      chance *= seen.plays[p] == Showing::found ? found : 1.0 - found;
    }
    return chance;
  };
  const double disc = seen.disc_prior * story(0, n);
  double dust = 0.0;
  for (std::size_t from = 0; from < n; ++from) {
    const double comes = from == 0 ? 0.8 : 0.2 / static_cast<double>(n - 1);
    double stays = 1.0;
    for (std::size_t to = from + 1; to <= n; ++to) {
      const double goes = to == n ? 1.0 : removal_chance(seen.after[to]);
      dust += (1.0 - seen.disc_prior) * comes * stays * goes * story(from, to);
      stays *= 1.0 - (to == n ? 0.0 : removal_chance(seen.after[to]));
    }
  }
  return disc / (disc + dust);
}

TEST(DiscProbability, AgreesWithEveryStoryToldOut) {
  Draws draws{3};
  constexpr std::array words{After::as_found, After::brushed, After::washed, After::reseated};
  constexpr std::array shown{Showing::found, Showing::missed, Showing::not_heard};
  for (int k = 0; k < 500; ++k) {
    const auto n = static_cast<std::size_t>(2.0 + 4.0 * draws.uniform());
    std::vector<Showing> plays;
    std::vector<After> after;
    std::vector<double> coincidence;
    for (std::size_t p = 0; p < n; ++p) {
      plays.push_back(shown[static_cast<std::size_t>(3.0 * draws.uniform())]);
      after.push_back(words[static_cast<std::size_t>(4.0 * draws.uniform())]);
      coincidence.push_back(0.2 * draws.uniform() + 1e-6);
    }
    const Sightings seen{.plays = plays,
                         .after = after,
                         .coincidence = coincidence,
                         .detection = 0.5 + 0.49 * draws.uniform(),
                         .disc_prior = 0.1 + 0.8 * draws.uniform()};
    EXPECT_NEAR(disc_probability(seen), by_all_stories(seen), 1e-12);
  }
}

// Property: the probability means what it says, on places drawn by the stated chances: of those
// called x % the disc's, x % are.
TEST(DiscProbability, IsCalibratedOnDrawnPlaces) {
  Draws draws{11};
  const std::vector after{After::as_found, After::brushed, After::reseated, After::washed};
  const std::vector<double> coincidence(after.size(), 1e-3);
  constexpr double finds = 0.8;
  std::array<double, 5> said{}, was{}, count{};
  for (int k = 0; k < 40000; ++k) {
    const bool disc = draws.chance(0.5);
    const std::size_t from =
        disc || draws.chance(0.8) ? 0 : 1 + static_cast<std::size_t>(3.0 * draws.uniform());
    bool there = false;
    std::vector<Showing> plays;
    for (std::size_t p = 0; p < after.size(); ++p) {
      if (p == from) there = true;
      if (p > from && !disc && draws.chance(removal_chance(after[p]))) there = false;
      const bool found = (there && draws.chance(finds)) || draws.chance(coincidence[p]);
      plays.push_back(found ? Showing::found : Showing::missed);
    }
    const double probability = disc_probability(
        {.plays = plays, .after = after, .coincidence = coincidence, .detection = finds});
    const auto bin = std::min<std::size_t>(4, static_cast<std::size_t>(5.0 * probability));
    count[bin] += 1.0;
    said[bin] += probability;
    was[bin] += disc ? 1.0 : 0.0;
  }
  for (std::size_t bin = 0; bin < count.size(); ++bin) {
    if (count[bin] == 0.0) continue;
    EXPECT_NEAR(was[bin], said[bin], 4.0 * std::sqrt(0.25 * count[bin])) << bin;
  }
}

TEST(DiscPlays, WhatBrushingTakesIsDustAndWhatStaysIsTheDiscs) {
  std::vector plays{clean_play("found.wav"), clean_play("brushed.wav")};
  for (auto& play : plays) add_fault(play, 100.0);
  add_fault(plays[0], 200.0);
  const std::vector after{After::as_found, After::brushed};
  const auto all = compare_plays(plays, after, plain_faults_allowed(1));
  ASSERT_TRUE(all) << all.error().text;
  ASSERT_EQ(all->places.size(), 2U);
  EXPECT_EQ(all->places[0].owner, Owner::disc);
  EXPECT_EQ(all->places[1].owner, Owner::dust);
  // Two plain faults were heard at first; the one that is the disc's is within the limit.
  EXPECT_TRUE(all->verdict.pass);
  EXPECT_EQ(all->plays[0].plain_faults, 2);
  const auto strict = compare_plays(plays, after, plain_faults_allowed(0));
  ASSERT_TRUE(strict);
  EXPECT_FALSE(strict->verdict.pass);
  EXPECT_EQ(strict->verdict.reasons.front().value, 1.0);
}

TEST(DiscPlays, ASlightFaultMissedOnceIsNotProofOfDust) {
  std::vector plays{clean_play("found.wav"), clean_play("brushed.wav")};
  add_fault(plays[0], 100.0, Audibility::slight);
  const auto all = compare_plays(plays, std::vector{After::as_found, After::brushed}, {});
  ASSERT_TRUE(all);
  EXPECT_EQ(all->places[0].owner, Owner::undecided);
  EXPECT_LT(all->places[0].disc_probability, 0.5);
}

TEST(DiscPlays, APlayThatDidNotHearThePlaceChangesNothing) {
  std::vector plays{clean_play("found.wav"), clean_play("brushed.wav")};
  plays[1].heard = {{0.0, 60.0}};
  add_fault(plays[0], 100.0);
  const auto all = compare_plays(plays, std::vector{After::as_found, After::brushed}, {});
  ASSERT_TRUE(all);
  EXPECT_EQ(all->places[0].owner, Owner::undecided);
  EXPECT_GE(all->places[0].disc_probability, 0.5);
}

TEST(DiscPlays, SecondLooksTeachHowSurelyFaultsAreFound) {
  std::vector plays{clean_play("1"), clean_play("2"), clean_play("3")};
  for (int k = 0; k < 40; ++k)
    for (std::size_t p = 0; p < 3; ++p)
      if (p != 1 || k % 2 == 0) add_fault(plays[p], 20.0 + 25.0 * k, Audibility::slight);
  const std::vector after{After::as_found, After::reseated, After::brushed};
  const auto all = compare_plays(plays, after, {});
  ASSERT_TRUE(all);
  // 40 sure looks of which 20 found, beside 10 of the prior's 0.8: (8 + 20)/50.
  EXPECT_EQ(all->detection.slight_trials, 40);
  EXPECT_NEAR(all->detection.slight, 0.56, 1e-12);
}

TEST(DiscPlays, TheVerdictTakesTheHolesOffset) {
  std::vector plays{clean_play("1"), clean_play("2")};
  plays[0].wow.eccentricity_m = plays[1].wow.eccentricity_m = 250e-6;
  plays[0].wow.eccentricity_direction_deg = 60.0;
  plays[1].wow.eccentricity_direction_deg = 180.0;
  const auto all =
      compare_plays(plays, std::vector{After::as_found, After::reseated}, offset_allowed_m(200e-6));
  ASSERT_TRUE(all);
  EXPECT_NEAR(*all->hole.eccentricity_m, 125e-6, 1e-9);  // 250 um cos 60 deg
  EXPECT_NEAR(*all->hole.eccentricity_direction_deg, 120.0, 1e-9);
  EXPECT_TRUE(all->verdict.pass);
}

TEST(DiscPlays, RefusesWhatCannotBeCompared) {
  std::vector plays{clean_play("a.wav"), clean_play("b.wav")};
  const std::vector after{After::as_found, After::brushed};
  const auto refusal = [&](auto change) {
    auto changed = plays;
    change(changed);
    const auto all = compare_plays(changed, std::span{after}.first(changed.size()), {});
    return all ? std::string{"taken"} : all.error().text;
  };
  EXPECT_THAT(refusal([](auto& p) { p.resize(1); }), testing::HasSubstr("two or more"));
  EXPECT_THAT(refusal([](auto& p) { p[1].reference.reset(); }), testing::HasSubstr("b.wav"));
  EXPECT_THAT(refusal([](auto& p) { p[1].alignment->found = false; }),
              testing::HasSubstr("not found"));
  EXPECT_THAT(refusal([](auto& p) { p[1].reference->file.sha256 = "other"; }),
              testing::HasSubstr("another cut"));
}

}  // namespace
}  // namespace goodside::listen
