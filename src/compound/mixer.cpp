#include "compound/mixer.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/expects.hpp"
#include "compound/mixture.hpp"

namespace goodside::compound {
namespace {

using works::Role;

constexpr int told_times = 6;
constexpr double boils_K = 373.15;
constexpr double water_J_per_kgK = 4190.0, boiling_off_J_per_kg = 2.257e6;  // [IF97] at 1 atm

/// From memory, +-20 %, at mixing temperature [J/kgK].
double usual_heat_capacity(Role role) {
  switch (role) {
    case Role::binder:
    case Role::extender:
    case Role::pellets:
      return 1500.0;
    case Role::plasticiser:
    case Role::lubricant:
    case Role::antistatic:
      return 2000.0;
    case Role::filler:
    case Role::colour:
      return 850.0;
    case Role::fibre:
      return 1300.0;
    case Role::regrind:
    case Role::stabiliser:
    case Role::other:
      break;
  }
  return 1100.0;
}

Error no_heat(const std::string& what) {
  return {Fault::out_of_range, what};
}

}  // namespace

works::RegrindHistory regrind_history(double share) {
  EXPECTS(share >= 0.0 && share < 1.0);
  works::RegrindHistory history{.share = share, .through = {}};
  double left = 1.0;
  for (int times = 0; times <= told_times; ++times) {
    history.through.push_back((1.0 - share) * left);
    left *= share;
  }
  history.more = left;
  history.mean_times = share / (1.0 - share);
  // The mean after k batches is r (1 - r^k)/(1 - r).
  if (share > 0.0)
    history.batches_to_settle =
        static_cast<int>(std::ceil(std::log(0.01) / std::log(share) - 1e-9));
  return history;
}

std::vector<double> regrind_after(double share, int batches) {
  EXPECTS(share >= 0.0 && share < 1.0 && batches >= 0);
  std::vector<double> through;
  double left = 1.0;
  for (int times = 0; times < batches; ++times, left *= share)
    through.push_back((1.0 - share) * left);
  through.push_back(left);
  return through;
}

double regrind_share_for(double most, int times) {
  EXPECTS(most >= 0.0 && most < 1.0 && times >= 0);
  return std::pow(most, 1.0 / (times + 1));
}

Result<works::MixerHeat> mixer_heat(const works::Recipe& recipe, const works::WeighUp& sheet) {
  EXPECTS(recipe.mixer && recipe.mixer->dump_temperature_K);
  const auto& mixer = *recipe.mixer;
  works::MixerHeat heat;
  heat.from_K = mixer.start_temperature_K;
  heat.to_K = *mixer.dump_temperature_K;
  if (!(heat.to_K > heat.from_K && heat.from_K > 200.0 && heat.to_K < 700.0))
    return no_heat(
        fmt::format("the batch is to go from {:.4g} °C to {:.4g} °C; give a dump "
                    "temperature above the start",
                    heat.from_K - 273.15,
                    heat.to_K - 273.15));
  if (mixer.most_temperature_K && heat.to_K > *mixer.most_temperature_K)
    return no_heat(
        fmt::format("the dump temperature of {:.4g} °C is above the recipe's highest, "
                    "{:.4g} °C; lower it",
                    heat.to_K - 273.15,
                    *mixer.most_temperature_K - 273.15));
  heat.heat_capacity_told = true;
  for (const auto& one : recipe.ingredients) {
    if (one.fraction <= 0.0) continue;
    heat.heat_capacity_told = heat.heat_capacity_told && one.heat_capacity_J_per_kgK.has_value();
    heat.heat_capacity_J_per_kgK +=
        one.fraction * one.heat_capacity_J_per_kgK.value_or(usual_heat_capacity(one.role));
  }
  heat.heat_J = sheet.batch_kg * heat.heat_capacity_J_per_kgK * (heat.to_K - heat.from_K);
  const bool boils = heat.to_K >= boils_K;
  const double warms_K = std::min(heat.to_K, boils_K) - heat.from_K;
  heat.water_heat_J = sheet.water_kg * (water_J_per_kgK * std::max(0.0, warms_K) +
                                        (boils ? boiling_off_J_per_kg : 0.0));
  heat.energy_J = (heat.heat_J + heat.water_heat_J) / mixer.efficiency;
  if (mixer.power_W) heat.time_s = heat.energy_J / *mixer.power_W;
  heat.work_J_per_kg = heat.energy_J / sheet.batch_kg;
  return heat;
}

Result<works::Purge> purge(double holdup_kg, double batch_kg, double left) {
  if (!(left > 0.0 && left < 1.0))
    return Error{
        Fault::out_of_range,
        fmt::format("{:g} of the old colour left cannot be; give a share between 0 and 1, as "
                    "0.1 %",
                    left)};
  if (!(holdup_kg > 0.0 && batch_kg > 0.0 && std::isfinite(holdup_kg) && std::isfinite(batch_kg)))
    return Error{Fault::out_of_range,
                 "a purge asks for what the bowl keeps; give the mixer's holdup, as 0.4 kg"};
  const double kept = holdup_kg / (holdup_kg + batch_kg);
  return works::Purge{
      .left = left,
      .batches = static_cast<int>(std::ceil(std::log(left) / std::log(kept) - 1e-9)),
      .mass_kg = holdup_kg * std::log(1.0 / left)};
}

}  // namespace goodside::compound
