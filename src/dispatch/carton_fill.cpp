#include "dispatch/carton_fill.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace goodside::dispatch {
namespace {

struct Range {
  std::string_view what, unit;
  double value, low, high;
};

Outcome check(const std::vector<Range>& ranges) {
  for (const Range& range : ranges)
    if (!std::isfinite(range.value) || range.value < range.low || range.value > range.high)
      return Error{Fault::out_of_range,
                   fmt::format("a {} of {:.4g} {} is outside {:.4g} to {:.4g} {}; look at it again",
                               range.what,
                               range.value,
                               range.unit,
                               range.low,
                               range.high,
                               range.unit)};
  return Done{};
}

Outcome check(const CartonRequest& request) {
  const auto& [disc, carton, limit, count] = request;
  if (count < 0 || count > 1000)
    return Error{Fault::out_of_range,
                 fmt::format("{} discs to a carton are outside 1 to 1000", count)};
  return check({{"disc mass", "kg", disc.disc_mass_kg, 0.005, 2.0},
                {"mass of sleeve and cover", "kg", disc.wrapping_mass_kg, 0.0, 2.0},
                {"cover", "m", disc.side_m, 0.05, 0.6},
                {"thickness of a sleeved disc", "m", disc.thickness_m, 5e-4, 0.05},
                {"carton tare", "kg", carton.tare_kg, 0.0, 10.0},
                {"carton wall", "m", carton.wall_m, 0.0, 0.05},
                {"carton length", "m", carton.inner_length_m, 0.0, 2.0},
                {"clearance", "m", carton.clearance_m, 0.0, 0.1},
                {"lifting limit", "kg", limit, 0.1, 50.0}});
}

/// A sum that falls short of a whole number by rounding alone counts as that number.
std::int64_t whole_times(double room, double one) {
  return static_cast<std::int64_t>(std::floor(room / one * (1.0 + 1e-12) + 1e-9));
}

}  // namespace

Result<double> disc_mass_kg(const DiscBody& body) {
  if (const auto checked = check({{"diameter", "m", body.diameter_m, 0.05, 0.5},
                                  {"hole", "m", body.hole_diameter_m, 0.0, 0.06},
                                  {"thickness", "m", body.mean_thickness_m, 3e-4, 5e-3},
                                  {"density", "kg/m3", body.density_kg_per_m3, 500.0, 5000.0}});
      !checked)
    return checked.error();
  if (body.hole_diameter_m >= body.diameter_m)
    return Error{Fault::out_of_range, "the hole is larger than the disc; look at both diameters"};
  return body.density_kg_per_m3 * std::numbers::pi / 4.0 *
         (body.diameter_m * body.diameter_m - body.hole_diameter_m * body.hole_diameter_m) *
         body.mean_thickness_m;
}

std::string_view word(FillLimit limit) {
  constexpr std::array<std::string_view, 3> words{
      "the row's length", "the lifting limit", "the number asked for"};
  return words.at(static_cast<std::size_t>(limit));
}

Result<CartonFill> fill_carton(const CartonRequest& request) {
  if (const auto checked = check(request); !checked) return checked.error();
  const auto& [disc, carton, limit_kg, count] = request;
  CartonFill fill;
  fill.by_lifting_limit =
      std::max<std::int64_t>(0, whole_times(limit_kg - carton.tare_kg, disc.mass_kg()));
  fill.discs = fill.by_lifting_limit;
  fill.limit = FillLimit::lifting_limit;
  if (carton.inner_length_m > 0.0) {
    fill.by_row_length = whole_times(carton.inner_length_m, disc.thickness_m);
    if (*fill.by_row_length < fill.discs) {
      fill.discs = *fill.by_row_length;
      fill.limit = FillLimit::row_length;
    }
  }
  if (count > 0 && count <= fill.discs) {
    fill.discs = count;
    fill.limit = FillLimit::count_asked;
  }
  if (fill.discs < 1)
    return Error{
        Fault::conflict,
        fmt::format("not one disc goes in: the carton weighs {:.2f} kg empty and a disc in its "
                    "sleeve {:.3f} kg, the limit is {:.2f} kg and the row holds {}; take another "
                    "carton or limit",
                    carton.tare_kg,
                    disc.mass_kg(),
                    limit_kg,
                    fill.by_row_length ? fmt::format("{}", *fill.by_row_length) : "any number")};
  const double row_m = carton.inner_length_m > 0.0
                           ? carton.inner_length_m
                           : static_cast<double>(fill.discs) * disc.thickness_m;
  const double across_m = disc.side_m + carton.clearance_m + 2.0 * carton.wall_m;
  fill.gross_kg = carton.tare_kg + static_cast<double>(fill.discs) * disc.mass_kg();
  fill.outer_length_m = row_m + 2.0 * carton.wall_m;
  fill.outer_width_m = across_m;
  fill.outer_height_m = across_m;
  return fill;
}

