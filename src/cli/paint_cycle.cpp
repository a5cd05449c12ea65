#include "cli/paint_cycle.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "draw/charts.hpp"
#include "intake/safe_file.hpp"

namespace goodside::cli {
namespace {

using draw::ChartCurve;
using draw::Point;
using press::Moment;

constexpr double zero_C = 273.15, kilo = 1e3, bar = 1e5;
constexpr double closing_window_s = 4.0;

std::string whose(const line::CycleAnswer& answer) {
  const std::string why = line::uncalibrated(answer.setup);
  return fmt::format("{} · {:.1f} s, {:.0f} discs an hour · {}",
                     answer.setup.compound.name,
                     answer.cycle.period_s,
                     answer.cycle.discs_per_hour,
                     why.empty() ? "fitted to this press" : why.substr(0, why.find(':')));
}

template <class Value>
ChartCurve curve(const std::string& name,
                 const std::vector<Moment>& moments,
                 const Value& value,
                 bool closed_only = false) {
  ChartCurve out{name, {}};
  for (const Moment& one : moments)
    if (one.closed || !closed_only) out.places.push_back({one.time_s, value(one)});
  return out;
}

std::vector<draw::ChartEvent> events(const line::CycleAnswer& answer) {
  const auto& at = answer.setup.schedule;
  const auto& cycle = answer.cycle;
  std::vector<draw::ChartEvent> all{
      {at.steam_on_s(), "steam on"},
      {at.open_s, "closes"},
      {at.steam_off_s(), "steam off"},
      {at.water_on_s(), "water on"},
      {at.water_off_s(), at.rest_s > 0.0 ? "water off" : "water off, opens"}};
  if (at.rest_s > 0.0) all.push_back({at.period_s(), "opens"});
  if (cycle.full_s) all.push_back({*cycle.full_s, "full"});
  if (cycle.flowed_s) all.push_back({*cycle.flowed_s, "all flowed"});
  if (cycle.set_s) all.push_back({*cycle.set_s, "all set"});
  std::ranges::sort(all, {}, &draw::ChartEvent::x);
  return all;
}

bool even(const press::CycleResult& cycle) {
  return std::ranges::all_of(cycle.moments, [](const Moment& one) {
    return std::abs(one.face_K[0] - one.face_K[1]) < 0.05;
  });
}

draw::Charts temperatures(const line::CycleAnswer& answer) {
  const auto& moments = answer.cycle.moments;
  const auto& compound = answer.setup.compound;
  draw::ChartFrame heat{.x_title = "",
                        .y_title = "temperature, °C",
                        .curves = {},
                        .events = events(answer),
                        .levels = {{compound.flow_temperature_K - zero_C, "flows above"},
                                   {compound.set_temperature_K - zero_C, "set below"}},
                        .height = 2.6};
  const bool alike = even(answer.cycle);
  heat.curves.push_back(curve(alike ? "stamper's faces" : "stamper's face A",
                              moments,
                              [](const Moment& m) { return m.face_K[0] - zero_C; }));
  heat.curves.push_back(curve(
      "middle of the compound",
      moments,
      [](const Moment& m) { return m.middle_K - zero_C; },
      true));
  heat.curves.push_back(curve(alike ? "steel at the channels" : "steel at A's channels",
                              moments,
                              [](const Moment& m) { return m.channel_K[0] - zero_C; }));
  if (!alike)
    heat.curves.push_back(
        curve("stamper's face B", moments, [](const Moment& m) { return m.face_K[1] - zero_C; }));
  draw::ChartFrame load{.x_title = "time from the press being open, s",
                        .y_title = "pressure, bar",
                        .curves = {},
                        .events = {},
                        .levels = {},
                        .height = 1.0};
  const double area =
      0.25 * 3.14159265358979 * answer.setup.disc.diameter_m * answer.setup.disc.diameter_m;
  load.curves.push_back(curve("press's force over the disc's face", moments, [&](const Moment& m) {
    return m.force_N / area / bar;
  }));
  load.curves.push_back(curve("steam in A's channels (absolute)", moments, [](const Moment& m) {
    return m.steam_Pa[0] / bar;
  }));
  return {"Temperatures and pressures of one cycle", whose(answer), {heat, load}};
}

draw::Charts profile(const line::CycleAnswer& answer) {
  draw::ChartFrame whole{.x_title = "from the back of A to the back of B, mm",
                         .y_title = "temperature, °C",
                         .curves = {},
                         .events = {},
                         .levels = {},
                         .height = 1.0};
  draw::ChartFrame inside = whole;
  inside.x_title = "through the compound from A to B, mm";
  inside.levels = {{answer.setup.compound.flow_temperature_K - zero_C, "flows above"},
                   {answer.setup.compound.set_temperature_K - zero_C, "set below"}};
  for (const press::Profile& one : answer.cycle.profiles) {
    const std::string name = fmt::format("{}, {:.1f} s", one.when, one.time_s);
    const bool compound = one.when != "steam on" && one.when != "closing";
    ChartCurve all{name, {}}, middle{name, {}};
    // The compound lies about the middle of a stack whose sides may differ.
    const double from = answer.setup.sides[0].die_thickness_m + answer.setup.sides[0].backing_m +
                        answer.setup.sides[0].stamper_m;
    const double to = from + answer.cycle.final_gap_m;
    for (std::size_t i = 0; i < one.depth_m.size(); ++i) {
      // Open, both halves are drawn as if they stood a disc apart.
      const double depth = one.depth_m[i] + (!compound && one.depth_m[i] > from ? to - from : 0.0);
      const Point place{kilo * depth, one.temperature_K[i] - zero_C};
      all.places.push_back(place);
      if (compound && depth > from && depth < to)
        middle.places.push_back({place.x - kilo * from, place.y});
    }
    if (whole.curves.size() < 6) whole.curves.push_back(std::move(all));
    if (middle.places.size() > 1 && inside.curves.size() < 6)
      inside.curves.push_back(std::move(middle));
  }
  return {"The stack's temperatures at the cycle's events", whose(answer), {whole, inside}};
}

draw::Charts radius(const line::CycleAnswer& answer) {
  const double from = answer.setup.schedule.open_s;
  const double end = std::max(answer.cycle.seated_s.value_or(from + closing_window_s),
                              answer.cycle.full_s.value_or(from));
  const double to = std::min(answer.cycle.period_s, from + std::max(0.5, 1.5 * (end - from)));
  std::vector<Moment> moments;
  for (const Moment& one : answer.cycle.moments)
    if (one.closed && one.time_s <= to) {
      moments.push_back(one);
      moments.back().time_s -= from;
    }
  draw::ChartFrame spread{
      .x_title = "",
      .y_title = "radius, mm",
      .curves = {curve(
          "radius of the compound", moments, [](const Moment& m) { return kilo * m.radius_m; })},
      .events = {},
      .levels = {{0.5 * kilo * answer.setup.disc.diameter_m, "the mould's rim"}},
      .height = 1.2};
  draw::ChartFrame gap{
      .x_title = "",
      .y_title = "gap, mm",
      .curves = {curve(
          "gap between the stampers", moments, [](const Moment& m) { return kilo * m.gap_m; })},
      .events = {},
      .levels = {{kilo * answer.setup.disc.thickness_m, "the disc's thickness"}},
      .height = 1.0};
  if (answer.cycle.full_s) gap.events.push_back({*answer.cycle.full_s - from, "full"});
  if (answer.cycle.seated_s)
    gap.events.push_back({*answer.cycle.seated_s - from, "meets the stop"});
  draw::ChartFrame force{
      .x_title = "time from closing, s",
      .y_title = "force, kN",
      .curves = {curve(
          "force of the press", moments, [](const Moment& m) { return m.force_N / kilo; })},
      .events = {},
      .levels = {},
      .height = 0.8};
  return {"How the biscuit spreads", whose(answer), {spread, gap, force}};
}

draw::StateMap::State state(const press::MapPoint& point) {
  using enum draw::StateMap::State;
  if (!point.possible) return impossible;
  switch (point.standing) {
    case press::Standing::works:
      return point.worst == press::Standing::works ? good : only_just;
    case press::Standing::short_fill:
      return short_of;
    case press::Standing::thick:
      return thick;
    case press::Standing::cold:
      return cold;
    case press::Standing::overheated:
      return hot;
    case press::Standing::unset:
      return soft;
    case press::Standing::dishes:
      return bent;
  }
  return impossible;
}

draw::StateMap window(const line::CycleAnswer& answer) {
  const press::WindowMap& map = *answer.window;
  const auto title = [](const press::Input& input) {
    std::string name{input.name};
    std::ranges::replace(name, '_', ' ');
    return input.unit.empty() ? name : fmt::format("{}, {}", name, input.unit);
  };
  draw::StateMap out{.title = "What works under the tolerances",
                     .whose = whose(answer),
                     .x_title = title(*map.x.input),
                     .y_title = title(*map.y.input),
                     .x = {},
                     .y = {},
                     .states = {},
                     .now = {map.x.input->shown(map.x.input->get(answer.setup, 0)),
                             map.y.input->shown(map.y.input->get(answer.setup, 0))}};
  const auto wide = static_cast<std::size_t>(map.x.points);
  for (std::size_t i = 0; i < map.points.size(); ++i) {
    if (i < wide) out.x.push_back(map.x.input->shown(map.points[i].x));
    if (i % wide == 0) out.y.push_back(map.y.input->shown(map.points[i].y));
    out.states.push_back(state(map.points[i]));
  }
  return out;
}

}  // namespace

Result<CyclePlot> cycle_plot(std::string_view text) {
  if (text == "temperatures") return CyclePlot::temperatures;
  if (text == "profile") return CyclePlot::profile;
  if (text == "radius") return CyclePlot::radius;
  if (text == "window") return CyclePlot::window;
  return Error{Fault::bad_input,
               fmt::format("\"{}\" is no plot; give temperatures, profile, radius or window",
                           text.substr(0, 40))};
}

Outcome paint_cycle(const line::CycleAnswer& answer, CyclePlot plot, const std::string& path) {
  draw::PlotOptions options{.limits = {}};
  if (path.ends_with(".svg"))
    options.format = draw::PictureFormat::svg;
  else if (path.ends_with(".pdf"))
    options.format = draw::PictureFormat::pdf;
  else if (!path.ends_with(".png"))
    return Error{Fault::bad_input,
                 fmt::format("--picture: {} ends with none of .png, .svg, .pdf; name it so", path)};
  if (plot == CyclePlot::window && !answer.window)
    return Error{Fault::bad_input,
                 "--plot window: no window was asked for; give --window steam,water_time"};
  const auto drawn = plot == CyclePlot::window    ? draw::state_map(window(answer), options)
                     : plot == CyclePlot::profile ? draw::charts(profile(answer), options)
                     : plot == CyclePlot::radius  ? draw::charts(radius(answer), options)
                                                  : draw::charts(temperatures(answer), options);
  if (!drawn) return drawn.error();
  return intake::write_whole(path, *drawn);
}

}  // namespace goodside::cli
