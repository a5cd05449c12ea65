#include "json/mix_report.hpp"

#include <nlohmann/json.hpp>

#include "json/figures.hpp"
#include "json/layout.hpp"

namespace goodside::json {
namespace {

using Json = nlohmann::ordered_json;

Json bounds(const works::Bounds& one) {
  return {{"low", ten_digits(one.low)}, {"high", ten_digits(one.high)}};
}

template <class All, class Write>
Json list(const All& all, Write write_one) {
  Json json = Json::array();
  for (const auto& one : all) json.push_back(write_one(one));
  return json;
}
template <class Value, class Write>
Json or_null(const std::optional<Value>& value, Write write_one) {
  return value ? write_one(*value) : Json(nullptr);
}

Json mixture(const works::Mixture& one) {
  return {{"density_kg_per_m3", ten_digits(one.density_kg_per_m3)},
          {"binder_mass", ten_digits(one.binder_mass)},
          {"binder_volume", ten_digits(one.binder_volume)},
          {"regrind_mass", ten_digits(one.regrind_mass)},
          {"cost_per_kg", ten_digits(one.cost_per_kg)}};
}

Json line(const works::WeighLine& one) {
  return {{"ingredient", one.ingredient},
          {"role", word(one.role)},
          {"charge", one.charge},
          {"lot", one.lot},
          {"hazard", one.hazard},
          {"fraction", ten_digits(one.fraction)},
          {"volume_fraction", ten_digits(one.volume_fraction)},
          {"target_kg", ten_digits(one.target_kg)},
          {"weigh_kg", ten_digits(one.weigh_kg)},
          {"scale", one.scale},
          {"times", one.times},
          {"tolerance_kg", ten_digits(one.tolerance_kg)},
          {"tolerance_told", one.tolerance_told},
          {"is_fine_enough", one.is_fine_enough},
          {"stock_kg", ten_digits(one.stock_kg)},
          {"is_short", one.is_short},
          {"cost", ten_digits(one.cost)}};
}

Json weigh_up(const works::WeighUp& sheet) {
  return {{"batch_kg", ten_digits(sheet.batch_kg)},
          {"batches", sheet.batches},
          {"volume_m3", ten_digits(sheet.volume_m3)},
          {"fill", ten_digits(sheet.fill)},
          {"weighed_sigma_kg", ten_digits(sheet.weighed_sigma_kg)},
          {"water_kg", ten_digits(sheet.water_kg)},
          {"lines", list(sheet.lines, line)}};
}

Json deviation(const works::Deviation& one) {
  return {
      {"ingredient", one.ingredient},
      {"target_kg", ten_digits(one.target_kg)},
      {"weighed_kg", ten_digits(one.weighed_kg)},
      {"off_kg", one.weighed_kg ? ten_digits(one.off_kg) : Json(nullptr)},
      {"tolerance_kg", ten_digits(one.tolerance_kg)},
      {"share_of_tolerance", one.weighed_kg ? ten_digits(one.share_of_tolerance) : Json(nullptr)},
      {"is_out", one.is_out}};
}

Json addition(const works::Correction::Line& one) {
  return {{"ingredient", one.ingredient},
          {"add_kg", ten_digits(one.add_kg)},
          {"add_weighed_kg", ten_digits(one.add_weighed_kg)},
          {"final_fraction", ten_digits(one.final_fraction)},
          {"share_of_tolerance", ten_digits(one.share_of_tolerance)}};
}

Json correction(const works::Correction& one) {
  constexpr const char* kinds[] = {"none needed", "restores", "nearest"};
  return {{"kind", kinds[static_cast<int>(one.kind)]},
          {"worst_share", ten_digits(one.worst_share)},
          {"worst_share_weighed", ten_digits(one.worst_share_weighed)},
          {"add_kg", ten_digits(one.add_kg)},
          {"batch_kg", ten_digits(one.batch_kg)},
          {"volume_m3", ten_digits(one.volume_m3)},
          {"lines", list(one.lines, addition)},
          {"why", one.why},
          {"take_out_kg", ten_digits(one.take_out_kg)},
          {"after_taking_out", list(one.after_taking_out, addition)}};
}

Json cheapest(const works::Cheapest& one) {
  const auto moved = [](const works::Cheapest::Line& at) -> Json {
    return {{"ingredient", at.ingredient},
            {"role", word(at.role)},
            {"before", ten_digits(at.before)},
            {"after", ten_digits(at.after)},
            {"low", ten_digits(at.share.low)},
            {"high", ten_digits(at.share.high)},
            {"needed_kg", ten_digits(at.needed_kg)},
            {"stock_kg", ten_digits(at.stock_kg)}};
  };
  const auto held = [](const works::Cheapest::Held& at) -> Json {
    return {{"limit", at.limit}, {"saves", ten_digits(at.saves)}, {"unit", at.unit}};
  };
  return {{"found", one.found},
          {"broken", one.broken},
          {"cost_per_kg", one.found ? ten_digits(one.cost_per_kg) : Json(nullptr)},
          {"cost_before_per_kg", ten_digits(one.cost_before_per_kg)},
          {"before", mixture(one.before)},
          {"after", one.found ? mixture(one.after) : Json(nullptr)},
          {"lines", list(one.lines, moved)},
          {"held", list(one.held, held)}};
}

Json regrind(const works::RegrindHistory& one) {
  return {{"share", ten_digits(one.share)},
          {"through", list(one.through, [](double at) { return ten_digits(at); })},
          {"more", ten_digits(one.more)},
          {"mean_times", ten_digits(one.mean_times)},
          {"batches_to_settle", one.batches_to_settle}};
}

Json heat(const works::MixerHeat& one) {
  return {{"from_K", ten_digits(one.from_K)},
          {"to_K", ten_digits(one.to_K)},
          {"heat_capacity_J_per_kgK", ten_digits(one.heat_capacity_J_per_kgK)},
          {"heat_capacity_told", one.heat_capacity_told},
          {"heat_J", ten_digits(one.heat_J)},
          {"water_heat_J", ten_digits(one.water_heat_J)},
          {"energy_J", ten_digits(one.energy_J)},
          {"time_s", ten_digits(one.time_s)},
          {"work_J_per_kg", ten_digits(one.work_J_per_kg)}};
}

Json purge(const works::Purge& one) {
  return {{"left", ten_digits(one.left)},
          {"batches", one.batches},
          {"mass_kg", ten_digits(one.mass_kg)}};
}

Json ingredient(const works::Ingredient& one) {
  return {{"name", one.name},
          {"role", word(one.role)},
          {"fraction", ten_digits(one.fraction)},
          {"density_kg_per_m3", ten_digits(one.density_kg_per_m3)},
          {"moisture", ten_digits(one.moisture)},
          {"price_per_kg", ten_digits(one.price_per_kg)},
          {"stock_kg", ten_digits(one.stock_kg)},
          {"share", bounds(one.share)}};
}

}  // namespace

std::string write(const works::MixReport& report) {
  Json json;
  json["schema"] = "goodside.mix/1";
  json["recipe"] = {{"name", report.recipe.name},
                    {"colour", report.recipe.colour},
                    {"ingredients", list(report.recipe.ingredients, ingredient)}};
  json["mixture"] = mixture(report.mixture);
  json["weigh_up"] = weigh_up(report.weigh_up);
  json["deviations"] = list(report.deviations, deviation);
  json["correction"] = or_null(report.correction, correction);
  json["cheapest"] = or_null(report.cheapest, cheapest);
  json["regrind"] = or_null(report.regrind, regrind);
  json["heat"] = or_null(report.heat, heat);
  json["purge"] = or_null(report.purge, purge);
  json["remarks"] = report.remarks;
  json["cautions"] = report.cautions;
  json["within"] = report.is_within;
  return lay_out(json);
}

}  // namespace goodside::json
