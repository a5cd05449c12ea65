#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "press/setup.hpp"
#include "press/stack.hpp"
#include "press/steam.hpp"

namespace goodside::press {
namespace {

constexpr double zero_C = 273.15, atmosphere_Pa = 101325.0;

double celsius(double temperature_K) {
  return temperature_K - zero_C;
}

Error wrong(std::string text) {
  return {Fault::bad_input, std::move(text)};
}

/// A figure with the range in which it can be meant.
struct Figure {
  const char* name;
  double value, low, high;
  double shown_per_si;  ///< into the unit that people read
  const char* unit;
  double offset{0.0};
};

Outcome in_range(const Figure& one) {
  if (one.value >= one.low && one.value <= one.high) return Done{};  // NaN is in none
  const auto shown = [&](double value) { return value * one.shown_per_si + one.offset; };
  return Error{Fault::out_of_range,
               fmt::format("{} of {:.6g} {} cannot be; give {:.6g} to {:.6g} {}",
                           one.name,
                           shown(one.value),
                           one.unit,
                           shown(one.low),
                           shown(one.high),
                           one.unit)};
}

Outcome figures(const CycleSetup& s) {
  const Schedule& at = s.schedule;
  const Figure all[] = {
      {"a disc's diameter", s.disc.diameter_m, 0.05, 0.6, 1e3, "mm"},
      {"a disc's thickness", s.disc.thickness_m, 0.0005, 0.01, 1e3, "mm"},
      {"a thickness tolerance", s.disc.thickness_tolerance_m, 1e-6, 0.002, 1e3, "mm"},
      {"a biscuit's mass", s.biscuit.mass_kg, 0.005, 2.0, 1e3, "g"},
      {"a biscuit's diameter", s.biscuit.diameter_m, 0.01, 0.6, 1e3, "mm"},
      {"a biscuit's temperature", s.biscuit.temperature_K, 253.15, 523.15, 1.0, "°C", -zero_C},
      {"a die's diameter", s.die_diameter_m, 0.05, 1.0, 1e3, "mm"},
      {"a press's force", s.force_N, 1e3, 5e7, 1e-3, "kN"},
      {"a closing speed", s.closing_speed_m_per_s, 1e-5, 1.0, 1e3, "mm/s"},
      {"a stop", s.stop(), 0.0003, 0.02, 1e3, "mm"},
      {"the room's temperature", s.ambient_K, 253.15, 333.15, 1.0, "°C", -zero_C},
      {"the loss of a die's back", s.back_loss_W_per_m2K, 0.0, 2000.0, 1.0, "W/m2K"},
      {"the loss of an open face", s.face_loss_W_per_m2K, 0.0, 500.0, 1.0, "W/m2K"},
      {"the contact of the compound", s.compound_contact_m2K_per_W, 0.0, 0.01, 1.0, "m2K/W"},
      {"the lag of the steam", s.steam_lag_s, 0.01, 60.0, 1.0, "s"},
      {"the lag of the water", s.water_lag_s, 0.01, 60.0, 1.0, "s"},
      {"boiler feed water", s.feed_water_K, 273.16, 453.15, 1.0, "°C", -zero_C},
      {"the share of steam lost", s.steam_lost, 0.0, 0.9, 1.0, ""},
      {"the time open", at.open_s, 0.5, 600.0, 1.0, "s"},
      {"the steam's lead over closing", at.steam_lead_s, 0.0, 600.0, 1.0, "s"},
      {"the steam time", at.steam_s, 0.1, 600.0, 1.0, "s"},
      {"the drain time", at.drain_s, 0.0, 60.0, 1.0, "s"},
      {"the water time", at.water_s, 0.1, 600.0, 1.0, "s"},
      {"the rest before opening", at.rest_s, 0.0, 600.0, 1.0, "s"},
      {"the factor on steam", s.factors.steam, 0.01, 10.0, 1.0, ""},
      {"the factor on water", s.factors.water, 0.01, 10.0, 1.0, ""},
      {"the factor on contact", s.factors.contact, 0.0, 100.0, 1.0, ""},
      {"the factor on conductivity", s.factors.conductivity, 0.1, 10.0, 1.0, ""},
      {"the factor on heat capacity", s.factors.heat_capacity, 0.1, 10.0, 1.0, ""},
      {"the factor on consistency", s.factors.consistency, 1e-4, 1e4, 1.0, ""},
      {"the factor on the steel's conductivity", s.factors.steel_conductivity, 0.1, 10.0, 1.0, ""},
      {"the dish allowed", s.limits.dish_m, 1e-6, 0.1, 1e3, "mm"},
      {"the margin below setting", s.limits.set_margin_K, 0.0, 100.0, 1.0, "K"},
      {"the margin above flowing", s.limits.flow_margin_K, 0.0, 100.0, 1.0, "K"},
      {"the compound's density", s.compound.density_kg_per_m3, 500.0, 6000.0, 1.0, "kg/m3"},
      {"the compound's flow exponent", s.compound.flow.exponent, 0.05, 1.0, 1.0, ""},
      {"the compound's consistency", s.compound.flow.consistency_Pa_sn, 1.0, 1e9, 1.0, "Pa s^n"},
      {"the compound's activation energy",
       s.compound.flow.activation_J_per_mol,
       0.0,
       5e5,
       1e-3,
       "kJ/mol"},
      {"the compound's expansion", s.compound.expansion_per_K, 0.0, 1e-3, 1e6, "um/mK"},
      {"the flow temperature", s.compound.flow_temperature_K, 303.15, 523.15, 1.0, "°C", -zero_C},
      {"the setting temperature", s.compound.set_temperature_K, 283.15, 523.15, 1.0, "°C", -zero_C},
      {"the temperature of overheating",
       s.compound.overheated_K,
       303.15,
       673.15,
       1.0,
       "°C",
       -zero_C},
  };
  for (const Figure& one : all)
    if (auto held = in_range(one); !held) return held;
  for (const auto& [name, property] :
       {std::pair{"conductivity", &s.compound.conductivity_W_per_mK},
        std::pair{"heat capacity", &s.compound.heat_capacity_J_per_kgK}})
    for (std::size_t i = 0; i < property->knots(); ++i)
      if (const double value = property->knot(i).value; !(value > 0.0 && value < 1e5))
        return wrong(
            fmt::format("the compound's {} of {:.4g} cannot be; give a positive one", name, value));
  return Done{};
}

Outcome side(const CycleSetup& s, std::size_t index) {
  const Side& side = s.sides[index];
  const char* const letter = index == 0 ? "A" : "B";
  const Figure all[] = {
      {"a die's thickness", side.die_thickness_m, 0.002, 0.5, 1e3, "mm"},
      {"the steel over a channel", side.cover_m, 0.0005, 0.2, 1e3, "mm"},
      {"a channel's diameter", side.channel_diameter_m, 0.002, 0.1, 1e3, "mm"},
      {"the channels' pitch", side.channel_pitch_m, 0.003, 0.5, 1e3, "mm"},
      {"the number of channels", side.channels, 1.0, 500.0, 1.0, ""},
      {"a backing's thickness", side.backing_m, 0.0, 0.02, 1e3, "mm"},
      {"a stamper's thickness", side.stamper_m, 2e-5, 0.005, 1e3, "mm"},
      {"the contact of the stamper", side.contact_m2K_per_W, 0.0, 0.01, 1.0, "m2K/W"},
      {"steam at a gauge", side.steam_gauge_Pa, 1e4, 4e6, 1e-5, "bar"},
      {"cooling water", side.water_temperature_K, 273.16, 368.15, 1.0, "°C", -zero_C},
      {"a flow of water", side.water_flow_kg_per_s, 0.0, 100.0, 1.0, "kg/s"},
  };
  for (const Figure& one : all)
    if (auto held = in_range(one); !held)
      return Error{held.error().fault, fmt::format("side {}: {}", letter, held.error().text)};
  const double taken = side.cover_m + side.channel_diameter_m;
  if (side.die_thickness_m < taken + 0.0005)
    return wrong(fmt::format(
        "side {}: a die of {:.4g} mm is too thin for a {:.4g} mm channel under {:.4g} mm of steel; "
        "give at least {:.4g} mm",
        letter,
        1e3 * side.die_thickness_m,
        1e3 * side.channel_diameter_m,
        1e3 * side.cover_m,
        1e3 * taken + 0.5));
  if (side.channel_pitch_m < 1.05 * side.channel_diameter_m)
    return wrong(
        fmt::format("side {}: channels {:.4g} mm wide every {:.4g} mm run into each other; give a "
                    "pitch above {:.4g} mm",
                    letter,
                    1e3 * side.channel_diameter_m,
                    1e3 * side.channel_pitch_m,
                    1.05e3 * side.channel_diameter_m));
  if (const auto exchange = channel_exchange(s, side); !exchange)
    return Error{exchange.error().fault, fmt::format("side {}: {}", letter, exchange.error().text)};
  return Done{};
}

/// Steam that never melts, water that never sets.
Outcome possible(const CycleSetup& s) {
  const Compound& compound = s.compound;
  if (compound.set_temperature_K >= compound.flow_temperature_K ||
      compound.flow_temperature_K >= compound.overheated_K)
    return wrong(fmt::format(
        "{} sets at {:.4g} °C, flows at {:.4g} °C and is overheated at {:.4g} °C; these must grow",
        compound.name,
        celsius(compound.set_temperature_K),
        celsius(compound.flow_temperature_K),
        celsius(compound.overheated_K)));
  const double wanted_K = compound.flow_temperature_K + s.limits.flow_margin_K;
  const double set_K = compound.set_temperature_K - s.limits.set_margin_K;
  bool cooled = false;
  for (std::size_t i = 0; i < 2; ++i) {
    const Side& side = s.sides[i];
    const char* const letter = i == 0 ? "A" : "B";
    const double hot = *saturation_temperature_K(atmosphere_Pa + side.steam_gauge_Pa);
    if (hot <= wanted_K) {
      const double needed = *saturation_pressure_Pa(wanted_K + 5.0) - atmosphere_Pa;
      return Error{
          Fault::out_of_range,
          fmt::format("side {}: steam at {:.3g} bar gauge condenses at {:.1f} °C, and {} "
                      "flows from {:.1f} °C; this cycle can never fill, give {:.3g} bar or "
                      "more",
                      letter,
                      1e-5 * side.steam_gauge_Pa,
                      celsius(hot),
                      compound.name,
                      celsius(wanted_K),
                      1e-5 * needed)};
    }
    if (side.water_flow_kg_per_s <= 0.0) continue;
    cooled = true;
    if (side.water_temperature_K >= set_K)
      return Error{
          Fault::out_of_range,
          fmt::format("side {}: water at {:.1f} °C is hotter than the {:.1f} °C at which {} "
                      "sets; this cycle can never set, give colder water",
                      letter,
                      celsius(side.water_temperature_K),
                      celsius(set_K),
                      compound.name)};
  }
  if (!cooled)
    return Error{Fault::out_of_range,
                 "no side has water, and the steel keeps its heat for many cycles; this cycle can "
                 "never set, give a flow of water"};
  return Done{};
}

}  // namespace

Outcome check(const CycleSetup& s) {
  if (auto held = figures(s); !held) return held;
  for (std::size_t i = 0; i < 2; ++i)
    if (auto held = side(s, i); !held) return held;
  if (s.die_diameter_m < s.disc.diameter_m)
    return wrong(
        fmt::format("a die of {:.4g} mm cannot press a disc of {:.4g} mm; give a wider one",
                    1e3 * s.die_diameter_m,
                    1e3 * s.disc.diameter_m));
  if (s.biscuit.diameter_m > s.disc.diameter_m)
    return wrong(
        fmt::format("a biscuit of {:.4g} mm does not lie in a mould of {:.4g} mm; give a "
                    "narrower one",
                    1e3 * s.biscuit.diameter_m,
                    1e3 * s.disc.diameter_m));
  const double area = 0.25 * std::numbers::pi * s.biscuit.diameter_m * s.biscuit.diameter_m;
  const double height = s.biscuit.mass_kg / s.compound.density_kg_per_m3 / area;
  if (height < s.stop())
    return wrong(
        fmt::format("a biscuit of {:.4g} g and {:.4g} mm is {:.3g} mm high, less than the "
                    "{:.3g} mm at which the mould meets; give a narrower or heavier one",
                    1e3 * s.biscuit.mass_kg,
                    1e3 * s.biscuit.diameter_m,
                    1e3 * height,
                    1e3 * s.stop()));
  if (height > 0.15)
    return wrong(
        fmt::format("a biscuit of {:.4g} g and {:.4g} mm would stand {:.3g} mm high; give a "
                    "wider one",
                    1e3 * s.biscuit.mass_kg,
                    1e3 * s.biscuit.diameter_m,
                    1e3 * height));
  if (s.schedule.steam_lead_s > s.schedule.open_s)
    return wrong(
        fmt::format("steam {:.4g} s ahead of closing begins before the press has opened "
                    "({:.4g} s); give a shorter lead",
                    s.schedule.steam_lead_s,
                    s.schedule.open_s));
  return possible(s);
}

}  // namespace goodside::press
