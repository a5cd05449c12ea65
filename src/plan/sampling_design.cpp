#include "plan/sampling_design.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <optional>

#include "stats/discrete.hpp"

namespace goodside::plan {
namespace {

constexpr std::int64_t largest_plan = 200'000;
constexpr double infinite = std::numeric_limits<double>::infinity();

/// Chance that a single sample holds `accept` flawed discs or fewer.
double ships(const DiscSource& source, std::int64_t heard, std::int64_t accept) {
  return source.lot == 0 ? stats::binomial_cdf(accept, heard, source.share)
                         : stats::hypergeometric_cdf(accept, {source.lot, source.flawed, heard});
}

Outcome check(const Risks& risks) {
  const auto within = [](double value) { return value > 0.0 && value < 1.0; };
  if (!within(risks.producer_risk) || !within(risks.consumer_risk) ||
      risks.producer_risk + risks.consumer_risk >= 1.0)
    return Error{Fault::out_of_range,
                 fmt::format("risks of {:g} and {:g}; each above 0, together below 1",
                             risks.producer_risk,
                             risks.consumer_risk)};
  if (!(risks.producer_quality >= 0.0) || !(risks.consumer_quality <= 1.0) ||
      !(risks.producer_quality < risks.consumer_quality))
    return Error{
        Fault::out_of_range,
        fmt::format("good lots with {:g} flawed and bad ones with {:g}; shares from 0 to 1, "
                    "the bad one greater",
                    risks.producer_quality,
                    risks.consumer_quality)};
  if (risks.lot < 0 || risks.lot > largest_plan)
    return Error{Fault::out_of_range,
                 fmt::format("a lot of {} discs; 1 to {}", risks.lot, largest_plan)};
  if (risks.lot == 0 && risks.producer_quality == 0.0)
    return Error{Fault::out_of_range,
                 "a process without any flawed disc; give the share that good ones have"};
  if (risks.lot > 0 && risks.good().flawed >= risks.bad().flawed)
    return Error{
        Fault::out_of_range,
        fmt::format("in a lot of {} discs {:g} and {:g} flawed are the same {} discs; part "
                    "the two further",
                    risks.lot,
                    risks.producer_quality,
                    risks.consumer_quality,
                    risks.bad().flawed)};
  return Done{};
}

DesignedPlan finish(const Risks& risks, std::vector<SamplingStage> stages, Boundaries boundaries) {
  DesignedPlan plan{.stages = std::move(stages), .boundaries = std::move(boundaries)};
  const WalkResult good = walk(plan.boundaries, risks.good());
  const WalkResult bad = walk(plan.boundaries, risks.bad());
  plan.producer_risk = good.holds;
  plan.consumer_risk = bad.ships;
  plan.heard_good = good.heard_mean;
  plan.heard_bad = bad.heard_mean;
  return plan;
}

/// The smallest n in [low, high] for which `holds`, which is false before it and true from it on.
template <class Holds>
std::optional<std::int64_t> first(std::int64_t low, std::int64_t high, const Holds& holds) {
  if (low > high || !holds(high)) return {};
  while (low < high) {
    const std::int64_t middle = low + (high - low) / 2;
    if (holds(middle))
      high = middle;
    else
      low = middle + 1;
  }
  return low;
}

Result<SamplingStage> single(const Risks& risks) {
  const DiscSource good = risks.good(), bad = risks.bad();
  const std::int64_t most = risks.lot > 0 ? risks.lot : largest_plan;
  for (std::int64_t accept = 0; accept <= most; ++accept) {
    const auto heard = first(accept + 1, most, [&](std::int64_t n) {
      return ships(bad, n, accept) <= risks.consumer_risk;
    });
    if (heard && ships(good, *heard, accept) >= 1.0 - risks.producer_risk)
      return SamplingStage{*heard, accept, accept + 1};
    if (!heard) break;
  }
  return Error{Fault::out_of_range,
               fmt::format("no plan of {} discs or fewer keeps both risks; part the qualities or "
                           "allow more risk",
                           most)};
}

class SequentialTest {
 public:
  explicit SequentialTest(const Risks& risks) : good_{risks.good()}, bad_{risks.bad()} {}

  /// log R(m, d).
  [[nodiscard]] double evidence(std::int64_t heard, std::int64_t flawed) const {
    const auto m = static_cast<double>(heard), d = static_cast<double>(flawed);
    if (good_.lot == 0)
      return d * std::log(bad_.share / good_.share) +
             (m - d) * (std::log1p(-bad_.share) - std::log1p(-good_.share));
    if (flawed > good_.flawed) return infinite;                     // worse than good
    if (heard - flawed > bad_.lot - bad_.flawed) return -infinite;  // better than bad
    return log_ways(bad_, m, d) - log_ways(good_, m, d);
  }

