#include "line/plan_plating.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "metal/bath.hpp"
#include "metal/cell.hpp"
#include "metal/deposit.hpp"
#include "metal/ramp.hpp"
#include "metal/shield.hpp"
#include "metal/spread.hpp"
#include "metal/stress.hpp"

namespace goodside::line {
namespace {

using works::CurrentStage;
using works::PlatingReport;

constexpr double least_radius_m = 1e-4, most_radius_m = 10.0, most_target_m = 0.05;
constexpr double shortest_hold_s = 1.0;
/// Disc and holder leave the bath with both sides wet.
constexpr double wetted_sides = 2.0;

Outcome in_range(
    const char* what, double value, double low, double high, double shown, const char* unit) {
  if (value >= low && value <= high) return Done{};
  return Error{Fault::out_of_range,
               fmt::format("{} of {:g} {} cannot be; give one from {:g} to {:g} {}",
                           what,
                           value * shown,
                           unit,
                           low * shown,
                           high * shown,
                           unit)};
}

Outcome check_request(const PlatingRequest& request) {
  if (const auto fit = metal::check(request.metal); !fit) return fit;
  if (const auto fit = in_range(
          "a disc's radius", request.disc_radius_m, least_radius_m, most_radius_m, 1e3, "mm");
      !fit)
    return fit;
  if (request.area_m2)
    if (const auto fit = in_range("an area", *request.area_m2, 1e-6, 100.0, 1e2, "dm²"); !fit)
      return fit;
  if (request.area_m2 && request.cell)
    return Error{Fault::bad_input, "the spread is of a disc: give its diameter, not an area"};
  if (request.target_m)
    if (const auto fit = in_range("a thickness", *request.target_m, 1e-9, most_target_m, 1e6, "µm");
        !fit)
      return fit;
  if (request.time_s)
    if (const auto fit = in_range("a time", *request.time_s, 0.1, 3.2e7, 1.0 / 3600.0, "h"); !fit)
      return fit;
  if (request.full_current_A)
    if (const auto fit = in_range("a current", *request.full_current_A, 1e-6, 1e5, 1.0, "A"); !fit)
      return fit;
  return Done{};
}

/// The stages asked for, the last one to be held on or cut.
std::vector<CurrentStage> stages_of(const PlatingRequest& request, double area_m2) {
  if (!request.stages.empty()) return request.stages;
  const double full_A =
      request.full_current_A.value_or(request.metal.current_density_A_per_m2 * area_m2);
  auto stages = metal::gentle_start(request.face, request.metal, full_A, area_m2);
  stages.push_back({full_A, full_A, shortest_hold_s});
  return stages;
}

works::PlatingCell completed(works::PlatingCell cell,
                             double disc_radius_m,
                             const works::PlatingMetal& metal) {
  const auto usual = metal::ordinary_cell(disc_radius_m, metal.conductivity_S_per_m);
  const auto fill = [](double& value, double otherwise) {
    if (value == 0.0) value = otherwise;
  };
  cell.disc_radius_m = disc_radius_m;
  fill(cell.cell_radius_m, std::max(usual.cell_radius_m, cell.holder_radius_m));
  fill(cell.holder_radius_m,
       std::clamp(
           usual.holder_radius_m, disc_radius_m, std::max(disc_radius_m, cell.cell_radius_m)));
  fill(cell.anode_distance_m,
       cell.level_m > 0.0 ? std::min(usual.anode_distance_m, 0.66 * cell.level_m)
                          : usual.anode_distance_m);
  fill(cell.anode_thickness_m, usual.anode_thickness_m);
  fill(cell.anode_radius_m, std::min(usual.anode_radius_m, cell.cell_radius_m));
  fill(cell.level_m, std::max(usual.level_m, cell.anode_distance_m + 0.4 * disc_radius_m));
  fill(cell.conductivity_S_per_m, usual.conductivity_S_per_m);
  if (cell.shield) {
    fill(cell.shield->outer_radius_m, cell.cell_radius_m);
    fill(cell.shield->thickness_m, 5e-3);
  }
  return cell;
}

works::Kinetics completed(works::Kinetics kinetics, const works::PlatingMetal& metal) {
  if (kinetics.exchange_current_density_A_per_m2 == 0.0)
    kinetics.exchange_current_density_A_per_m2 = metal.exchange_current_density_A_per_m2;
  if (kinetics.slope_V_per_decade == 0.0)
    kinetics.slope_V_per_decade = metal.tafel_slope_V_per_decade;
  if (kinetics.cathodic_coefficient == 0.0) kinetics.cathodic_coefficient = 0.5;
  if (kinetics.anodic_coefficient == 0.0) kinetics.anodic_coefficient = 0.5;
  return kinetics;
}

/// One cell for the run: how long it lasts, and what lies where then.
struct Grown {
  works::CellResult result;
  double time_s{};
  std::optional<double> target_time_s;
};
Result<Grown> grow(const PlatingRequest& request,
                   const works::PlatingCell& cell,
                   const works::Kinetics& kinetics,
                   const std::vector<CurrentStage>& stages,
                   std::optional<double> target_m,
                   std::optional<double> time_s) {
  const metal::GrooveBand band{request.cell->band_inner_radius_m,
                               request.cell->band_outer_radius_m};
  auto growth = metal::DepositGrowth::make(request.metal, cell, kinetics, stages, band);
  if (!growth) return growth.error();
  Grown grown;
  if (target_m) {
    const auto reached = growth->time_to_reach_s(*target_m);
    if (!reached) return reached.error();
    grown.target_time_s = *reached;
  }
  grown.time_s = time_s.value_or(grown.target_time_s.value_or(metal::total_time_s(stages)));
  auto result = growth->result(grown.time_s);
  if (!result) return result.error();
  grown.result = std::move(*result);
  return grown;
}

double most_current_A(const std::vector<CurrentStage>& stages) {
  double most = 0.0;
  for (const auto& stage : stages) most = std::max({most, stage.from_A, stage.to_A});
  return most;
}

Outcome add_cell(const PlatingRequest& request,
                 const std::vector<CurrentStage>& stages,
                 std::optional<double> target_m,
                 PlatingReport& report) {
  const CellGiven& given = *request.cell;
  auto cell = completed(given.cell, request.disc_radius_m, request.metal);
  const auto kinetics = completed(given.kinetics, request.metal);
  report.wanted_evenness = given.wanted_evenness;
  if (given.seek_shield) {
    cell.shield.reset();
    const auto found = metal::best_shield(cell,
                                          kinetics,
                                          {given.band_inner_radius_m, given.band_outer_radius_m},
                                          most_current_A(stages),
                                          {.thickness_m = given.shield_thickness_m,
                                           .outer_radius_m = cell.cell_radius_m,
                                           .wanted_evenness = given.wanted_evenness.value_or(0.05),
                                           .jobs = request.jobs});
    if (!found) return found.error();
    report.wanted_evenness = given.wanted_evenness.value_or(0.05);
    report.cells_tried = found->tried;
    auto shielded = cell;
    shielded.shield = found->shield;
    auto grown = grow(request, shielded, kinetics, stages, target_m, request.time_s);
    if (!grown) return grown.error();
    report.spread = std::move(grown->result);
    report.time_s = grown->time_s;
    report.target_time_s = grown->target_time_s;
    auto before = grow(request, cell, kinetics, stages, {}, report.time_s);
    if (!before) return before.error();
    report.before = std::move(before->result);
    return Done{};
  }
  auto grown = grow(request, cell, kinetics, stages, target_m, request.time_s);
  if (!grown) return grown.error();
  report.spread = std::move(grown->result);
  report.time_s = grown->time_s;
  report.target_time_s = grown->target_time_s;
  return Done{};
}

Outcome add_stress(const PlatingRequest& request, PlatingReport& report) {
  const int given =
      (request.strip ? 1 : 0) + (request.spiral ? 1 : 0) + (request.stress_Pa ? 1 : 0);
  if (given > 1)
    return Error{Fault::bad_input, "give the stress once: by a strip, a spiral, or as it is"};
  if (given == 0) {
    if (request.base_m)
      return Error{Fault::bad_input,
                   "a bow needs the deposit's stress; give --stress, --strip or --spiral"};
    return Done{};
  }
  works::DepositStress stress{.from = request.strip    ? "strip"
                                      : request.spiral ? "spiral"
                                                       : "given"};
  const auto found =
      request.strip
          ? metal::strip_stress_Pa({.length_m = request.strip->length_m,
                                    .thickness_m = request.strip->thickness_m,
                                    .deposit_m = request.strip->deposit_m,
                                    .deflection_m = request.strip->deflection_m,
                                    .elastic_modulus_Pa = request.strip->elastic_modulus_Pa,
                                    .poisson_ratio = request.strip->poisson_ratio})
      : request.spiral
          ? metal::spiral_stress_Pa({.constant_Nm_per_rad = request.spiral->constant_Nm_per_rad,
                                     .turn_rad = request.spiral->turn_rad,
                                     .pitch_m = request.spiral->pitch_m,
                                     .thickness_m = request.spiral->thickness_m,
                                     .deposit_m = request.spiral->deposit_m})
          : Result<double>{*request.stress_Pa};
  if (!found) return found.error();
  stress.stress_Pa = *found;
  if (request.base_m) {
    stress.base_thickness_m = *request.base_m;
    const auto bow = metal::bow({.stress_Pa = stress.stress_Pa,
                                 .deposit_m = report.mean_thickness_m,
                                 .deposit_modulus_Pa = request.metal.elastic_modulus_Pa,
                                 .deposit_poisson = request.metal.poisson_ratio,
                                 .base_m = *request.base_m,
                                 .base_modulus_Pa = request.metal.elastic_modulus_Pa,
                                 .base_poisson = request.metal.poisson_ratio,
                                 .radius_m = request.disc_radius_m});
    if (!bow) return bow.error();
    stress.curvature_per_m = bow->curvature_per_m;
    stress.bow_m = bow->height_m;
    if (bow->outgrown)
      stress.bow_word =
          "The bow is more than half of the metal's thickness: thin-plate theory ends "
          "here, the real bow is smaller and may snap to one side.";
  } else if (!(std::abs(stress.stress_Pa) <= 3e9)) {
    return Error{Fault::out_of_range,
                 "a stress beyond 3 GPa cannot be; look at the reading's units"};
  }
  report.stress = std::move(stress);
  return Done{};
}

void add_words(const PlatingRequest& request, PlatingReport& report) {
  report.warnings =
      metal::ramp_warnings(report.stages, request.face, request.metal, report.area_m2);
  report.warnings.insert(
      report.warnings.end(), request.metal.warnings.begin(), request.metal.warnings.end());
  if (report.spread) {
    const auto& band = report.spread->band;
    if (band.outer_radius_m > 0.97 * report.disc_radius_m)
      report.warnings.push_back(
          "The groove band reaches the disc's edge, where the current has no bound in theory: take "
          "the "
          "figures of the last 3 % of the radius as a hint.");
    if (report.target_time_s && report.time_s < *report.target_time_s * (1.0 - 1e-9))
      report.warnings.push_back("The thinnest place does not reach the target in this time.");
  }
  report.cautions = request.metal.cautions;
  report.cautions.push_back(
      "Hydrogen leaves the cathode: ventilate, no flame or spark, below a quarter of its lower "
      "explosive limit.");
  report.cautions.push_back(
      "Electrics near tanks: rectifier interlocked and off before a rack is touched, dry hands, "
      "bars covered; no "
      "cyanide anywhere near.");
  report.cautions.push_back("Follow your local code and your licensed adviser.");
}

}  // namespace

Result<PlatingReport> plan_plating(const PlatingRequest& request) {
  if (const auto fit = check_request(request); !fit) return fit.error();
  PlatingReport report{.metal = request.metal,
                       .face = request.face,
                       .area_m2 = request.area_m2.value_or(
                           std::numbers::pi * request.disc_radius_m * request.disc_radius_m),
                       .disc_radius_m = request.disc_radius_m};
  const auto stages = stages_of(request, report.area_m2);
  if (const auto fit = metal::check(stages); !fit) return fit.error();
  report.target_m = request.target_m;
  // Stages that were given run as they are; else the run needs an end.
  if (!report.target_m && !request.time_s && request.stages.empty())
    report.target_m = request.metal.usual_thickness_m;
  if (request.cell) {
    if (const auto added = add_cell(request, stages, report.target_m, report); !added)
      return added.error();
  } else {
    if (report.target_m) {
      const auto reached = metal::time_for_charge_s(
          stages, metal::charge_for_C(request.metal, *report.target_m, report.area_m2));
      if (!reached) return reached.error();
      report.target_time_s = *reached;
    }
    report.time_s =
        request.time_s.value_or(report.target_time_s.value_or(metal::total_time_s(stages)));
  }
  report.stages = metal::until(stages, report.time_s);
  report.charge_C = metal::charge_C(stages, report.time_s);
  const auto laid = metal::deposit(request.metal, report.charge_C, report.area_m2);
  report.mass_kg = laid.mass_kg;
  report.mean_thickness_m = laid.thickness_m;
  report.upkeep = metal::bath_upkeep(request.metal, report.charge_C, wetted_sides * report.area_m2);
  if (const auto added = add_stress(request, report); !added) return added.error();
  add_words(request, report);
  return report;
}

bool within_limits(const PlatingReport& report) {
  if (report.wanted_evenness && report.spread &&
      report.spread->band.evenness > *report.wanted_evenness)
    return false;
  return !(report.target_time_s && report.time_s < *report.target_time_s * (1.0 - 1e-9));
}

}  // namespace goodside::line
