#include "json/plating.hpp"

#include <cmath>
#include <nlohmann/json.hpp>

#include "json/layout.hpp"

namespace goodside::json {
namespace {

using Json = nlohmann::ordered_json;

/// Nine digits of a figure of any size: what is below is the solver's rounding.
Json digits(double value) {
  if (!std::isfinite(value)) return nullptr;
  if (value == 0.0) return 0.0;
  const double scale = std::pow(10.0, 8.0 - std::floor(std::log10(std::abs(value))));
  const double kept =
      std::isfinite(scale) && scale > 0.0 ? std::nearbyint(value * scale) / scale : value;
  return kept;
}
Json digits(const std::optional<double>& value) {
  return value ? digits(*value) : Json(nullptr);
}
Json digits(const std::vector<double>& values) {
  Json list = Json::array();
  for (const double one : values) list.push_back(digits(one));
  return list;
}

const char* word(works::StartingFace face) {
  if (face == works::StartingFace::silvered) return "silvered";
  return face == works::StartingFace::passivated ? "passivated" : "bare";
}
const char* word(works::KineticLaw law) {
  switch (law) {
    case works::KineticLaw::primary:
      return "primary";
    case works::KineticLaw::linear:
      return "linear";
    case works::KineticLaw::tafel:
      return "tafel";
    case works::KineticLaw::butler_volmer:
      break;
  }
  return "butler-volmer";
}

Json metal(const works::PlatingMetal& one) {
  return {{"name", one.name},
          {"molar_mass_kg_per_mol", digits(one.molar_mass_kg_per_mol)},
          {"density_kg_per_m3", digits(one.density_kg_per_m3)},
          {"electrons_per_ion", one.electrons_per_ion},
          {"cathode_efficiency", digits(one.cathode_efficiency)},
          {"conductivity_S_per_m", digits(one.conductivity_S_per_m)},
          {"source", one.source}};
}

Json cell(const works::PlatingCell& one) {
  Json json{{"disc_radius_m", digits(one.disc_radius_m)},
            {"holder_radius_m", digits(one.holder_radius_m)},
            {"holder_height_m", digits(one.holder_height_m)},
            {"rim_height_m", digits(one.rim_height_m)},
            {"cell_radius_m", digits(one.cell_radius_m)},
            {"level_m", digits(one.level_m)},
            {"anode_distance_m", digits(one.anode_distance_m)},
            {"anode_radius_m", digits(one.anode_radius_m)},
            {"anode_inner_radius_m", digits(one.anode_inner_radius_m)},
            {"anode_thickness_m", digits(one.anode_thickness_m)},
            {"conductivity_S_per_m", digits(one.conductivity_S_per_m)},
            {"shield", nullptr}};
  if (one.shield)
    json["shield"] = {{"opening_radius_m", digits(one.shield->opening_radius_m)},
                      {"distance_m", digits(one.shield->distance_m)},
                      {"thickness_m", digits(one.shield->thickness_m)},
                      {"outer_radius_m", digits(one.shield->outer_radius_m)}};
  return json;
}

Json kinetics(const works::Kinetics& one) {
  Json json{{"law", word(one.law)}};
  if (one.law == works::KineticLaw::linear)
    json["resistance_ohm_m2"] = digits(one.resistance_ohm_m2);
  if (one.law == works::KineticLaw::tafel || one.law == works::KineticLaw::butler_volmer)
    json["exchange_current_density_A_per_m2"] = digits(one.exchange_current_density_A_per_m2);
  if (one.law == works::KineticLaw::tafel)
    json["slope_V_per_decade"] = digits(one.slope_V_per_decade);
  if (one.law == works::KineticLaw::butler_volmer) {
    json["cathodic_coefficient"] = digits(one.cathodic_coefficient);
    json["anodic_coefficient"] = digits(one.anodic_coefficient);
    json["temperature_K"] = digits(one.temperature_K);
  }
  return json;
}

Json spread(const std::optional<works::CellResult>& one) {
  if (!one) return nullptr;
  const auto& band = one->band;
  return {{"cell", cell(one->cell)},
          {"kinetics", kinetics(one->kinetics)},
          {"radius_m", digits(one->profile.radius_m)},
          {"thickness_m", digits(one->profile.thickness_m)},
          {"band",
           {{"inner_radius_m", digits(band.inner_radius_m)},
            {"outer_radius_m", digits(band.outer_radius_m)},
            {"least_m", digits(band.least_m)},
            {"least_radius_m", digits(band.least_radius_m)},
            {"most_m", digits(band.most_m)},
            {"most_radius_m", digits(band.most_radius_m)},
            {"mean_m", digits(band.mean_m)},
            {"evenness", digits(band.evenness)}}},
          {"voltage_V", digits(one->voltage_V)},
          {"ohmic_resistance_ohm", digits(one->ohmic_resistance_ohm)},
          {"wagner", digits(one->wagner)},
          {"charge_balance", digits(one->charge_balance)},
          {"unknowns", one->unknowns}};
}

Json upkeep(const works::BathUpkeep& one) {
  Json json{{"anode_dissolved_kg", digits(one.anode_dissolved_kg)},
            {"metal_gained_kg", digits(one.metal_gained_kg)},
            {"drag_out_m3", digits(one.drag_out_m3)},
            {"brightener_m3", digits(one.brightener_m3)},
            {"hydrogen_m3", digits(one.hydrogen_m3)},
            {"used", Json::array()}};
  for (const auto& salt : one.used)
    json["used"].push_back({{"what", salt.what}, {"mass_kg", digits(salt.mass_kg)}});
  return json;
}

Json stress(const std::optional<works::DepositStress>& one) {
  if (!one) return nullptr;
  return {{"stress_Pa", digits(one->stress_Pa)},
          {"from", one->from},
          {"curvature_per_m", digits(one->curvature_per_m)},
          {"bow_m", digits(one->bow_m)},
          {"base_thickness_m", one->bow_m ? digits(one->base_thickness_m) : Json(nullptr)},
          {"bow_word", one->bow_word}};
}

}  // namespace

std::string write(const works::PlatingReport& report) {
  Json json{{"schema", "goodside.plate/1"},
            {"part", report.part.empty() ? Json(nullptr) : Json(report.part)},
            {"metal", metal(report.metal)},
            {"face", word(report.face)},
            {"area_m2", digits(report.area_m2)},
            {"disc_radius_m", digits(report.disc_radius_m)}};
  json["stages"] = Json::array();
  for (const auto& stage : report.stages)
    json["stages"].push_back({{"from_A", digits(stage.from_A)},
                              {"to_A", digits(stage.to_A)},
                              {"time_s", digits(stage.time_s)}});
  json["time_s"] = digits(report.time_s);
  json["charge_C"] = digits(report.charge_C);
  json["mass_kg"] = digits(report.mass_kg);
  json["mean_thickness_m"] = digits(report.mean_thickness_m);
  json["target_m"] = digits(report.target_m);
  json["target_time_s"] = digits(report.target_time_s);
  json["upkeep"] = upkeep(report.upkeep);
  json["spread"] = spread(report.spread);
  json["before"] = spread(report.before);
  json["wanted_evenness"] = digits(report.wanted_evenness);
  json["cells_tried"] = report.cells_tried;
  json["stress"] = stress(report.stress);
  json["warnings"] = report.warnings;
  json["cautions"] = report.cautions;
  return lay_out(json);
}

}  // namespace goodside::json
