#include "plan/renewal.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <tuple>
#include <utility>

#include "base/expects.hpp"
#include "stats/discrete.hpp"
#include "stats/interval.hpp"

namespace goodside::plan {
namespace {

constexpr int most_stampers = 400;
constexpr double fine = 40.0, coarse = 10.0;
constexpr int many = 150;
constexpr double least_mass = 1e-16;

/// Chance masses of a life that ends before the pull, by lattice cells about each point.
std::vector<double> cells_of(const LifeLaw& law, double age, double step, std::size_t points) {
  const LifeLaw unpulled{.causes = law.causes};
  const double now = unpulled.survival(age);
  std::vector<double> mass(points, 0.0);
  const double end =
      law.pull_closings ? *law.pull_closings - age : std::numeric_limits<double>::infinity();
  double survived = 1.0;
  for (std::size_t j = 0; j < points; ++j) {
    const double edge = std::min((static_cast<double>(j) + 0.5) * step, end);
    const double next = now > 0.0 ? unpulled.survival(age + edge) / now : 0.0;
    mass[j] = std::max(0.0, survived - next);
    survived = next;
  }
  return mass;
}

std::vector<double> convolved(const std::vector<double>& sums, const std::vector<double>& life) {
  std::vector<double> out(sums.size(), 0.0);
  std::size_t from = 0, to = life.size();
  while (to > 0 && life[to - 1] < least_mass) --to;
  while (from < to && life[from] < least_mass) ++from;
  for (std::size_t j = from; j < to; ++j) {
    const double mass = life[j];
    for (std::size_t i = 0; i + j < out.size(); ++i) out[i + j] += mass * sums[i];
  }
  return out;
}

/// From the masses of 0 lives on, added up from nought.
std::vector<std::vector<double>> added_up(std::vector<double> sums,
                                          const std::vector<double>& life,
                                          int most) {
  std::vector<std::vector<double>> all;
  for (int k = 0; k <= most; ++k) {
    if (k > 0) sums = convolved(sums, life);
    all.push_back(sums);
    for (std::size_t i = 1; i < all.back().size(); ++i) all.back()[i] += all.back()[i - 1];
  }
  return all;
}

double log_choose(int n, int k) {
  return std::lgamma(n + 1.0) - std::lgamma(k + 1.0) - std::lgamma(n - k + 1.0);
}

/// What a life is longer than its lattice's, in the mean: the first cell has no lower half, which tells
/// where many die young.
double excess_of(const LifeLaw& law, double step, std::size_t points) {
  const double end =
      std::min(static_cast<double>(points) * step, law.pull_closings.value_or(1e300));
  const LifeLaw unpulled{.causes = law.causes};
  double on_lattice = 0.0, at = 0.0;
  for (; (at + 1.0) * step <= end; at += 1.0)
    on_lattice += step * unpulled.survival((at + 0.5) * step);
  const LifeLaw cut{.causes = law.causes, .pull_closings = at * step};
  return at > 0.0 ? cut.mean_closings() - on_lattice : 0.0;
}

double step_for(const LifeLaw& law, double closings, int most) {
  const double deviation = 0.5 * (law.age_of(0.84) - law.age_of(0.16));
  const double step = std::max(deviation, 1e-6 * law.age_of(0.5)) / (most < many ? fine : coarse);
  return std::min(step, closings / 512.0);
}

}  // namespace

StamperSupply::StamperSupply(const LifeLaw& law, double most_closings, int most, double first_age)
    : step_{step_for({.causes = law.causes}, most_closings, most)},
      pull_{law.pull_closings.value_or(std::numeric_limits<double>::infinity())},
      aged_{first_age > 0.0} {
  EXPECTS(most >= 0 && most_closings > 0.0);
  const LifeLaw unpulled{.causes = law.causes};
  const auto points = static_cast<std::size_t>(std::ceil(most_closings / step_)) + 2;
  std::vector<double> none(points, 0.0);
  none[0] = 1.0;
  const auto life = cells_of(law, 0.0, step_, points);
  reaches_pull_ = law.pull_closings ? unpulled.survival(pull_) : 0.0;
  excess_ = excess_of(law, step_, points);
  sums_ = added_up(none, life, most);
  if (!aged_) return;
  first_pull_ = pull_ - first_age;
  first_reaches_ =
      law.pull_closings ? unpulled.survival(pull_) / unpulled.survival(first_age) : 0.0;
  aged_sums_ = added_up(cells_of(law, first_age, step_, points), life, std::max(most - 1, 0));
}

/// Chance mass of sums under `closings`: a cell lies half a step to both sides of its point.
double StamperSupply::below(const Masses& sums, double closings) const {
  if (closings <= 0.0) return 0.0;
  const double at = closings / step_ + 0.5;
  const auto whole = static_cast<std::size_t>(std::floor(at));
  EXPECTS(whole < sums.size() + 1);
  if (whole == 0) return sums[0] * 2.0 * (at - 0.5);  // the first cell has no lower half
  const double under = sums[whole - 1];
  const double next = whole < sums.size() ? sums[whole] - under : 0.0;
  return under + next * (at - static_cast<double>(whole));
}

double StamperSupply::new_ones(int stampers, double closings) const {
  if (closings <= 0.0) return 1.0;
  const double q = reaches_pull_;
  double chance = 0.0;
  for (int i = 0; i <= stampers; ++i) {
    if (i > 0 && q <= 0.0) break;
    const int ended = stampers - i;
    const double left = closings - (i > 0 ? i * pull_ : 0.0);
    const double all = std::pow(1.0 - q, ended);
    // No life at all is under any threshold above nought.
    const double under =
        ended == 0 ? (left > 0.0 ? 1.0 : 0.0)
                   : below(sums_[static_cast<std::size_t>(ended)], left - ended * excess_);
    const double ways = i > 0 ? std::exp(log_choose(stampers, i) + i * std::log(q)) : 1.0;
    chance += ways * std::max(0.0, all - under);
  }
  return std::clamp(chance, 0.0, 1.0);
}

double StamperSupply::enough(int stampers, double closings) const {
  if (closings <= 0.0) return 1.0;
  if (stampers <= 0) return 0.0;
  EXPECTS(stampers < static_cast<int>(sums_.size()));
  if (!aged_) return new_ones(stampers, closings);
  const int others = stampers - 1;
  double chance =
      first_reaches_ > 0.0 ? first_reaches_ * new_ones(others, closings - first_pull_) : 0.0;
  const double q = reaches_pull_;
  for (int i = 0; i <= others; ++i) {
    if (i > 0 && q <= 0.0) break;
    const int ended = others - i;
    const double left = closings - (i > 0 ? i * pull_ : 0.0);
    const double all = (1.0 - first_reaches_) * std::pow(1.0 - q, ended);
    const double ways = i > 0 ? std::exp(log_choose(others, i) + i * std::log(q)) : 1.0;
    chance += ways * std::max(0.0,
                              all - below(aged_sums_[static_cast<std::size_t>(ended)],
                                          left - ended * excess_));
  }
  return std::clamp(chance, 0.0, 1.0);
}

double StamperDemand::closings_of(double own, double other) const {
  return impressions + warm_up * (own + other - 1.0) + unnoticed * (other - 1.0);
}

namespace {

Outcome check(const LifeBelief& belief, const StamperDemand& demand, double chance) {
  for (const auto& one : belief)
    if (const auto checked = check(one.law); !checked) return checked.error();
  const auto amount = [](double value) { return std::isfinite(value) && value >= 0.0; };
  if (belief.empty() || !(demand.impressions >= 1.0) || !amount(demand.impressions) ||
      !amount(demand.warm_up) || !amount(demand.unnoticed) || !amount(demand.age_a) ||
      !amount(demand.age_b) || demand.hand_a < 0 || demand.hand_b < 0 ||
      !(demand.yield >= 0.05 && demand.yield <= 1.0) || !(chance > 0.0 && chance < 1.0))
    return Error{Fault::out_of_range,
                 "impressions must be 1 or more, nothing negative, a yield 5 % or more, and the "
                 "chance between 0 and 1"};
  return Done{};
}

/// A number of good stampers a side that is surely enough: the mean of the shortest-lived law and what
/// lies beyond it.
int surely(const LifeBelief& belief, const StamperDemand& demand, double chance) {
  const double left_out = 0.02 * (1.0 - chance);
  double shortest = std::numeric_limits<double>::infinity();
  for (const auto& [weight, law] : belief)
    if (weight > left_out) shortest = std::min(shortest, law.mean_closings());
  // Each stamper brings its own overhead of closings.
  const double overhead = (2.0 * demand.warm_up + demand.unnoticed) / shortest;
  const double lives = overhead < 0.9 ? demand.impressions / shortest / (1.0 - overhead)
                                      : std::numeric_limits<double>::infinity();
  const double z = -stats::normal_quantile(left_out);
  const double most = std::ceil(lives + z * std::sqrt(lives + 1.0) + 4.0);
  return most > most_stampers ? most_stampers + 1 : static_cast<int>(most);
}

/// Chances of every number of good ones, and of those begun.
class Supplies {
 public:
  Supplies(const LifeBelief& belief, const StamperDemand& demand, int most)
      : belief_{belief}, demand_{demand}, most_{most} {
    const double furthest = demand.closings_of(most, most);
    for (const auto& [weight, law] : belief) {
      a_.emplace_back(law, furthest, most, demand.age_a);
      if (demand.age_a != demand.age_b) b_.emplace_back(law, furthest, most, demand.age_b);
    }
    const auto side = static_cast<std::size_t>(most) + 1;
    known_.assign(side * side, -1.0);
    find_used();
  }

