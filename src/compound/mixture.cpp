#include "compound/mixture.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <numeric>
#include <set>

namespace goodside::compound {
namespace {

using works::Bounds;
using works::Ingredient;
using works::Recipe;
using works::Role;

constexpr double lightest_kg_per_m3 = 10.0, heaviest_kg_per_m3 = 25e3;
constexpr double rounding_of_sum = 5e-4, most_money = 1e9, most_mass_kg = 1e6;
constexpr std::size_t most_ingredients = 200;

bool lies_in(double value, double low, double high) {
  return value >= low && value <= high;
}

Error refuse(const std::string& where, const std::string& what) {
  return {Fault::bad_input, where + ": " + what};
}

Outcome check_bounds(const std::string& where, const Bounds& bounds, double most) {
  for (const auto& side : {bounds.low, bounds.high})
    if (side && !lies_in(*side, 0.0, most))
      return refuse(where, fmt::format("a bound of {:g} cannot be; give 0 to {:g}", *side, most));
  if (bounds.low && bounds.high && *bounds.low > *bounds.high)
    return refuse(
        where,
        fmt::format("low is {:g} and high {:g}; see which is which", *bounds.low, *bounds.high));
  return Done{};
}

/// What can be told of one ingredient alone.
Outcome check_one(const Ingredient& one) {
  const auto in = [&](const std::optional<double>& value,
                      std::string_view what,
                      double low,
                      double high,
                      std::string_view unit) -> Outcome {
    if (!value || lies_in(*value, low, high)) return Done{};
    return refuse(
        one.name,
        fmt::format("the {} is {:g}{}; give {:g} to {:g}{}", what, *value, unit, low, high, unit));
  };
  for (const auto& outcome :
       {in(one.fraction, "fraction", 0.0, 1.0, ""),
        in(one.density_kg_per_m3, "density", lightest_kg_per_m3, heaviest_kg_per_m3, " kg/m3"),
        in(one.tolerance, "tolerance", 1e-6, 1.0, " of its target"),
        in(one.price_per_kg, "price", 0.0, most_money, " a kg"),
        in(one.stock_kg, "stock", 0.0, most_mass_kg, " kg"),
        in(one.moisture, "moisture", 0.0, 0.9, ""),
        in(one.most_moisture, "highest moisture", 0.0, 0.9, ""),
        in(one.heat_capacity_J_per_kgK, "heat capacity", 100.0, 1e4, " J/kgK"),
        check_bounds(one.name, one.share, 1.0)})
    if (!outcome) return outcome;
  for (const auto& [property, value] : one.properties)
    if (!std::isfinite(value))
      return refuse(one.name, fmt::format("{} is no finite number; give one", property));
  return Done{};
}

Outcome check_mixer(const works::Mixer& mixer) {
  const auto is = [](bool right, const std::string& what) -> Outcome {
    if (right) return Done{};
    return refuse("mixer", what);
  };
  for (const auto& outcome :
       {is(lies_in(mixer.volume_m3, 1e-6, 100.0), "the bowl's volume is none; give it, as 75 l"),
        is(lies_in(mixer.fill, 0.01, 1.0) && lies_in(mixer.most_fill, mixer.fill, 1.0),
           fmt::format(
               "fill is {:g} and most_fill {:g}; give shares of the bowl, fill no more than "
               "most_fill",
               mixer.fill,
               mixer.most_fill)),
        is(!mixer.power_W || lies_in(*mixer.power_W, 1.0, 1e8),
           "the power is none; give it, as 55 kW"),
        is(lies_in(mixer.efficiency, 0.01, 1.0), "give efficiency as a share from 0.01 to 1"),
        is(!mixer.holdup_kg || lies_in(*mixer.holdup_kg, 0.0, most_mass_kg),
           "what the bowl keeps is below nought; give holdup, as 0.4 kg")})
    if (!outcome) return outcome;
  return Done{};
}

Outcome check_sum(Recipe& recipe) {
  double sum = 0.0;
  for (const auto& one : recipe.ingredients) sum += one.fraction;
  if (!(std::abs(sum - 1.0) <= rounding_of_sum))
    return Error{Fault::bad_input,
                 fmt::format("the fractions sum to {:.4f}, {:.4f} {} 1; mend one, or give parts "
                             "instead, which may sum to anything",
                             sum,
                             std::abs(sum - 1.0),
                             sum < 1.0 ? "short of" : "above")};
  if (std::abs(sum - 1.0) > 1e-9)
    recipe.remarks.push_back(
        fmt::format("the fractions sum to {:.5f}; scaled to 1, as for rounded figures", sum));
  for (auto& one : recipe.ingredients) one.fraction /= sum;
  return Done{};
}

/// The words of a name in small letters.
std::set<std::string> words_of(const std::string& text) {
  std::set<std::string> words;
  std::string word;
  for (const char letter : text + " ") {
    if (std::isalpha(static_cast<unsigned char>(letter)) != 0) {
      word += static_cast<char>(std::tolower(static_cast<unsigned char>(letter)));
    } else if (!word.empty()) {
      words.insert(word);
      word.clear();
    }
  }
  return words;
}

bool names_any(const Recipe& recipe,
               std::initializer_list<std::string_view> these,
               std::string* who) {
  for (const auto& one : recipe.ingredients)
    for (const auto& word : words_of(one.name + " " + one.hazard))
      if (std::ranges::find(these, word) != these.end()) {
        if (who != nullptr) *who = one.name;
        return true;
      }
  return false;
}

std::string_view kind_of(const Recipe& recipe) {
  if (!recipe.kind.empty()) return recipe.kind;
  if (names_any(recipe, {"shellac"}, nullptr)) return "shellac";
  if (names_any(recipe, {"vinyl", "pvc", "copolymer"}, nullptr)) return "vinyl";
  return "";
}

int rank(Role role, bool is_vinyl) {
  switch (role) {
    case Role::binder:
    case Role::extender:
    case Role::pellets:
      return 1;
    case Role::colour:
      return is_vinyl ? 1 : 3;
    case Role::antistatic:
      return is_vinyl ? 2 : 4;
    case Role::plasticiser:
      return is_vinyl ? 3 : 2;
    case Role::regrind:
      return 2;
    case Role::stabiliser:
    case Role::filler:
      return 3;
    case Role::fibre:
    case Role::other:
      return 4;
    case Role::lubricant:
      break;
  }
  return 5;
}

bool has_role(const Recipe& recipe, std::initializer_list<Role> roles) {
  return std::ranges::any_of(recipe.ingredients, [&](const Ingredient& one) {
    return std::ranges::find(roles, one.role) != roles.end();
  });
}

struct Listed {
  std::initializer_list<std::string_view> names;
  std::string_view what;
};

void add_listed(std::vector<std::string>& said, const Recipe& recipe) {
  const Listed listed[] = {
      {{"lead", "litharge", "minium", "massicot", "plumbate", "plumbic"},
       "lead: harms blood, nerves and the unborn, and is restricted or forbidden nearly "
       "everywhere"},
      {{"cadmium"}, "cadmium: causes cancer, and is restricted or forbidden nearly everywhere"},
      {{"chrome", "chromate", "chromates"},
       "chromate: hexavalent chromium causes cancer, and is restricted nearly everywhere"},
      {{"arsenic", "orpiment", "realgar"}, "arsenic: a poison that causes cancer"},
      {{"mercury", "vermilion", "cinnabar"}, "mercury: a poison, and forbidden nearly everywhere"},
      {{"antimony"}, "antimony: harmful when breathed in"},
      {{"asbestos", "asbestine", "chrysotile"},
       "asbestos: causes cancer, and is forbidden nearly everywhere"},
      {{"organotin", "tin", "dibutyltin", "dioctyltin", "tributyltin"},
       "organotin: some harm the unborn and are restricted; look at its safety sheet"},
  };
  std::string who;
  for (const auto& [names, what] : listed)
    if (names_any(recipe, names, &who))
      said.push_back(
          fmt::format("{} is or holds {}. Do not weigh it before you have asked.", who, what));
}

}  // namespace

Result<Recipe> checked(Recipe recipe) {
  if (recipe.ingredients.empty())
    return Error{Fault::bad_input, "there is no ingredient; add one with role, fraction, density"};
  if (recipe.ingredients.size() > most_ingredients)
    return Error{Fault::bad_input,
                 fmt::format("there are {} ingredients; at most {} are taken",
                             recipe.ingredients.size(),
                             most_ingredients)};
  std::set<std::string> met;
  for (const auto& one : recipe.ingredients) {
    if (one.name.empty())
      return Error{Fault::bad_input, "an ingredient has no name; name every one"};
    if (!met.insert(one.name).second)
      return refuse(one.name, "stands twice; give each ingredient once, lots together");
    if (auto outcome = check_one(one); !outcome) return outcome.error();
  }
  if (auto outcome = check_sum(recipe); !outcome) return outcome.error();
  for (const auto& [role, share] : recipe.roles)
    if (auto outcome = check_bounds(fmt::format("role {}", word(role)), share, 1.0); !outcome)
      return outcome.error();
  if (auto outcome = check_bounds("density", recipe.density_kg_per_m3, heaviest_kg_per_m3);
      !outcome)
    return outcome.error();
  if (auto outcome = check_bounds("binder_volume", recipe.binder_volume, 1.0); !outcome)
    return outcome.error();
  for (const auto& scale : recipe.scales)
    if (!lies_in(scale.division_kg, 1e-7, 1e3) ||
        (scale.capacity_kg && !(*scale.capacity_kg >= scale.division_kg)))
      return refuse("scale " + scale.name,
                    "give a division above nought, as 10 g, and a capacity beyond it");
  if (recipe.mixer)
    if (auto outcome = check_mixer(*recipe.mixer); !outcome) return outcome.error();
  return recipe;
}

std::vector<double> fractions_of(const Recipe& recipe) {
  std::vector<double> fractions;
  for (const auto& one : recipe.ingredients) fractions.push_back(one.fraction);
  return fractions;
}

double specific_volume_m3_per_kg(const Recipe& recipe, std::span<const double> fractions) {
  double volume = 0.0;
  for (std::size_t i = 0; i < fractions.size(); ++i)
    volume += fractions[i] / recipe.ingredients[i].density_kg_per_m3;
  return volume;
}

works::Mixture mixture(const Recipe& recipe, std::span<const double> fractions) {
  works::Mixture mix;
  mix.density_kg_per_m3 = 1.0 / specific_volume_m3_per_kg(recipe, fractions);
  double binder_mass = 0.0, binder_volume = 0.0, fresh_mass = 0.0, fresh_volume = 0.0, cost = 0.0;
  bool is_priced = true, is_hidden = false;
  for (std::size_t i = 0; i < fractions.size(); ++i) {
    const auto& one = recipe.ingredients[i];
    const double volume = fractions[i] / one.density_kg_per_m3;
    if (fractions[i] <= 0.0) continue;
    if (one.role == Role::pellets) is_hidden = true;
    if (one.role == Role::regrind) {
      mix.regrind_mass += fractions[i];
    } else {
      fresh_mass += fractions[i];
      fresh_volume += volume;
    }
    if (is_binder(one.role)) {
      binder_mass += fractions[i];
      binder_volume += volume;
    }
    // Regrind is the works' own and costs nothing but what is told.
    if (!one.price_per_kg && one.role != Role::regrind) is_priced = false;
    cost += one.price_per_kg.value_or(0.0) * fractions[i] * wet_per_dry(one);
  }
  if (!is_hidden && fresh_mass > 0.0) {
    mix.binder_mass = binder_mass / fresh_mass;
    mix.binder_volume = binder_volume / fresh_volume;
  }
  if (is_priced) mix.cost_per_kg = cost;
  return mix;
}

works::Mixture mixture(const Recipe& recipe) {
  return mixture(recipe, fractions_of(recipe));
}

double tolerance_share_of_batch(const Ingredient& one, double fraction) {
  constexpr double stray = 2e-4;
  if (fraction <= 0.0) return stray;
  const double usual = fraction > 0.1 ? 0.005 : fraction >= 0.01 ? 0.01 : 0.02;
  return fraction * one.tolerance.value_or(usual);
}

std::vector<int> charging_order(const Recipe& recipe) {
  const bool is_vinyl = kind_of(recipe) == "vinyl";
  const bool is_told = std::ranges::any_of(recipe.ingredients,
                                           [](const auto& one) { return one.charge.has_value(); });
  constexpr int last = 1'000'000;
  std::vector<int> ranks;
  for (const auto& one : recipe.ingredients)
    ranks.push_back(is_told ? one.charge.value_or(last) : rank(one.role, is_vinyl));
  std::set<int> met;
  for (std::size_t i = 0; i < ranks.size(); ++i)
    if (recipe.ingredients[i].fraction > 0.0) met.insert(ranks[i]);
  std::vector<int> order;
  for (const int one : ranks)
    order.push_back(1 + static_cast<int>(std::distance(met.begin(), met.lower_bound(one))));
  return order;
}

std::vector<std::string> cautions(const Recipe& recipe) {
  std::vector<std::string> said;
  add_listed(said, recipe);
  if (has_role(recipe, {Role::binder, Role::extender, Role::lubricant, Role::fibre, Role::colour}))
    said.push_back(
        "Resin, stearate, carbon black and fibre dust burn and can explode: extraction, earthed "
        "vessels, no flame, no compressed air; clean up before a layer hides a colour.");
  if (has_role(recipe, {Role::filler}))
    said.push_back(
        "Mineral dust harms the lungs; slate, rottenstone, tripoli and quartz hold crystalline "
        "silica: extraction and a fitting mask.");
  if (kind_of(recipe) == "shellac")
    said.push_back(
        "Shellac cures if held at 120 °C or above: dump in time, and do not let it stand.");
  if (kind_of(recipe) == "vinyl")
    said.push_back(
        "Overheated vinyl gives off hydrogen chloride: watch the temperature, extract, purge.");
  said.push_back(
      "Rotors, rolls and hot stock: nip points kill and melt burns. Guards and trip bars in place, "
      "lock out before reaching in.");
  said.push_back("Local codes, safety sheets and licensed practice decide; this sheet does not.");
  return said;
}

}  // namespace goodside::compound
