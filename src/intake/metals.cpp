#include "intake/metals.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <span>

#include "intake/safe_file.hpp"
#include "intake/toml_table.hpp"
#include "units/read.hpp"

namespace goodside::intake {
namespace {

using works::PlatingCell;
using works::PlatingMetal;

template <class Thing>
struct Quantity {
  std::string_view key;
  double Thing::*value;
  Result<double> (*read)(std::string_view);
};
template <class Thing>
struct Plain {
  std::string_view key;
  double Thing::*value;
};

constexpr std::array metal_quantities{
    Quantity<PlatingMetal>{
        "molar_mass", &PlatingMetal::molar_mass_kg_per_mol, units::molar_mass_kg_per_mol},
    Quantity<PlatingMetal>{
        "density", &PlatingMetal::density_kg_per_m3, units::concentration_kg_per_m3},
    Quantity<PlatingMetal>{"current_density",
                           &PlatingMetal::current_density_A_per_m2,
                           units::current_density_A_per_m2},
    Quantity<PlatingMetal>{
        "lowest_current_density", &PlatingMetal::low_A_per_m2, units::current_density_A_per_m2},
    Quantity<PlatingMetal>{
        "highest_current_density", &PlatingMetal::high_A_per_m2, units::current_density_A_per_m2},
    Quantity<PlatingMetal>{"thickness", &PlatingMetal::usual_thickness_m, units::length_m},
    Quantity<PlatingMetal>{
        "conductivity", &PlatingMetal::conductivity_S_per_m, units::conductivity_S_per_m},
    Quantity<PlatingMetal>{
        "tafel_slope", &PlatingMetal::tafel_slope_V_per_decade, units::voltage_V},
    Quantity<PlatingMetal>{"exchange_current_density",
                           &PlatingMetal::exchange_current_density_A_per_m2,
                           units::current_density_A_per_m2},
    Quantity<PlatingMetal>{"drag_out_film", &PlatingMetal::drag_out_film_m, units::length_m},
    Quantity<PlatingMetal>{"brightener", &PlatingMetal::brightener_m3_per_C, units::dose_m3_per_C},
    Quantity<PlatingMetal>{"elastic_modulus", &PlatingMetal::elastic_modulus_Pa, units::stress_Pa}};
constexpr std::array metal_numbers{
    Plain<PlatingMetal>{"cathode_efficiency", &PlatingMetal::cathode_efficiency},
    Plain<PlatingMetal>{"anode_efficiency", &PlatingMetal::anode_efficiency},
    Plain<PlatingMetal>{"poisson_ratio", &PlatingMetal::poisson_ratio}};
constexpr std::array needed_of_new{std::string_view{"molar_mass"},
                                   std::string_view{"density"},
                                   std::string_view{"current_density"},
                                   std::string_view{"highest_current_density"},
                                   std::string_view{"thickness"},
                                   std::string_view{"conductivity"}};

constexpr std::array cell_lengths{
    Quantity<PlatingCell>{"disc_radius", &PlatingCell::disc_radius_m, units::length_m},
    Quantity<PlatingCell>{"holder_radius", &PlatingCell::holder_radius_m, units::length_m},
    Quantity<PlatingCell>{"holder_height", &PlatingCell::holder_height_m, units::length_m},
    Quantity<PlatingCell>{"rim_height", &PlatingCell::rim_height_m, units::length_m},
    Quantity<PlatingCell>{"cell_radius", &PlatingCell::cell_radius_m, units::length_m},
    Quantity<PlatingCell>{"level", &PlatingCell::level_m, units::length_m},
    Quantity<PlatingCell>{"anode_distance", &PlatingCell::anode_distance_m, units::length_m},
    Quantity<PlatingCell>{"anode_radius", &PlatingCell::anode_radius_m, units::length_m},
    Quantity<PlatingCell>{
        "anode_inner_radius", &PlatingCell::anode_inner_radius_m, units::length_m},
    Quantity<PlatingCell>{"anode_thickness", &PlatingCell::anode_thickness_m, units::length_m},
    Quantity<PlatingCell>{
        "conductivity", &PlatingCell::conductivity_S_per_m, units::conductivity_S_per_m}};
constexpr std::array shield_lengths{
    Quantity<works::CellShield>{
        "shield_opening_radius", &works::CellShield::opening_radius_m, units::length_m},
    Quantity<works::CellShield>{"shield_distance", &works::CellShield::distance_m, units::length_m},
    Quantity<works::CellShield>{
        "shield_thickness", &works::CellShield::thickness_m, units::length_m},
    Quantity<works::CellShield>{
        "shield_outer_radius", &works::CellShield::outer_radius_m, units::length_m}};

/// Errors travel as exceptions within this file.
struct Refusal {
  Error error;
};
template <class T>
T taken(Result<T> result) {
  if (!result) throw Refusal{result.error()};
  return std::move(*result);
}
void taken(const Outcome& outcome) {
  if (!outcome) throw Refusal{outcome.error()};
}

template <class Thing>
bool read_quantity(const TomlTable& table, const Quantity<Thing>& one, Thing& thing) {
  const std::string key{one.key};
  const auto said = taken(table.words(key));
  if (!said) return false;
  const auto value = one.read(*said);
  if (!value) throw Refusal{table.refuse(key, value.error().text)};
  thing.*one.value = *value;
  return true;
}

double number_or(const TomlTable& table, const std::string& key, double otherwise) {
  return taken(table.number(key)).value_or(otherwise);
}

std::vector<works::BathSalt> read_salts(const TomlTable& table) {
  std::vector<works::BathSalt> salts;
  for (const std::string& name : table.keys()) {
    const auto salt = taken(table.table(name));
    if (!salt) continue;
    taken(salt->only({"concentration", "metal_share"}));
    const auto said = taken(salt->words("concentration"));
    if (!said)
      throw Refusal{salt->refuse("concentration", "is needed of a salt, such as \"400 g/L\"")};
    const auto value = units::concentration_kg_per_m3(*said);
    if (!value) throw Refusal{salt->refuse("concentration", value.error().text)};
    salts.push_back({name, *value, number_or(*salt, "metal_share", 0.0)});
  }
  return salts;
}

void only_known(const TomlTable& table) {
  std::vector<std::string_view> known{
      "like", "electrons", "soluble_anode", "salts", "caution", "warning"};
  for (const auto& one : metal_quantities) known.push_back(one.key);
  for (const auto& one : metal_numbers) known.push_back(one.key);
  taken(table.only(known));
}

PlatingMetal* find(std::vector<PlatingMetal>& metals, std::string_view name) {
  const auto found = std::ranges::find(metals, name, &PlatingMetal::name);
  return found == metals.end() ? nullptr : &*found;
}

void read_metal(const std::string& name,
                const TomlTable& table,
                std::vector<PlatingMetal>& metals) {
  only_known(table);
  PlatingMetal metal{.name = name,
                     .cathode_efficiency = 1.0,
                     .tafel_slope_V_per_decade = 0.12,
                     .exchange_current_density_A_per_m2 = 0.01,
                     .elastic_modulus_Pa = 100e9,
                     .poisson_ratio = 0.33};
  PlatingMetal* const known = find(metals, name);
  const auto like = taken(table.words("like"));
  if (like) {
    const PlatingMetal* const base = find(metals, *like);
    if (base == nullptr)
      throw Refusal{table.refuse("like", fmt::format("no metal is called \"{}\"", *like))};
    metal = *base;
    metal.name = name;
  } else if (known != nullptr) {
    metal = *known;
  }
  const bool fresh = !like && known == nullptr;
  for (const auto& one : metal_quantities)
    if (!read_quantity(table, one, metal) && fresh &&
        std::ranges::count(needed_of_new, one.key) > 0)
      throw Refusal{table.refuse(
          std::string{one.key},
          fmt::format(
              "{} is needed of the new metal \"{}\"; or begin from another with like = \"nickel\"",
              one.key,
              name))};
  for (const auto& one : metal_numbers)
    metal.*one.value = number_or(table, std::string{one.key}, metal.*one.value);
  if (const auto electrons = taken(table.whole_number("electrons")))
    metal.electrons_per_ion = *electrons >= 1 && *electrons <= 8 ? static_cast<int>(*electrons) : 0;
  metal.soluble_anode = taken(table.truth("soluble_anode")).value_or(metal.soluble_anode);
  if (const auto salts = taken(table.table("salts"))) metal.salts = read_salts(*salts);
  if (const auto caution = taken(table.words("caution"))) metal.cautions.push_back(*caution);
  if (const auto warning = taken(table.words("warning"))) metal.warnings.push_back(*warning);
  metal.source = "the works' own table" + std::string{fresh ? "" : "; what it leaves out: "} +
                 (fresh ? "" : metal.source);
  if (known != nullptr)
    *known = metal;
  else
    metals.push_back(metal);
}

MetalRoom::Cell read_cell(const std::string& name, const TomlTable& table) {
  std::vector<std::string_view> known;
  for (const auto& one : cell_lengths) known.push_back(one.key);
  for (const auto& one : shield_lengths) known.push_back(one.key);
  taken(table.only(known));
  MetalRoom::Cell read{name, {}};
  for (const auto& one : cell_lengths) read_quantity(table, one, read.cell);
  works::CellShield shield;
  bool shielded = false;
  for (const auto& one : shield_lengths) shielded |= read_quantity(table, one, shield);
  if (shielded) read.cell.shield = shield;
  for (const char* needed : {"disc_radius", "anode_distance", "cell_radius"})
    if (!taken(table.words(needed)))
      throw Refusal{
          table.refuse(needed, fmt::format("{} is needed of the cell \"{}\"", needed, name))};
  return read;
}

}  // namespace

Result<MetalRoom> metals_from_toml(std::string_view text,
                                   const std::string& shown_name,
                                   std::vector<PlatingMetal> built_in) {
  const auto document = TomlTable::parse(text, shown_name);
  if (!document) return document.error();
  try {
    MetalRoom room{.metals = std::move(built_in)};
    if (const auto metals = taken(document->table("metals")))
      for (const std::string& name : metals->keys()) {
        const auto table = taken(metals->table(name));
        if (table) read_metal(name, *table, room.metals);
      }
    if (const auto cells = taken(document->table("cells")))
      for (const std::string& name : cells->keys()) {
        const auto table = taken(cells->table(name));
        if (table) room.cells.push_back(read_cell(name, *table));
      }
    return room;
  } catch (const Refusal& refusal) {
    return refusal.error;
  }
}

Result<MetalRoom> read_metals(const std::string& path, std::vector<PlatingMetal> built_in) {
  const auto text = read_whole(path);
  if (!text) return text.error();
  return metals_from_toml(*text, path, std::move(built_in));
}

}  // namespace goodside::intake
