#include "trace/life.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <string>
#include <vector>

#include "base/in_parallel.hpp"
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

/// What is to be told of one group, and what was.
struct Task {
  std::string by, value;
  Lives lives;
  works::LifeGroup group{};
  std::vector<works::Undetermined> undetermined{};
  Outcome done{Done{}};

  void without(const std::string& field, const std::string& why) {
    const std::string whose = value.empty() ? by : fmt::format("{} {}", by, value);
    undetermined.push_back({fmt::format("{} of {}", field, whose), why});
  }
};

constexpr std::array law_shares{
    0.01, 0.03, 0.07, 0.12, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.97};

/// One law for ends by any cause, with its band; none where it cannot be told.
void add_law(Task& task, const LifeOptions& options) {
  Lives blind = task.lives;
  for (auto& life : blind) life.cause.reset();
  const auto known = numbered(blind);
  const auto fit = fit_weibull(known.lives, 1, options.ends_for_shape);
  if (!fit) return;
  task.group.law.resize(law_shares.size());
  in_parallel(law_shares.size(), options.jobs, [&](std::size_t i) {
    task.group.law[i] = {
        .share = law_shares[i],
        .closings = bounded_age(known.lives, *fit, 0, law_shares[i], options.confidence)};
  });
}

Outcome add_pull(Task& task, const Numbered& known, const WeibullFit& fit, const LifeCosts& money) {
  PullCosts costs{.planned_change = money.planned_change, .disc = money.disc, .failures = {}};
  for (const auto& cause : known.causes) costs.failures.push_back(cost_of(money, cause));
  const auto limit = pull_limit(fit.laws, costs);
  if (!limit) return limit.error();
  task.group.pull = *limit;
  return Done{};
}

void tell(Task& task, const LifeOptions& options) {
  auto& group = task.group;
  group.by = task.by;
  group.value = task.value;
  group.stampers = static_cast<int>(task.lives.size());
  const Numbered known = numbered(task.lives);
  for (const auto& life : known.lives) group.ended += life.ended() ? 1 : 0;
  if (const auto curve = turnbull(known.lives)) {
    group.curve = curve->steps;
    group.curve_gap = curve->gap;
  } else {
    task.without("curve", curve.error().text);
  }
  if (known.causes.empty())
    return task.without("causes", fmt::format("none of {} stampers has ended yet", group.stampers));
  const auto fit = fit_weibull(known.lives, known.causes.size(), options.ends_for_shape);
  if (!fit) return task.without("causes", fit.error().text);
  group.log_likelihood = fit->log_likelihood;
  for (std::size_t k = 0; k < known.causes.size(); ++k)
    group.causes.push_back(figures(known, *fit, k, options.confidence));
  if (task.by == "all") add_law(task, options);
  if (!options.costs) return;
  if (std::ranges::none_of(fit->shape_fitted, [](bool fitted) { return fitted; }))
    return task.without("pull limit",
                        "too few ends of any one cause to say whether the risk grows with age");
  task.done = add_pull(task, known, *fit, *options.costs);
}

/// Log likelihood of one law for ends by any cause; none where there are too few.
std::optional<double> one_law(const Lives& lives, int fewest) {
  Lives blind = lives;
  int ended = 0;
  for (auto& life : blind) {
    life.cause.reset();
    ended += life.ended_by_closings ? 1 : 0;
  }
  if (ended < fewest) return std::nullopt;
  const auto fit = fit_weibull(numbered(blind).lives, 1, fewest);
  return fit ? std::optional{fit->log_likelihood} : std::nullopt;
}

using Groups = std::map<std::string, Lives>;

std::optional<works::GroupTest> test(const std::string& by, const Groups& groups, int fewest) {
  Lives all;
  double apart = 0.0;
  int count = 0;
  for (const auto& [value, lives] : groups) {
    const auto fit = one_law(lives, fewest);
    if (!fit) continue;
    apart += *fit;
    ++count;
    all.insert(all.end(), lives.begin(), lives.end());
  }
  if (count < 2) return std::nullopt;
  const auto together = one_law(all, fewest);
  if (!together) return std::nullopt;
  const double gain = std::max(0.0, 2.0 * (apart - *together));
  return works::GroupTest{.by = by, .chance = stats::chi_squared_tail(gain, 2.0 * (count - 1))};
}

Groups by_value(std::span<const works::StamperLife> lives, std::string works::StamperLife::*which) {
  Groups groups;
  for (const auto& life : lives)
    if (const auto& value = life.*which; !value.empty()) groups[value].push_back(life);
  return groups;
}

}  // namespace

Result<works::LifeReport> stamper_lives(std::span<const works::StamperLife> lives,
                                        const LifeOptions& options) {
  if (const auto checked = check(lives, options); !checked) return checked.error();
  struct Kind {
    const char* name;
    std::string works::StamperLife::*value;
  };
  works::LifeReport report{.confidence = options.confidence};
  std::vector<Task> tasks{{.by = "all", .value = "", .lives = {lives.begin(), lives.end()}}};
  for (const Kind& kind : {Kind{"material", &works::StamperLife::material},
                           Kind{"press", &works::StamperLife::press},
                           Kind{"facing", &works::StamperLife::facing}}) {
    const Groups groups = by_value(lives, kind.value);
    if (groups.size() < 2) continue;
    for (const auto& [value, group] : groups)
      tasks.push_back({.by = kind.name, .value = value, .lives = group});
    if (const auto tested = test(kind.name, groups, options.ends_for_shape))
      report.tests.push_back(*tested);
  }
  in_parallel(tasks.size(), options.jobs, [&](std::size_t i) { tell(tasks[i], options); });
  for (auto& task : tasks) {
    if (!task.done) return task.done.error();
    report.groups.push_back(std::move(task.group));
    report.undetermined.insert(
        report.undetermined.end(), task.undetermined.begin(), task.undetermined.end());
  }
  return report;
}

}  // namespace goodside::trace