  /// The boundaries for log A and log B to `most` discs, the last of which decides.
  [[nodiscard]] Boundaries between(double log_b, double log_a, std::int64_t most) const {
    Boundaries plan;
    std::int64_t ship = -1, hold = 0;
    for (std::int64_t m = 1; m <= most; ++m) {
      while (ship + 1 <= m && evidence(m, ship + 1) <= log_b) ++ship;
      while (hold <= m && evidence(m, hold) < log_a) ++hold;
      plan.ship_at.push_back(ship);
      plan.hold_at.push_back(hold);
      if (ship + 1 >= hold) break;  // nothing is left between: a lot near its end
    }
    const double middle = 0.5 * (log_a + log_b);
    std::int64_t last = plan.ship_at.back();
    while (last + 1 < plan.hold_at.back() && evidence(plan.most(), last + 1) <= middle) ++last;
    plan.ship_at.back() = last;
    plan.hold_at.back() = last + 1;
    return plan;
  }

 private:
  static double log_choose(double n, double k) {
    return std::lgamma(n + 1.0) - std::lgamma(k + 1.0) - std::lgamma(n - k + 1.0);
  }
  static double log_ways(const DiscSource& lot, double m, double d) {
    const auto marked = static_cast<double>(lot.flawed);
    return log_choose(marked, d) + log_choose(static_cast<double>(lot.lot) - marked, m - d);
  }
  DiscSource good_, bad_;
};

/// Draws A and B together while the exact risks stay within those stated.
std::optional<Boundaries> tuned(const Risks& risks, const SequentialTest& test, std::int64_t most) {
  const DiscSource good = risks.good(), bad = risks.bad();
  double log_a = std::log((1.0 - risks.consumer_risk) / risks.producer_risk);
  double log_b = std::log(risks.consumer_risk / (1.0 - risks.producer_risk));
  const auto keeps = [&](double b, double a) {
    const Boundaries plan = test.between(b, a, most);
    return walk(plan, good).holds <= risks.producer_risk &&
           walk(plan, bad).ships <= risks.consumer_risk;
  };
  if (!keeps(log_b, log_a)) {
    // Wald's own lines keep the sum of the risks; these keep each of them, unless the end cuts in.
    log_a = -std::log(risks.producer_risk);
    log_b = std::log(risks.consumer_risk);
    if (!keeps(log_b, log_a)) return {};
  }
  constexpr int rounds = 3, halvings = 12;
  for (int round = 0; round < rounds; ++round)
    for (const bool upper : {true, false}) {
      double& moved = upper ? log_a : log_b;
      double kept = moved, lost = 0.0;
      for (int k = 0; k < halvings; ++k) {
        const double tried = 0.5 * (kept + lost);
        (keeps(upper ? log_b : tried, upper ? tried : log_a) ? kept : lost) = tried;
      }
      // The first round goes halfway, so that neither line takes all that the other could.
      moved = round == 0 ? 0.5 * (moved + kept) : kept;
      if (!keeps(log_b, log_a)) moved = kept;
    }
  return test.between(log_b, log_a, most);
}

}  // namespace

DiscSource Risks::good() const {
  return {lot,
          static_cast<std::int64_t>(std::floor(producer_quality * static_cast<double>(lot) + 1e-9)),
          producer_quality};
}

DiscSource Risks::bad() const {
  return {lot,
          static_cast<std::int64_t>(std::ceil(consumer_quality * static_cast<double>(lot) - 1e-9)),
          consumer_quality};
}

Result<DesignedPlan> design_single(const Risks& risks) {
  if (const auto checked = check(risks); !checked) return checked.error();
  const auto stage = single(risks);
  if (!stage) return stage.error();
  const std::vector<SamplingStage> stages{*stage};
  return finish(risks, stages, boundaries_of(stages, true));
}

Result<DesignedPlan> design_double(const Risks& risks) {
  if (const auto checked = check(risks); !checked) return checked.error();
  const auto one = single(risks);
  if (!one) return one.error();
  const DiscSource good = risks.good(), bad = risks.bad();
  std::optional<DesignedPlan> best;
  for (std::int64_t c2 = 1; c2 <= one->accept + 5; ++c2)
    for (std::int64_t c1 = 0; c1 < c2; ++c1)
      for (const std::int64_t ratio : {1, 2}) {
        const auto stages = [&](std::int64_t n) {
          return std::vector<SamplingStage>{{n, c1, c2 + 1}, {(1 + ratio) * n, c2, c2 + 1}};
        };
        const std::int64_t most =
            std::min(2 * one->heard, risks.lot > 0 ? risks.lot / (1 + ratio) : largest_plan);
        const auto n = first(c1 + 1, most, [&](std::int64_t each) {
          return walk(boundaries_of(stages(each), true), bad).ships <= risks.consumer_risk;
        });
        if (!n || walk(boundaries_of(stages(*n), true), good).holds > risks.producer_risk) continue;
        DesignedPlan plan = finish(risks, stages(*n), boundaries_of(stages(*n), true));
        if (!best || plan.heard_good < best->heard_good) best = std::move(plan);
      }
  if (best) return std::move(*best);
  return Error{Fault::out_of_range,
               "no double plan keeps both risks within this lot; take a single or sequential one"};
}

Result<DesignedPlan> design_sequential(const Risks& risks, std::int64_t most) {
  if (const auto checked = check(risks); !checked) return checked.error();
  const SequentialTest test{risks};
  std::int64_t allowed = most;
  if (allowed == 0) {
    const auto one = single(risks);
    if (!one) return one.error();
    allowed = 3 * one->heard;
  }
  if (risks.lot > 0) allowed = std::min(allowed, risks.lot);
  auto plan = tuned(risks, test, allowed);
  if (!plan && most == 0 && risks.lot > allowed) plan = tuned(risks, test, risks.lot);
  if (!plan)
    return Error{
        Fault::out_of_range,
        fmt::format("{} discs are too few for both risks; allow more discs or more risk", allowed)};
  return finish(risks, {}, std::move(*plan));
}

WaldLines wald_lines(const Risks& risks) {
  const double p0 = risks.producer_quality, p1 = risks.consumer_quality;
  const double a = risks.producer_risk, b = risks.consumer_risk;
  const double k = std::log(p1 * (1.0 - p0) / (p0 * (1.0 - p1)));
  WaldLines lines{.h1 = std::log((1.0 - a) / b) / k,
                  .h2 = std::log((1.0 - b) / a) / k,
                  .slope = std::log((1.0 - p0) / (1.0 - p1)) / k};
  const double s = lines.slope;
  lines.heard_good = ((1.0 - a) * lines.h1 - a * lines.h2) / (s - p0);
  lines.heard_bad = ((1.0 - b) * lines.h2 - b * lines.h1) / (p1 - s);
  lines.heard_at_slope = lines.h1 * lines.h2 / (s * (1.0 - s));
  lines.ships_at_slope = lines.h2 / (lines.h1 + lines.h2);
  return lines;
}

Boundaries boundaries_of(const WaldLines& lines, std::int64_t most) {
  Boundaries plan;
  for (std::int64_t m = 1; m <= most; ++m) {
    const double along = lines.slope * static_cast<double>(m);
    plan.ship_at.push_back(std::max<std::int64_t>(
        -1, static_cast<std::int64_t>(std::floor(along - lines.h1 + 1e-12))));
    plan.hold_at.push_back(static_cast<std::int64_t>(std::ceil(along + lines.h2 - 1e-12)));
  }
  const double middle = lines.slope * static_cast<double>(most) + 0.5 * (lines.h2 - lines.h1);
  plan.ship_at.back() = static_cast<std::int64_t>(std::floor(middle));
  plan.hold_at.back() = plan.ship_at.back() + 1;
  return plan;
}

namespace {

CurvePoint point_at(const Boundaries& plan, const DiscSource& source) {
  const WalkResult result = walk(plan, source);
  CurvePoint point{.share = source.share, .ships = result.ships, .heard = result.heard_mean};
  if (source.lot == 0) {
    point.outgoing = source.share * result.ships;
    point.inspected = result.heard_mean;
    return point;
  }
  point.outgoing = result.flawed_shipped / static_cast<double>(source.lot);
  point.inspected = result.inspected_mean;
  return point;
}

DiscSource with_share(std::int64_t lot, double share) {
  const auto flawed = static_cast<std::int64_t>(std::llround(share * static_cast<double>(lot)));
  return {lot, flawed, lot > 0 ? static_cast<double>(flawed) / static_cast<double>(lot) : share};
}

}  // namespace

PlanCurves curves(const Boundaries& plan, std::int64_t lot, int points) {
  double end = 1.0;
  constexpr double hardly_shipped = 5e-3;
  for (int k = 0; k < 24 && point_at(plan, with_share(lot, end / 1.25)).ships < hardly_shipped; ++k)
    end /= 1.25;
  PlanCurves all;
  const double step = end / points;
  for (int k = 0; k <= points; ++k) {
    const DiscSource source = with_share(lot, std::min(1.0, step * k));
    if (!all.points.empty() && source.share <= all.points.back().share) continue;
    all.points.push_back(point_at(plan, source));
    if (all.points.back().outgoing > all.worst.outgoing) all.worst = all.points.back();
  }
  // The highest outgoing share lies within a step of the highest point.
  const double middle = all.worst.share;
  for (int k = -20; k <= 20; ++k) {
    const double share = middle + step * k / 20.0;
    if (share <= 0.0 || share >= 1.0) continue;
    const CurvePoint point = point_at(plan, with_share(lot, share));
    if (point.outgoing > all.worst.outgoing) all.worst = point;
  }
  return all;
}

}  // namespace goodside::plan
