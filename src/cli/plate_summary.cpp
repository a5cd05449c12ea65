#include "cli/plate_summary.hpp"

#include <fmt/format.h>

#include <cmath>

#include "cli/wrap.hpp"

namespace goodside::cli {
namespace {

using works::CellResult;
using works::PlatingReport;

std::string um(double length_m) {
  const double value = length_m * 1e6;
  return fmt::format("{:.{}f} µm", value, value < 0.1 ? 3 : value < 10.0 ? 2 : 1);
}
std::string mm(double length_m) {
  return fmt::format("{:.1f} mm", length_m * 1e3);
}
std::string length_of(double time_s) {
  if (time_s < 90.0) return fmt::format("{:.1f} s", time_s);
  if (time_s < 5400.0) return fmt::format("{:.1f} min", time_s / 60.0);
  return fmt::format("{:.2f} h", time_s / 3600.0);
}
std::string mass(double mass_kg) {
  const double g = mass_kg * 1e3;
  return std::abs(g) < 1.0 ? fmt::format("{:.1f} mg", g * 1e3) : fmt::format("{:.1f} g", g);
}
std::string percent(double share) {
  return fmt::format("±{:.1f} %", 100.0 * share);
}

void row(std::string& out, std::string_view label, const std::string& text) {
  put(out, text, fmt::format("  {:<11}", label), std::string(13, ' '));
}

std::string shield_of(const works::PlatingCell& cell) {
  if (!cell.shield) return "no shield";
  return fmt::format("shield with an opening {} across, {} from the disc",
                     mm(2.0 * cell.shield->opening_radius_m),
                     mm(cell.shield->distance_m));
}

std::string first_line(const PlatingReport& report) {
  if (report.spread && report.wanted_evenness) {
    const double found = report.spread->band.evenness;
    if (found <= *report.wanted_evenness)
      return fmt::format("Even enough: the groove band lies within {} (wanted {})",
                         percent(found),
                         percent(*report.wanted_evenness));
    return fmt::format("Not even enough: the groove band lies within {}, wanted {}",
                       percent(found),
                       percent(*report.wanted_evenness));
  }
  if (report.target_time_s && report.time_s < *report.target_time_s * (1.0 - 1e-9))
    return fmt::format("Too short: {} reach the target only after {}",
                       um(*report.target_m),
                       length_of(*report.target_time_s));
  return fmt::format("{} of {} in {}{}",
                     um(report.mean_thickness_m),
                     report.metal.name,
                     length_of(report.time_s),
                     report.spread ? " on the mean" : "");
}

void put_run(std::string& out, const PlatingReport& report) {
  row(out,
      "run",
      fmt::format("{} in {}, {:.1f} A·h on {:.3g} dm²; {}, {} on the mean",
                  report.metal.name,
                  length_of(report.time_s),
                  report.charge_C / 3600.0,
                  report.area_m2 * 100.0,
                  mass(report.mass_kg),
                  um(report.mean_thickness_m)));
  for (std::size_t i = 0; i < report.stages.size(); ++i) {
    const auto& stage = report.stages[i];
    const std::string density = fmt::format("{:.2g} A/dm²", stage.to_A / report.area_m2 / 100.0);
    row(out,
        i == 0 ? "stages" : "",
        stage.from_A == stage.to_A
            ? fmt::format("{:.2f} A ({}) for {}", stage.to_A, density, length_of(stage.time_s))
            : fmt::format("{:.2f} to {:.2f} A ({}) over {}",
                          stage.from_A,
                          stage.to_A,
                          density,
                          length_of(stage.time_s)));
  }
  if (report.target_m && report.target_time_s)
    row(out,
        "target",
        fmt::format("{} {} after {}",
                    um(*report.target_m),
                    report.spread ? "at the thinnest place of the band" : "on the mean",
                    length_of(*report.target_time_s)));
}

void put_spread(std::string& out, const CellResult& cell) {
  const auto& band = cell.band;
  row(out,
      "spread",
      fmt::format("{}: thinnest {} at {}, thickest {} at {} of the band {} to {} radius",
                  percent(band.evenness),
                  um(band.least_m),
                  mm(band.least_radius_m),
                  um(band.most_m),
                  mm(band.most_radius_m),
                  mm(band.inner_radius_m),
                  mm(band.outer_radius_m)));
  row(out,
      "cell",
      fmt::format("{}; anode {} off, wall at {} radius, level {}; {:.3g} S/m",
                  shield_of(cell.cell),
                  mm(cell.cell.anode_distance_m),
                  mm(cell.cell.cell_radius_m),
                  mm(cell.cell.level_m),
                  cell.cell.conductivity_S_per_m));
  row(out,
      "voltage",
      fmt::format(
          "{:.2f} V over bath and cathode at the last current, without anode and equilibrium; bath "
          "{:.3f} ohm; "
          "Wagner number {:.2g}{}",
          cell.voltage_V,
          cell.ohmic_resistance_ohm,
          cell.wagner,
          cell.wagner < 0.1 ? ": the cell's shape sets the spread, not the bath's chemistry" : ""));
  row(out,
      "assumed",
      "all round about the disc's axis (an upright disc in a tank: as in a cylinder of equal "
      "area), "
      "the anode at one potential, the bath stirred evenly");
}

void put_bath(std::string& out, const PlatingReport& report) {
  const auto& upkeep = report.upkeep;
  std::string text;
  if (report.metal.soluble_anode)
    text = fmt::format("anodes lose {}, of which {} stay in the bath; ",
                       mass(upkeep.anode_dissolved_kg),
                       mass(upkeep.metal_gained_kg));
  text += fmt::format("drag-out {:.0f} mL", upkeep.drag_out_m3 * 1e6);
  if (upkeep.brightener_m3 > 0.0)
    text += fmt::format("; brightener {:.1f} mL", upkeep.brightener_m3 * 1e6);
  text += fmt::format("; hydrogen up to {:.2g} L at 25 °C", upkeep.hydrogen_m3 * 1e3);
  row(out, "bath", text);
  if (upkeep.used.empty()) return;
  std::string salts;
  for (const auto& salt : upkeep.used)
    salts += fmt::format("{}{} {}", salts.empty() ? "" : ", ", salt.what, mass(salt.mass_kg));
  row(out, "to add", salts);
}

void put_stress(std::string& out, const works::DepositStress& stress) {
  std::string text = fmt::format(
      "{:.1f} MPa, {}",
      std::abs(stress.stress_Pa) * 1e-6,
      stress.stress_Pa < 0.0 ? "compressive: blisters" : "tensile: dishes towards the deposit");
  if (stress.from != "given") text += fmt::format(" (from the {})", stress.from);
  if (stress.bow_m)
    text += fmt::format("; on {:.2f} mm of the same metal it bows {:.3g} mm from middle to edge",
                        stress.base_thickness_m * 1e3,
                        std::abs(*stress.bow_m) * 1e3);
  row(out, "stress", text);
  if (!stress.bow_word.empty()) row(out, "", stress.bow_word);
}

std::string next(const PlatingReport& report) {
  if (report.before)
    return "cut the shield to the opening found, plate a blank with it and measure the thickness "
           "at five radii: "
           "the model has your cell's sizes, not your stirring.";
  if (report.spread)
    return report.spread->cell.shield
               ? "plate a blank and measure its thickness at five radii against the picture."
               : "see what a shield would do: --shield best --within 5 %.";
  return "weigh a part before and after: the gain against the figure above is your own efficiency.";
}

}  // namespace

std::string plate_summary(const PlatingReport& report) {
  std::string out = first_line(report) + "\n";
  if (report.before)
    row(out,
        "shield",
        fmt::format("opening {} across, {} from the disc, {} thick: {} instead of {} without ({} "
                    "settings tried)",
                    mm(2.0 * report.spread->cell.shield->opening_radius_m),
                    mm(report.spread->cell.shield->distance_m),
                    mm(report.spread->cell.shield->thickness_m),
                    percent(report.spread->band.evenness),
                    percent(report.before->band.evenness),
                    report.cells_tried));
  put_run(out, report);
  if (report.spread) put_spread(out, *report.spread);
  put_bath(out, report);
  if (report.stress) put_stress(out, *report.stress);
  row(out,
      "figures",
      fmt::format("efficiency {:.0f} %; {}.",
                  100.0 * report.metal.cathode_efficiency,
                  report.metal.source));
  for (const auto& warning : report.warnings) row(out, "warning", warning);
  out += '\n';
  std::string caution;
  for (const auto& one : report.cautions) caution += (caution.empty() ? "" : " ") + one;
  put(out, caution, "Caution: ", "         ");
  put(out, next(report), "Next: ", "      ");
  return out;
}

}  // namespace goodside::cli
