#include "plan/control_chart.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "plan/capability.hpp"
#include "plan/run_rules.hpp"
#include "stats/individuals.hpp"
#include "stats/spread_constants.hpp"

namespace goodside::plan {
namespace {

using works::ChartKind;
using works::ChartPanel;
using works::ChartPoint;
using works::ControlChart;
using works::RunRule;

constexpr std::size_t most_points = 1'000'000;
constexpr int largest_subgroup = 100;
constexpr double three = 3.0;

double mean_of(std::span<const double> values) {
  // About the first value, so that small spreads about a large mean keep their digits.
  double sum = 0.0;
  for (const double value : values) sum += value - values.front();
  return values.front() + sum / static_cast<double>(values.size());
}

double range_of(std::span<const double> values) {
  const auto [low, high] = std::ranges::minmax(values);
  return high - low;
}

double deviation_of(std::span<const double> values) {
  const double mean = mean_of(values);
  double square = 0.0;
  for (const double value : values) square += (value - mean) * (value - mean);
  return std::sqrt(square / (static_cast<double>(values.size()) - 1.0));
}

/// Constants are integrals: each size is worked out once.
class Constants {
 public:
  const stats::SpreadConstants& of(std::size_t n) {
    const auto [place, fresh] = known_.try_emplace(n);
    if (fresh) place->second = stats::spread_constants(static_cast<int>(n));
    return place->second;
  }

 private:
  std::map<std::size_t, stats::SpreadConstants> known_;
};

std::optional<double> not_negative(double limit) {
  return limit > 0.0 ? std::optional{limit} : std::nullopt;
}

/// Marks the points that break the rules, by their own centres and sigmas.
void mark(ChartPanel& panel, std::span<const RunRule> rules) {
  std::vector<double> standardised;
  for (const ChartPoint& point : panel.points)
    standardised.push_back(point.sigma > 0.0 ? (point.value - point.centre) / point.sigma : 0.0);
  const auto broken = broken_rules(standardised, rules);
  for (std::size_t i = 0; i < panel.points.size(); ++i) panel.points[i].rules = broken[i];
}

/// Of ranges, deviations and sums: the limits alone, where there is one.
void mark_limits(ChartPanel& panel) {
  for (ChartPoint& point : panel.points)
    if ((point.upper && point.value > *point.upper) || (point.lower && point.value < *point.lower))
      point.rules.push_back(RunRule::beyond_limits);
}

Error too_few(std::size_t points, std::size_t wanted) {
  return {Fault::bad_input,
          fmt::format("{} points are too few for limits; {} or more, better 20", points, wanted)};
}

Outcome check(const ChartRequest& request) {
  const auto finite = [](const std::optional<double>& value) {
    return !value || std::isfinite(*value);
  };
  if (!finite(request.centre) || !finite(request.sigma) || !finite(request.spec_low) ||
      !finite(request.spec_high))
    return Error{Fault::out_of_range, "a figure that is given must be a number"};
  if (request.sigma && *request.sigma <= 0.0)
    return Error{Fault::out_of_range,
                 fmt::format("a sigma of {:g}; it must be above 0", *request.sigma)};
  if (request.spec_low && request.spec_high && *request.spec_low >= *request.spec_high)
    return Error{
        Fault::out_of_range,
        fmt::format("a specification from {:g} to {:g}; the upper limit must be the greater",
                    *request.spec_low,
                    *request.spec_high)};
  if (request.cusum.allowance < 0.0 || request.cusum.allowance > 5.0 ||
      request.cusum.decision <= 0.0 || request.cusum.decision > 50.0)
    return Error{Fault::out_of_range, "an allowance of 0 to 5 sigma and a decision above 0, to 50"};
  if (request.ewma.weight < 0.01 || request.ewma.weight > 1.0 || request.ewma.width <= 0.0 ||
      request.ewma.width > 6.0)
    return Error{Fault::out_of_range, "a weight of 0.01 to 1 and a width above 0, to 6 sigma"};
  return Done{};
}

class ValuesChart {
 public:
  ValuesChart(std::span<const Subgroup> groups, const ChartRequest& request)
      : groups_{groups}, request_{request} {
    chart_.kind = request.kind;
    chart_.what = request.what;
    chart_.unit = request.unit;
  }