Result<PalletKind> pallet_kind(std::string_view name) {
  static constexpr std::array<PalletKind, 6> kinds{{{"1200x1000", {1.2, 1.0}},
                                                    {"1200x800", {1.2, 0.8}},
                                                    {"1219x1016", {1.219, 1.016}},
                                                    {"1140x1140", {1.14, 1.14}},
                                                    {"1100x1100", {1.1, 1.1}},
                                                    {"1067x1067", {1.067, 1.067}}}};
  std::string known;
  for (const PalletKind& kind : kinds) {
    if (kind.name == name) return kind;
    known += (known.empty() ? "" : ", ") + std::string{kind.name};
  }
  return Error{Fault::not_found,
               fmt::format("there is no pallet \"{}\"; there are {}", name.substr(0, 40), known)};
}

Result<OrderPacking> pack_order(std::int64_t discs,
                                const CartonRequest& carton,
                                const PalletKind& pallet) {
  if (discs < 1 || discs > 10'000'000)
    return Error{Fault::out_of_range,
                 fmt::format("{} discs are no order; give 1 to 10 000 000", discs)};
  if (const auto checked = check({{"pallet's stack", "m", pallet.stack_height_m, 0.2, 4.0},
                                  {"pallet's deck", "m", pallet.deck_height_m, 0.0, 0.5},
                                  {"pallet's tare", "kg", pallet.tare_kg, 0.0, 200.0},
                                  {"pallet's load", "kg", pallet.load_kg, 1.0, 5000.0}});
      !checked)
    return checked.error();
  const auto fill = fill_carton(carton);
  if (!fill) return fill.error();
  auto layer = pallet_pattern(pallet.base, {fill->outer_length_m, fill->outer_width_m});
  if (!layer) return layer.error();
  OrderPacking packing{.carton = *fill, .discs = discs, .layer = std::move(*layer)};
  packing.full_cartons = discs / fill->discs;
  packing.last_carton_discs = discs % fill->discs;
  if (packing.last_carton_discs > 0)
    packing.last_carton_kg = carton.carton.tare_kg +
                             static_cast<double>(packing.last_carton_discs) * carton.disc.mass_kg();
  const auto by_height =
      whole_times(pallet.stack_height_m - pallet.deck_height_m, fill->outer_height_m);
  const auto by_load = whole_times(pallet.load_kg, fill->gross_kg);
  const auto per_layer = static_cast<std::int64_t>(packing.layer.size());
  packing.cartons_on_pallet = std::min(std::max<std::int64_t>(0, by_height) * per_layer, by_load);
  if (packing.cartons_on_pallet < 1)
    return Error{
        Fault::conflict,
        fmt::format("no carton of {:.0f} x {:.0f} x {:.0f} mm and {:.1f} kg goes on pallet {} "
                    "within {:.2f} m and {:.0f} kg; take another pallet or limit",
                    1e3 * fill->outer_length_m,
                    1e3 * fill->outer_width_m,
                    1e3 * fill->outer_height_m,
                    fill->gross_kg,
                    pallet.name,
                    pallet.stack_height_m,
                    pallet.load_kg)};
  packing.layers = (packing.cartons_on_pallet + per_layer - 1) / per_layer;
  const std::int64_t cartons = packing.cartons();
  packing.pallets = (cartons + packing.cartons_on_pallet - 1) / packing.cartons_on_pallet;
  packing.last_pallet_cartons = cartons - (packing.pallets - 1) * packing.cartons_on_pallet;
  packing.pallet_kg =
      pallet.tare_kg + static_cast<double>(packing.cartons_on_pallet) * fill->gross_kg;
  packing.pallet_height_m =
      pallet.deck_height_m + static_cast<double>(packing.layers) * fill->outer_height_m;
  packing.gross_kg = static_cast<double>(packing.pallets) * pallet.tare_kg +
                     static_cast<double>(packing.full_cartons) * fill->gross_kg +
                     packing.last_carton_kg;
  return packing;
}

}  // namespace goodside::dispatch
