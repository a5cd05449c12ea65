#include "cli/cycle_summary.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/standing_text.hpp"
#include "cli/wrap.hpp"
#include "press/judge.hpp"

namespace goodside::cli {
namespace {

using press::Input;
using press::Margin;

constexpr double zero_C = 273.15;

enum FigureAt : std::size_t {
  full,
  flowed,
  set,
  least,
  peak,
  opening,
  uneven,
  dish,
  gap,
  radius,
  rise,
  steam
};

std::string give(double within, int decimals) {
  return std::isfinite(within) ? fmt::format(" ± {:.{}f}", within, decimals) : std::string{};
}

/// No sign on what rounds to nought.
double plain_nought(double value) {
  return std::abs(value) < 0.05 ? 0.0 : value;
}

std::string time_of(const std::optional<double>& at_s, double within) {
  return at_s ? fmt::format("{:.1f}{} s", *at_s, give(within, 1)) : std::string{"never"};
}

void put_times(std::string& out, const press::CycleSetup& setup) {
  const auto& at = setup.schedule;
  out += fmt::format(
      "\n  steam on  {:>6.1f} s   {:.1f} s before the press meets the biscuit\n"
      "  closes    {:>6.1f} s\n"
      "  steam off {:>6.1f} s\n"
      "  water on  {:>6.1f} s\n"
      "  water off {:>6.1f} s\n"
      "  opens     {:>6.1f} s   counted from the press being open\n",
      at.steam_on_s(),
      at.steam_lead_s,
      at.open_s,
      at.steam_off_s(),
      at.water_on_s(),
      at.water_off_s(),
      at.period_s());
}

void put_compound(std::string& out, const line::CycleAnswer& answer) {
  const auto& cycle = answer.cycle;
  const auto& within = answer.doubts.within;
  const auto& compound = answer.setup.compound;
  put(out,
      fmt::format("{}; at the end {:.2f} mm thick, radius {:.1f} mm, {:.1f} g of flash",
                  cycle.full_s ? fmt::format("full at {}", time_of(cycle.full_s, within[full]))
                               : std::string{"never fills the mould"},
                  1e3 * cycle.final_gap_m,
                  1e3 * cycle.final_radius_m,
                  1e3 * cycle.flash_mass_kg),
      "\n  fills    ",
      "           ");
  put(out,
      fmt::format("{}; the coldest place, {}, reaches {:.0f}{} °C and needs {:.0f}",
                  cycle.flowed_s ? "all has flowed at " + time_of(cycle.flowed_s, within[flowed])
                                 : std::string{"not all has flowed"},
                  cycle.coldest_place,
                  cycle.least_flow_K - zero_C,
                  give(within[least], 0),
                  compound.flow_temperature_K + answer.setup.limits.flow_margin_K - zero_C),
      "  flows    ",
      "           ");
  put(out,
      fmt::format("hottest {:.0f}{} °C, {}; squeezing adds {:.0f}{} K of it; hurt from {:.0f}",
                  cycle.peak_K - zero_C,
                  give(within[peak], 0),
                  cycle.hottest_place,
                  cycle.squeeze_rise_K,
                  give(within[rise], 0),
                  compound.overheated_K - zero_C),
      "  heat     ",
      "           ");
  put(out,
      fmt::format("{}{}; hottest at opening {:.0f}{} °C, must be under {:.0f}",
                  cycle.set_s ? "all has set at " + time_of(cycle.set_s, within[set])
                              : std::string{"not all has set as it opens"},
                  cycle.last_to_set.empty() ? "" : ", last " + cycle.last_to_set,
                  cycle.opening_hottest_K - zero_C,
                  give(within[opening], 0),
                  compound.set_temperature_K - answer.setup.limits.set_margin_K - zero_C),
      "  sets     ",
      "           ");
  const double shown = std::abs(cycle.dish_m) < 5e-6 ? 0.0 : 1e3 * cycle.dish_m;
  put(out,
      fmt::format(
          "face A {:+.1f} K over face B as it sets ({:+.1f} K as it opens); that dishes {:.2f} "
          "mm{}, of {:.2f} allowed",
          plain_nought(cycle.unevenness_at_setting_K),
          plain_nought(cycle.unevenness_at_opening_K),
          std::abs(shown),
          shown == 0.0  ? ""
          : shown > 0.0 ? " towards A"
                        : " towards B",
          1e3 * answer.setup.limits.dish_m),
      "  flatness ",
      "           ");
}

void put_costs(std::string& out, const line::CycleAnswer& answer) {
  const auto& cycle = answer.cycle;
  put(out,
      fmt::format(
          "steam {:.2f} kg, water {:.0f} kg, energy {:.2f} MJ a disc; of it the press pushes "
          "{:.1f} kJ; heat closes to {:.0e} of what moved",
          cycle.steam_kg,
          cycle.water_kg,
          1e-6 * cycle.energy_J,
          1e-3 * cycle.balance.press_work_J,
          std::abs(cycle.balance.error())),
      "  takes    ",
      "           ");
}

/// The inputs that move setting and flowing most.
void put_doubts(std::string& out, const line::CycleAnswer& answer) {
  const auto list = [&](std::size_t figure, const char* what) {
    std::vector<const press::Effect*> sorted;
    for (const auto& effect : answer.doubts.effects)
      if (std::isfinite(effect.on_figures[figure])) sorted.push_back(&effect);
    std::ranges::stable_sort(sorted, std::greater<>{}, [&](const auto* one) {
      return std::abs(one->on_figures[figure]);
    });
    std::string text;
    for (std::size_t i = 0; i < std::min<std::size_t>(3, sorted.size()); ++i)
      text += fmt::format("{}{} {:+.1f}",
                          i == 0 ? "" : ", ",
                          sorted[i]->input->name,
                          sorted[i]->on_figures[figure]);
    return fmt::format("{}: {} K", what, text);
  };
  put(out,
      list(opening, "hottest at opening") + "; " + list(least, "coldest that must flow"),
      "  doubts   ",
      "           ");
}

/// What could change the answer and is not in it (docs/press.md, "What it leaves out").
void put_left_out(std::string& out, const line::CycleAnswer& answer) {
  put(out,
      std::string{
          "water that boils on hot steel (the first second of cooling is faster), the "
          "compound slipping at the wall (it closes more easily), the rim's own cold edge"} +
          (answer.setup.compound.filled ? ", the cure of shellac (it flows less the longer it is "
                                          "hot)"
                                        : ""),
      "  left out ",
      "           ");
}

void put_extras(std::string& out, const line::CycleAnswer& answer) {
  for (const auto& fit : answer.fits) {
    std::string text;
    for (const auto& one : fit.factors)
      text += fmt::format("{}{} {:.3g} (± {:.0f} %)",
                          text.empty() ? "" : ", ",
                          one.name,
                          one.value,
                          1e2 * one.deviation);
    put(out,
        text + (fit.rms_before_K > 0.0
                    ? fmt::format("; thermocouples off by {:.1f} K, before {:.1f} K",
                                  fit.rms_K,
                                  fit.rms_before_K)
                    : fmt::format("; ladder off by {:.1f} %, before {:.1f} %",
                                  1e2 * fit.rms_share,
                                  1e2 * fit.rms_before_share)),
        "  fitted   ",
        "           ");
  }
  if (answer.best) {
    put(out,
        fmt::format("the shortest of {} cycles tried that keeps every limit{}",
                    answer.best->cycles_tried,
                    *std::ranges::max_element(answer.best->reserve.value) > 0.0
                        ? " with the tolerances at their worst"
                        : ""),
        "  best     ",
        "           ");
  }
  if (answer.trials) {
    std::string text;
    for (std::size_t i = 0; i < press::standing_count; ++i)
      if (answer.trials->standings[i] > 0)
        text += fmt::format("{}{} {:.1f} %",
                            text.empty() ? "" : ", ",
                            word(static_cast<press::Standing>(i)),
                            100.0 * static_cast<double>(answer.trials->standings[i]) /
                                static_cast<double>(answer.trials->samples));
    const auto& sets = answer.trials->figures[set];
    put(out,
        fmt::format("{} draws: {}; all set at {:.1f} s (95 %: {:.1f} to {:.1f})",
                    answer.trials->samples,
                    text,
                    sets.middle,
                    sets.low,
                    sets.high),
        "  chance   ",
        "           ");
  }
  if (answer.window) {
    std::size_t good = 0, just = 0;
    for (const auto& one : answer.window->points) {
      if (!one.possible || one.standing != press::Standing::works) continue;
      ++(one.worst == press::Standing::works ? good : just);
    }
    put(out,
        fmt::format(
            "of {} points over {} and {} {} work whatever the tolerances do, {} more without "
            "them; --picture with --plot window draws it",
            answer.window->points.size(),
            answer.window->x.input->name,
            answer.window->y.input->name,
            good,
            just),
        "  window   ",
        "           ");
  }
}

std::string next_act(const press::Standing standing, const press::CycleSetup& setup) {
  switch (standing) {
    case press::Standing::works:
      return setup.calibrated() ? "press a disc with these times and hear it."
                                : "log thermocouples over one cycle and fit them: --fit LOG.csv.";
    case press::Standing::short_fill:
      return "a heavier biscuit: this one cannot fill the disc.";
    case press::Standing::thick:
      return "more force, a hotter mould or more steam time: it does not close to its thickness.";
    case press::Standing::cold:
      return "steam on earlier or longer, or more pressure: the coldest place has not flowed.";
    case press::Standing::overheated:
      return "less steam pressure, a cooler biscuit, or less force while it closes.";
    case press::Standing::unset:
      return "more water time, or colder water: the hottest place has not set.";
    case press::Standing::dishes:
      return "balance the water of both sides: they set unevenly.";
  }
  return {};
}

}  // namespace

std::string cycle_summary(const line::CycleAnswer& answer, bool colour) {
  const auto standing = press::standing_of(press::margins_of(answer.setup, answer.cycle));
  const auto shown =
      standing == press::Standing::works ? draw::Standing::good : draw::Standing::out;
  const std::string verdict = standing == press::Standing::works
                                  ? "The cycle works"
                                  : fmt::format("The cycle fails: {}", word(standing));
  std::string out =
      coloured(shown, fmt::format("{} {}", shape(shown), verdict), colour) +
      fmt::format(
          "  {:.1f} s, {:.0f} discs an hour\n", answer.cycle.period_s, answer.cycle.discs_per_hour);
  if (const std::string why = line::uncalibrated(answer.setup); !why.empty())
    put(out, why, "  ", "  ");
  put_times(out, answer.setup);
  put_compound(out, answer);
  put_costs(out, answer);
  put_doubts(out, answer);
  put_left_out(out, answer);
  put_extras(out, answer);
  put(out,
      "steam and its channels are pressure equipment and scald: admit water slowly, drain first, "
      "never open a hot flooded channel. Compound is hot, and rolls and closing dies crush: "
      "guards, "
      "two-hand control, lock-out. Local codes and licensed practice come first.",
      "\nCaution: ",
      "         ");
  put(out, next_act(standing, answer.setup), "Next: ", "      ");
  return out;
}

std::string input_list(const press::CycleSetup& setup) {
  std::string out;
  for (const Input& input : press::inputs()) {
    const double a = input.get(setup, 0), b = input.get(setup, 1);
    std::string value = fmt::format("{:.5g}", input.shown(a));
    if (a != b) value += fmt::format(" | {:.5g}", input.shown(b));
    if (!input.unit.empty()) value += fmt::format(" {}", input.unit);
    const press::Spread spread = press::spread_of(setup, input);
    std::string range;
    if (spread.kind == press::Spread::Kind::absolute)
      range = fmt::format(" ± {:.3g}", input.shown(spread.half - input.offset));
    if (spread.kind == press::Spread::Kind::relative)
      range = fmt::format(" ± {:.0f} %", 1e2 * spread.half);
    if (spread.kind == press::Spread::Kind::factor) range = fmt::format(" x/÷ {:.2g}", spread.half);
    put(out,
        fmt::format("{}{}  {}{}",
                    value,
                    range,
                    input.help,
                    input.source.empty() ? "" : fmt::format(" [{}]", input.source)),
        fmt::format("  {:<21} ", input.name),
        std::string(24, ' '));
  }
  return out;
}

}  // namespace goodside::cli
