#include "trace/attribute.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <numbers>

#include "trace/detectability.hpp"
#include "trace/small_works.hpp"

namespace goodside::trace {
namespace {

constexpr double pi = std::numbers::pi;

struct Made {
  test::SmallWorks works;
  FamilyIndex index;
  Coincidences found;
  Candidate candidate;
};

/// One candidate of chosen discs, with rates and jitter as they are learned.
Made made(test::SmallWorks works, double programme_s, const std::vector<int>& on_heard) {
  works.strays = 2.0;
  works.make();
  FamilyIndex index = index_side(works.family, works.plays, works::DiscSide::A);
  for (const int h : on_heard)
    works.plays[static_cast<std::size_t>(h)].faults.push_back(
        {.programme_s = programme_s + 2e-5 * (h % 3 - 1), .excess_dB = 12.0F});
  Coincidences found = coincide(index, works.plays);
  Candidate candidate{.programme_s = programme_s, .sigma_s = 1e-4, .chance = 0.0, .events = {}};
  for (std::size_t e = 0; e < found.events.size(); ++e)
    if (std::abs(found.events[e].programme_s - programme_s) < 1e-3)
      candidate.events.push_back(static_cast<int>(e));
  return {std::move(works), std::move(index), std::move(found), std::move(candidate)};
}

/// Brute force: every impression as an onset, every later one as an end, product over the discs in
/// the linear domain. Written from the model's description, not from its code.
class BruteForce {
 public:
  BruteForce(const Made& made, const Beliefs& beliefs) : made_{made}, beliefs_{beliefs} {
    const auto gains =
        made.found.marks.gains(made.works.plays, made.found.events, made.candidate.events);
    for (std::size_t i = 0; i < gains.size(); ++i)
      find_[made.found.events[static_cast<std::size_t>(made.candidate.events[i])].heard] = {
          &made.found.events[static_cast<std::size_t>(made.candidate.events[i])], gains[i]};
  }

  std::map<std::string, double> posterior() {
    std::map<std::string, double> all;
    double levels = 0.0, sum = 0.0;
    for (const Level level :
         {Level::cut, Level::father, Level::mother, Level::stamper, Level::mounting, Level::press})
      levels += beliefs_.share[static_cast<std::size_t>(level)];
    const int mothers = made_.works.mothers, each = made_.works.stampers_each;
    const double above_dB = *made_.found.marks.above_floor_dB(
        made_.works.plays, made_.found.events, made_.candidate.events);
    const ByDetection prior = detection_prior(beliefs_.log_hearing, above_dB);
    for (std::size_t p = 0; p < detection_count; ++p) {
      const double w = prior[p] / levels;
      const auto share = [&](Level level, int nodes) {
        return w * beliefs_.share[static_cast<std::size_t>(level)] / nodes;
      };
      all["C1"] += share(Level::cut, 1) * product(p, [](std::int64_t) { return true; });
      all["F1"] += share(Level::father, 1) *
                   growers(p, Level::father, mothers, [&](int child, std::int64_t n) {
                     return stamper_of(n) / each == child;
                   });
      for (int m = 0; m < mothers; ++m)
        all[fmt::format("M{}", m + 1)] +=
            share(Level::mother, mothers) *
            growers(p, Level::mother, each, [&](int child, std::int64_t n) {
              return stamper_of(n) == m * each + child;
            });
      for (int s = 0; s < mothers * each; ++s) {
        all[fmt::format("S{}", s + 1)] +=
            share(Level::stamper, mothers * each) * unit(p, Level::stamper, s);
        all[fmt::format("N{}", s + 1)] +=
            share(Level::mounting, mothers * each) * unit(p, Level::mounting, s);
      }
    }
    for (const auto& [id, value] : all) sum += value;
    for (auto& [id, value] : all) value /= sum;
    total_ = sum;
    return all;
  }

  [[nodiscard]] double total() const { return total_; }

 private:
  [[nodiscard]] int stamper_of(std::int64_t n) const {
    return static_cast<int>((n - 1) / made_.works.closings);
  }
  [[nodiscard]] std::int64_t impression_of(std::size_t heard) const {
    return made_.works.family.discs[static_cast<std::size_t>(made_.index.heard[heard].disc)]
        .impression->first;
  }

  /// Ratio of one disc; 0.4 % of labels lie.
  [[nodiscard]] double ratio(std::size_t heard, std::size_t p) const {
    const auto found = find_.find(static_cast<int>(heard));
    double r = 1.0 - detections[p];
    if (found != find_.end()) {
      const double sigma = made_.found.sigma_s[static_cast<std::size_t>(found->second.event->play)];
      const double u = (found->second.event->programme_s - made_.candidate.programme_s) / sigma;
      const double normal = std::exp(-0.5 * u * u) / (sigma * std::sqrt(2.0 * pi));
      const double wide = std::exp(-0.5 * u * u / 9.0) / (3.0 * sigma * std::sqrt(2.0 * pi));
      const double rate =
          made_.found.rate.per_s(static_cast<int>(heard), made_.candidate.programme_s);
      r += detections[p] * std::exp(found->second.gain) * (0.93 * normal + 0.07 * wide) / rate;
    }
    return 0.996 * r + 0.004;
  }

  template <class Touches>
  [[nodiscard]] double product(std::size_t p, const Touches& touches) const {
    double all = 1.0;
    for (std::size_t h = 0; h < made_.index.heard.size(); ++h)
      if (touches(impression_of(h))) all *= ratio(h, p);
    return all;
  }