  /// Of so many good ones.
  [[nodiscard]] double good(int a, int b) {
    a = std::min(a, most_);
    b = std::min(b, most_);
    double& chance = known_[static_cast<std::size_t>(a) * (static_cast<std::size_t>(most_) + 1) +
                            static_cast<std::size_t>(b)];
    if (chance >= 0.0) return chance;
    chance = 0.0;
    if (a == 0 || b == 0) return chance;
    for (std::size_t i = 0; i < belief_.size(); ++i)
      chance += belief_[i].weight * a_[i].enough(a, demand_.closings_of(a, b)) *
                other(i).enough(b, demand_.closings_of(b, a));
    return chance;
  }

  /// Of so many begun, with what is in the house.
  [[nodiscard]] StamperChoice begun(int a, int b) {
    StamperChoice choice{.a = a, .b = b};
    for (int good_a = 0; good_a <= a; ++good_a) {
      const double of_a = come_out(good_a, a);
      choice.missing += of_a * wanting(true, demand_.hand_a + good_a);
      if (of_a < 1e-12) continue;
      for (int good_b = 0; good_b <= b; ++good_b)
        choice.enough +=
            of_a * come_out(good_b, b) * good(demand_.hand_a + good_a, demand_.hand_b + good_b);
    }
    for (int good_b = 0; good_b <= b; ++good_b)
      choice.missing += come_out(good_b, b) * wanting(false, demand_.hand_b + good_b);
    return choice;
  }
  [[nodiscard]] double used(bool side_a) const { return side_a ? used_a_ : used_b_; }

