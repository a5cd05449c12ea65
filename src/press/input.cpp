#include "press/input.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/expects.hpp"
#include "base/near_miss.hpp"
#include "units/read.hpp"
#include "units/read_process.hpp"

namespace goodside::press {
namespace {

using enum Input::Group;
using enum Input::Doubt;
using Kind = Spread::Kind;
using S = CycleSetup;
using N = std::size_t;

constexpr Spread share(double half) {
  return {Kind::relative, half};
}
constexpr Spread plus_minus(double half) {
  return {Kind::absolute, half};
}
constexpr Spread factor(double half) {
  return {Kind::factor, half};
}

// How a figure is reached: member of the setup, of a part of it, or of a side.
template <auto Part, auto Member>
double get(const S& s, N) {
  return s.*Part.*Member;
}
template <auto Part, auto Member>
void set(S& s, N, double value) {
  s.*Part.*Member = value;
}
template <auto Member>
double get_own(const S& s, N) {
  return s.*Member;
}
template <auto Member>
void set_own(S& s, N, double value) {
  s.*Member = value;
}
template <auto Member>
double get_side(const S& s, N side) {
  return s.sides[side].*Member;
}
template <auto Member>
void set_side(S& s, N side, double value) {
  s.sides[side].*Member = value;
}
template <auto Member>
double get_flow(const S& s, N) {
  return s.compound.flow.*Member;
}
template <auto Member>
void set_flow(S& s, N, double value) {
  s.compound.flow.*Member = value;
}
template <auto Member>
double get_property(const S& s, N) {
  return (s.compound.*Member).at(s.compound.flow_temperature_K);
}
template <auto Member>
void set_property(S& s, N, double value) {
  s.compound.*Member = Property{value};
}

struct Unit {
  Result<double> (*read)(std::string_view);
  std::string_view name;
  double per_si{1.0}, offset{0.0};
};
constexpr Unit mm{units::length_m, "mm", 1e3}, um{units::length_m, "um", 1e6};
constexpr Unit gram{units::mass_kg, "g", 1e3}, second{units::duration_s, "s"};
constexpr Unit celsius{units::temperature_K, "°C", 1.0, -273.15};
constexpr Unit kelvin{units::temperature_difference_K, "K"};
constexpr Unit bar{units::pressure_Pa, "bar", 1e-5}, kilonewton{units::force_N, "kN", 1e-3};
constexpr Unit mm_per_s{units::speed_m_per_s, "mm/s", 1e3};
constexpr Unit flow{units::water_flow_kg_per_s, "kg/s"};
constexpr Unit per_cent{units::fraction, "%", 1e2};
constexpr Unit bare(std::string_view name = "") {
  return {units::number, name};
}

template <auto Part, auto Member>
constexpr Input of(std::string_view name,
                   Input::Group group,
                   Unit unit,
                   std::string_view help,
                   Input::Doubt doubt = exact,
                   Spread plain = {},
                   Spread filled = {},
                   std::string_view source = {}) {
  return {name,
          help,
          group,
          unit.read,
          unit.name,
          unit.per_si,
          unit.offset,
          get<Part, Member>,
          set<Part, Member>,
          doubt,
          plain,
          filled,
          source};
}
template <auto Member>
constexpr Input own(std::string_view name, Unit unit, std::string_view help) {
  return {name,
          help,
          press,
          unit.read,
          unit.name,
          unit.per_si,
          unit.offset,
          get_own<Member>,
          set_own<Member>};
}
template <auto Member>
constexpr Input on_side(std::string_view name,
                        Unit unit,
                        std::string_view help,
                        Input::Doubt doubt = exact,
                        Spread spread = {},
                        std::string_view source = {}) {
  return {name,
          help,
          side,
          unit.read,
          unit.name,
          unit.per_si,
          unit.offset,
          get_side<Member>,
          set_side<Member>,
          doubt,
          spread,
          spread,
          source};
}
template <auto Member>
constexpr Input of_flow(std::string_view name,
                        Unit unit,
                        std::string_view help,
                        Input::Doubt doubt = exact,
                        Spread spread = {},
                        std::string_view source = {}) {
  return {name,
          help,
          compound,
          unit.read,
          unit.name,
          unit.per_si,
          unit.offset,
          get_flow<Member>,
          set_flow<Member>,
          doubt,
          spread,
          spread,
          source};
}
template <auto Member>
constexpr Input of_property(std::string_view name, Unit unit, std::string_view help) {
  return {name,
          help,
          compound,
          unit.read,
          unit.name,
          unit.per_si,
          unit.offset,
          get_property<Member>,
          set_property<Member>};
}

constexpr std::string_view practice = "common practice, no source";
constexpr std::string_view memory = "from memory";

constexpr Input all[] = {
    of<&S::disc, &Disc::diameter_m>("diameter", disc, mm, "Of the disc."),
    of<&S::disc, &Disc::thickness_m>("thickness", disc, mm, "Of the disc, mean over its profile."),
    of<&S::disc, &Disc::thickness_tolerance_m>("thickness_tolerance", disc, mm, "Either way."),
    of<&S::biscuit, &Biscuit::mass_kg>("mass",
                                       biscuit,
                                       gram,
                                       "Of one biscuit, flash included.",
                                       tolerance,
                                       share(0.01),
                                       share(0.01),
                                       practice),
    of<&S::biscuit, &Biscuit::diameter_m>("biscuit_diameter", biscuit, mm, "As it is laid in."),
    of<&S::biscuit, &Biscuit::temperature_K>("biscuit_temperature",
                                             biscuit,
                                             celsius,
                                             "As it is laid in.",
                                             tolerance,
                                             plus_minus(5.0),
                                             plus_minus(5.0),
                                             practice),
    own<&S::die_diameter_m>("die_diameter", mm, "Of the heated and cooled steel."),
    own<&S::force_N>("force", kilonewton, "Most that the press pushes with."),
    own<&S::closing_speed_m_per_s>("closing_speed", mm_per_s, "Most on the biscuit."),
    own<&S::stop_m>("stop", mm, "Gap at which the mould's rims meet; 0: the thickness."),
    own<&S::ambient_K>("room", celsius, "Around the press."),
    own<&S::back_loss_W_per_m2K>(
        "back_loss", bare("W/m2K"), "From a die's back, through its board."),
    own<&S::face_loss_W_per_m2K>("face_loss", bare("W/m2K"), "From an open face."),
    own<&S::compound_contact_m2K_per_W>("compound_contact", bare("m2K/W"), "Compound on stamper."),
    own<&S::steam_lag_s>("steam_lag", second, "From valve to channel, to 63 %."),
    own<&S::water_lag_s>("water_lag", second, "From valve to channel, to 63 %."),
    own<&S::feed_water_K>("feed_water", celsius, "Of the boiler."),
    own<&S::steam_lost>("steam_lost", per_cent, "Share that traps and blowing through lose."),
    on_side<&Side::die_thickness_m>("die_thickness", mm, "From its back to the stamper's seat."),
    on_side<&Side::cover_m>("cover", mm, "Steel between channel and stamper."),
    on_side<&Side::channel_diameter_m>("channel_diameter", mm, "Round bores."),
    on_side<&Side::channel_pitch_m>("channel_pitch", mm, "From bore to bore."),
    on_side<&Side::channels>("channels", bare(), "Fed side by side."),
    on_side<&Side::backing_m>("backing", mm, "Copper behind the stamper; 0: none."),
    on_side<&Side::stamper_m>("stamper", mm, "Thickness of the nickel."),
    on_side<&Side::contact_m2K_per_W>("stamper_contact", bare("m2K/W"), "Stamper on its seat."),
    on_side<&Side::steam_gauge_Pa>(
        "steam", bar, "Supply, as the gauge shows.", tolerance, plus_minus(2e4), practice),
    on_side<&Side::water_temperature_K>(
        "water", celsius, "As it comes in.", tolerance, plus_minus(3.0), practice),
    on_side<&Side::water_flow_kg_per_s>("water_flow", flow, "Through this side."),
    of<&S::schedule, &Schedule::open_s>(
        "open_time", cycle, second, "Open, until the press meets the biscuit."),
    of<&S::schedule, &Schedule::steam_lead_s>(
        "steam_lead", cycle, second, "Steam on ahead of that."),
    of<&S::schedule, &Schedule::steam_s>("steam_time", cycle, second, "From there to steam off."),
    of<&S::schedule, &Schedule::drain_s>("drain_time", cycle, second, "Steam off to water on."),
    of<&S::schedule, &Schedule::water_s>("water_time", cycle, second, "Water on to water off."),
    of<&S::schedule, &Schedule::rest_s>("rest_time", cycle, second, "Water off to opening."),
    of<&S::compound, &Compound::density_kg_per_m3>("density", compound, bare("kg/m3"), "Pressed."),
    of_property<&Compound::conductivity_W_per_mK>(
        "conductivity", bare("W/mK"), "One value for all temperatures."),
    of_property<&Compound::heat_capacity_J_per_kgK>(
        "heat_capacity", bare("J/kgK"), "One value for all temperatures."),
    of_flow<&FlowLaw::exponent>("flow_exponent",
                                bare(),
                                "n of the power law.",
                                knowledge,
                                plus_minus(0.08),
                                "0.25 to 0.5, from memory; fit it"),
    of_flow<&FlowLaw::consistency_Pa_sn>("consistency", bare("Pa s^n"), "m of the power law."),
    of_flow<&FlowLaw::reference_K>("consistency_at", celsius, "Temperature at which that m holds."),
    of_flow<&FlowLaw::activation_J_per_mol>("activation", bare("J/mol"), "Of the shift of rates."),
    of_flow<&FlowLaw::wlf_reference_K>("glass_temperature", celsius, "Of the WLF law (vinyl)."),
    of_flow<&FlowLaw::solid_below_K>("solid_below", celsius, "No flow below."),
    of<&S::compound, &Compound::flow_temperature_K>(
        "flow_temperature",
        compound,
        celsius,
        "From which grooves fill.",
        knowledge,
        plus_minus(6.0),
        plus_minus(8.0),
        "130 to 170 °C vinyl, 90 to 110 °C shellac type; find it on your press"),
    of<&S::compound, &Compound::set_temperature_K>(
        "set_temperature",
        compound,
        celsius,
        "Below which a disc holds its shape.",
        knowledge,
        plus_minus(6.0),
        plus_minus(7.0),
        "glass temperature 65 to 80 °C vinyl; softening 65 to 70 °C shellac"),
    of<&S::compound, &Compound::overheated_K>(
        "overheated", compound, celsius, "Above which the compound is hurt."),
    of<&S::compound, &Compound::expansion_per_K>("expansion",
                                                 compound,
                                                 bare("1/K"),
                                                 "Linear, set.",
                                                 knowledge,
                                                 share(0.15),
                                                 share(0.3),
                                                 memory),
    of<&S::factors, &Factors::steam>("steam_factor",
                                     fit,
                                     bare(),
                                     "On Nusselt's clean film: air, bends, slugs.",
                                     knowledge,
                                     factor(1.6),
                                     factor(1.6),
                                     "3000 to 8000 W/m2K in press channels, from memory"),
    of<&S::factors, &Factors::water>("water_factor",
                                     fit,
                                     bare(),
                                     "On Gnielinski's law.",
                                     knowledge,
                                     share(0.2),
                                     share(0.2),
                                     "10 % by its author; scale and bends"),
    of<&S::factors, &Factors::contact>("contact_factor",
                                       fit,
                                       bare(),
                                       "On the stamper's contact.",
                                       knowledge,
                                       factor(2.0),
                                       factor(2.0),
                                       memory),
    of<&S::factors, &Factors::conductivity>(
        "conductivity_factor",
        fit,
        bare(),
        "On the compound's conductivity.",
        knowledge,
        share(0.1),
        share(0.45),
        "0.16 to 0.19 W/mK vinyl; 0.3 to 0.8 filled: measure it"),
    of<&S::factors, &Factors::heat_capacity>(
        "heat_capacity_factor",
        fit,
        bare(),
        "On the compound's heat capacity.",
        knowledge,
        share(0.13),
        share(0.1),
        "900 to 1100 and 1300 to 1800 J/kgK below and above the glass temperature"),
    of<&S::factors, &Factors::consistency>(
        "consistency_factor",
        fit,
        bare(),
        "On m of the power law.",
        knowledge,
        factor(3.0),
        factor(3.0),
        "1e4 to 1e5 Pa s^n at 165 °C, from memory; fit it"),
    of<&S::factors, &Factors::steel_conductivity>("steel_factor",
                                                  fit,
                                                  bare(),
                                                  "On the steel's conductivity.",
                                                  knowledge,
                                                  share(0.15),
                                                  share(0.15),
                                                  "die steels 25 to 50 W/mK, from memory"),
    of<&S::limits, &Limits::dish_m>("dish_limit", limits, mm, "Middle over rim, either way."),
    of<&S::limits, &Limits::set_margin_K>(
        "set_margin", limits, kelvin, "Hottest place below setting at opening."),
    of<&S::limits, &Limits::flow_margin_K>(
        "flow_margin", limits, kelvin, "Coldest place above flowing while full."),
};

}  // namespace

std::span<const Input> inputs() {
  return all;
}

Result<const Input*> find_input(std::string_view name) {
  std::vector<std::string> known;
  for (const Input& one : all) {
    if (one.name == name) return &one;
    known.emplace_back(one.name);
  }
  return Error{
      Fault::not_found,
      fmt::format(
          "no such input as {}; {}",
          name.substr(0, 40),
          suggestion(std::string{name}, known).value_or("`goodside cycle --list` names them all"))};
}

Outcome set_input(CycleSetup& setup, std::string_view name, std::string_view text) {
  std::string_view bare_name = name;
  std::size_t from = 0, to = 2;
  if (name.starts_with("a.") || name.starts_with("b.")) {
    from = name.starts_with("a.") ? 0 : 1;
    to = from + 1;
    bare_name.remove_prefix(2);
  }
  const auto input = find_input(bare_name);
  if (!input) return input.error();
  if (bare_name.size() != name.size() && (*input)->group != side)
    return Error{Fault::bad_input,
                 fmt::format("{} is of the whole press, not of one side; set {}", name, bare_name)};
  const auto value = (*input)->read(text);
  if (!value) return Error{value.error().fault, fmt::format("{}: {}", name, value.error().text)};
  for (std::size_t s = from; s < to; ++s) (*input)->set(setup, s, *value);
  return Done{};
}

void set_both(CycleSetup& setup, const Input& input, double value) {
  for (std::size_t s = 0; s < 2; ++s) input.set(setup, s, value);
}

Spread spread_of(const CycleSetup& setup, const Input& input) {
  for (const auto& [name, deviation] : setup.fitted)
    if (name == input.name) return {Kind::relative, 2.0 * deviation};
  return setup.compound.filled ? input.filled : input.plain;
}

CycleSetup moved(const CycleSetup& setup, const Input& input, const Spread& spread, double u) {
  CycleSetup other = setup;
  for (std::size_t s = 0; s < 2; ++s) {
    const double value = input.get(setup, s);
    switch (spread.kind) {
      case Kind::none:
        break;
      case Kind::absolute:
        input.set(other, s, value + u * spread.half);
        break;
      case Kind::relative:
        input.set(other, s, value * (1.0 + u * spread.half));
        break;
      case Kind::factor:
        input.set(other, s, value * std::pow(spread.half, u));
        break;
    }
  }
  return other;
}

std::vector<const Input*> in_doubt(const CycleSetup& setup, bool tolerances, bool knowledge_too) {
  std::vector<const Input*> some;
  for (const Input& one : all) {
    const bool asked =
        (tolerances && one.doubt == tolerance) || (knowledge_too && one.doubt == knowledge);
    if (asked && spread_of(setup, one).kind != Kind::none) some.push_back(&one);
  }
  return some;
}

}  // namespace goodside::press
