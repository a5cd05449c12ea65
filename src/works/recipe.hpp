#pragma once
#include <array>
#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace goodside::works {

/// What an ingredient does in the compound. Binder and extender together are the binder content.
enum class Role {
  binder,    ///< shellac, copolymer, PVC
  extender,  ///< gums and resins that stretch the binder
  pellets,   ///< bought ready compound
  regrind,   ///< own flash and scrap, of the mix's own composition
  plasticiser,
  colour,
  filler,
  fibre,
  antistatic,
  stabiliser,
  lubricant,  ///< mould release too
  other
};

inline constexpr std::array<std::string_view, 12> role_words{"binder",
                                                             "extender",
                                                             "pellets",
                                                             "regrind",
                                                             "plasticiser",
                                                             "colour",
                                                             "filler",
                                                             "fibre",
                                                             "antistatic",
                                                             "stabiliser",
                                                             "lubricant",
                                                             "other"};
[[nodiscard]] constexpr std::string_view word(Role role) {
  return role_words[static_cast<std::size_t>(role)];
}

/// Limits of a share or a property; an absent side is open.
struct Bounds {
  std::optional<double> low, high;
};

struct Ingredient {
  std::string name;
  Role role{Role::other};
  double fraction{};  ///< by dry mass, of the whole; 0: a substitute that the recipe may call on
  double density_kg_per_m3{};
  std::optional<double> tolerance;  ///< share of its own target, as the works says
  std::string lot;
  std::optional<double> price_per_kg;  ///< money as bought, in one currency
  std::optional<double> stock_kg;      ///< as bought, moisture in it
  std::string hazard;                  ///< words of the works' own
  double moisture{};                   ///< share of water in what is weighed; lost in mixing
  std::optional<double> most_moisture;
  std::optional<double> heat_capacity_J_per_kgK;
  std::optional<int> charge;                 ///< its place in the order of charging
  Bounds share;                              ///< of the fraction, where the recipe may change
  std::map<std::string, double> properties;  ///< by the names of Recipe::properties
};

/// A property of the mix that a changed recipe must keep.
struct Property {
  std::string name;
  bool by_volume{};  ///< the mean weighs ingredients by volume, otherwise by mass
  Bounds bounds;
};

struct Scale {
  std::string name;
  double division_kg{};
  std::optional<double> capacity_kg;
};

struct Mixer {
  double volume_m3{};  ///< free volume of the bowl
  double fill{0.70};   ///< share of it that a charge takes (common practice 0.65 to 0.75)
  double most_fill{0.75};
  std::optional<double> power_W;  ///< of the drive
  double efficiency{0.6};  ///< share of the power that becomes heat in the batch (from memory)
  double start_temperature_K{293.15};
  std::optional<double> dump_temperature_K, most_temperature_K;
  std::optional<double> holdup_kg;  ///< what the bowl keeps of the batch before
};

struct RoleBounds {
  Role role{};
  Bounds share;
};

struct Recipe {
  std::string name, colour;
  std::string kind;  ///< "shellac", "vinyl" or empty: which cautions and order of charging hold
  std::vector<Ingredient> ingredients;  ///< in the order given
  std::vector<RoleBounds> roles;
  std::vector<Property> properties;  ///< of the works' own
  Bounds density_kg_per_m3, binder_volume;
  std::vector<Scale> scales;  ///< empty: none told
  std::optional<Mixer> mixer;
  std::vector<std::string> remarks;  ///< what its reader saw to
};

/// What the scale said of one ingredient, moisture in it.
struct Weighed {
  std::string ingredient;
  double mass_kg{};
};

}  // namespace goodside::works
