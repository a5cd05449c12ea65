#include "line/plan_packing.hpp"

#include <fmt/format.h>

#include <filesystem>

#include "disc/format.hpp"
#include "dispatch/gs1.hpp"
#include "dispatch/usual_packing.hpp"
#include "intake/dispatch_settings.hpp"
#include "intake/works_folder.hpp"
#include "line/order_state.hpp"

namespace goodside::line {

DispatchRules usual_rules() {
  return {.company_prefix = {},
          .address = {},
          .lifting_limit_kg = dispatch::usual_lifting_limit_kg,
          .pallet = *dispatch::pallet_kind("1200x800")};
}

Result<DispatchRules> dispatch_rules(const std::string& folder) {
  const std::string path = (std::filesystem::path{folder} / intake::works_file_name).string();
  const auto told = intake::read_dispatch_settings(path);
  if (!told) return told.error();
  DispatchRules rules = usual_rules();
  const auto in_file = [&](const Error& error) {
    return Error{error.fault, path + ", [dispatch]: " + error.text};
  };
  if (told->gs1_prefix) {
    auto prefix = dispatch::read_company_prefix(*told->gs1_prefix);
    if (!prefix) return in_file(prefix.error());
    rules.company_prefix = std::move(*prefix);
  }
  if (told->pallet) {
    const auto pallet = dispatch::pallet_kind(*told->pallet);
    if (!pallet) return in_file(pallet.error());
    rules.pallet = *pallet;
  }
  if (told->lifting_limit_kg) {
    rules.lifting_limit_kg = *told->lifting_limit_kg;
    rules.limit_told = true;
  }
  rules.address = told->address.value_or("");
  return rules;
}

namespace {

/// The mass of the disc itself: told, or from thickness and density, or usual.
Result<double> mass_of(const PackingWish& wish,
                       const disc::Format& format,
                       double usual_kg,
                       std::vector<std::string>& usual) {
  if (wish.disc_mass_kg && (wish.disc_thickness_m || wish.density_kg_per_m3))
    return Error{Fault::bad_input, "give the disc's mass, or its thickness and density, not both"};
  if (wish.disc_mass_kg) return *wish.disc_mass_kg;
  if (!wish.disc_thickness_m && !wish.density_kg_per_m3) {
    usual.emplace_back("disc mass");
    return usual_kg;
  }
  if (!wish.disc_thickness_m || !wish.density_kg_per_m3)
    return Error{Fault::bad_input,
                 "thickness and density go together; give both, or the disc's mass"};
  return dispatch::disc_mass_kg({.diameter_m = format.disc_diameter_m,
                                 .hole_diameter_m = format.hole_diameter_m,
                                 .mean_thickness_m = *wish.disc_thickness_m,
                                 .density_kg_per_m3 = *wish.density_kg_per_m3});
}

}  // namespace

Result<PackingPlan> plan_packing(const PackingWish& wish, const DispatchRules& rules) {
  const auto format = disc::format(wish.format);
  if (!format) return format.error();
  const auto usual = dispatch::usual_packing(format->disc_diameter_m, format->shellac_type);
  if (!usual) return usual.error();
  PackingPlan plan{.packing = {}, .carton = {}, .pallet = rules.pallet, .usual = {}};
  const auto mass_kg = mass_of(wish, *format, usual->disc.disc_mass_kg, plan.usual);
  if (!mass_kg) return mass_kg.error();
  const auto told = [&](const auto& given, auto otherwise, const char* name) {
    if (!given) plan.usual.emplace_back(name);
    return given.value_or(otherwise);
  };
  plan.carton.disc = {
      .disc_mass_kg = *mass_kg,
      .wrapping_mass_kg =
          told(wish.wrapping_mass_kg, usual->disc.wrapping_mass_kg, "mass of sleeve and cover"),
      .side_m = told(wish.cover_side_m, usual->disc.side_m, "cover"),
      .thickness_m = told(wish.sleeved_thickness_m, usual->disc.thickness_m, "sleeved thickness")};
  plan.carton.carton = {.tare_kg = told(wish.tare_kg, usual->tare_kg, "carton tare"),
                        .wall_m = usual->wall_m,
                        .inner_length_m = wish.inner_length_m.value_or(0.0)};
  // A carton of a stated length is filled as far as it goes; else the usual number is a ceiling.
  if (wish.count || !wish.inner_length_m)
    plan.carton.count = told(wish.count, usual->count, "discs to a carton");
  plan.carton.lifting_limit_kg = rules.lifting_limit_kg;
  if (!rules.limit_told) plan.usual.emplace_back("lifting limit");
  if (wish.stack_height_m) plan.pallet.stack_height_m = *wish.stack_height_m;
  if (wish.pallet_load_kg) plan.pallet.load_kg = *wish.pallet_load_kg;
  auto packing = dispatch::pack_order(wish.discs, plan.carton, plan.pallet);
  if (!packing) return packing.error();
  plan.packing = std::move(*packing);
  return plan;
}

Result<PackingWish> wish_of_order(ledger::Record& record, const std::string& order) {
  PackingWish wish;
  const auto asked = record.read([&](ledger::Reader& reader) {
    const OrderState state = order_state(reader, order);
    wish.discs = dispatch::still_owed(state.count) - state.packed;
    if (wish.discs < 1)
      ledger::refuse(
          Fault::conflict,
          fmt::format("nothing of order {} is left to be packed; `goodside pack owed {}` shows "
                      "how it stands",
                      order,
                      order));
    wish.format = ledger::text(ledger::at(reader.need("orders", order), "format"));
    if (wish.format.empty())
      for (const auto& side : reader.standing("side", "title", state.title))
        if (wish.format.empty()) wish.format = ledger::text(ledger::at(side, "format"));
    if (wish.format.empty())
      ledger::refuse(Fault::bad_input,
                     fmt::format("order {} does not say its format, nor do its title's sides; give "
                                 "--format 12in-33",
                                 order));
  });
  if (!asked) return asked.error();
  return wish;
}

}  // namespace goodside::line
