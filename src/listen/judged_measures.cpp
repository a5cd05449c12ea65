#include "listen/judged_measures.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <limits>

#include "listen/verdict.hpp"

namespace goodside::listen {
namespace {

using works::Limits;

constexpr std::array<JudgedMeasure, judged_count> measures{
    {{.rule = "plain_faults_per_side",
      .name = "plain faults",
      .unit = "a side",
      .count = &Limits::plain_faults_per_side},
     {.rule = "slight_faults_per_min",
      .name = "slight faults",
      .unit = "a minute",
      .figure = &Limits::slight_faults_per_min},
     {.rule = "worst_pattern_faults",
      .name = "faults in one line or arc",
      .unit = "",
      .count = &Limits::worst_pattern_faults},
     {.rule = "loudest_fault_dB",
      .name = "loudest fault",
      .unit = "dB",
      .figure = &Limits::loudest_fault_dB},
     {.rule = "eccentricity_m",
      .name = "hole off centre",
      .unit = "mm",
      .units_each = 1e3,
      .figure = &Limits::eccentricity_m},
     {.rule = "speed_error",
      .name = "speed error",
      .unit = "%",
      .units_each = 1e2,
      .figure = &Limits::speed_error},
     {.rule = "once_per_rev_peak",
      .name = "once-a-turn wow",
      .unit = "%",
      .units_each = 1e2,
      .figure = &Limits::once_per_rev_peak},
     {.rule = "weighted_2sigma",
      .name = "wow and flutter",
      .unit = "%",
      .units_each = 1e2,
      .figure = &Limits::weighted_2sigma},
     {.rule = "weighted_noise_dB",
      .name = "surface noise",
      .unit = "dB",
      .figure = &Limits::weighted_noise_dB},
     {.rule = "rumble_dB", .name = "rumble", .unit = "dB", .figure = &Limits::rumble_dB},
     {.rule = "hum_dB", .name = "hum", .unit = "dB", .figure = &Limits::hum_dB},
     {.rule = "echo_dB", .name = "echo of the next turn", .unit = "dB", .figure = &Limits::echo_dB},
     {.rule = "balance_dB", .name = "balance", .unit = "dB", .figure = &Limits::balance_dB},
     {.rule = "level_deviation_dB",
      .name = "level against frequency",
      .unit = "dB",
      .figure = &Limits::level_deviation_dB}}};

/// Nothing stays within these.
Limits limits_all_break() {
  constexpr double below_everything = -1e9;
  Limits limits;
  for (const auto& measure : measures) set_limit(limits, measure, below_everything);
  limits.jumps_allowed = false;
  return limits;
}

}  // namespace

std::span<const JudgedMeasure, judged_count> judged_measures() {
  return measures;
}

std::optional<double> limit_of(const Limits& limits, const JudgedMeasure& measure) {
  if (measure.figure != nullptr) return limits.*measure.figure;
  const auto& count = limits.*measure.count;
  return count ? std::optional<double>{*count} : std::nullopt;
}

void set_limit(Limits& limits, const JudgedMeasure& measure, double limit) {
  if (measure.figure != nullptr)
    limits.*measure.figure = limit;
  else
    limits.*measure.count = static_cast<int>(limit);
}

std::string shown(const JudgedMeasure& measure, double value) {
  return fmt::format(
      "{:.4g}{}{}", value * measure.units_each, measure.unit.empty() ? "" : " ", measure.unit);
}

JudgedValues judged_values(const works::ListeningReport& report) {
  JudgedValues judged;
  judged.placed = !report.alignment || report.alignment->found;
  if (!judged.placed) return judged;
  static const Limits strict = limits_all_break();
  for (const auto& reason : judge(report, strict).verdict.reasons) {
    judged.off_the_groove = judged.off_the_groove || reason.rule == "jumps_allowed";
    for (std::size_t m = 0; m < judged_count; ++m)
      if (reason.rule == measures[m].rule) judged.values[m] = reason.value;
  }
  // The verdict says nothing of faults that are not there; that nothing was heard is another matter.
  const bool alone = !report.reference && !report.alignment;
  const bool heard = std::any_of(report.heard.begin(), report.heard.end(), [](const auto& part) {
    return part.to_s > part.from_s;
  });
  for (std::size_t m = 0; m < judged_count; ++m) {
    if (judged.values[m]) continue;
    const auto rule = measures[m].rule;
    if (rule == "plain_faults_per_side" || rule == "worst_pattern_faults" ||
        (rule == "slight_faults_per_min" && heard))
      judged.values[m] = 0.0;
    if (rule == "loudest_fault_dB" && !alone)
      judged.values[m] = -std::numeric_limits<double>::infinity();
  }
  return judged;
}

}  // namespace goodside::listen
