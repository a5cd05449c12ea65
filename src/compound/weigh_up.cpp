#include "compound/weigh_up.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <set>

#include "base/near_miss.hpp"
#include "compound/mixture.hpp"

namespace goodside::compound {
namespace {

using works::Recipe;
using works::WeighLine;
using works::WeighUp;

constexpr double rounding = 1e-9;

Error no_room(double batch_kg, double density, const works::Mixer& mixer) {
  const double most_m3 = mixer.volume_m3 * mixer.most_fill;
  return {Fault::out_of_range,
          fmt::format("{:.6g} kg takes {:.4g} l and the bowl holds {:.4g} l at its highest fill of "
                      "{:.3g}; at most {:.5g} kg a charge, or give --total for several",
                      batch_kg,
                      1e3 * batch_kg / density,
                      1e3 * most_m3,
                      mixer.most_fill,
                      most_m3 * density)};
}

struct Charge {
  double batch_kg;
  int batches;
};

Result<Charge> charge_of(const Recipe& recipe, const Wanted& wanted, double density) {
  const auto& mixer = recipe.mixer;
  for (const auto& mass_kg : {wanted.batch_kg, wanted.total_kg})
    if (mass_kg && !(*mass_kg > 0.0 && *mass_kg <= 1e6))
      return Error{Fault::bad_input,
                   fmt::format("a batch of {:g} kg cannot be; give a mass above nought", *mass_kg)};
  const double usual_kg = mixer ? mixer->volume_m3 * mixer->fill * density : 0.0;
  const double most_kg = mixer ? mixer->volume_m3 * mixer->most_fill * density : 0.0;
  if (wanted.total_kg && mixer) {
    // As few charges as the usual fill asks for, unless one fewer fits at the highest.
    const double charges = std::ceil(*wanted.total_kg / most_kg - rounding);
    const double usual = std::ceil(*wanted.total_kg / usual_kg - rounding);
    const double count = usual > charges ? usual : charges;
    if (count > 1e6)
      return Error{Fault::out_of_range,
                   "more than a million charges; give a larger bowl or a smaller total"};
    return Charge{*wanted.total_kg / count, static_cast<int>(count)};
  }
  const auto mass_kg = wanted.batch_kg ? wanted.batch_kg : wanted.total_kg;
  if (!mass_kg && !mixer)
    return Error{Fault::bad_input,
                 "how much is to be mixed? give --mass, or the recipe a [mixer] with its volume"};
  if (mass_kg && mixer && *mass_kg > most_kg * (1.0 + rounding))
    return no_room(*mass_kg, density, *mixer);
  return Charge{mass_kg.value_or(usual_kg), 1};
}

WeighLine line_of(const Recipe& recipe, std::size_t i, double batch_kg, double specific_m3_per_kg) {
  const auto& one = recipe.ingredients[i];
  WeighLine line;
  line.ingredient = one.name;
  line.lot = one.lot;
  line.hazard = one.hazard;
  line.role = one.role;
  line.fraction = one.fraction;
  line.volume_fraction = one.fraction / one.density_kg_per_m3 / specific_m3_per_kg;
  line.target_kg = batch_kg * one.fraction * wet_per_dry(one);
  line.weigh_kg = line.target_kg;
  line.tolerance_kg = batch_kg * tolerance_share_of_batch(one, one.fraction) * wet_per_dry(one);
  line.tolerance_told = one.tolerance.has_value();
  const auto weighing = weighing_of(recipe, line.target_kg);
  line.scale = weighing.scale;
  line.times = weighing.times;
  if (const double division_kg = weighing.division_kg; division_kg > 0.0) {
    line.weigh_kg = rounded_to(line.target_kg, division_kg);
    // Of a minor one the usual tolerance is never less than a division (common practice).
    if (!one.tolerance && one.fraction < 0.01)
      line.tolerance_kg = std::max(line.tolerance_kg, division_kg);
    line.is_fine_enough = 3.0 * division_kg <= line.tolerance_kg * (1.0 + rounding);
  }
  line.stock_kg = one.stock_kg;
  if (one.price_per_kg) line.cost = *one.price_per_kg * line.target_kg;
  return line;
}

}  // namespace

Weighing weighing_of(const Recipe& recipe, double mass_kg) {
  if (recipe.scales.empty()) return {};
  const works::Scale* best = nullptr;
  for (const auto& scale : recipe.scales)
    if (!scale.capacity_kg || *scale.capacity_kg >= mass_kg)
      if (best == nullptr || scale.division_kg < best->division_kg) best = &scale;
  if (best != nullptr) return {.scale = best->name, .division_kg = best->division_kg};
  best = &*std::ranges::max_element(
      recipe.scales, {}, [](const auto& scale) { return *scale.capacity_kg; });
  return {.scale = best->name,
          .division_kg = best->division_kg,
          .times = static_cast<int>(std::ceil(mass_kg / *best->capacity_kg - rounding))};
}

double rounded_to(double mass_kg, double division_kg) {
  if (division_kg <= 0.0) return mass_kg;
  // Back through the number of divisions in a kilogram where that is whole, so that 22.5 stays 22.5.
  const double divisions = std::round(mass_kg / division_kg);
  const double per_kg = 1.0 / division_kg;
  return std::abs(per_kg - std::round(per_kg)) < 1e-6 * per_kg ? divisions / std::round(per_kg)
                                                               : divisions * division_kg;
}

Result<WeighUp> weigh_up(const Recipe& recipe, const Wanted& wanted) {
  const auto fractions = fractions_of(recipe);
  const double specific = specific_volume_m3_per_kg(recipe, fractions);
  const auto charge = charge_of(recipe, wanted, 1.0 / specific);
  if (!charge) return charge.error();
  WeighUp sheet{.batch_kg = charge->batch_kg,
                .batches = charge->batches,
                .volume_m3 = charge->batch_kg * specific,
                .fill = {},
                .lines = {}};
  if (recipe.mixer) sheet.fill = sheet.volume_m3 / recipe.mixer->volume_m3;
  const auto order = charging_order(recipe);
  double squares = 0.0;
  for (std::size_t i = 0; i < recipe.ingredients.size(); ++i) {
    const auto& one = recipe.ingredients[i];
    if (one.fraction <= 0.0) continue;
    auto line = line_of(recipe, i, sheet.batch_kg, specific);
    line.charge = order[i];
    line.is_short =
        one.stock_kg && line.weigh_kg * sheet.batches > *one.stock_kg * (1.0 + rounding);
    sheet.water_kg += line.target_kg * one.moisture;
    squares += line.times * std::pow(weighing_of(recipe, line.target_kg).division_kg, 2) / 12.0;
    sheet.lines.push_back(std::move(line));
  }
  sheet.weighed_sigma_kg = std::sqrt(squares);
  std::ranges::stable_sort(sheet.lines, [](const WeighLine& a, const WeighLine& b) {
    return a.charge != b.charge ? a.charge < b.charge : a.target_kg > b.target_kg;
  });
  return sheet;
}

Result<std::vector<works::Deviation>> deviations(const Recipe& recipe,
                                                 const WeighUp& sheet,
                                                 std::span<const works::Weighed> weighed) {
  std::vector<std::string> names;
  for (const auto& one : recipe.ingredients) names.push_back(one.name);
  std::set<std::string> met;
  for (const auto& [name, mass_kg] : weighed) {
    if (std::ranges::find(names, name) == names.end())
      return Error{
          Fault::bad_input,
          fmt::format(
              "the recipe has no {}; {}",
              name.empty() ? "ingredient without a name" : name,
              suggestion(name, names).value_or(fmt::format("it has {}", fmt::join(names, ", "))))};
    if (!met.insert(name).second)
      return Error{Fault::bad_input,
                   fmt::format("{} was weighed twice; give the sum of its weighings once", name)};
    if (!(mass_kg >= 0.0 && mass_kg <= 1e6))
      return Error{
          Fault::bad_input,
          fmt::format(
              "{}: the scale cannot have said {:g} kg; give nought or more", name, mass_kg)};
  }
  std::vector<works::Deviation> all;
  for (const auto& one : recipe.ingredients) {
    const auto said = std::ranges::find(weighed, one.name, &works::Weighed::ingredient);
    const auto line = std::ranges::find(sheet.lines, one.name, &WeighLine::ingredient);
    if (line == sheet.lines.end() && said == weighed.end()) continue;
    works::Deviation deviation{.ingredient = one.name, .weighed_kg = {}};
    if (line != sheet.lines.end()) {
      deviation.target_kg = line->target_kg;
      deviation.tolerance_kg = line->tolerance_kg;
    } else {
      deviation.tolerance_kg = sheet.batch_kg * tolerance_share_of_batch(one, 0.0);
    }
    if (said != weighed.end()) {
      deviation.weighed_kg = said->mass_kg;
      // No scale reads a microgram: less is what arithmetic left of the target.
      const double off_kg = said->mass_kg - deviation.target_kg;
      deviation.off_kg = std::abs(off_kg) < 1e-9 ? 0.0 : off_kg;
      deviation.share_of_tolerance = std::abs(deviation.off_kg) / deviation.tolerance_kg;
      deviation.is_out = deviation.share_of_tolerance > 1.0 + rounding;
    }
    all.push_back(std::move(deviation));
  }
  return all;
}

}  // namespace goodside::compound
