#include "json/backing.hpp"

#include <nlohmann/json.hpp>

#include "json/figures.hpp"
#include "json/layout.hpp"

namespace goodside::json {
namespace {

using Json = nlohmann::ordered_json;

constexpr double length_steps = 1e9, fine_steps = 1e6, kelvin_steps = 1e3, pascal_steps = 1.0;

Json bow(const works::BowAt& one) {
  Json json{{"when", one.when},
            {"temperature_K", figure(one.temperature_K, kelvin_steps)},
            {"linear_curvature_per_m", figure(one.linear_curvature_per_m, length_steps)},
            {"curvature_per_m", figure(one.curvature_per_m, length_steps)},
            {"linear_sag_m", figure(one.linear_sag_m, length_steps)},
            {"sag_m", figure(one.sag_m, length_steps)},
            {"outgrown", one.outgrown},
            {"may_roll", one.may_roll},
            {"flattening_Pa", figure(one.flattening_Pa, pascal_steps)}};
  json["stress_Pa"] = Json::array();
  json["flat_stress_Pa"] = Json::array();
  for (const double each : one.stress_Pa) json["stress_Pa"].push_back(figure(each, pascal_steps));
  for (const double each : one.flat_stress_Pa)
    json["flat_stress_Pa"].push_back(figure(each, pascal_steps));
  return json;
}

Json map(const works::ThicknessMap& one) {
  Json json{{"mean_m", figure(one.mean_m, length_steps)},
            {"wedge_m", figure(one.wedge_m, length_steps)},
            {"wedge_sigma_m", figure(one.wedge_sigma_m, length_steps)},
            {"thick_towards_deg", figure(one.thick_towards_deg, kelvin_steps)},
            {"dome_m", figure(one.dome_m, length_steps)},
            {"dome_sigma_m", figure(one.dome_sigma_m, length_steps)},
            {"scatter_m", figure(one.scatter_m, length_steps)},
            {"least_m", figure(one.least_m, length_steps)},
            {"most_m", figure(one.most_m, length_steps)},
            {"radius_m", figure(one.radius_m, length_steps)},
            {"disc_thickness_m", figure(one.disc_thickness_m, length_steps)},
            {"centre_of_gravity_m", figure(one.centre_of_gravity_m, length_steps)},
            {"gravity_limit_m", figure(one.gravity_limit_m, length_steps)},
            {"slower_fill", figure(one.slower_fill, fine_steps)},
            {"range_limit_m", figure(one.range_limit_m, length_steps)},
            {"range_limit_from", one.range_limit_from},
            {"within", one.within}};
  json["readings"] = Json::array();
  for (std::size_t i = 0; i < one.readings.size(); ++i)
    json["readings"].push_back({{"x_m", figure(one.readings[i].x_m, length_steps)},
                                {"y_m", figure(one.readings[i].y_m, length_steps)},
                                {"thickness_m", figure(one.readings[i].thickness_m, length_steps)},
                                {"kept", static_cast<bool>(one.kept[i])}});
  json["remarks"] = one.remarks;
  return json;
}

Json surface(const works::BackSurface& one) {
  return {{"roughness_m", figure(one.roughness_m, 1e12)},
          {"spacing_m", figure(one.spacing_m, length_steps)},
          {"thickness_m", figure(one.thickness_m, length_steps)},
          {"pressure_Pa", figure(one.pressure_Pa, pascal_steps)},
          {"limit_m", figure(one.limit_m, 1e12)},
          {"limit_from", one.limit_from},
          {"printed_m", figure(one.printed_m, 1e12)},
          {"outer_level_dB", figure(one.outer_level_dB, 1e3)},
          {"inner_level_dB", figure(one.inner_level_dB, 1e3)},
          {"within", one.within}};
}

Json forming(const std::optional<works::Forming>& one) {
  if (!one) return nullptr;
  return {{"thickness_m", figure(one->thickness_m, length_steps)},
          {"inner_radius_m", figure(one->inner_radius_m, length_steps)},
          {"strain", figure(one->strain, fine_steps)},
          {"limit", figure(one->limit, fine_steps)},
          {"least_radius_m", figure(one->least_radius_m, length_steps)},
          {"within", one->within}};
}

}  // namespace

std::string write(const works::BackingReport& report) {
  Json json;
  json["schema"] = "goodside.back/1";
  json["solder"] = report.solder;
  json["solder_fit"] = report.solder_fit;
  json["flat"] = report.flat;
  json["radius_m"] = figure(report.radius_m, length_steps);
  json["flat_limit_m"] = figure(report.flat_limit_m, length_steps);
  json["flat_limit_from"] = report.flat_limit_from;
  json["hottest_K"] = figure(report.hottest_K, kelvin_steps);
  json["least_margin_K"] = figure(report.least_margin_K, kelvin_steps);
  json["solder_share_of_melting"] = figure(report.solder_share_of_melting, fine_steps);
  json["layers"] = Json::array();
  for (const auto& one : report.layers)
    json["layers"].push_back({{"name", one.name},
                              {"thickness_m", figure(one.thickness_m, length_steps)},
                              {"modulus_Pa", figure(one.modulus_Pa, pascal_steps)},
                              {"poisson", figure(one.poisson, fine_steps)},
                              {"expansion_per_K", figure(one.expansion_per_K, 1e12)}});
  json["bows"] = Json::array();
  for (const auto& one : report.bows) json["bows"].push_back(bow(one));
  json["solders"] = Json::array();
  for (const auto& one : report.solders)
    json["solders"].push_back({{"name", one.solder.name},
                               {"solidus_K", figure(one.solder.solidus_K, kelvin_steps)},
                               {"liquidus_K", figure(one.solder.liquidus_K, kelvin_steps)},
                               {"leaded", one.solder.leaded},
                               {"margin_K", figure(one.margin_K, kelvin_steps)},
                               {"fit", one.fit},
                               {"why", one.why}});
  json["remarks"] = report.remarks;
  return lay_out(json);
}

std::string write(const works::BareBackReport& report) {
  Json json;
  json["schema"] = "goodside.bare_back/1";
  json["within"] = report.within;
  json["map"] = report.map ? map(*report.map) : Json(nullptr);
  json["surface"] = report.surface ? surface(*report.surface) : Json(nullptr);
  json["edge"] = forming(report.edge);
  json["centre"] = forming(report.centre);
  json["remarks"] = report.remarks;
  return lay_out(json);
}

}  // namespace goodside::json
