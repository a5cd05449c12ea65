#include "json/biscuit_report.hpp"

#include <nlohmann/json.hpp>

#include "json/figures.hpp"
#include "json/layout.hpp"

namespace goodside::json {
namespace {

using Json = nlohmann::ordered_json;

Json cut(const works::BiscuitCut& one) {
  return {{"mass_kg", ten_digits(one.mass_kg)},
          {"area_m2", ten_digits(one.area_m2)},
          {"side_m", ten_digits(one.side_m)},
          {"length_m", ten_digits(one.length_m)},
          {"across", one.across ? Json(*one.across) : Json(nullptr)},
          {"trim_m", ten_digits(one.trim_m)},
          {"puck_height_m", ten_digits(one.puck_height_m)}};
}

Json scatter(const works::BiscuitScatter& one) {
  return {{"mean_kg", ten_digits(one.mean_kg)},
          {"sigma_kg", ten_digits(one.sigma_kg)},
          {"sigma_low_kg", ten_digits(one.sigma_low_kg)},
          {"sigma_high_kg", ten_digits(one.sigma_high_kg)},
          {"count", one.count},
          {"short_chance", ten_digits(one.short_chance)},
          {"thick_chance", ten_digits(one.thick_chance)},
          {"short_seen", one.short_seen},
          {"thick_seen", one.thick_seen},
          {"outside", one.outside},
          {"flash_kg", ten_digits(one.flash_kg)}};
}

Json profile(const works::DiscProfile& one) {
  Json points = Json::array();
  for (const auto& [radius_m, thickness_m] : one.points)
    points.push_back(
        {{"radius_m", ten_digits(radius_m)}, {"thickness_m", ten_digits(thickness_m)}});
  return points;
}

}  // namespace

std::string write(const works::BiscuitReport& report) {
  const auto& request = report.request;
  Json json;
  json["schema"] = "goodside.biscuit/1";
  json["disc"] = {{"profile", profile(request.profile)},
                  {"density_kg_per_m3", ten_digits(request.density_kg_per_m3)},
                  {"shrinkage", ten_digits(request.shrinkage)},
                  {"profile_of_mould", request.profile_of_mould},
                  {"volume_m3", ten_digits(report.volume_m3)},
                  {"groove_volume_m3", ten_digits(report.groove_volume_m3)},
                  {"disc_kg", ten_digits(report.disc_kg)}};
  json["biscuit"] = {{"flash", ten_digits(request.flash)},
                     {"biscuit_kg", ten_digits(report.biscuit_kg)},
                     {"short_below_kg", ten_digits(report.short_below_kg)},
                     {"thick_above_kg", ten_digits(report.thick_above_kg)},
                     {"short_chance_allowed", ten_digits(request.short_chance)},
                     {"thick_chance_allowed", ten_digits(request.thick_chance)}};
  json["cut"] = report.cut ? cut(*report.cut) : Json(nullptr);
  json["now"] = report.now ? scatter(*report.now) : Json(nullptr);
  json["aim_kg"] = ten_digits(report.aim_kg);
  json["aimed"] = report.aimed ? scatter(*report.aimed) : Json(nullptr);
  json["widest_sigma_kg"] = report.now ? ten_digits(report.widest_sigma_kg) : Json(nullptr);
  json["regrind_share"] = ten_digits(report.regrind_share);
  json["remarks"] = report.remarks;
  json["cautions"] = report.cautions;
  json["within"] = report.is_within;
  return lay_out(json);
}

}  // namespace goodside::json