  Result<ControlChart> make() {
    if (const auto checked = usable(); !checked) return checked.error();
    learn();
    if (!(chart_.sigma > 0.0) || !std::isfinite(chart_.sigma))
      return Error{
          Fault::bad_input,
          "the values that the limits rest on are all alike; give more of their digits, or "
          "--mean and --sigma"};
    switch (request_.kind) {
      case ChartKind::cusum:
        sums();
        break;
      case ChartKind::ewma:
        average();
        break;
      default:
        means();
        spreads();
        break;
    }
    run_lengths();
    judge();
    remark();
    return std::move(chart_);
  }

 private:
  [[nodiscard]] bool single() const { return largest_ == 1; }
  [[nodiscard]] std::span<const Subgroup> base() const {
    return groups_.first(static_cast<std::size_t>(base_count_));
  }

  Outcome usable() {
    if (const auto checked = check(request_); !checked) return checked.error();
    if (groups_.size() > most_points)
      return Error{Fault::bad_input, "more than a million points; chart a part of them"};
    std::size_t smallest = most_points;
    for (const Subgroup& group : groups_) {
      if (group.values.empty())
        return Error{Fault::bad_input, group.label + ": no value; leave the sample out"};
      for (const double value : group.values)
        if (!std::isfinite(value) || std::abs(value) > 1e100)
          return Error{Fault::bad_input, group.label + ": a value that is no usable number"};
      largest_ = std::max(largest_, group.values.size());
      smallest = std::min(smallest, group.values.size());
    }
    if (request_.baseline < 0 || request_.baseline > static_cast<std::int64_t>(groups_.size()))
      return Error{Fault::bad_input,
                   fmt::format("the first {} points are to give the limits, and there are {}",
                               request_.baseline,
                               groups_.size())};
    base_count_ =
        request_.baseline > 0 ? request_.baseline : static_cast<std::int64_t>(groups_.size());
    const bool known = request_.centre && request_.sigma;
    const std::size_t wanted = single() ? 3 : 2;
    if (groups_.empty()) return too_few(0, wanted);
    if (!known && static_cast<std::size_t>(base_count_) < wanted)
      return too_few(static_cast<std::size_t>(base_count_), wanted);
    if (largest_ > static_cast<std::size_t>(largest_subgroup))
      return Error{Fault::bad_input,
                   fmt::format("a sample of {} values; 100 at most: chart them singly", largest_)};
    const bool spread =
        request_.kind == ChartKind::mean_range || request_.kind == ChartKind::mean_deviation;
    if ((spread && smallest < 2) || (largest_ > 1 && smallest < 2))
      return Error{
          Fault::bad_input,
          "a sample of one value has no spread of its own; two or more in each, or a chart "
          "of single values"};
    if (request_.kind == ChartKind::individuals && largest_ > 1)
      return Error{Fault::bad_input, "samples of several values; chart them as xbar-r or xbar-s"};
    return Done{};
  }

  void learn() {
    std::vector<double> values;
    double sum = 0.0;
    for (const Subgroup& group : base())
      values.insert(values.end(), group.values.begin(), group.values.end());
    base_values_ = std::move(values);
    if (single() && base_values_.size() > 1) {
      const auto individuals = stats::individuals(base_values_);
      chart_.centre = individuals.centre;
      chart_.sigma = individuals.moving_range_sigma;
      freedom_ = moving_range_freedom(static_cast<int>(base_values_.size()));
    } else if (!single()) {
      chart_.centre = mean_of(base_values_);
      double weights = 0.0;
      for (const Subgroup& group : base()) {
        const auto& constants = constants_.of(group.values.size());
        const bool ranges = request_.kind != ChartKind::mean_deviation;
        const double square = constants.c4 * constants.c4;
        const double weight = ranges ? constants.d2 * constants.d2 / (constants.d3 * constants.d3)
                                     : square / (1.0 - square);
        sum += weight * (ranges ? range_of(group.values) / constants.d2
                                : deviation_of(group.values) / constants.c4);
        weights += weight;
      }
      chart_.sigma = sum / weights;
      freedom_ = 0.5 * weights;
    }
    chart_.baseline = request_.centre && request_.sigma ? 0 : base_count_;
    chart_.centre = request_.centre.value_or(chart_.centre);
    chart_.sigma = request_.sigma.value_or(chart_.sigma);
    if (request_.sigma) freedom_ = 1e6;
  }