  /// Children a .. b - 1 of n are touched.
  template <class Of>
  [[nodiscard]] double growers(std::size_t p, Level level, int children, const Of& of) const {
    const double birth = beliefs_.birth[static_cast<std::size_t>(level)];
    const double ceases = beliefs_.ceases[static_cast<std::size_t>(level)];
    double sum = 0.0;
    for (int a = 0; a < children; ++a) {
      const double onset = a == 0 ? birth : (1.0 - birth) / (children - 1);
      const int ends = children - 1 - a;
      for (int b = a + 1; b <= children; ++b) {
        const double prior = b == children ? (ends > 0 ? 1.0 - ceases : 1.0) : ceases / ends;
        sum += onset * prior * product(p, [&](std::int64_t n) {
                 for (int c = a; c < b; ++c)
                   if (of(c, n)) return true;
                 return false;
               });
      }
    }
    return sum;
  }

  /// A stamper or its only mounting: every impression.
  [[nodiscard]] double unit(std::size_t p, Level level, int s) const {
    const double birth = beliefs_.birth[static_cast<std::size_t>(level)];
    const double ceases = beliefs_.ceases[static_cast<std::size_t>(level)];
    const std::int64_t closings = made_.works.closings, first = s * closings + 1,
                       last = first + closings - 1;
    std::vector<std::int64_t> heard;
    for (std::size_t h = 0; h < made_.index.heard.size(); ++h)
      if (stamper_of(impression_of(h)) == s) heard.push_back(impression_of(h));
    double sum = 0.0;
    for (std::int64_t x = first; !heard.empty() && x <= heard.back(); ++x) {
      const double onset =
          (x == first ? birth : 0.0) + (1.0 - birth) / static_cast<double>(closings);
      // An end behind the same next heard disc as the onset touches nothing, and is not counted.
      std::int64_t next = heard.back();
      for (const std::int64_t n : heard)
        if (n >= x) next = std::min(next, n);
      const double ends = static_cast<double>(last - next);
      const auto with_end = [&](std::int64_t e) {
        return product(p, [&](std::int64_t n) { return stamper_of(n) == s && n >= x && n < e; });
      };
      double here = (ends > 0.0 ? 1.0 - ceases : 1.0) * with_end(last + 1);
      for (std::int64_t e = next + 1; e <= last; ++e) here += ceases / ends * with_end(e);
      sum += onset * here;
    }
    return sum;
  }

  struct Find {
    const Event* event;
    double gain;
  };
  const Made& made_;
  const Beliefs& beliefs_;
  std::map<int, Find> find_;
  double total_{};
};

std::string id_of(const FamilyIndex& index, const Weighed& cause) {
  return cause.level >= Level::stamper ? index.units[static_cast<std::size_t>(cause.number)].id
                                       : index.growers[static_cast<std::size_t>(cause.number)].id;
}

void expect_like_brute_force(const Made& made) {
  Beliefs beliefs;
  beliefs.share[static_cast<std::size_t>(Level::press)] = 0.0;
  beliefs.share[static_cast<std::size_t>(Level::batch)] = 0.0;
  const Attributor attributor{made.index, made.works.plays, made.found, {}, beliefs};
  const Attribution found = attributor.explain(made.candidate);
  BruteForce brute{made, beliefs};
  const auto expected = brute.posterior();
  std::map<std::string, double> given;
  for (const Weighed& cause : found.causes) given[id_of(made.index, cause)] += cause.posterior;
  for (const auto& [id, value] : expected) {
    if (value < 2e-5) continue;
    EXPECT_NEAR(given[id], value, 1e-6) << id;
  }
  double weight = 0.0;
  for (const int e : made.candidate.events) {
    const double sigma =
        made.found
            .sigma_s[static_cast<std::size_t>(made.found.events[static_cast<std::size_t>(e)].play)];
    weight += 1.0 / (sigma * sigma);
  }
  const double odds =
      beliefs.recurring / made.index.length_s * std::sqrt(2.0 * pi / weight) * brute.total();
  EXPECT_NEAR(found.log_odds, std::log(odds), 1e-6);
}

// Second road: brute-force Bayes over every node, impression of onset and impression of end.
TEST(Attribute, EqualsBruteForceWhereAStamperHasIt) {
  expect_like_brute_force(
      made({.closings = 60, .step = 12, .planted = {}}, 500.0, {5, 6, 7, 8, 9}));
}
TEST(Attribute, EqualsBruteForceWhereItBeganInMidLife) {
  expect_like_brute_force(made({.closings = 60, .step = 12, .planted = {}}, 400.0, {2, 3, 4}));
}
TEST(Attribute, EqualsBruteForceWhereItCameAndWent) {
  expect_like_brute_force(made({.closings = 60, .step = 12, .planted = {}}, 400.0, {11, 12}));
}
TEST(Attribute, EqualsBruteForceWhereAMotherHasIt) {
  expect_like_brute_force(
      made({.closings = 60, .step = 12, .planted = {}}, 300.0, {10, 11, 12, 14, 15, 16, 18, 19}));
}
TEST(Attribute, EqualsBruteForceWhereAllHaveIt) {
  expect_like_brute_force(
      made({.mothers = 3, .stampers_each = 2, .closings = 40, .step = 20, .planted = {}},
           200.0,
           {0, 1, 2, 3, 4, 5, 6, 8, 9, 10, 11}));
}
TEST(Attribute, EqualsBruteForceWhereItIsNothingInParticular) {
  expect_like_brute_force(made({.closings = 60, .step = 12, .planted = {}}, 700.0, {1, 13}));
}

}  // namespace
}  // namespace goodside::trace