 private:
  [[nodiscard]] const StamperSupply& other(std::size_t i) const {
    return b_.empty() ? a_[i] : b_[i];
  }

  /// Chance that `good` of the begun come out good.
  [[nodiscard]] double come_out(int good, int begun) const {
    const double y = demand_.yield;
    if (y >= 1.0) return good == begun ? 1.0 : 0.0;
    return std::exp(log_choose(begun, good) + good * std::log(y) + (begun - good) * std::log1p(-y));
  }

  /// Mean number used, and how many are wanting beyond each, over closings as they are in the mean.
  void find_used() {
    constexpr int rounds = 4;
    for (int round = 0; round < rounds; ++round) {
      const double before_a = used_a_, before_b = used_b_;
      tails_a_ = tails(true, demand_.closings_of(before_a, before_b));
      tails_b_ = tails(false, demand_.closings_of(before_b, before_a));
      used_a_ = 1.0 + tails_a_[1];
      used_b_ = 1.0 + tails_b_[1];
    }
  }
  /// tails[k]: sum over j >= k of the chance that j are not enough.
  [[nodiscard]] std::vector<double> tails(bool side_a, double closings) const {
    std::vector<double> sums(static_cast<std::size_t>(most_) + 2, 0.0);
    for (int k = most_; k >= 0; --k) {
      double lacks = 0.0;
      for (std::size_t i = 0; i < belief_.size(); ++i)
        lacks += belief_[i].weight * (1.0 - (side_a ? a_[i] : other(i)).enough(k, closings));
      sums[static_cast<std::size_t>(k)] = sums[static_cast<std::size_t>(k) + 1] + lacks;
    }
    return sums;
  }
  [[nodiscard]] double wanting(bool side_a, int good) const {
    return (side_a ? tails_a_ : tails_b_)[static_cast<std::size_t>(std::min(good, most_ + 1))];
  }

