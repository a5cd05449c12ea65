#include "intake/recipe_file.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <map>
#include <optional>

#include "base/near_miss.hpp"
#include "intake/csv_file.hpp"
#include "intake/safe_file.hpp"
#include "intake/toml_table.hpp"
#include "units/number.hpp"
#include "units/read.hpp"

namespace goodside::intake {
namespace {

using works::Bounds;
using works::Ingredient;
using works::Recipe;
using works::Role;

constexpr std::size_t largest_weighed_bytes = std::size_t{16} << 20;

/// An ingredient while it is read, with the parts that its fraction may come from.
struct Draft {
  Ingredient one;
  std::optional<double> parts;
  bool has_role{}, has_fraction{}, has_density{};
};

Error no_number(std::string_view text, std::string_view expected) {
  return {Fault::bad_input,
          fmt::format("\"{}\" is no number; give {}", text.substr(0, 40), expected)};
}

/// A bare number that is finite.
Result<double> plain(std::string_view text) {
  const auto number = units::leading_number(units::trimmed(text));
  if (!number || !number->rest.empty() || !std::isfinite(number->value))
    return no_number(text, "a plain number, as 4.5");
  return number->value;
}

template <int numerator, int denominator>
Result<double> scaled(std::string_view text) {
  const auto number = plain(text);
  if (!number) return number.error();
  return *number * numerator / denominator;
}

Result<Role> role_of(std::string_view text) {
  const auto found = std::ranges::find(works::role_words, text);
  if (found != works::role_words.end())
    return static_cast<Role>(std::distance(works::role_words.begin(), found));
  const std::vector<std::string> names{works::role_words.begin(), works::role_words.end()};
  return Error{
      Fault::bad_input,
      fmt::format(
          "\"{}\" is no role; {}",
          text.substr(0, 40),
          suggestion(text, names).value_or(fmt::format("there are {}", fmt::join(names, ", "))))};
}

using Read = Result<double> (*)(std::string_view);
using Take = std::function<Outcome(Draft&, std::string_view)>;

template <class Set>
Take number(Read read, Set set) {
  return [=](Draft& draft, std::string_view text) -> Outcome {
    const auto value = read(text);
    if (!value) return value.error();
    set(draft, *value);
    return Done{};
  };
}

Take words(std::string Ingredient::*field) {
  return [=](Draft& draft, std::string_view text) -> Outcome {
    draft.one.*field = std::string{text};
    return Done{};
  };
}

void set_fraction(Draft& draft, double value) {
  draft.one.fraction = value;
  draft.has_fraction = true;
}
void set_density(Draft& draft, double value) {
  draft.one.density_kg_per_m3 = value;
  draft.has_density = true;
}

Outcome take_role(Draft& draft, std::string_view text) {
  const auto role = role_of(text);
  if (!role) return role.error();
  draft.one.role = *role;
  draft.has_role = true;
  return Done{};
}

Outcome take_charge(Draft& draft, std::string_view text) {
  const auto number = plain(text);
  if (!number || !(*number >= 1.0 && *number <= 100.0) || *number != std::floor(*number))
    return no_number(text, "the place in the order of charging, as 1");
  draft.one.charge = static_cast<int>(*number);
  return Done{};
}

/// Every key of an ingredient, as TOML and as a column.
const std::map<std::string, Take, std::less<>>& takes() {
  static const std::map<std::string, Take, std::less<>> all{
      {"role", take_role},
      {"fraction", number(units::fraction, set_fraction)},
      {"fraction_percent", number(scaled<1, 100>, set_fraction)},
      {"parts", number(plain, [](Draft& d, double v) { d.parts = v; })},
      {"density", number(units::density_kg_per_m3, set_density)},
      {"density_kg_per_m3", number(plain, set_density)},
      {"density_g_per_cm3", number(scaled<1000, 1>, set_density)},
      {"tolerance", number(units::fraction, [](Draft& d, double v) { d.one.tolerance = v; })},
      {"lot", words(&Ingredient::lot)},
      {"price", number(plain, [](Draft& d, double v) { d.one.price_per_kg = v; })},
      {"price_per_kg", number(plain, [](Draft& d, double v) { d.one.price_per_kg = v; })},
      {"stock", number(units::mass_kg, [](Draft& d, double v) { d.one.stock_kg = v; })},
      {"stock_kg", number(plain, [](Draft& d, double v) { d.one.stock_kg = v; })},
      {"hazard", words(&Ingredient::hazard)},
      {"moisture", number(units::fraction, [](Draft& d, double v) { d.one.moisture = v; })},
      {"most_moisture",
       number(units::fraction, [](Draft& d, double v) { d.one.most_moisture = v; })},
      {"heat_capacity",
       number(units::heat_capacity_J_per_kgK,
              [](Draft& d, double v) { d.one.heat_capacity_J_per_kgK = v; })},
      {"charge", take_charge},
      {"low", number(units::fraction, [](Draft& d, double v) { d.one.share.low = v; })},
      {"high", number(units::fraction, [](Draft& d, double v) { d.one.share.high = v; })}};
  return all;
}

std::vector<std::string_view> with_keys(std::initializer_list<std::string_view> more) {
  std::vector<std::string_view> keys{more};
  for (const auto& [key, take] : takes()) keys.push_back(key);
  return keys;
}

/// What every ingredient must have; empty: it has all.
std::string lacking(const Draft& draft) {
  if (!draft.has_role)
    return fmt::format("role is missing; it is one of {}", fmt::join(works::role_words, ", "));
  if (!draft.has_fraction && !draft.parts)
    return "fraction is missing; give a share of the whole, as 0.135, or parts for every "
           "ingredient";
  if (!draft.has_density) return "density is missing; give it, as \"1.12 g/cm3\"";
  return {};
}

Result<std::vector<Ingredient>> shared_out(std::vector<Draft> drafts,
                                           const std::string& shown_name) {
  double sum = 0.0;
  std::size_t with_parts = 0;
  for (const auto& draft : drafts) {
    if (!draft.parts) continue;
    ++with_parts;
    if (!(*draft.parts >= 0.0 && *draft.parts <= 1e9))
      return Error{Fault::bad_input,
                   fmt::format("{}: {}: {:g} parts cannot be; give nought or more",
                               shown_name,
                               draft.one.name,
                               *draft.parts)};
    sum += *draft.parts;
  }
  if (with_parts > 0 && (with_parts < drafts.size() || sum <= 0.0))
    return Error{
        Fault::bad_input,
        fmt::format("{}: {}; give parts for every ingredient, or a fraction for every one",
                    shown_name,
                    sum <= 0.0 ? "the parts sum to nought" : "some have parts and some have not")};
  std::vector<Ingredient> all;
  for (auto& draft : drafts) {
    if (with_parts > 0 && draft.has_fraction)
      return Error{
          Fault::bad_input,
          fmt::format(
              "{}: {} has parts and a fraction; give one of them", shown_name, draft.one.name)};
    if (with_parts > 0) draft.one.fraction = *draft.parts / sum;
    all.push_back(std::move(draft.one));
  }
  return all;
}

/// The text of a key that may stand as a number or in quotes.
Result<std::optional<std::string>> text_of(const TomlTable& table, const std::string& key) {
  if (table.holds_words(key)) return table.words(key);
  const auto number = table.number(key);
  if (!number) return number.error();
  if (!*number) return std::optional<std::string>{};
  return std::optional{fmt::format("{}", **number)};
}

Result<std::optional<double>> quantity(const TomlTable& table, const std::string& key, Read read) {
  const auto text = text_of(table, key);
  if (!text) return text.error();
  if (!*text) return std::optional<double>{};
  const auto value = read(**text);
  if (!value) return table.refuse(key, value.error().text);
  return std::optional{*value};
}

/// `key` into `field`, where it stands.
template <class Field>
Outcome take(const TomlTable& table, const std::string& key, Read read, Field& field) {
  const auto value = quantity(table, key, read);
  if (!value) return value.error();
  if (*value) field = **value;
  return Done{};
}

Result<Bounds> bounds_of(const TomlTable& table,
                         Read read,
                         std::initializer_list<std::string_view> known) {
  Bounds bounds;
  if (auto only = table.only(known); !only) return only.error();
  if (auto taken = take(table, "low", read, bounds.low); !taken) return taken.error();
  if (auto taken = take(table, "high", read, bounds.high); !taken) return taken.error();
  if (!bounds.low && !bounds.high)
    return table.refuse("", "holds no bound; give low, high or both");
  return bounds;
}

Result<Draft> ingredient_of(const TomlTable& table, const std::string& name) {
  static const auto known = with_keys({"properties"});
  if (auto only = table.only(known); !only) return only.error();
  Draft draft;
  draft.one.name = name;
  for (const auto& [key, take] : takes()) {
    const auto text = text_of(table, key);
    if (!text) return text.error();
    if (!*text) continue;
    if (const auto taken = take(draft, **text); !taken)
      return table.refuse(key, taken.error().text);
  }
  if (const auto what = lacking(draft); !what.empty()) return table.refuse("", what);
  const auto properties = table.table("properties");
  if (!properties) return properties.error();
  if (*properties)
    for (const auto& key : (*properties)->keys()) {
      const auto value = (*properties)->number(key);
      if (!value) return value.error();
      draft.one.properties[key] = **value;
    }
  return draft;
}

/// Calls `take(table, name)` for each table under `key`, as they stand in the file.
Outcome each(const TomlTable& document,
             const std::string& key,
             const std::function<Outcome(const TomlTable&, const std::string&)>& take) {
  const auto all = document.table(key);
  if (!all) return all.error();
  if (!*all) return Done{};
  for (const auto& name : (*all)->keys_as_written()) {
    const auto table = (*all)->table(name);
    if (!table) return table.error();
    if (const auto taken = take(**table, name); !taken) return taken;
  }
  return Done{};
}

Outcome take_mixer(const TomlTable& document, Recipe& recipe) {
  const auto table = document.table("mixer");
  if (!table) return table.error();
  if (!*table) return Done{};
  works::Mixer mixer;
  if (auto only = (*table)->only({"volume",
                                  "fill",
                                  "most_fill",
                                  "power",
                                  "efficiency",
                                  "start",
                                  "dump",
                                  "most_temperature",
                                  "holdup"});
      !only)
    return only;
  std::optional<double> volume_m3, most_fill;
  for (const auto& outcome :
       {take(**table, "volume", units::volume_m3, volume_m3),
        take(**table, "fill", units::fraction, mixer.fill),
        take(**table, "most_fill", units::fraction, most_fill),
        take(**table, "power", units::power_W, mixer.power_W),
        take(**table, "efficiency", units::fraction, mixer.efficiency),
        take(**table, "start", units::temperature_K, mixer.start_temperature_K),
        take(**table, "dump", units::temperature_K, mixer.dump_temperature_K),
        take(**table, "most_temperature", units::temperature_K, mixer.most_temperature_K),
        take(**table, "holdup", units::mass_kg, mixer.holdup_kg)})
    if (!outcome) return outcome;
  if (!volume_m3)
    return (*table)->refuse("", "volume is missing; give the bowl's free volume, as \"75 l\"");
  mixer.volume_m3 = *volume_m3;
  mixer.most_fill = most_fill.value_or(std::max(mixer.most_fill, mixer.fill));
  recipe.mixer = mixer;
  return Done{};
}

Outcome take_scales(const TomlTable& document, Recipe& recipe) {
  return each(document, "scale", [&](const TomlTable& table, const std::string& name) -> Outcome {
    works::Scale scale{.name = name, .capacity_kg = {}};
    std::optional<double> division;
    if (auto only = table.only({"division", "capacity"}); !only) return only;
    if (auto taken = take(table, "division", units::mass_kg, division); !taken) return taken;
    if (auto taken = take(table, "capacity", units::mass_kg, scale.capacity_kg); !taken)
      return taken;
    if (!division) return table.refuse("", "division is missing; give it, as \"10 g\"");
    scale.division_kg = *division;
    recipe.scales.push_back(scale);
    return Done{};
  });
}

Outcome take_limits(const TomlTable& document, Recipe& recipe) {
  if (auto taken = each(document,
                        "role",
                        [&](const TomlTable& table, const std::string& name) -> Outcome {
                          const auto role = role_of(name);
                          if (!role) return table.refuse("", role.error().text);
                          const auto bounds = bounds_of(table, units::fraction, {"low", "high"});
                          if (!bounds) return bounds.error();
                          recipe.roles.push_back({*role, *bounds});
                          return Done{};
                        });
      !taken)
    return taken;
  if (auto taken = each(document,
                        "property",
                        [&](const TomlTable& table, const std::string& name) -> Outcome {
                          const auto bounds = bounds_of(table, plain, {"low", "high", "by"});
                          if (!bounds) return bounds.error();
                          const auto by = table.words("by");
                          if (!by) return by.error();
                          const auto how = by->value_or("mass");
                          if (how != "mass" && how != "volume")
                            return table.refuse("by", "give \"mass\" or \"volume\"");
                          recipe.properties.push_back({name, how == "volume", *bounds});
                          return Done{};
                        });
      !taken)
    return taken;
  const auto bounded = [&](const std::string& key, Read read, Bounds& bounds) -> Outcome {
    const auto table = document.table(key);
    if (!table) return table.error();
    if (!*table) return Done{};
    const auto read_bounds = bounds_of(**table, read, {"low", "high"});
    if (!read_bounds) return read_bounds.error();
    bounds = *read_bounds;
    return Done{};
  };
  if (auto taken = bounded("density", units::density_kg_per_m3, recipe.density_kg_per_m3); !taken)
    return taken;
  return bounded("binder_volume", units::fraction, recipe.binder_volume);
}

Outcome take_head(const TomlTable& document, Recipe& recipe) {
  if (auto only = document.only({"name",
                                 "colour",
                                 "kind",
                                 "ingredient",
                                 "role",
                                 "property",
                                 "density",
                                 "binder_volume",
                                 "scale",
                                 "mixer"});
      !only)
    return only;
  for (const auto& [key, field] : {std::pair{"name", &Recipe::name},
                                   std::pair{"colour", &Recipe::colour},
                                   std::pair{"kind", &Recipe::kind}}) {
    const auto words = document.words(key);
    if (!words) return words.error();
    recipe.*field = words->value_or("");
  }
  if (!recipe.kind.empty() && recipe.kind != "shellac" && recipe.kind != "vinyl")
    return document.refuse("kind", "give \"shellac\" or \"vinyl\", or leave it out");
  return Done{};
}

std::string stem_of(const std::string& path) {
  const auto slash = path.find_last_of('/');
  const auto name = slash == std::string::npos ? path : path.substr(slash + 1);
  return name.substr(0, name.find_last_of('.'));
}

Error at(const std::string& name,
         std::size_t line,
         const std::string& column,
         const std::string& what) {
  return {Fault::bad_input,
          column.empty() ? fmt::format("{}:{}: {}", name, line, what)
                         : fmt::format("{}:{}: {}: {}", name, line, column, what)};
}

/// Where a column stands, if it does.
std::optional<std::size_t> place_of(const CsvTable& table, std::string_view column) {
  const auto found = std::ranges::find(table.columns, column);
  if (found == table.columns.end()) return std::nullopt;
  return static_cast<std::size_t>(std::distance(table.columns.begin(), found));
}

struct MassColumn {
  std::size_t place;
  Read read;
};

Result<MassColumn> mass_column(const CsvTable& table, const std::string& shown_name) {
  for (const auto& [column, read] : {std::pair<const char*, Read>{"mass", units::mass_kg},
                                     std::pair<const char*, Read>{"mass_kg", scaled<1, 1>},
                                     std::pair<const char*, Read>{"mass_g", scaled<1, 1000>}})
    if (const auto place = place_of(table, column)) return MassColumn{*place, read};
  return at(
      shown_name, 1, "", "there is no column mass, mass_kg or mass_g; name one in the first line");
}

Result<double> mass_in(const CsvTable::Line& line,
                       const MassColumn& column,
                       const std::string& name) {
  const auto mass = column.read(line.cells[column.place]);
  if (!mass) return at(name, line.number, "mass", mass.error().text);
  if (!(*mass >= 0.0 && *mass <= 1e6))
    return at(
        name, line.number, "mass", fmt::format("{:g} kg cannot be; give nought or more", *mass));
  return *mass;
}

template <class Parsed>
auto from_file(const std::string& path, std::size_t largest, Parsed parse)
    -> decltype(parse(std::string_view{}, path)) {
  const auto text = read_whole(path, largest);
  if (!text) return text.error();
  return parse(std::string_view{*text}, path);
}

}  // namespace

Result<Recipe> recipe_from_toml(std::string_view text, const std::string& shown_name) {
  const auto document = TomlTable::parse(text, shown_name);
  if (!document) return document.error();
  Recipe recipe;
  std::vector<Draft> drafts;
  if (auto taken = take_head(*document, recipe); !taken) return taken.error();
  if (auto taken = each(*document,
                        "ingredient",
                        [&](const TomlTable& table, const std::string& name) -> Outcome {
                          auto draft = ingredient_of(table, name);
                          if (!draft) return draft.error();
                          drafts.push_back(std::move(*draft));
                          return Done{};
                        });
      !taken)
    return taken.error();
  if (drafts.empty())
    return Error{Fault::bad_input,
                 shown_name + ": holds no ingredient; add a table [ingredient.NAME] for each"};
  if (auto taken = take_scales(*document, recipe); !taken) return taken.error();
  if (auto taken = take_mixer(*document, recipe); !taken) return taken.error();
  if (auto taken = take_limits(*document, recipe); !taken) return taken.error();
  auto ingredients = shared_out(std::move(drafts), shown_name);
  if (!ingredients) return ingredients.error();
  recipe.ingredients = std::move(*ingredients);
  if (recipe.name.empty()) recipe.name = stem_of(shown_name);
  return recipe;
}

Result<Recipe> recipe_from_csv(std::string_view text, const std::string& shown_name) {
  constexpr std::string_view property_prefix = "property.";
  const auto table = parse_csv(text, shown_name);
  if (!table) return table.error();
  std::vector<std::string> known{"name"};
  for (const auto& [key, take] : takes()) known.push_back(key);
  for (const auto& column : table->columns)
    if (std::ranges::find(known, column) == known.end() && !column.starts_with(property_prefix))
      return at(shown_name,
                1,
                "",
                fmt::format("no such column as {}; {}",
                            column.substr(0, 40),
                            suggestion(column, known)
                                .value_or(fmt::format("there are {}", fmt::join(known, ", ")))));
  const auto name = place_of(*table, "name");
  if (!name) return at(shown_name, 1, "", "the column name is missing; name it in the first line");
  std::vector<Draft> drafts;
  for (const auto& line : table->lines) {
    Draft draft;
    draft.one.name = std::string{units::trimmed(line.cells[*name])};
    for (std::size_t i = 0; i < table->columns.size(); ++i) {
      const auto& column = table->columns[i];
      const std::string cell{units::trimmed(line.cells[i])};
      if (i == *name || cell.empty()) continue;
      if (column.starts_with(property_prefix)) {
        const auto value = plain(cell);
        if (!value) return at(shown_name, line.number, column, value.error().text);
        draft.one.properties[column.substr(property_prefix.size())] = *value;
      } else if (const auto taken = takes().find(column)->second(draft, cell); !taken) {
        return at(shown_name, line.number, column, taken.error().text);
      }
    }
    if (draft.one.name.empty())
      return at(shown_name, line.number, "name", "is empty; name the ingredient");
    if (const auto what = lacking(draft); !what.empty())
      return at(shown_name, line.number, draft.one.name, what);
    drafts.push_back(std::move(draft));
  }
  if (drafts.empty()) return at(shown_name, 2, "", "no ingredient; write a line for each");
  Recipe recipe;
  recipe.name = stem_of(shown_name);
  auto ingredients = shared_out(std::move(drafts), shown_name);
  if (!ingredients) return ingredients.error();
  recipe.ingredients = std::move(*ingredients);
  return recipe;
}

Result<Recipe> read_recipe(const std::string& path) {
  return from_file(
      path, largest_text_bytes, path.ends_with(".csv") ? recipe_from_csv : recipe_from_toml);
}

Result<std::vector<works::Weighed>> weighed_from_csv(std::string_view text,
                                                     const std::string& shown_name) {
  const auto table = parse_csv(text, shown_name);
  if (!table) return table.error();
  const auto name = place_of(*table, "ingredient");
  if (!name)
    return at(shown_name, 1, "", "the column ingredient is missing; name it in the first line");
  const auto column = mass_column(*table, shown_name);
  if (!column) return column.error();
  std::vector<works::Weighed> weighed;
  for (const auto& line : table->lines) {
    const auto mass = mass_in(line, *column, shown_name);
    if (!mass) return mass.error();
    const std::string ingredient{units::trimmed(line.cells[*name])};
    if (ingredient.empty())
      return at(shown_name, line.number, "ingredient", "is empty; name the ingredient");
    const auto met = std::ranges::find(weighed, ingredient, &works::Weighed::ingredient);
    if (met == weighed.end())
      weighed.push_back({ingredient, *mass});
    else
      met->mass_kg += *mass;
  }
  if (weighed.empty())
    return at(shown_name, 2, "", "nothing was weighed; write a line an ingredient");
  return weighed;
}

Result<std::vector<works::Weighed>> read_weighed(const std::string& path) {
  return from_file(path, largest_weighed_bytes, weighed_from_csv);
}

Result<std::vector<double>> masses_from_csv(std::string_view text, const std::string& shown_name) {
  const auto table = parse_csv(text, shown_name);
  if (!table) return table.error();
  const auto column = mass_column(*table, shown_name);
  if (!column) return column.error();
  std::vector<double> masses;
  for (const auto& line : table->lines) {
    if (units::trimmed(line.cells[column->place]).empty()) continue;
    const auto mass = mass_in(line, *column, shown_name);
    if (!mass) return mass.error();
    if (*mass <= 0.0)
      return at(shown_name, line.number, "mass", "nought; leave a line out that was not weighed");
    masses.push_back(*mass);
  }
  if (masses.empty()) return at(shown_name, 2, "", "no mass; write a line a biscuit");
  return masses;
}

Result<std::vector<double>> read_masses(const std::string& path) {
  return from_file(path, largest_weighed_bytes, masses_from_csv);
}

Result<works::DiscProfile> profile_from_csv(std::string_view text, const std::string& shown_name) {
  const auto table = parse_csv(text, shown_name);
  if (!table) return table.error();
  works::DiscProfile profile;
  profile.points.resize(table->lines.size());
  using Point = works::DiscProfile::Point;
  for (const auto& [name, field] :
       {std::pair{"radius", &Point::radius_m}, std::pair{"thickness", &Point::thickness_m}}) {
    const auto in_mm = place_of(*table, fmt::format("{}_mm", name));
    const auto place = in_mm ? in_mm : place_of(*table, name);
    if (!place)
      return at(shown_name,
                1,
                "",
                fmt::format("there is no column {0} or {0}_mm; name one in the first line", name));
    for (std::size_t i = 0; i < table->lines.size(); ++i) {
      const auto& line = table->lines[i];
      const auto length = (in_mm ? scaled<1, 1000> : units::length_m)(line.cells[*place]);
      if (!length) return at(shown_name, line.number, name, length.error().text);
      profile.points[i].*field = *length;
    }
  }
  return profile;
}

Result<works::DiscProfile> read_profile(const std::string& path) {
  return from_file(path, largest_text_bytes, profile_from_csv);
}

}  // namespace goodside::intake