  [[nodiscard]] double sigma_of(const Subgroup& group) const {
    return chart_.sigma / std::sqrt(static_cast<double>(group.values.size()));
  }

  void means() {
    ChartPanel panel{.name = single() ? "values" : "means", .zones = true};
    for (const Subgroup& group : groups_) {
      const double sigma = sigma_of(group);
      panel.points.push_back({.label = group.label,
                              .value = mean_of(group.values),
                              .centre = chart_.centre,
                              .lower = chart_.centre - three * sigma,
                              .upper = chart_.centre + three * sigma,
                              .sigma = sigma,
                              .size = static_cast<std::int64_t>(group.values.size())});
    }
    mark(panel, request_.rules);
    chart_.panels.push_back(std::move(panel));
  }

  void spreads() {
    const bool deviations = request_.kind == ChartKind::mean_deviation;
    ChartPanel panel{.name = single() ? "moving ranges" : deviations ? "deviations" : "ranges"};
    for (std::size_t i = single() ? 1 : 0; i < groups_.size(); ++i) {
      const auto& values = groups_[i].values;
      const auto& constants = constants_.of(single() ? 2 : values.size());
      const double centre = (deviations ? constants.c4 : constants.d2) * chart_.sigma;
      const double sigma =
          chart_.sigma * (deviations ? std::sqrt(1.0 - constants.c4 * constants.c4) : constants.d3);
      const double value = single()     ? std::abs(values[0] - groups_[i - 1].values[0])
                           : deviations ? deviation_of(values)
                                        : range_of(values);
      panel.points.push_back({.label = groups_[i].label,
                              .value = value,
                              .centre = centre,
                              .lower = not_negative(centre - three * sigma),
                              .upper = centre + three * sigma,
                              .sigma = sigma,
                              .size = static_cast<std::int64_t>(values.size())});
    }
    mark_limits(panel);
    chart_.panels.push_back(std::move(panel));
  }

  void sums() {
    ChartPanel rising{.name = "rising sum, sigma"}, falling{.name = "falling sum, sigma"};
    double up = 0.0, down = 0.0;
    for (const Subgroup& group : groups_) {
      const double z = (mean_of(group.values) - chart_.centre) / sigma_of(group);
      up = std::max(0.0, up + z - request_.cusum.allowance);
      down = std::max(0.0, down - z - request_.cusum.allowance);
      ChartPoint point{.label = group.label,
                       .value = up,
                       .upper = request_.cusum.decision,
                       .sigma = 1.0,
                       .size = static_cast<std::int64_t>(group.values.size())};
      rising.points.push_back(point);
      point.value = down;
      falling.points.push_back(std::move(point));
    }
    for (ChartPanel* panel : {&rising, &falling}) {
      mark_limits(*panel);
      since(*panel, panel == &rising ? 1.0 : -1.0);
    }
    chart_.panels = {std::move(rising), std::move(falling)};
  }

  /// Since when, and to where, at the first signal: the sum last stood at nought, and has grown since.
  void since(const ChartPanel& panel, double side) {
    const auto first = std::ranges::find_if(
        panel.points, [](const ChartPoint& point) { return !point.rules.empty(); });
    if (first == panel.points.end()) return;
    auto begin = first;
    while (begin != panel.points.begin() && std::prev(begin)->value > 0.0) --begin;
    const auto points = static_cast<double>(first - begin + 1);
    const double n = static_cast<double>(first->size);
    const double level = chart_.centre + side * chart_.sigma / std::sqrt(n) *
                                             (request_.cusum.allowance + first->value / points);
    chart_.remarks.push_back(
        fmt::format("the {} passed its limit at {}; it has grown since {}, as of a "
                    "mean of {:.6g}",
                    side > 0.0 ? "rising sum" : "falling sum",
                    first->label,
                    begin->label,
                    level));
  }

