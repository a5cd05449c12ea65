#include "press/stack.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "press/heat_transfer.hpp"
#include "press/steam.hpp"

namespace goodside::press {
namespace {

constexpr double atmosphere_Pa = 101325.0, line_water_Pa = 6e5;
/// The film's own drop, for Nusselt's law, which it enters with the power of a quarter only.
constexpr double film_drop_K = 20.0;
constexpr double mean_steel_K = 400.0;

/// Thicknesses that sum to `total_m`, the last as near `finest_m` as whole cells allow and each
/// before it `growth` times the next at most.
std::vector<double> graded(double total_m, double finest_m, double growth) {
  std::size_t count = 1;
  const auto sum = [&](std::size_t n) {
    return finest_m * std::expm1(static_cast<double>(n) * std::log(growth)) / (growth - 1.0);
  };
  while (sum(count) < total_m) ++count;
  std::vector<double> layers(count);
  double width = total_m / sum(count) * finest_m;
  for (std::size_t i = count; i-- > 0;) {
    layers[i] = width;
    width *= growth;
  }
  return layers;
}

std::vector<double> even(double total_m, std::size_t count) {
  return std::vector<double>(count, total_m / static_cast<double>(count));
}

std::size_t counted(double at_least, double refine) {
  return static_cast<std::size_t>(std::max(1.0, std::round(at_least * refine)));
}

/// Faces from 0 to 1, closest at both ends.
std::vector<double> compound_bounds(std::size_t count) {
  constexpr double closeness = 1.9;
  std::vector<double> bounds(count + 1);
  for (std::size_t i = 0; i <= count; ++i) {
    const double x = 2.0 * static_cast<double>(i) / static_cast<double>(count) - 1.0;
    bounds[i] = 0.5 * (1.0 + std::tanh(closeness * x) / std::tanh(closeness));
  }
  bounds.front() = 0.0;
  bounds.back() = 1.0;
  return bounds;
}

}  // namespace

double bored_share(const Side& side) {
  return 1.0 - std::numbers::pi * side.channel_diameter_m / (4.0 * side.channel_pitch_m);
}

Stack::Stack(const CycleSetup& setup, double refine)
    : steel_{die_steel().density_kg_per_m3, die_steel().heat_capacity_J_per_kgK},
      bored_a_{die_steel().density_kg_per_m3 * bored_share(setup.sides[0]),
               die_steel().heat_capacity_J_per_kgK},
      bored_b_{die_steel().density_kg_per_m3 * bored_share(setup.sides[1]),
               die_steel().heat_capacity_J_per_kgK},
      nickel_{nickel().density_kg_per_m3, nickel().heat_capacity_J_per_kgK},
      copper_{copper().density_kg_per_m3, copper().heat_capacity_J_per_kgK},
      compound_{setup.compound.density_kg_per_m3,
                setup.compound.heat_capacity_J_per_kgK.times(setup.factors.heat_capacity)},
      steel_k_{die_steel().conductivity_W_per_mK.times(setup.factors.steel_conductivity)},
      nickel_k_{nickel().conductivity_W_per_mK},
      copper_k_{copper().conductivity_W_per_mK},
      compound_k_{setup.compound.conductivity_W_per_mK.times(setup.factors.conductivity)} {
  add_side(setup, setup.sides[0], refine, false);
  first_ = cells_.size();
  cells_.back().resistance_m2K_per_W = setup.compound_contact_m2K_per_W;
  bounds_ = compound_bounds(2 * counted(29.0, refine));
  for (std::size_t i = 0; i + 1 < bounds_.size(); ++i)
    cells_.push_back({&compound_, &compound_k_, bounds_[i + 1] - bounds_[i], 1.0, 0.0, true});
  cells_.back().resistance_m2K_per_W = setup.compound_contact_m2K_per_W;
  end_ = cells_.size();
  add_side(setup, setup.sides[1], refine, true);
}

void Stack::add_side(const CycleSetup& setup, const Side& side, double refine, bool mirrored) {
  const double half = 0.5 * side.channel_diameter_m;
  const double behind = side.die_thickness_m - side.cover_m - side.channel_diameter_m;
  const double growth = 1.0 + 0.115 / refine;
  const HeatCurve* const bored = mirrored ? &bored_b_ : &bored_a_;
  std::vector<Cell> column;
  const auto add =
      [&](const std::vector<double>& layers, const HeatCurve* heat, const Property* conductivity) {
        for (const double thickness : layers) column.push_back({heat, conductivity, thickness});
      };
  add(graded(behind, 0.0003 / refine, 1.0 + 0.2 / refine), &steel_, &steel_k_);
  auto towards = graded(half, 0.00043 / refine, 1.0 + 0.36 / refine);
  add(towards, bored, &steel_k_);
  const std::size_t channel = column.size() - 1;
  std::ranges::reverse(towards);
  add(towards, bored, &steel_k_);
  add(graded(side.cover_m, 0.00031 / refine, growth), &steel_, &steel_k_);
  const std::size_t seat = column.size() - 1;
  const double contact = side.contact_m2K_per_W * setup.factors.contact;
  column[column.size() - 1].resistance_m2K_per_W = contact;
  if (side.backing_m > 0.0) add(even(side.backing_m, counted(4.0, refine)), &copper_, &copper_k_);
  add(even(side.stamper_m, counted(4.0, refine)), &nickel_, &nickel_k_);
  const std::size_t base = cells_.size(), count = column.size();
  if (!mirrored) {
    cells_.insert(cells_.end(), column.begin(), column.end());
    channel_[0] = base + channel;
    seat_[0] = base + seat;
    return;
  }
  for (std::size_t i = count; i-- > 0;) {
    Cell cell = column[i];
    cell.resistance_m2K_per_W = i > 0 ? column[i - 1].resistance_m2K_per_W : 0.0;
    cells_.push_back(cell);
  }
  // The plane lies between cells `channel` and `channel` + 1 counted from the back.
  channel_[1] = base + (count - 1 - (channel + 1));
  seat_[1] = base + (count - 1 - seat);
}

Result<ChannelExchange> channel_exchange(const CycleSetup& setup, const Side& side) {
  ChannelExchange out;
  const double wetted = std::numbers::pi * side.channel_diameter_m / side.channel_pitch_m;
  const double steel =
      die_steel().conductivity_W_per_mK.at(mean_steel_K) * setup.factors.steel_conductivity;
  const double gathering =
      side.channel_pitch_m / (2.0 * std::numbers::pi * steel) * std::log(1.0 / wetted);
  const auto per_die = [&](double film) {
    const double clean = 1.0 / (wetted * film);
    // Large bores gain on their plane; a film never vanishes for it.
    return 1.0 / std::max(clean + gathering, 0.2 * clean);
  };
  const double steam_Pa = atmosphere_Pa + side.steam_gauge_Pa;
  const auto hot = saturation_temperature_K(steam_Pa);
  if (!hot) return hot.error();
  const auto film = film_condensation_W_per_m2K({.place = FilmPlace::inside_tube,
                                                 .steam_pressure_Pa = steam_Pa,
                                                 .wall_temperature_K = *hot - film_drop_K,
                                                 .length_m = side.channel_diameter_m});
  if (!film) return film.error();
  out.steam_wall_W_per_m2K = *film * setup.factors.steam;
  out.steam_W_per_m2K = per_die(out.steam_wall_W_per_m2K);
  if (side.water_flow_kg_per_s <= 0.0) return out;

  const auto water =
      liquid_state({.pressure_Pa = line_water_Pa, .temperature_K = side.water_temperature_K});
  if (!water) return water.error();
  const double bore = 0.25 * std::numbers::pi * side.channel_diameter_m * side.channel_diameter_m;
  out.water_velocity_m_per_s =
      side.water_flow_kg_per_s / (side.channels * water->density_kg_per_m3 * bore);
  const auto flow = channel_heat({.hydraulic_diameter_m = side.channel_diameter_m,
                                  .velocity_m_per_s = out.water_velocity_m_per_s,
                                  .water_temperature_K = side.water_temperature_K,
                                  .pressure_Pa = line_water_Pa});
  if (!flow) return flow.error();
  out.reynolds = flow->reynolds;
  out.water_wall_W_per_m2K = flow->coefficient_W_per_m2K * setup.factors.water;
  const double die = 0.25 * std::numbers::pi * setup.die_diameter_m * setup.die_diameter_m;
  const double capacity = side.water_flow_kg_per_s * water->heat_capacity_J_per_kgK / die;
  out.water_W_per_m2K = -capacity * std::expm1(-per_die(out.water_wall_W_per_m2K) / capacity);
  return out;
}

}  // namespace goodside::press
