#include "line/press_setup.hpp"

#include <fmt/format.h>

#include <cmath>
#include <limits>

#include "intake/press_file.hpp"
#include "intake/press_logs.hpp"
#include "press/input.hpp"
#include "press/stack.hpp"
#include "units/number.hpp"
#include "units/read_process.hpp"

namespace goodside::line {
namespace {

using press::CycleSetup;
using press::Input;

Outcome begin(CycleSetup& setup, const std::string& compound) {
  if (compound == "vinyl") {
    setup = press::vinyl_setup();
  } else if (compound == "shellac") {
    setup = press::shellac_setup();
  } else {
    return Error{Fault::bad_input,
                 fmt::format("\"{}\" is no compound known here; give vinyl or shellac and set what "
                             "differs",
                             compound.substr(0, 40))};
  }
  return Done{};
}

Outcome take_fitted(CycleSetup& setup, const std::string& name, const std::string& text) {
  const auto input = press::find_input(name);
  if (!input) return input.error();
  const auto deviation = units::number(text);
  if (!deviation) return deviation.error();
  if (!(*deviation >= 0.0 && *deviation <= 10.0))
    return Error{Fault::bad_input, "a standard deviation as a share lies from 0 to 10"};
  setup.fitted.emplace_back(name, *deviation);
  return Done{};
}

/// A value as set_input reads it back.
std::string written(const Input& input, double value) {
  static constexpr std::string_view readable[] = {
      "mm", "g", "s", "°C", "K", "bar", "kN", "mm/s", "kg/s", "%"};
  for (const auto& unit : readable)
    if (unit == input.unit) return fmt::format("\"{:.10g} {}\"", input.shown(value), unit);
  return fmt::format("{:.10g}", value);
}

bool is_property(const Input& input) {
  return input.name == "conductivity" || input.name == "heat_capacity";
}

json::Node number(double value) {
  return json::Node{value};
}
json::Node number(const std::optional<double>& value) {
  return value ? json::Node{*value} : json::Node{};
}
json::Node pair(const std::array<double, 2>& both) {
  return json::Node::List{both[0], both[1]};
}

json::Node balance_node(const press::Balance& balance) {
  return json::Node::Object{{"steam_J", pair(balance.steam_J)},
                            {"water_J", pair(balance.water_J)},
                            {"back_J", pair(balance.back_J)},
                            {"open_face_J", pair(balance.open_J)},
                            {"press_work_J", balance.press_work_J},
                            {"biscuit_J", balance.biscuit_J},
                            {"disc_J", balance.disc_J},
                            {"flash_J", balance.flash_J},
                            {"stored_J", balance.stored_J},
                            {"moved_J", balance.moved_J()},
                            {"error", balance.error()}};
}

json::Node schedule_node(const press::Schedule& at) {
  return json::Node::Object{{"steam_on_s", at.steam_on_s()},
                            {"close_s", at.open_s},
                            {"steam_off_s", at.steam_off_s()},
                            {"water_on_s", at.water_on_s()},
                            {"water_off_s", at.water_off_s()},
                            {"open_s", at.period_s()}};
}

/// What the channels' films come to.
json::Node exchange_node(const CycleSetup& setup) {
  json::Node::List both;
  for (const press::Side& side : setup.sides) {
    const auto films = press::channel_exchange(setup, side);
    if (!films) return {};
    both.emplace_back(json::Node::Object{{"steam_W_per_m2K", films->steam_W_per_m2K},
                                         {"water_W_per_m2K", films->water_W_per_m2K},
                                         {"steam_wall_W_per_m2K", films->steam_wall_W_per_m2K},
                                         {"water_wall_W_per_m2K", films->water_wall_W_per_m2K},
                                         {"water_velocity_m_per_s", films->water_velocity_m_per_s},
                                         {"water_reynolds", films->reynolds}});
  }
  return both;
}

json::Node inputs_node(const CycleSetup& setup) {
  json::Node::Object object;
  for (const Input& input : press::inputs()) {
    const double a = input.get(setup, 0), b = input.get(setup, 1);
    const std::string name{input.name};
    object.emplace_back(name, a == b ? json::Node{a} : json::Node{json::Node::List{a, b}});
  }
  return object;
}

json::Node margins_node(const press::Margins& margins) {
  using press::Margin;
  return json::Node::Object{{"radius_m", margins.of(Margin::radius)},
                            {"thickness_m", margins.of(Margin::thickness)},
                            {"flow_K", margins.of(Margin::flow)},
                            {"overheat_K", margins.of(Margin::overheat)},
                            {"set_K", margins.of(Margin::set)},
                            {"dish_m", margins.of(Margin::dish)}};
}

json::Node figures_node(const press::Figures& figures) {
  json::Node::Object object;
  for (std::size_t i = 0; i < figures.size(); ++i)
    object.emplace_back(std::string{press::figure_names[i]}, number(figures[i]));
  return object;
}

json::Node moments_node(const press::CycleResult& cycle) {
  json::Node::List all;
  for (const press::Moment& one : cycle.moments)
    all.emplace_back(
        json::Node::Object{{"time_s", one.time_s},
                           {"face_K", pair(one.face_K)},
                           {"groove_K", one.closed ? pair(one.groove_K) : json::Node{}},
                           {"middle_K", one.closed ? number(one.middle_K) : json::Node{}},
                           {"coldest_K", one.closed ? number(one.coldest_K) : json::Node{}},
                           {"hottest_K", one.closed ? number(one.hottest_K) : json::Node{}},
                           {"channel_K", pair(one.channel_K)},
                           {"steam_absolute_Pa", pair(one.steam_Pa)},
                           {"gap_m", one.closed ? number(one.gap_m) : json::Node{}},
                           {"radius_m", one.closed ? number(one.radius_m) : json::Node{}},
                           {"force_N", one.force_N}});
  return all;
}

json::Node profiles_node(const press::CycleResult& cycle) {
  json::Node::List all;
  for (const press::Profile& one : cycle.profiles) {
    json::Node::List depth, temperature;
    for (const double value : one.depth_m) depth.emplace_back(value);
    for (const double value : one.temperature_K) temperature.emplace_back(value);
    all.emplace_back(json::Node::Object{{"time_s", one.time_s},
                                        {"when", one.when},
                                        {"depth_m", std::move(depth)},
                                        {"temperature_K", std::move(temperature)}});
  }
  return all;
}

json::Node result_node(const CycleSetup& setup, const press::CycleResult& cycle) {
  const auto margins = press::margins_of(setup, cycle);
  return json::Node::Object{{"standing", std::string{word(press::standing_of(margins))}},
                            {"period_s", cycle.period_s},
                            {"discs_per_hour", cycle.discs_per_hour},
                            {"schedule", schedule_node(setup.schedule)},
                            {"full_s", number(cycle.full_s)},
                            {"seated_s", number(cycle.seated_s)},
                            {"flowed_s", number(cycle.flowed_s)},
                            {"set_s", number(cycle.set_s)},
                            {"coldest_place", cycle.coldest_place},
                            {"least_flow_K", cycle.least_flow_K},
                            {"hottest_place", cycle.hottest_place},
                            {"peak_K", cycle.peak_K},
                            {"last_to_set", cycle.last_to_set},
                            {"opening_hottest_K", cycle.opening_hottest_K},
                            {"squeeze_rise_K", cycle.squeeze_rise_K},
                            {"unevenness_at_setting_K", cycle.unevenness_at_setting_K},
                            {"unevenness_at_opening_K", cycle.unevenness_at_opening_K},
                            {"dish_m", cycle.dish_m},
                            {"final_gap_m", cycle.final_gap_m},
                            {"final_radius_m", cycle.final_radius_m},
                            {"peak_force_N", cycle.peak_force_N},
                            {"disc_mass_kg", cycle.disc_mass_kg},
                            {"flash_mass_kg", cycle.flash_mass_kg},
                            {"steam_kg", cycle.steam_kg},
                            {"water_kg", cycle.water_kg},
                            {"energy_J", cycle.energy_J},
                            {"margins", margins_node(margins)},
                            {"balance", balance_node(cycle.balance)}};
}

json::Node window_node(const press::WindowMap& map) {
  json::Node::List points;
  for (const press::MapPoint& one : map.points)
    points.emplace_back(json::Node::Object{
        {"x", one.x},
        {"y", one.y},
        {"standing", one.possible ? json::Node{std::string{word(one.standing)}} : json::Node{}},
        {"worst", one.possible ? json::Node{std::string{word(one.worst)}} : json::Node{}},
        {"period_s", one.period_s}});
  return json::Node::Object{{"x", std::string{map.x.input->name}},
                            {"y", std::string{map.y.input->name}},
                            {"points", std::move(points)}};
}

json::Node trials_node(const press::Trials& trials) {
  json::Node::Object standings, figures;
  for (std::size_t i = 0; i < press::standing_count; ++i)
    standings.emplace_back(std::string{word(static_cast<press::Standing>(i))},
                           static_cast<std::int64_t>(trials.standings[i]));
  for (std::size_t i = 0; i < trials.figures.size(); ++i) {
    const auto& one = trials.figures[i];
    figures.emplace_back(std::string{press::figure_names[i]},
                         json::Node::Object{{"mean", one.mean},
                                            {"deviation", one.deviation},
                                            {"low", one.low},
                                            {"middle", one.middle},
                                            {"high", one.high},
                                            {"known", static_cast<std::int64_t>(one.known)}});
  }
  return json::Node::Object{{"samples", static_cast<std::int64_t>(trials.samples)},
                            {"standings", std::move(standings)},
                            {"figures", std::move(figures)}};
}

json::Node fits_node(const std::vector<press::Fitted>& fits) {
  json::Node::List all;
  for (const press::Fitted& fit : fits) {
    json::Node::List factors;
    for (const auto& one : fit.factors)
      factors.emplace_back(json::Node::Object{
          {"name", one.name}, {"value", one.value}, {"deviation_share", one.deviation}});
    all.emplace_back(json::Node::Object{{"factors", std::move(factors)},
                                        {"rms_K", fit.rms_K},
                                        {"rms_before_K", fit.rms_before_K},
                                        {"rms_share", fit.rms_share},
                                        {"rms_before_share", fit.rms_before_share},
                                        {"cycles", static_cast<std::int64_t>(fit.cycles)}});
  }
  return all;
}

}  // namespace

Result<CycleSetup> press_setup(const PressSource& source) {
  CycleSetup setup;
  if (auto begun = begin(setup, source.compound.empty() ? "vinyl" : source.compound); !begun)
    return Error{begun.error().fault, "--compound: " + begun.error().text};
  if (!source.file.empty()) {
    const auto read = intake::read_press(source.file, [&](const auto& name, const auto& text) {
      if (name == "compound") {
        if (!source.compound.empty() && source.compound != text)
          return Outcome{Error{
              Fault::conflict,
              fmt::format(
                  "the file presses {} and --compound says {}; give one", text, source.compound)}};
        return begin(setup, text);
      }
      constexpr std::string_view fitted = "fitted.";
      if (name.starts_with(fitted)) return take_fitted(setup, name.substr(fitted.size()), text);
      return press::set_input(setup, name, text);
    });
    if (!read) return read.error();
  }
  for (const std::string& figure : source.figures) {
    const auto equals = figure.find('=');
    if (equals == std::string::npos || equals == 0)
      return Error{Fault::bad_input,
                   fmt::format("--set: \"{}\" is no figure; write name=value, as in steam=9bar",
                               figure.substr(0, 40))};
    if (const auto set =
            press::set_input(setup, figure.substr(0, equals), figure.substr(equals + 1));
        !set)
      return Error{set.error().fault == Fault::not_found ? Fault::bad_input : set.error().fault,
                   "--set: " + set.error().text};
  }
  if (const auto held = press::check(setup); !held) return held.error();
  return setup;
}

std::string press_toml(const CycleSetup& setup) {
  std::string text = fmt::format("compound = \"{}\"\n", setup.compound.name), sides[2];
  for (const Input& input : press::inputs()) {
    if (is_property(input)) {
      const auto& property = input.name == "conductivity" ? setup.compound.conductivity_W_per_mK
                                                          : setup.compound.heat_capacity_J_per_kgK;
      if (property.knots() > 1) continue;  // the compound's own curve
    }
    const double a = input.get(setup, 0), b = input.get(setup, 1);
    if (a == b) {
      text += fmt::format("{} = {}\n", input.name, written(input, a));
      continue;
    }
    sides[0] += fmt::format("{} = {}\n", input.name, written(input, a));
    sides[1] += fmt::format("{} = {}\n", input.name, written(input, b));
  }
  if (!sides[0].empty()) text += "\n[a]\n" + sides[0] + "\n[b]\n" + sides[1];
  if (setup.fitted.empty()) return text;
  text += "\n[fitted]\n";
  for (const auto& [name, deviation] : setup.fitted)
    text += fmt::format("{} = {:.6g}\n", name, deviation);
  return text;
}

Result<std::vector<press::Fitted>> fit_press(const CycleSetup& setup, const PressLogs& logs) {
  std::vector<press::Fitted> fits;
  CycleSetup at = setup;
  if (!logs.thermocouples.empty()) {
    const auto log = intake::read_thermocouples(logs.thermocouples);
    if (!log) return log.error();
    if (log->time_s.back() > setup.schedule.period_s() + 0.5)
      return Error{
          Fault::bad_input,
          fmt::format("{}: the log runs to {:.4g} s and the cycle given ends at {:.4g} s; give "
                      "the cycle as it was pressed, and one cycle of it",
                      logs.thermocouples,
                      log->time_s.back(),
                      setup.schedule.period_s())};
    std::vector<press::Readings> readings;
    for (const auto& place : log->places) {
      press::Readings one;
      one.probe.name = place.name;
      one.probe.depth_m = place.depth_m;
      one.time_s = log->time_s;
      if (place.side) one.probe.side = static_cast<std::size_t>(*place.side);
      for (const auto& value : place.temperature_K)
        one.temperature_K.push_back(value.value_or(std::numeric_limits<double>::quiet_NaN()));
      readings.push_back(std::move(one));
    }
    auto fit = press::fit_thermocouples(at, readings);
    if (!fit) return Error{fit.error().fault, logs.thermocouples + ": " + fit.error().text};
    at = fit->setup;
    fits.push_back(std::move(*fit));
  }
  if (!logs.ladder.empty()) {
    const auto charges = intake::read_charges(logs.ladder);
    if (!charges) return charges.error();
    std::vector<press::Rung> rungs;
    for (const auto& one : *charges)
      rungs.push_back({one.mass_kg, one.diameter_m, one.thickness_m});
    auto fit = press::fit_ladder(at, rungs);
    if (!fit) return Error{fit.error().fault, logs.ladder + ": " + fit.error().text};
    fits.push_back(std::move(*fit));
  }
  return fits;
}

std::string uncalibrated(const CycleSetup& setup) {
  if (setup.calibrated()) return {};
  if (setup.heat_fitted())
    return "uncalibrated: heat is fitted, flow is not; press a ladder of short charges (--ladder)";
  if (setup.flow_fitted())
    return "uncalibrated: flow is fitted, heat is not; log thermocouples over a cycle (--fit)";
  return "uncalibrated: for comparing one setting with another only, until it is fitted to this "
         "press (--fit, --ladder)";
}

json::Node cycle_node(const CycleAnswer& answer) {
  json::Node::Object object{
      {"schema", "goodside.cycle/1"},
      {"calibrated", answer.setup.calibrated()},
      {"compound", answer.setup.compound.name},
      {"inputs", inputs_node(answer.setup)},
      {"exchange", exchange_node(answer.setup)},
      {"result", result_node(answer.setup, answer.cycle)},
      {"periodic",
       json::Node::Object{{"cycles", static_cast<std::int64_t>(answer.periodic.cycles)},
                          {"difference_K", answer.periodic.difference_K}}}};
  json::Node::List effects;
  for (const press::Effect& effect : answer.doubts.effects)
    effects.emplace_back(json::Node::Object{
        {"input", std::string{effect.input->name}},
        {"kind", effect.input->doubt == Input::Doubt::tolerance ? "tolerance" : "knowledge"},
        {"half", effect.spread.half},
        {"on", figures_node(effect.on_figures)},
        {"on_margins", margins_node(effect.on_margins)}});
  object.emplace_back("within_95", figures_node(answer.doubts.within));
  object.emplace_back("sensitivities", std::move(effects));
  if (answer.best)
    object.emplace_back(
        "best",
        json::Node::Object{{"reserve", margins_node(answer.best->reserve)},
                           {"cycles_tried", static_cast<std::int64_t>(answer.best->cycles_tried)}});
  if (answer.window) object.emplace_back("window", window_node(*answer.window));
  if (answer.trials) object.emplace_back("monte_carlo", trials_node(*answer.trials));
  if (!answer.fits.empty()) object.emplace_back("fits", fits_node(answer.fits));
  object.emplace_back("profiles", profiles_node(answer.cycle));
  object.emplace_back("moments", moments_node(answer.cycle));
  return object;
}

}  // namespace goodside::line
