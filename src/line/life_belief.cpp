#include "line/life_belief.hpp"

#include <algorithm>
#include <cmath>

#include "trace/weibull_lives.hpp"

namespace goodside::line {
namespace {

constexpr double fall = 6.0, furthest = 3.0, step = 0.02, least_weight = 1e-3;
constexpr int cells = 9;

/// How far along one figure of the law the likelihood stays within `fall` of the best.
double reach(const std::vector<trace::ObservedLife>& lives,
             trace::WeibullLaw law,
             double trace::WeibullLaw::*figure,
             double way,
             double best) {
  const double from = law.*figure;
  for (double at = step; at < furthest; at *= 1.25) {
    law.*figure = from + way * at;
    if (trace::log_likelihood(lives, std::span{&law, 1}) < best - fall) return at;
  }
  return furthest;
}

std::vector<double> grid(double best, double below, double above) {
  std::vector<double> at;
  for (int k = 0; k < cells; ++k) at.push_back(best - below + (below + above) * (k + 0.5) / cells);
  return at;
}

}  // namespace

Result<plan::LifeBelief> life_belief(std::span<const works::StamperLife> known,
                                     int ends_for_shape) {
  std::vector<trace::ObservedLife> lives;
  int ends = 0;
  for (const auto& one : known) {
    trace::ObservedLife life{.above = one.good_to_closings,
                             .to = one.ended_by_closings.value_or(trace::never)};
    if (life.ended()) {
      life.cause = 0;
      ++ends;
    }
    lives.push_back(life);
  }
  if (ends == 0)
    return Error{Fault::bad_input,
                 "no stamper has ended yet, so nothing tells how long they last; give "
                 "--life-scale and --life-shape"};
  const auto fit = trace::fit_weibull(lives, 1, ends_for_shape);
  if (!fit) return fit.error();
  const trace::WeibullLaw best = fit->laws.front();
  const double top = trace::log_likelihood(lives, std::span{&best, 1});
  using trace::WeibullLaw;
  const auto scales = grid(best.log_scale,
                           reach(lives, best, &WeibullLaw::log_scale, -1.0, top),
                           reach(lives, best, &WeibullLaw::log_scale, 1.0, top));
  std::vector<double> spreads{best.log_spread};
  if (fit->shape_fitted.front())
    spreads = grid(best.log_spread,
                   reach(lives, best, &WeibullLaw::log_spread, -1.0, top),
                   reach(lives, best, &WeibullLaw::log_spread, 1.0, top));
  plan::LifeBelief belief;
  double sum = 0.0;
  for (const double log_scale : scales)
    for (const double log_spread : spreads) {
      const WeibullLaw law{log_scale, log_spread};
      const double weight = std::exp(trace::log_likelihood(lives, std::span{&law, 1}) - top);
      if (weight < least_weight) continue;
      belief.push_back(
          {weight,
           {.causes = {{.scale_closings = std::exp(log_scale), .shape = std::exp(-log_spread)}}}});
      sum += weight;
    }
  for (auto& one : belief) one.weight /= sum;
  return belief;
}

}  // namespace goodside::line
