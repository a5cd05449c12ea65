#include "line/mix_batch.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "base/near_miss.hpp"
#include "compound/cheapest.hpp"
#include "compound/correction.hpp"
#include "compound/mixer.hpp"
#include "compound/mixture.hpp"
#include "compound/weigh_up.hpp"
#include "intake/recipe_file.hpp"

namespace goodside::line {
namespace {

using works::MixReport;
using works::Recipe;

Error in_file(const std::string& file, const Error& error) {
  if (error.text.starts_with(file)) return error;
  return {error.fault, file + ": " + error.text};
}

Result<works::Ingredient*> ingredient_of(Recipe& recipe, const std::string& name) {
  std::vector<std::string> names;
  for (auto& one : recipe.ingredients) {
    if (one.name == name) return &one;
    names.push_back(one.name);
  }
  return Error{
      Fault::bad_input,
      fmt::format(
          "there is no ingredient {}; {}",
          name,
          suggestion(name, names).value_or(fmt::format("there are {}", fmt::join(names, ", "))))};
}

/// The recipe with this share of regrind, the rest shrunk in proportion.
Outcome set_regrind(Recipe& recipe, double share) {
  if (!(share >= 0.0 && share < 1.0))
    return Error{Fault::bad_input,
                 fmt::format("a regrind share of {:g} cannot be; give 0 to below 1", share)};
  double others = 0.0, regrind = 0.0;
  for (const auto& one : recipe.ingredients)
    (one.role == works::Role::regrind ? regrind : others) += one.fraction;
  if (others <= 0.0)
    return Error{Fault::bad_input, "the recipe is regrind alone; give it something fresh"};
  if (regrind <= 0.0) {
    works::Ingredient one;
    one.name = "regrind";
    one.role = works::Role::regrind;
    one.density_kg_per_m3 = compound::mixture(recipe).density_kg_per_m3;
    for (auto& other : recipe.ingredients) other.fraction *= 1.0 - share;
    one.fraction = share;
    const auto met = std::ranges::find(recipe.ingredients, one.name, &works::Ingredient::name);
    if (met != recipe.ingredients.end())
      return Error{Fault::bad_input,
                   "regrind is in the recipe without that role; give it the role"};
    recipe.ingredients.push_back(std::move(one));
    return Done{};
  }
  for (auto& one : recipe.ingredients)
    one.fraction *= one.role == works::Role::regrind ? share / regrind : (1.0 - share) / others;
  return Done{};
}

Outcome tell(Recipe& recipe, const MixRequest& request) {
  for (const auto& [name, value] : request.stocks_kg) {
    const auto one = ingredient_of(recipe, name);
    if (!one) return one.error();
    (*one)->stock_kg = value;
  }
  for (const auto& [name, value] : request.prices_per_kg) {
    const auto one = ingredient_of(recipe, name);
    if (!one) return one.error();
    (*one)->price_per_kg = value;
  }
  if (request.division_kg)
    recipe.scales = {{.name = "scale", .division_kg = *request.division_kg, .capacity_kg = {}}};
  if (request.bowl_m3 && !recipe.mixer) recipe.mixer = works::Mixer{};
  if (recipe.mixer) {
    auto& mixer = *recipe.mixer;
    mixer.volume_m3 = request.bowl_m3.value_or(mixer.volume_m3);
    mixer.fill = request.fill.value_or(mixer.fill);
    mixer.most_fill = std::max(mixer.most_fill, mixer.fill);
    if (request.power_W) mixer.power_W = request.power_W;
    if (request.dump_temperature_K) mixer.dump_temperature_K = request.dump_temperature_K;
    mixer.start_temperature_K = request.start_temperature_K.value_or(mixer.start_temperature_K);
  } else if (request.power_W || request.dump_temperature_K || request.fill) {
    return Error{Fault::bad_input, "there is no mixer; give --bowl, or the recipe a [mixer]"};
  }
  return Done{};
}

Result<Recipe> recipe_of(const MixRequest& request) {
  auto read = intake::read_recipe(request.recipe);
  if (!read) return read.error();
  if (const auto told = tell(*read, request); !told) return in_file(request.recipe, told.error());
  auto recipe = compound::checked(std::move(*read));
  if (!recipe) return in_file(request.recipe, recipe.error());
  if (request.regrind)
    if (const auto set = set_regrind(*recipe, *request.regrind); !set) return set.error();
  return recipe;
}

/// Adds up the masses of one ingredient; two figures told of one are a mistake, and kept for `deviations`
/// to refuse.
void add_up(std::vector<works::Weighed>& all, const std::vector<works::Weighed>& more) {
  for (const auto& one : more) {
    const auto met = std::ranges::find(all, one.ingredient, &works::Weighed::ingredient);
    if (met == all.end())
      all.push_back(one);
    else
      met->mass_kg += one.mass_kg;
  }
}

/// The dry mass that the record's sheet asked for, if it did.
std::optional<double> asked_kg(const Recipe& recipe, const std::vector<works::Weighed>& asked) {
  double dry_kg = 0.0;
  for (const auto& one : recipe.ingredients) {
    const auto line = std::ranges::find(asked, one.name, &works::Weighed::ingredient);
    if (line != asked.end()) dry_kg += line->mass_kg / compound::wet_per_dry(one);
  }
  return dry_kg > 0.0 ? std::optional{dry_kg} : std::nullopt;
}

Outcome put_right(MixReport& report, const MixRequest& request) {
  auto weighed = newly_weighed(request);
  if (!weighed) return weighed.error();
  add_up(*weighed, request.recorded);
  if (weighed->empty()) return Done{};
  auto deviations = compound::deviations(report.recipe, report.weigh_up, *weighed);
  const std::string file = request.weighed.empty() ? "--said" : request.weighed;
  if (!deviations) return in_file(file, deviations.error());
  report.deviations = std::move(*deviations);
  compound::CorrectionLimits limits{.aim = request.aim, .most_volume_m3 = {}};
  if (report.recipe.mixer)
    limits.most_volume_m3 = report.recipe.mixer->volume_m3 * report.recipe.mixer->most_fill;
  auto correction = compound::correction(report.recipe, report.weigh_up, *weighed, limits);
  if (!correction) return in_file(file, correction.error());
  report.correction = std::move(*correction);
  return Done{};
}

Outcome add_heat(MixReport& report) {
  const auto& mixer = report.recipe.mixer;
  if (!mixer || !mixer->dump_temperature_K) return Done{};
  const auto heat = compound::mixer_heat(report.recipe, report.weigh_up);
  if (!heat) return heat.error();
  report.heat = *heat;
  return Done{};
}

Outcome add_purge(MixReport& report, const MixRequest& request) {
  if (!request.purge_left) return Done{};
  const double holdup_kg = report.recipe.mixer ? report.recipe.mixer->holdup_kg.value_or(0.0) : 0.0;
  const auto purge = compound::purge(holdup_kg, report.weigh_up.batch_kg, *request.purge_left);
  if (!purge) return purge.error();
  report.purge = *purge;
  return Done{};
}

void judge(MixReport& report) {
  for (const auto& line : report.weigh_up.lines) {
    if (line.is_short)
      report.remarks.push_back(fmt::format("{}: {:.6g} kg are wanted and {:.6g} kg are in stock",
                                           line.ingredient,
                                           line.weigh_kg * report.weigh_up.batches,
                                           *line.stock_kg));
    report.is_within = report.is_within && !line.is_short;
    if (!line.is_fine_enough)
      report.remarks.push_back(
          fmt::format("{}: the scale's division is more than a third of its tolerance of {:.3g} g; "
                      "take a finer one",
                      line.ingredient,
                      1e3 * line.tolerance_kg));
  }
  for (const auto& one : report.recipe.ingredients)
    if (one.most_moisture && one.moisture > *one.most_moisture && one.fraction > 0.0) {
      report.remarks.push_back(
          fmt::format("{}: {:.3g} % moisture, and {:.3g} % is the most; dry it first",
                      one.name,
                      1e2 * one.moisture,
                      1e2 * *one.most_moisture));
      report.is_within = false;
    }
  if (report.correction && report.correction->kind == works::Correction::Kind::none_needed &&
      std::ranges::any_of(report.deviations, &works::Deviation::is_out))
    report.remarks.emplace_back(
        "off the sheet's masses, and within tolerance as a mix: the batch is of another size");
  if (report.correction)
    report.is_within =
        report.is_within && report.correction->kind == works::Correction::Kind::none_needed;
  if (report.cheapest) report.is_within = report.is_within && report.cheapest->found;
}

}  // namespace

Result<std::vector<works::Weighed>> newly_weighed(const MixRequest& request) {
  std::vector<works::Weighed> weighed;
  if (!request.weighed.empty()) {
    auto read = intake::read_weighed(request.weighed);
    if (!read) return read.error();
    weighed = std::move(*read);
  }
  weighed.insert(weighed.end(), request.said.begin(), request.said.end());
  return weighed;
}

Result<MixReport> mix_batch(const MixRequest& request) {
  auto recipe = recipe_of(request);
  if (!recipe) return recipe.error();
  MixReport report;
  report.recipe = std::move(*recipe);
  report.remarks = report.recipe.remarks;
  report.mixture = compound::mixture(report.recipe);
  auto batch_kg = request.batch_kg;
  if (!batch_kg && !request.total_kg) batch_kg = asked_kg(report.recipe, request.asked);
  auto sheet =
      compound::weigh_up(report.recipe, {.batch_kg = batch_kg, .total_kg = request.total_kg});
  if (!sheet) return in_file(request.recipe, sheet.error());
  report.weigh_up = std::move(*sheet);
  for (const auto& outcome :
       {put_right(report, request), add_heat(report), add_purge(report, request)})
    if (!outcome) return outcome.error();
  if (request.cheapest) {
    const double batches_kg = report.weigh_up.batch_kg * report.weigh_up.batches;
    auto cheapest =
        compound::cheapest(report.recipe, {.mass_kg = request.ahead_kg.value_or(batches_kg)});
    if (!cheapest) return in_file(request.recipe, cheapest.error());
    report.cheapest = std::move(*cheapest);
  }
  if (const double share = report.mixture.regrind_mass; share > 0.0 && share < 1.0)
    report.regrind = compound::regrind_history(share);
  report.cautions = compound::cautions(report.recipe);
  judge(report);
  return report;
}

}  // namespace goodside::line
