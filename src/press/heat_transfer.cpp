#include "press/heat_transfer.hpp"

#include <fmt/format.h>

#include <cmath>

#include "press/steam.hpp"

namespace goodside::press {
namespace {

constexpr double laminar_end = 2300.0, turbulent_start = 3000.0;

struct FilmLaw {
  double factor, subcooling;
};

FilmLaw law_of(FilmPlace place) {
  switch (place) {
    case FilmPlace::vertical_plate:
      return {4.0 / 3.0 * std::pow(4.0, -0.25), 0.68};
    case FilmPlace::outside_tube:
      return {0.729, 0.68};
    case FilmPlace::inside_tube:
      break;
  }
  return {0.555, 0.375};
}

bool is_between(double value, double low, double high) {
  return value > low && value < high;
}

NusseltNumber laminar(const Similarity& at) {
  const double entrance = 1.615 * std::cbrt(at.reynolds * at.prandtl * at.diameter_by_length) - 0.7;
  return {.nusselt = std::cbrt(std::pow(3.66, 3) + std::pow(0.7, 3) + std::pow(entrance, 3)),
          .friction_factor = 64.0 / at.reynolds};
}

NusseltNumber turbulent(const Similarity& at) {
  const double friction = std::pow(0.790 * std::log(at.reynolds) - 1.64, -2);
  const double eighth = friction / 8.0;
  const double below = 1.0 + 12.7 * std::sqrt(eighth) * (std::pow(at.prandtl, 2.0 / 3.0) - 1.0);
  return {.nusselt = eighth * (at.reynolds - 1000.0) * at.prandtl / below *
                     (1.0 + std::pow(at.diameter_by_length, 2.0 / 3.0)),
          .friction_factor = friction};
}

Error no_film(const std::string& why) {
  return {Fault::out_of_range, "steam cannot be given a film coefficient: " + why};
}

}  // namespace

Result<double> film_condensation_W_per_m2K(const Film& film) {
  const auto steam = saturated_at_pressure(film.steam_pressure_Pa);
  if (!steam) return steam.error();
  const double drop_K = steam->temperature_K - film.wall_temperature_K;
  if (!is_between(drop_K, 0.0, 100.0))
    return no_film(
        fmt::format("the wall is at {:.4g} °C and the steam at {:.4g} °C; the wall must "
                    "be colder, by at most 100 K",
                    film.wall_temperature_K - 273.15,
                    steam->temperature_K - 273.15));
  if (!is_between(film.length_m, 0.0, 100.0) || !is_between(film.gravity_m_per_s2, 0.0, 1000.0))
    return no_film(fmt::format("its length is {:.4g} m under {:.4g} m/s2; give both above nought",
                               film.length_m,
                               film.gravity_m_per_s2));
  const auto water = liquid_water({.pressure_Pa = film.steam_pressure_Pa,
                                   .temperature_K = steam->temperature_K - 0.5 * drop_K});
  if (!water) return water.error();
  const auto [factor, subcooling] = law_of(film.place);
  const double latent =
      steam->latent_heat_J_per_kg() + subcooling * water->state.heat_capacity_J_per_kgK * drop_K;
  const double density = water->state.density_kg_per_m3;
  const double above = film.gravity_m_per_s2 * density *
                       (density - steam->vapour.density_kg_per_m3) *
                       std::pow(water->conductivity_W_per_mK, 3) * latent;
  return factor * std::pow(above / (water->viscosity_Pa_s * drop_K * film.length_m), 0.25);
}

NusseltNumber nusselt_number(const Similarity& at) {
  if (at.reynolds <= laminar_end) return laminar(at);
  if (at.reynolds >= turbulent_start) return turbulent(at);
  const auto at_reynolds = [&](double reynolds) {
    return Similarity{reynolds, at.prandtl, at.diameter_by_length};
  };
  const auto low = laminar(at_reynolds(laminar_end));
  const auto high = turbulent(at_reynolds(turbulent_start));
  const double share = (at.reynolds - laminar_end) / (turbulent_start - laminar_end);
  return {.nusselt = std::lerp(low.nusselt, high.nusselt, share),
          .friction_factor = std::lerp(low.friction_factor, high.friction_factor, share)};
}

Result<ChannelHeat> channel_heat(const ChannelFlow& flow) {
  if (!is_between(flow.hydraulic_diameter_m, 0.0, 1.0) ||
      !is_between(flow.velocity_m_per_s, 0.0, 100.0) ||
      !(flow.length_m > flow.hydraulic_diameter_m))
    return Error{Fault::out_of_range,
                 fmt::format("a channel of {:.4g} m diameter and {:.4g} m length with water at "
                             "{:.4g} m/s is none; give all three above nought, and it longer than "
                             "wide",
                             flow.hydraulic_diameter_m,
                             flow.length_m,
                             flow.velocity_m_per_s)};
  const auto water =
      liquid_water({.pressure_Pa = flow.pressure_Pa, .temperature_K = flow.water_temperature_K});
  if (!water) return water.error();
  const Similarity at{.reynolds = water->state.density_kg_per_m3 * flow.velocity_m_per_s *
                                  flow.hydraulic_diameter_m / water->viscosity_Pa_s,
                      .prandtl = water->prandtl(),
                      .diameter_by_length = flow.hydraulic_diameter_m / flow.length_m};
  if (at.reynolds > 5e6)
    return Error{Fault::out_of_range,
                 fmt::format("the channel's Reynolds number is {:.3g}, and the law ends at 5e6; "
                             "lower the velocity",
                             at.reynolds)};
  const auto [nusselt, friction_factor] = nusselt_number(at);
  return ChannelHeat{
      .reynolds = at.reynolds,
      .prandtl = at.prandtl,
      .nusselt = nusselt,
      .friction_factor = friction_factor,
      .coefficient_W_per_m2K = nusselt * water->conductivity_W_per_mK / flow.hydraulic_diameter_m,
      .regime = at.reynolds <= laminar_end      ? "laminar"
                : at.reynolds < turbulent_start ? "transition"
                                                : "turbulent"};
}

}  // namespace goodside::press
