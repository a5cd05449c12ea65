#include "trace/life.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "stats/interval.hpp"
#include "trace/turnbull.hpp"
#include "trace/weibull_lives.hpp"

namespace goodside::trace {
namespace {

using Lives = std::vector<works::StamperLife>;

Outcome check(std::span<const works::StamperLife> lives, const LifeOptions& options) {
  if (lives.empty())
    return Error{Fault::bad_input,
                 "no stamper's life is known; enter mountings and their counters"};
  if (!(options.confidence > 0.0 && options.confidence < 1.0))
    return Error{Fault::out_of_range,
                 fmt::format("confidence {}; use a fraction between 0 and 1", options.confidence)};
  for (const auto& life : lives) {
    const double to = life.ended_by_closings.value_or(life.good_to_closings + 1.0);
    if (!(std::isfinite(life.good_to_closings) && life.good_to_closings >= 0.0 &&
          std::isfinite(to) && to >= life.good_to_closings && to > 0.0))
      return Error{
          Fault::bad_input,
          fmt::format("stamper {}: good to {} closings, ended by {}; ages run upwards from 0",
                      life.stamper,
                      life.good_to_closings,
                      to)};
  }
  return Done{};
}

/// The lives of a group with its causes numbered from 0 in the order of works::LifeCause.
struct Numbered {
  std::vector<ObservedLife> lives{};
  std::vector<std::optional<works::LifeCause>> causes{};
  std::vector<int> ends{};
};

Numbered numbered(const Lives& group) {
  Numbered result;
  std::array<int, works::life_causes> ends{};
  int unknown = 0;
  for (const auto& life : group)
    if (life.ended_by_closings)
      ++(life.cause ? ends[static_cast<std::size_t>(*life.cause)] : unknown);
  std::array<std::size_t, works::life_causes> number{};
  for (std::size_t k = 0; k < ends.size(); ++k)
    if (ends[k] > 0) {
      number[k] = result.causes.size();
      result.causes.push_back(static_cast<works::LifeCause>(k));
      result.ends.push_back(ends[k]);
    }
  if (result.causes.empty() && unknown > 0) {
    result.causes.push_back(std::nullopt);
    result.ends.push_back(unknown);
  }
  for (const auto& life : group) {
    ObservedLife observed{.above = life.good_to_closings};
    if (life.ended_by_closings) {
      observed.to = *life.ended_by_closings;
      if (life.cause) observed.cause = number[static_cast<std::size_t>(*life.cause)];
    }
    result.lives.push_back(observed);
  }
  return result;
}

FailureCost cost_of(const LifeCosts& costs, std::optional<works::LifeCause> cause) {
  if (cause) return costs.failures[static_cast<std::size_t>(*cause)];
  FailureCost mean;
  for (const auto& one : costs.failures) {
    mean.change += one.change / works::life_causes;
    mean.scrapped_discs += one.scrapped_discs / works::life_causes;
  }
  return mean;
}

works::CauseLife figures(const Numbered& group,
                         const WeibullFit& fit,
                         std::size_t k,
                         double confidence) {
  const auto figure = [&](WeibullFigure which) {
    return bounded(group.lives, fit, k, which, confidence);
  };
  return {.cause = group.causes[k],
          .ends = group.ends[k],
          .shape_assumed = !fit.shape_fitted[k],
          .shape = figure(WeibullFigure::shape),
          .scale_closings = figure(WeibullFigure::scale),
          .tenth_closings = figure(WeibullFigure::tenth)};
}

class Reporter {
 public:
  explicit Reporter(const LifeOptions& options) : options_{options} {
    report_.confidence = options.confidence;
  }

  Outcome add(const std::string& by, const std::string& value, const Lives& lives) {
    works::LifeGroup group{.by = by, .value = value, .stampers = static_cast<int>(lives.size())};
    const Numbered known = numbered(lives);
    for (const auto& life : known.lives) group.ended += life.ended() ? 1 : 0;
    if (const auto curve = turnbull(known.lives)) {
      group.curve = curve->steps;
      group.curve_gap = curve->gap;
    } else {
      without(group, "curve", curve.error().text);
    }
    const auto done = add_laws(group, known);
    report_.groups.push_back(std::move(group));
    return done;
  }

