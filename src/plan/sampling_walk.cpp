#include "plan/sampling_walk.hpp"

#include <algorithm>

#include "base/expects.hpp"

namespace goodside::plan {
namespace {

double chance_flawed(const DiscSource& source, double heard, double flawed) {
  if (source.lot == 0) return source.share;
  const double left = static_cast<double>(source.lot) - heard;
  return std::clamp((static_cast<double>(source.flawed) - flawed) / left, 0.0, 1.0);
}

class Walker {
 public:
  Walker(const Boundaries& plan, const DiscSource& source, Heard before)
      : plan_{plan}, source_{source}, heard_{before.discs}, counts_{before.flawed, {1.0}} {
    result_.stops.assign(plan.ship_at.size(), 0.0);
  }

  WalkResult go() {
    while (!counts_.chance.empty() && heard_ < plan_.most()) step();
    return std::move(result_);
  }

 private:
  /// Chances of the flawed counts from `least` on.
  struct Counts {
    std::int64_t least{};
    std::vector<double> chance;
  };

  void step() {
    Counts next{counts_.least, std::vector<double>(counts_.chance.size() + 1, 0.0)};
    for (std::size_t i = 0; i < counts_.chance.size(); ++i) {
      const double flawed = static_cast<double>(counts_.least + static_cast<std::int64_t>(i));
      const double bad = chance_flawed(source_, static_cast<double>(heard_), flawed);
      next.chance[i] += counts_.chance[i] * (1.0 - bad);
      next.chance[i + 1] += counts_.chance[i] * bad;
    }
    ++heard_;
    counts_ = {next.least, {}};
    const auto at = static_cast<std::size_t>(heard_ - 1);
    for (std::size_t i = 0; i < next.chance.size(); ++i) {
      const std::int64_t flawed = next.least + static_cast<std::int64_t>(i);
      if (flawed <= plan_.ship_at[at]) {
        ship(flawed, next.chance[i]);
      } else if (flawed >= plan_.hold_at[at]) {
        hold(next.chance[i]);
      } else {
        if (counts_.chance.empty()) counts_.least = flawed;
        counts_.chance.push_back(next.chance[i]);
      }
    }
  }

  void ship(std::int64_t flawed, double chance) {
    result_.ships += chance;
    stop(chance);
    result_.inspected_mean += chance * static_cast<double>(heard_);
    if (source_.lot > 0)
      result_.flawed_shipped += chance * static_cast<double>(source_.flawed - flawed);
  }
  void hold(double chance) {
    result_.holds += chance;
    stop(chance);
    result_.inspected_mean += chance * static_cast<double>(std::max(source_.lot, heard_));
  }
  void stop(double chance) {
    result_.heard_mean += chance * static_cast<double>(heard_);
    result_.stops[static_cast<std::size_t>(heard_ - 1)] += chance;
  }

  const Boundaries& plan_;
  const DiscSource& source_;
  std::int64_t heard_;
  Counts counts_;
  WalkResult result_;
};

}  // namespace

Boundaries boundaries_of(std::span<const SamplingStage> stages, bool stop_early) {
  EXPECTS(!stages.empty());
  Boundaries plan;
  const std::int64_t never = stages.back().heard + 1;
  for (const SamplingStage& stage : stages) {
    EXPECTS(stage.heard > plan.most());
    const bool last = &stage == &stages.back();
    const std::int64_t accept = last ? stage.reject - 1 : stage.accept;
    while (plan.most() < stage.heard) {
      // Were all that is left of the stage flawed, it would be shipped all the same.
      const std::int64_t left = stage.heard - plan.most() - 1;
      plan.ship_at.push_back(stop_early ? std::max<std::int64_t>(accept - left, -1) : -1);
      plan.hold_at.push_back(stop_early ? stage.reject : never);
    }
    plan.ship_at.back() = accept;
    plan.hold_at.back() = stage.reject;
  }
  return plan;
}

WalkResult walk(const Boundaries& plan, const DiscSource& source, Heard before) {
  EXPECTS(plan.ship_at.size() == plan.hold_at.size() && !plan.ship_at.empty());
  EXPECTS(source.lot == 0 || source.lot >= plan.most());
  EXPECTS(before.discs >= 0 && before.discs < plan.most() && before.flawed <= before.discs);
  return Walker{plan, source, before}.go();
}

}  // namespace goodside::plan
