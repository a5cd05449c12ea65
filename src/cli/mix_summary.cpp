#include "cli/mix_summary.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "cli/standing_text.hpp"
#include "cli/wrap.hpp"

namespace goodside::cli {
namespace {

using works::Correction;
using works::MixReport;

constexpr std::size_t name_width = 22, lot_width = 10;

std::string padded(const std::string& text, std::size_t width) {
  const std::string kept = clipped(text, width);
  return kept + std::string(width - columns(kept), ' ');
}

std::string percent(double share) {
  return fmt::format("{:.1f} %", 1e2 * share);
}

/// To the division where there is one, else to a gram.
std::string kilograms(double mass_kg) {
  return fmt::format("{:.3f}", mass_kg);
}
std::string kilograms(const std::optional<double>& mass_kg) {
  return mass_kg ? kilograms(*mass_kg) : "-";
}
std::string grams(double mass_kg) {
  return fmt::format("{:.3g}", 1e3 * mass_kg);
}

std::string verdict(const MixReport& report) {
  if (report.cheapest)
    return report.cheapest->found
               ? fmt::format("The cheapest recipe costs {:.4g} a kg", report.cheapest->cost_per_kg)
               : std::string{"No recipe keeps every limit"};
  if (report.correction) {
    const auto out = std::ranges::count_if(report.deviations, &works::Deviation::is_out);
    switch (report.correction->kind) {
      case Correction::Kind::none_needed:
        return "The mix is within tolerance";
      case Correction::Kind::restores:
        return fmt::format("{} out of tolerance: add {:.6g} kg", out, report.correction->add_kg);
      case Correction::Kind::nearest:
        return fmt::format(
            "{} out of tolerance, and cannot be put right: {:.3g} tolerances off at best",
            out,
            report.correction->worst_share);
    }
  }
  return report.is_within
             ? fmt::format("Weigh up {:.6g} kg", report.weigh_up.batch_kg)
             : fmt::format("Not ready to weigh up {:.6g} kg", report.weigh_up.batch_kg);
}

void put_mixture(std::string& out, const MixReport& report) {
  const auto& mix = report.mixture;
  std::string line = fmt::format("density {:.3f} g/cm3 without voids", mix.density_kg_per_m3 / 1e3);
  if (mix.binder_mass)
    line += fmt::format("; binder {} by mass, {} by volume",
                        percent(*mix.binder_mass),
                        percent(*mix.binder_volume));
  if (mix.regrind_mass > 0.0) line += fmt::format("; regrind {}", percent(mix.regrind_mass));
  if (mix.cost_per_kg) line += fmt::format("; {:.4g} a kg", *mix.cost_per_kg);
  put(out, line, "  ", "  ");
  const auto& sheet = report.weigh_up;
  line = fmt::format("{:.4g} l", 1e3 * sheet.volume_m3);
  if (sheet.fill) line += fmt::format(", {} of the bowl", percent(*sheet.fill));
  if (sheet.batches > 1)
    line += fmt::format("; {} charges of {:.6g} kg", sheet.batches, sheet.batch_kg);
  if (sheet.weighed_sigma_kg > 0.0)
    line += fmt::format("; the scales' divisions leave ± {} g on the batch",
                        grams(2.0 * sheet.weighed_sigma_kg));
  if (sheet.water_kg > 0.0) line += fmt::format("; {:.3g} kg of water goes off", sheet.water_kg);
  put(out, line, "  ", "  ");
}

void put_sheet(std::string& out, const MixReport& report) {
  const bool has_lots =
      std::ranges::any_of(report.weigh_up.lines, [](const auto& one) { return !one.lot.empty(); });
  const bool has_scales = report.recipe.scales.size() > 1;
  out += fmt::format("\n in  {}{}{:>9}{:>8}{:>9}{:>7}{}\n",
                     padded("ingredient", name_width),
                     has_lots ? padded("  lot", lot_width) : "",
                     "weigh kg",
                     "+- g",
                     "mass",
                     "volume",
                     has_scales ? "  scale" : "");
  double sum = 0.0;
  for (const auto& line : report.weigh_up.lines) {
    sum += line.weigh_kg;
    out += fmt::format(
        "{:>3}  {}{}{:>9}{:>8}{:>9}{:>7}{}\n",
        line.charge,
        padded(line.ingredient, name_width),
        has_lots ? padded("  " + line.lot, lot_width) : "",
        kilograms(line.weigh_kg),
        grams(line.tolerance_kg),
        fmt::format("{:.2f} %", 1e2 * line.fraction),
        percent(line.volume_fraction),
        (has_scales ? "  " + clipped(line.scale, line.times > 1 ? 5 : 8) : std::string{}) +
            (line.times > 1 ? fmt::format(" x{}", line.times) : std::string{}));
  }
  out += fmt::format("     {}{}{:>9}\n",
                     padded("together", name_width),
                     has_lots ? padded("", lot_width) : "",
                     kilograms(sum));
}

void put_deviations(std::string& out, const MixReport& report) {
  if (report.deviations.empty()) return;
  out += fmt::format("\n     {}{:>10}{:>10}{:>10}{:>12}\n",
                     padded("what the scale said", name_width),
                     "asked kg",
                     "said kg",
                     "off g",
                     "tolerances");
  for (const auto& one : report.deviations)
    out += fmt::format(
        "  {}  {}{:>10}{:>10}{:>10}{:>12}{}\n",
        one.is_out       ? "▲"
        : one.weighed_kg ? "●"
                         : "○",
        padded(one.ingredient, name_width),
        kilograms(one.target_kg),
        kilograms(one.weighed_kg),
        one.weighed_kg ? fmt::format("{:+.4g}", 1e3 * one.off_kg + 0.0) : std::string{"-"},
        one.weighed_kg ? fmt::format("{:.2f}", one.share_of_tolerance) : std::string{"-"},
        one.weighed_kg ? "" : "  to come");
}

void put_additions(std::string& out, const std::vector<Correction::Line>& lines) {
  out += fmt::format("     {}{:>10}{:>10}{:>10}{:>12}\n",
                     padded("", name_width),
                     "add kg",
                     "exactly",
                     "then",
                     "tolerances");
  for (const auto& one : lines)
    if (one.add_weighed_kg > 0.0 || one.add_kg > 0.0 || one.share_of_tolerance > 0.999)
      out += fmt::format("     {}{:>10}{:>10}{:>10}{:>12}\n",
                         padded(one.ingredient, name_width),
                         kilograms(one.add_weighed_kg),
                         fmt::format("{:.4f}", one.add_kg),
                         fmt::format("{:.2f} %", 1e2 * one.final_fraction),
                         fmt::format("{:.2f}", one.share_of_tolerance));
}

void put_correction(std::string& out, const MixReport& report) {
  if (!report.correction || report.correction->kind == Correction::Kind::none_needed) return;
  const auto& correction = *report.correction;
  const bool restores = correction.kind == Correction::Kind::restores;
  out += '\n';
  put(out,
      fmt::format("{}: {:.6g} kg in all, {:.4g} l, the worst ingredient {:.2f} tolerances off",
                  restores ? "The least addition that puts it right" : "The nearest mix",
                  correction.batch_kg,
                  1e3 * correction.volume_m3,
                  correction.worst_share_weighed),
      "  ",
      "  ");
  put_additions(out, correction.lines);
  for (const auto& why : correction.why) put(out, why, "  why  ", "       ");
  if (!correction.take_out_kg) return;
  put(out,
      fmt::format("Or mix through, take {:.4g} kg out for regrind, and add:",
                  *correction.take_out_kg),
      "  ",
      "  ");
  put_additions(out, correction.after_taking_out);
}

void put_cheapest(std::string& out, const MixReport& report) {
  if (!report.cheapest) return;
  const auto& cheapest = *report.cheapest;
  out += '\n';
  if (!cheapest.found) {
    for (const auto& limit : cheapest.broken)
      put(out, limit, "  cannot be kept  ", "                  ");
    return;
  }
  if (cheapest.cost_before_per_kg)
    put(out,
        fmt::format("{:.4g} a kg before, {:+.4g}; density {:.3f} g/cm3, before {:.3f}",
                    *cheapest.cost_before_per_kg,
                    cheapest.cost_per_kg - *cheapest.cost_before_per_kg,
                    cheapest.after.density_kg_per_m3 / 1e3,
                    cheapest.before.density_kg_per_m3 / 1e3),
        "  ",
        "  ");
  out += fmt::format("     {}{:>10}{:>10}{:>10}{:>12}\n",
                     padded("", name_width),
                     "before",
                     "now",
                     "needs kg",
                     "in stock kg");
  for (const auto& line : cheapest.lines)
    if (line.before > 0.0 || line.after > 0.0)
      out += fmt::format("     {}{:>10}{:>10}{:>10}{:>12}\n",
                         padded(line.ingredient, name_width),
                         fmt::format("{:.2f} %", 1e2 * line.before),
                         fmt::format("{:.2f} %", 1e2 * line.after),
                         line.needed_kg ? fmt::format("{:.1f}", *line.needed_kg) : "-",
                         line.stock_kg ? fmt::format("{:.1f}", *line.stock_kg) : "-");
  constexpr std::size_t most_held = 5;
  for (std::size_t i = 0; i < std::min(most_held, cheapest.held.size()); ++i)
    put(out,
        fmt::format("{}; it would save {:.3g} {} {}",
                    cheapest.held[i].limit,
                    cheapest.held[i].saves,
                    cheapest.held[i].unit == "for a kilogram more" ? "in all" : "a kg",
                    cheapest.held[i].unit),
        "  held by  ",
        "           ");
}

void put_regrind(std::string& out, const MixReport& report) {
  if (!report.regrind) return;
  const auto& regrind = *report.regrind;
  std::string line = fmt::format("{} of each batch, settled: ", percent(regrind.share));
  for (std::size_t times = 0; times < std::min<std::size_t>(4, regrind.through.size()); ++times)
    line += times == 0 ? fmt::format("{} fresh", percent(regrind.through[0]))
                       : fmt::format(", {} through {} time{}",
                                     percent(regrind.through[times]),
                                     times,
                                     times == 1 ? "" : "s");
  line += fmt::format(
      "; on average {:.2f} times, after {} batches", regrind.mean_times, regrind.batches_to_settle);
  put(out, line, "  regrind  ", "           ");
}

void put_heat(std::string& out, const MixReport& report) {
  if (!report.heat) return;
  const auto& heat = *report.heat;
  std::string line = fmt::format("{:.3g} MJ to bring it from {:.4g} to {:.4g} °C",
                                 (heat.heat_J + heat.water_heat_J) / 1e6,
                                 heat.from_K - 273.15,
                                 heat.to_K - 273.15);
  line += fmt::format(", {:.3g} kWh from the drive, {:.2g} kWh a kg",
                      heat.energy_J / 3.6e6,
                      *heat.work_J_per_kg / 3.6e6);
  if (heat.time_s) line += fmt::format(": {:.1f} min", *heat.time_s / 60.0);
  if (!heat.heat_capacity_told) line += "; heat capacities from memory, +-20 %";
  put(out, line, "  heat  ", "        ");
}

void put_purge(std::string& out, const MixReport& report) {
  if (!report.purge) return;
  put(out,
      fmt::format("{:.3g} % of the old colour is left after {} batch{} of the new, or after {:.4g} "
                  "kg run through "
                  "without a stop; throw these away or use them for black",
                  1e2 * report.purge->left,
                  report.purge->batches,
                  report.purge->batches == 1 ? "" : "es",
                  report.purge->mass_kg),
      "  purge  ",
      "         ");
}

std::string next_of(const MixReport& report) {
  if (report.cheapest)
    return report.cheapest->found ? "try the changed recipe on a small batch, and press and hear "
                                    "it, before a run of it"
                                  : "loosen one of these limits, buy more, or mix fewer batches";
  if (report.correction) {
    const auto& correction = *report.correction;
    const bool is_begun =
        std::ranges::any_of(report.deviations, [](const auto& one) { return !one.weighed_kg; });
    if (correction.kind == Correction::Kind::restores)
      return is_begun ? "weigh in what is still to come, as above, and enter what the scale says"
                      : "weigh in the additions, enter what the scale says, and charge the mixer";
    if (correction.kind == Correction::Kind::nearest)
      return correction.take_out_kg
                 ? "take out and add as above, or keep the batch back until somebody has decided"
                 : "keep the batch back until somebody has decided on it";
    return "charge the mixer in the order of the sheet";
  }
  return report.is_within ? "weigh in this order, and enter what the scale says with --weighed FILE"
                          : "see to the remarks above first";
}

}  // namespace

std::string mix_summary(const MixReport& report, bool colour) {
  const auto standing = report.is_within ? draw::Standing::good : draw::Standing::out;
  std::string out =
      coloured(standing, fmt::format("{} {}", shape(standing), verdict(report)), colour) + "  " +
      clipped(report.recipe.name, 40) + "\n";
  put_mixture(out, report);
  if (report.deviations.empty() && !report.cheapest) put_sheet(out, report);
  put_deviations(out, report);
  put_correction(out, report);
  put_cheapest(out, report);
  if (report.regrind || report.heat || report.purge || !report.remarks.empty()) out += '\n';
  put_regrind(out, report);
  put_heat(out, report);
  put_purge(out, report);
  for (const auto& remark : report.remarks) put(out, remark, "  remark  ", "          ");
  out += '\n';
  for (const auto& caution : report.cautions) put(out, caution, "  caution  ", "           ");
  out += '\n';
  put(out, next_of(report) + ".", "Next: ", "      ");
  return out;
}

}  // namespace goodside::cli