  void test(const std::string& by, const std::map<std::string, Lives>& groups) {
    Lives all;
    double apart = 0.0;
    int count = 0;
    for (const auto& [value, lives] : groups) {
      const auto fit = one_law(lives);
      if (!fit) continue;
      apart += *fit;
      ++count;
      all.insert(all.end(), lives.begin(), lives.end());
    }
    if (count < 2) return;
    const auto together = one_law(all);
    if (!together) return;
    report_.tests.push_back({.by = by,
                             .chance = stats::chi_squared_tail(
                                 std::max(0.0, 2.0 * (apart - *together)), 2.0 * (count - 1))});
  }

  works::LifeReport take() { return std::move(report_); }

 private:
  Outcome add_laws(works::LifeGroup& group, const Numbered& known) {
    if (known.causes.empty()) {
      without(group, "causes", fmt::format("none of {} stampers has ended yet", group.stampers));
      return Done{};
    }
    const auto fit = fit_weibull(known.lives, known.causes.size(), options_.ends_for_shape);
    if (!fit) {
      without(group, "causes", fit.error().text);
      return Done{};
    }
    group.log_likelihood = fit->log_likelihood;
    for (std::size_t k = 0; k < known.causes.size(); ++k)
      group.causes.push_back(figures(known, *fit, k, options_.confidence));
    if (!options_.costs) return Done{};
    PullCosts costs{.planned_change = options_.costs->planned_change,
                    .disc = options_.costs->disc,
                    .failures = {}};
    for (const auto& cause : known.causes)
      costs.failures.push_back(cost_of(*options_.costs, cause));
    const auto limit = pull_limit(fit->laws, costs);
    if (!limit) return limit.error();
    group.pull = *limit;
    return Done{};
  }

  /// Log likelihood of one law for ends by any cause; none where there are too few.
  [[nodiscard]] std::optional<double> one_law(const Lives& lives) const {
    Lives blind = lives;
    int ended = 0;
    for (auto& life : blind) {
      life.cause.reset();
      ended += life.ended_by_closings ? 1 : 0;
    }
    if (ended < options_.ends_for_shape) return std::nullopt;
    const auto fit = fit_weibull(numbered(blind).lives, 1, options_.ends_for_shape);
    return fit ? std::optional{fit->log_likelihood} : std::nullopt;
  }

  void without(const works::LifeGroup& group, const std::string& field, const std::string& why) {
    const std::string whose =
        group.value.empty() ? group.by : fmt::format("{} {}", group.by, group.value);
    report_.undetermined.push_back({fmt::format("{} of {}", field, whose), why});
  }

  const LifeOptions& options_;
  works::LifeReport report_{};
};

}  // namespace

Result<works::LifeReport> stamper_lives(std::span<const works::StamperLife> lives,
                                        const LifeOptions& options) {
  if (const auto checked = check(lives, options); !checked) return checked.error();
  Reporter reporter{options};
  if (const auto done = reporter.add("all", "", {lives.begin(), lives.end()}); !done)
    return done.error();
  struct Kind {
    const char* name;
    std::string works::StamperLife::*value;
  };
  for (const Kind& kind : {Kind{"material", &works::StamperLife::material},
                           Kind{"press", &works::StamperLife::press},
                           Kind{"facing", &works::StamperLife::facing}}) {
    std::map<std::string, Lives> groups;
    for (const auto& life : lives)
      if (const auto& value = life.*kind.value; !value.empty()) groups[value].push_back(life);
    if (groups.size() < 2) continue;
    for (const auto& [value, group] : groups)
      if (const auto done = reporter.add(kind.name, value, group); !done) return done.error();
    reporter.test(kind.name, groups);
  }
  return reporter.take();
}

}  // namespace goodside::trace