  void average() {
    ChartPanel panel{.name = "moving average"};
    double average = chart_.centre, left = 1.0;
    const double w = request_.ewma.weight;
    for (const Subgroup& group : groups_) {
      average += w * (mean_of(group.values) - average);
      left *= (1.0 - w) * (1.0 - w);
      const double sigma = sigma_of(group) * std::sqrt(w / (2.0 - w) * (1.0 - left));
      panel.points.push_back({.label = group.label,
                              .value = average,
                              .centre = chart_.centre,
                              .lower = chart_.centre - request_.ewma.width * sigma,
                              .upper = chart_.centre + request_.ewma.width * sigma,
                              .sigma = sigma,
                              .size = static_cast<std::int64_t>(group.values.size())});
    }
    mark_limits(panel);
    chart_.panels.push_back(std::move(panel));
  }

  void run_lengths() {
    if (request_.kind == ChartKind::cusum) {
      chart_.run_length = run_length(request_.cusum, 0.0);
      chart_.run_length_shift = run_length(request_.cusum, 1.0);
    } else if (request_.kind == ChartKind::ewma) {
      chart_.run_length = run_length(request_.ewma, 0.0);
      chart_.run_length_shift = run_length(request_.ewma, 1.0);
    } else {
      chart_.run_length = run_length(request_.rules, 0.0);
      chart_.run_length_shift =
          run_length(request_.rules, std::sqrt(static_cast<double>(largest_)));
    }
  }

  void judge() {
    if ((!request_.spec_low && !request_.spec_high) || base_values_.size() < 2) return;
    if (range_of(base_values_) <= 0.0) return;
    chart_.capability = capability({.values = base_values_,
                                    .mean = mean_of(base_values_),
                                    .sigma = chart_.sigma,
                                    .degrees_of_freedom = freedom_,
                                    .low = request_.spec_low,
                                    .high = request_.spec_high,
                                    .confidence = request_.confidence});
    if (chart_.signals() > 0)
      chart_.remarks.emplace_back(
          "the process does not stand still, so its capability foretells nothing");
    if (base_values_.size() < 30)
      chart_.remarks.push_back(
          fmt::format("capability from {} values is a hint", base_values_.size()));
  }

  void remark() {
    if (chart_.baseline > 0 && chart_.baseline < 20)
      chart_.remarks.push_back(fmt::format(
          "the limits rest on {} points; with fewer than 20 they are rough", chart_.baseline));
    if (!single() || base_values_.size() < 8) return;
    const double mean = mean_of(base_values_);
    double product = 0.0, square = 0.0;
    for (std::size_t i = 0; i < base_values_.size(); ++i) {
      square += (base_values_[i] - mean) * (base_values_[i] - mean);
      if (i > 0) product += (base_values_[i] - mean) * (base_values_[i - 1] - mean);
    }
    const double alike = product / square;
    if (std::abs(alike) > 2.0 / std::sqrt(static_cast<double>(base_values_.size())))
      chart_.remarks.push_back(
          fmt::format("neighbouring values are {} (correlation {:.2f}), so the limits are too {}",
                      alike > 0.0 ? "alike" : "opposed",
                      alike,
                      alike > 0.0 ? "narrow" : "wide"));
  }

  std::span<const Subgroup> groups_;
  const ChartRequest& request_;
  ControlChart chart_;
  Constants constants_;
  std::vector<double> base_values_;
  std::size_t largest_{};
  std::int64_t base_count_{};
  double freedom_{};
};

class CountsChart {
 public:
  CountsChart(std::span<const Counted> points, const ChartRequest& request)
      : points_{points},
        request_{request},
        shares_{request.kind == ChartKind::share || request.kind == ChartKind::number},
        whole_{request.kind == ChartKind::number || request.kind == ChartKind::count} {}

  Result<ControlChart> make() {
    if (const auto checked = usable(); !checked) return checked.error();
    ControlChart chart{.kind = request_.kind, .what = request_.what, .unit = request_.unit};
    const std::size_t base =
        request_.baseline > 0 ? static_cast<std::size_t>(request_.baseline) : points_.size();
    double count = 0.0, size = 0.0;
    for (const Counted& point : points_.first(base)) {
      count += static_cast<double>(point.count);
      size += static_cast<double>(point.size);
    }
    const double mean = request_.centre.value_or(count / size);
    if (!(mean > 0.0) || (shares_ && mean >= 1.0))
      return Error{
          Fault::bad_input,
          fmt::format("the points that the limits rest on hold {} at all; take more of them, "
                      "or give --mean",
                      mean > 0.0 ? "nothing but flawed ones" : "nothing")};
    chart.centre = whole_ ? mean * static_cast<double>(points_.front().size) : mean;
    chart.baseline = request_.centre ? 0 : static_cast<std::int64_t>(base);
    ChartPanel panel{.name = std::string{works::title(request_.kind)}, .zones = true};
    for (const Counted& point : points_) panel.points.push_back(point_of(point, mean));
    chart.sigma = panel.points.front().sigma;
    mark(panel, request_.rules);
    chart.panels.push_back(std::move(panel));
    remark(chart, mean, base);
    return chart;
  }

