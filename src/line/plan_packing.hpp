#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "dispatch/carton_fill.hpp"
#include "line/desk.hpp"

namespace goodside::line {

/// How this works packs: [dispatch] of its goodside.toml, checked. What it does not tell is usual.
struct DispatchRules {
  std::string company_prefix, address;
  double lifting_limit_kg{};
  bool limit_told{};
  dispatch::PalletKind pallet;
};
/// Errors: of the file; Fault::bad_input for a prefix that is none, Fault::not_found for a pallet.
Result<DispatchRules> dispatch_rules(const std::string& folder);
[[nodiscard]] DispatchRules usual_rules();

/// What is to be packed, and what is known of disc, cover and carton; the rest is usual for the format.
struct PackingWish {
  std::string format;  ///< 12in-33 …
  std::int64_t discs{};
  std::optional<double> disc_mass_kg{}, disc_thickness_m{}, density_kg_per_m3{};
  std::optional<double> wrapping_mass_kg{}, cover_side_m{}, sleeved_thickness_m{};
  std::optional<double> tare_kg{}, inner_length_m{};
  std::optional<std::int64_t> count{};
  std::optional<double> stack_height_m{}, pallet_load_kg{};
};
struct PackingPlan {
  dispatch::OrderPacking packing;
  dispatch::CartonRequest carton;
  dispatch::PalletKind pallet;
  std::vector<std::string> usual;  ///< names of the figures that nobody told
};
/// Errors: Fault::not_found for a format; those of dispatch::pack_order and disc_mass_kg.
Result<PackingPlan> plan_packing(const PackingWish& wish, const DispatchRules& rules);

/// Format and quantity still to be packed of an order: its own format, or that of its title's first side.
/// Errors: Fault::not_found; Fault::bad_input where neither says a format, Fault::conflict where nothing is left.
Result<PackingWish> wish_of_order(ledger::Record& record, const std::string& order);

}  // namespace goodside::line
