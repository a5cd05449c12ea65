#include "metal/ramp.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/expects.hpp"
#include "metal/deposit.hpp"

namespace goodside::metal {
namespace {

using works::CurrentStage;
using works::StartingFace;

constexpr double most_current_A = 1e5, most_time_s = 3.2e7;
constexpr double silvered_A_per_m2 = 30.0, silvered_cover_m = 5e-6, silvered_rise_s = 3600.0;
constexpr double passivated_A_per_m2 = 100.0, passivated_hold_s = 300.0, passivated_rise_s = 1800.0;
/// A beginning harder than this is told.
constexpr double silvered_limit_A_per_m2 = 50.0, passivated_limit_A_per_m2 = 200.0;

double stage_charge_C(const CurrentStage& stage, double time_s) {
  const double slope = stage.time_s > 0.0 ? (stage.to_A - stage.from_A) / stage.time_s : 0.0;
  return time_s * (stage.from_A + 0.5 * slope * time_s);
}

/// When within the stage its charge reaches `charge_C`, which it does.
double stage_time_s(const CurrentStage& stage, double charge_C) {
  const double slope = (stage.to_A - stage.from_A) / stage.time_s;
  const double root =
      std::sqrt(std::max(0.0, stage.from_A * stage.from_A + 2.0 * slope * charge_C));
  return std::min(stage.time_s, charge_C > 0.0 ? 2.0 * charge_C / (stage.from_A + root) : 0.0);
}

}  // namespace

double total_time_s(std::span<const CurrentStage> stages) {
  double time_s = 0.0;
  for (const auto& stage : stages) time_s += stage.time_s;
  return time_s;
}

double current_A(std::span<const CurrentStage> stages, double time_s) {
  EXPECTS(!stages.empty());
  for (const auto& stage : stages) {
    if (time_s < stage.time_s)
      return stage.from_A + (stage.to_A - stage.from_A) * time_s / stage.time_s;
    time_s -= stage.time_s;
  }
  return stages.back().to_A;
}

double charge_C(std::span<const CurrentStage> stages, double time_s) {
  EXPECTS(!stages.empty());
  double charge = 0.0;
  for (const auto& stage : stages) {
    const double within_s = std::min(time_s, stage.time_s);
    charge += stage_charge_C(stage, within_s);
    time_s -= within_s;
    if (time_s <= 0.0) return charge;
  }
  return charge + stages.back().to_A * time_s;
}

Result<double> time_for_charge_s(std::span<const CurrentStage> stages, double wanted_C) {
  EXPECTS(!stages.empty());
  double time_s = 0.0, left_C = wanted_C;
  for (const auto& stage : stages) {
    const double whole_C = stage_charge_C(stage, stage.time_s);
    if (left_C <= whole_C && whole_C > 0.0) return time_s + stage_time_s(stage, left_C);
    left_C -= whole_C;
    time_s += stage.time_s;
  }
  if (left_C <= 0.0) return time_s;
  if (!(stages.back().to_A > 0.0))
    return Error{Fault::out_of_range,
                 "the last stage ends without current, so the target is never reached; end with a "
                 "current that is held"};
  return time_s + left_C / stages.back().to_A;
}

std::vector<CurrentStage> until(std::span<const CurrentStage> stages, double time_s) {
  std::vector<CurrentStage> kept;
  for (const auto& stage : stages) {
    if (time_s <= 0.0) return kept;
    CurrentStage one = stage;
    if (time_s < stage.time_s) {
      one.to_A = stage.from_A + (stage.to_A - stage.from_A) * time_s / stage.time_s;
      one.time_s = time_s;
    }
    time_s -= one.time_s;
    kept.push_back(one);
  }
  if (time_s > 0.0 && !kept.empty()) {
    CurrentStage& last = kept.back();
    if (last.from_A == last.to_A)
      last.time_s += time_s;
    else
      kept.push_back({last.to_A, last.to_A, time_s});
  }
  return kept;
}

std::vector<CurrentStage> gentle_start(StartingFace face,
                                       const works::PlatingMetal& metal,
                                       double full_A,
                                       double area_m2) {
  if (face == StartingFace::silvered) {
    const double gentle_A = std::min(full_A, silvered_A_per_m2 * area_m2);
    const double hold_s = charge_for_C(metal, silvered_cover_m, area_m2) / gentle_A;
    return {{gentle_A, gentle_A, hold_s}, {gentle_A, full_A, silvered_rise_s}};
  }
  if (face == StartingFace::passivated) {
    const double gentle_A = std::min(full_A, passivated_A_per_m2 * area_m2);
    return {{gentle_A, gentle_A, passivated_hold_s}, {gentle_A, full_A, passivated_rise_s}};
  }
  return {};
}

std::vector<std::string> ramp_warnings(std::span<const CurrentStage> stages,
                                       StartingFace face,
                                       const works::PlatingMetal& metal,
                                       double area_m2) {
  std::vector<std::string> warnings;
  const double first = stages.front().from_A / area_m2;
  const bool silvered = face == StartingFace::silvered;
  const double limit = silvered ? silvered_limit_A_per_m2 : passivated_limit_A_per_m2;
  if (face != StartingFace::bare && first > limit)
    warnings.push_back(fmt::format(
        "The run begins at {:.2g} A/dm²; a {} face wants {:.2g} A/dm² or less until it is covered "
        "(common practice): {}.",
        first / 100.0,
        silvered ? "silvered" : "passivated",
        limit / 100.0,
        silvered ? "thin silver burns at its contacts" : "a hard start lifts the film"));
  double most = 0.0;
  for (const auto& stage : stages) most = std::max({most, stage.from_A, stage.to_A});
  if (most / area_m2 > metal.high_A_per_m2 * (1.0 + 1e-9))
    warnings.push_back(
        fmt::format("{:.3g} A/dm² is more than the {} bath takes ({:.3g} A/dm²): burning and trees "
                    "at the edge.",
                    most / area_m2 / 100.0,
                    metal.name,
                    metal.high_A_per_m2 / 100.0));
  if (most / area_m2 < metal.low_A_per_m2 * (1.0 - 1e-9))
    warnings.push_back(fmt::format(
        "{:.3g} A/dm² is less than the {} bath needs ({:.3g} A/dm²): it may lay nothing.",
        most / area_m2 / 100.0,
        metal.name,
        metal.low_A_per_m2 / 100.0));
  return warnings;
}

Outcome check(std::span<const CurrentStage> stages) {
  if (stages.empty())
    return Error{Fault::bad_input, "the run has no stage; give a current and a time"};
  double charge = 0.0;
  for (const auto& stage : stages) {
    for (const double current : {stage.from_A, stage.to_A})
      if (!(current >= 0.0 && current <= most_current_A))
        return Error{Fault::out_of_range,
                     fmt::format("a current of {:g} A cannot be; give one from 0 to {:g} A",
                                 current,
                                 most_current_A)};
    if (!(stage.time_s > 0.0 && stage.time_s <= most_time_s))
      return Error{
          Fault::out_of_range,
          fmt::format("a stage of {:g} s cannot be; give one of more than 0 s and at most a year",
                      stage.time_s)};
    charge += stage_charge_C(stage, stage.time_s);
  }
  if (!(charge > 0.0))
    return Error{Fault::out_of_range, "the run passes no charge; give a current above 0"};
  return Done{};
}

}  // namespace goodside::metal