 private:
  Outcome usable() const {
    if (const auto checked = check(request_); !checked) return checked.error();
    if (points_.size() < 2) return too_few(points_.size(), 2);
    if (points_.size() > most_points)
      return Error{Fault::bad_input, "more than a million points; chart a part of them"};
    if (request_.baseline < 0 || request_.baseline > static_cast<std::int64_t>(points_.size()))
      return Error{Fault::bad_input,
                   fmt::format("the first {} points are to give the limits, and there are {}",
                               request_.baseline,
                               points_.size())};
    if (request_.spec_low || request_.spec_high)
      return Error{Fault::bad_input,
                   "counts have no capability against a specification; leave --spec-low and "
                   "--spec-high out"};
    for (const Counted& point : points_) {
      if (point.size < 1 || point.count < 0 || (shares_ && point.count > point.size))
        return Error{Fault::bad_input,
                     fmt::format("{}: {} of {}; the size is 1 or more, and the flawed are no more "
                                 "than it",
                                 point.label,
                                 point.count,
                                 point.size)};
      if (whole_ && point.size != points_.front().size)
        return Error{
            Fault::bad_input,
            fmt::format("{}: a size of {}, and {} before; sizes that differ want the kind {}",
                        point.label,
                        point.size,
                        points_.front().size,
                        shares_ ? "p" : "u")};
    }
    return Done{};
  }

  [[nodiscard]] ChartPoint point_of(const Counted& point, double mean) const {
    const auto size = static_cast<double>(point.size);
    const double scale = whole_ ? size : 1.0;
    const double sigma = scale * std::sqrt((shares_ ? mean * (1.0 - mean) : mean) / size);
    const double centre = scale * mean;
    const double upper = centre + three * sigma;
    ChartPoint made{.label = point.label,
                    .value = scale * static_cast<double>(point.count) / size,
                    .centre = centre,
                    .lower = not_negative(centre - three * sigma),
                    .upper = upper,
                    .sigma = sigma,
                    .size = point.size};
    if (shares_ && upper >= scale) made.upper.reset();
    return made;
  }

  void remark(ControlChart& chart, double mean, std::size_t base) const {
    double smallest = static_cast<double>(points_.front().size);
    for (const Counted& point : points_)
      smallest = std::min(smallest, static_cast<double>(point.size));
    if (mean * smallest < 1.0)
      chart.remarks.push_back(fmt::format(
          "{:.2g} are expected at a point: so few that the limits are rough; take larger "
          "samples",
          mean * smallest));
    if (base < 20 && chart.baseline > 0)
      chart.remarks.push_back(
          fmt::format("the limits rest on {} points; with fewer than 20 they are rough", base));
    // More spread than counting alone gives: the points' own chi squared over its freedom.
    double squares = 0.0;
    for (std::size_t i = 0; i < base; ++i) {
      const ChartPoint& point = chart.panels.front().points[i];
      const double z = (point.value - point.centre) / point.sigma;
      squares += z * z;
    }
    const auto freedom = static_cast<double>(base) - 1.0;
    if (freedom > 0.0 && squares > freedom + three * std::sqrt(2.0 * freedom))
      chart.remarks.push_back(fmt::format(
          "the counts spread {:.1f} times as wide as chance alone gives: something changes "
          "from point to point, or faults come in clusters",
          std::sqrt(squares / freedom)));
  }

  std::span<const Counted> points_;
  const ChartRequest& request_;
  bool shares_, whole_;
};

}  // namespace

Result<ControlChart> chart_values(std::span<const Subgroup> groups, const ChartRequest& request) {
  return ValuesChart{groups, request}.make();
}

Result<ControlChart> chart_counts(std::span<const Counted> points, const ChartRequest& request) {
  return CountsChart{points, request}.make();
}

}  // namespace goodside::plan