  const LifeBelief& belief_;
  const StamperDemand& demand_;
  int most_;
  std::vector<StamperSupply> a_, b_;
  std::vector<double> known_, tails_a_, tails_b_;
  double used_a_{1.0}, used_b_{1.0};
};

/// The best split of so many begun: it lies near where both sides have as many good ones.
StamperChoice best_of(Supplies& supplies, const StamperDemand& demand, int all) {
  StamperChoice best{.a = -1};
  const double middle = 0.5 * (all + (demand.hand_b - demand.hand_a) / demand.yield);
  constexpr double off = 2.5;
  for (int a = 0; a <= all; ++a) {
    const double nearest = std::clamp(middle, 0.0, static_cast<double>(all));
    if (std::abs(a - nearest) > off) continue;
    const StamperChoice choice = supplies.begun(a, all - a);
    if (best.a < 0 || choice.enough > best.enough + 1e-12) best = choice;
  }
  return best;
}

/// The fewest good ones that last, were none in the house.
std::pair<int, int> fewest_good(Supplies& supplies, int most, double chance) {
  for (int all = 2; all <= 2 * most; ++all)
    for (const int a : {(all + 1) / 2, all / 2})
      if (supplies.good(a, all - a) >= chance) return {a, all - a};
  return {0, 0};
}

/// Were both scrapped when one ends: a pair lives as long as the shorter of its lives. As many pairs as
/// stampers would do, since each end then takes a pair instead of one.
int whole_pairs(const LifeBelief& belief, const StamperDemand& demand, int pairs, double chance) {
  const auto closings = [&](int k) { return demand.impressions + demand.warm_up * k; };
  std::vector<StamperSupply> supplies;
  for (const auto& one : belief) {
    LifeLaw law = one.law;
    law.causes.insert(law.causes.end(), one.law.causes.begin(), one.law.causes.end());
    supplies.emplace_back(law, closings(pairs), pairs);
  }
  for (int k = 1; k <= pairs; ++k) {
    double enough = 0.0;
    for (std::size_t i = 0; i < belief.size(); ++i)
      enough += belief[i].weight * supplies[i].enough(k, closings(k));
    if (enough >= chance) return k;
  }
  return 0;
}

}  // namespace

Result<StamperNeed> stamper_need(const LifeBelief& belief,
                                 const StamperDemand& demand,
                                 const StamperCosts& costs,
                                 double chance) {
  if (const auto checked = check(belief, demand, chance); !checked) return checked.error();
  const int most = surely(belief, demand, chance);
  if (most > most_stampers)
    return Error{
        Fault::out_of_range,
        fmt::format("{:g} impressions would take more than {} stampers a side, or a mounting "
                    "wears more than it presses; split the order or mend the lives",
                    demand.impressions,
                    most_stampers)};
  Supplies supplies{belief, demand, most};
  StamperNeed need{.cheapest = {.a = -1}};
  std::optional<StamperChoice> chosen;
  const int most_begun = static_cast<int>(std::ceil(2.0 * most / demand.yield)) + 20;
  for (int all = 0; all <= most_begun; ++all) {
    StamperChoice best = best_of(supplies, demand, all);
    best.cost =
        all * costs.stamper + best.missing * (costs.stamper / demand.yield + costs.shortage);
    if (need.cheapest.a < 0 || best.cost < need.cheapest.cost) need.cheapest = best;
    if (!chosen && best.enough >= chance) chosen = best;
    need.around.push_back(best);
    if (chosen && all >= chosen->all() + 3 && need.cheapest.cost < best.cost) break;
  }
  if (!chosen)
    return Error{Fault::out_of_range,
                 "no number of stampers within reach lasts with that chance; ask for less of it"};
  need.chosen = *chosen;
  need.used_a = supplies.used(true);
  need.used_b = supplies.used(false);
  std::tie(need.good_a, need.good_b) = fewest_good(supplies, most, chance);
  need.whole_pairs = whole_pairs(belief, demand, need.good_a + need.good_b + 2, chance);
  return need;
}

std::int64_t starts_for(std::int64_t wanted, double yield, double confidence) {
  if (wanted <= 0) return 0;
  return stats::trials_for({.wanted = wanted, .chance = yield, .confidence = confidence});
}

}  // namespace goodside::plan
