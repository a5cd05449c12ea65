#include "press/study.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>

#include "base/in_parallel.hpp"
#include "stats/draw.hpp"

namespace goodside::press {
namespace {

constexpr double covered = 1.959963984540054;  // 95 % of a normal law
constexpr double unknown = std::numeric_limits<double>::quiet_NaN();

struct Looked {
  Figures figures{};
  Margins margins;
};

std::optional<Looked> look(const CycleSetup& setup, const State& guess) {
  const auto periodic = periodic_state(setup, {}, guess);
  if (!periodic) return {};
  const auto cycle = run_cycle(setup, periodic->state);
  return Looked{figures_of(cycle), margins_of(setup, cycle)};
}

Trials::Figure told(std::vector<double> values) {
  Trials::Figure figure;
  std::erase_if(values, [](double one) { return std::isnan(one); });
  figure.known = values.size();
  if (values.empty()) return {unknown, unknown, unknown, unknown, unknown, 0};
  const auto count = static_cast<double>(values.size());
  for (const double one : values) figure.mean += one / count;
  for (const double one : values)
    figure.deviation += (one - figure.mean) * (one - figure.mean) / count;
  figure.deviation = std::sqrt(figure.deviation);
  std::ranges::sort(values);
  const auto at = [&](double share) {
    return values[static_cast<std::size_t>(share * (count - 1.0) + 0.5)];
  };
  figure.low = at(0.025);
  figure.middle = at(0.5);
  figure.high = at(0.975);
  return figure;
}

}  // namespace

Figures figures_of(const CycleResult& cycle) {
  return {cycle.full_s.value_or(unknown),
          cycle.flowed_s.value_or(unknown),
          cycle.set_s.value_or(unknown),
          cycle.least_flow_K,
          cycle.peak_K,
          cycle.opening_hottest_K,
          cycle.unevenness_at_setting_K,
          cycle.dish_m,
          cycle.final_gap_m,
          cycle.final_radius_m,
          cycle.squeeze_rise_K,
          cycle.steam_kg};
}

Result<Sensitivities> sensitivities(const CycleSetup& setup,
                                    const Periodic& periodic,
                                    const Doubts& doubts) {
  const auto some = in_doubt(setup, doubts.tolerances, doubts.knowledge);
  std::vector<std::optional<Looked>> ends(2 * some.size());
  in_parallel(ends.size(), doubts.jobs, [&](std::size_t i) {
    const Input& input = *some[i / 2];
    const CycleSetup other = moved(setup, input, spread_of(setup, input), i % 2 == 0 ? -1.0 : 1.0);
    if (check(other)) ends[i] = look(other, periodic.state);
  });
  const auto cycle = run_cycle(setup, periodic.state);
  const Looked middle{figures_of(cycle), margins_of(setup, cycle)};
  Sensitivities out;
  for (std::size_t i = 0; i < some.size(); ++i) {
    Effect effect{.input = some[i], .spread = spread_of(setup, *some[i]), .on_margins = {}};
    // Where one end cannot be run, the other's distance from the middle stands for both.
    const auto &low = ends[2 * i], &high = ends[2 * i + 1];
    const Looked &from = low ? *low : middle, &to = high ? *high : middle;
    const auto effect_of = [&](double below, double here, double above) {
      const bool both = low && high && !std::isnan(below) && !std::isnan(above);
      if (std::isnan(below)) below = here;
      if (std::isnan(above)) above = here;
      return (both ? 0.5 : 1.0) * (above - below);
    };
    for (std::size_t f = 0; f < effect.on_figures.size(); ++f)
      effect.on_figures[f] = effect_of(from.figures[f], middle.figures[f], to.figures[f]);
    for (std::size_t m = 0; m < margin_count; ++m)
      effect.on_margins.value[m] =
          effect_of(from.margins.value[m], middle.margins.value[m], to.margins.value[m]);
    out.effects.push_back(effect);
  }
  for (std::size_t f = 0; f < out.within.size(); ++f) {
    double sum = 0.0;
    for (const Effect& effect : out.effects) sum += effect.on_figures[f] * effect.on_figures[f];
    out.within[f] = covered * std::sqrt(sum / 3.0);
  }
  return out;
}

Trials trials(const CycleSetup& setup,
              const Periodic& periodic,
              std::uint64_t samples,
              std::uint64_t seed,
              const Doubts& doubts) {
  const auto some = in_doubt(setup, doubts.tolerances, doubts.knowledge);
  const auto count = static_cast<std::size_t>(samples);
  std::vector<Figures> figures(count);
  std::vector<Standing> standings(count);
  in_parallel(count, doubts.jobs, [&](std::size_t i) {
    stats::Draw draw{seed, i};
    CycleSetup other = setup;
    for (const Input* input : some)
      other = moved(other, *input, spread_of(setup, *input), draw.between(-1.0, 1.0));
    if (!check(other)) {  // beyond what can be: as cold or as hot as it says, it does not work
      figures[i].fill(unknown);
      standings[i] = Standing::cold;
      return;
    }
    const auto cycle = run_cycle(other, periodic.state);
    figures[i] = figures_of(cycle);
    standings[i] = standing_of(margins_of(other, cycle));
  });
  Trials out{.samples = samples};
  for (const Standing one : standings) ++out.standings[static_cast<std::size_t>(one)];
  for (std::size_t f = 0; f < figure_names.size(); ++f) {
    std::vector<double> values;
    values.reserve(count);
    for (const Figures& one : figures) values.push_back(one[f]);
    out.figures[f] = told(std::move(values));
  }
  return out;
}

}  // namespace goodside::press
