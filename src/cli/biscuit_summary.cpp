#include "cli/biscuit_summary.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/standing_text.hpp"
#include "cli/wrap.hpp"

namespace goodside::cli {
namespace {

using works::BiscuitReport;
using works::BiscuitScatter;

std::string grams(double mass_kg) {
  return fmt::format("{:.1f} g", 1e3 * mass_kg);
}
std::string percent(double share) {
  return fmt::format("{:.3g} %", 1e2 * share);
}

/// "1 in 450", as people count discs.
std::string one_in(double chance) {
  if (chance < 1e-6) return "fewer than 1 in a million";
  if (chance > 0.1) return fmt::format("{:.0f} %", 1e2 * chance);
  const double every = 1.0 / chance,
               step = std::pow(10.0, std::max(0.0, std::floor(std::log10(every)) - 1.0));
  return fmt::format("1 in {:.0f}", std::round(every / step) * step);
}

std::string verdict(const BiscuitReport& report) {
  if (!report.aim_kg) return fmt::format("Biscuit {}", grams(report.biscuit_kg));
  return fmt::format("Aim at {}", grams(*report.aim_kg));
}

void put_line(std::string& out, std::string_view name, const std::string& text) {
  put(out, text, fmt::format("  {:<9}", name), std::string(11, ' '));
}

void put_cut(std::string& out, const BiscuitReport& report) {
  if (!report.cut) return;
  const auto& cut = *report.cut;
  if (report.request.sheet_thickness_m) {
    std::string line = fmt::format("{} from a sheet of {:.3g} mm: {:.1f} cm2, ",
                                   grams(cut.mass_kg),
                                   1e3 * *report.request.sheet_thickness_m,
                                   1e4 * cut.area_m2);
    line +=
        cut.length_m
            ? fmt::format("{:.1f} x {:.1f} mm", 1e3 * *report.request.knife_m, 1e3 * *cut.length_m)
            : fmt::format("{:.1f} mm square", 1e3 * cut.side_m);
    if (cut.across)
      line += fmt::format("; {} across, {:.0f} mm trimmed", *cut.across, 1e3 * *cut.trim_m);
    put_line(out, "cut", line);
  }
  if (cut.puck_height_m)
    put_line(out,
             "puck",
             fmt::format("{}: {:.4g} mm across, {:.1f} mm high",
                         grams(cut.mass_kg),
                         1e3 * *report.request.puck_diameter_m,
                         1e3 * *cut.puck_height_m));
}

std::string chances(const BiscuitScatter& at) {
  return fmt::format("short fill {}, too thick {}, flash {} a disc",
                     one_in(at.short_chance),
                     one_in(at.thick_chance),
                     grams(at.flash_kg));
}

void put_scatter(std::string& out, const BiscuitReport& report) {
  if (!report.now) return;
  const auto& now = *report.now;
  std::string line =
      now.count > 0
          ? fmt::format(
                "{} biscuits: mean {:.2f} g, sigma {:.2f} g (95 %: {:.2f} to {:.2f}); {} short, {} "
                "too heavy among them. ",
                now.count,
                1e3 * now.mean_kg,
                1e3 * now.sigma_kg,
                1e3 * *now.sigma_low_kg,
                1e3 * *now.sigma_high_kg,
                now.short_seen,
                now.thick_seen)
          : fmt::format("mean {}, sigma {:.2f} g: ", grams(now.mean_kg), 1e3 * now.sigma_kg);
  put_line(out,
           now.count > 0 ? "weighed" : "planned",
           line + (now.count > 0 ? "The next one: " : "") + chances(now));
  put_line(out,
           "aim",
           fmt::format("{}, {} flash: {}",
                       grams(*report.aim_kg),
                       percent(*report.aim_kg / report.disc_kg - 1.0),
                       chances(*report.aimed)));
}

std::string next_of(const BiscuitReport& report) {
  if (!report.now || report.now->count == 0)
    return "weigh thirty biscuits and give them with --weighed FILE; their scatter sets the mass "
           "to aim at";
  if (report.aimed->thick_chance > report.request.thick_chance)
    return "even the sheet and the knives out, then weigh again";
  const double off_kg = report.now->mean_kg - *report.aim_kg;
  if (report.now->count > 0 && std::abs(off_kg) > 2.0 * report.request.division_kg)
    return fmt::format("set sheet or knives {:.1f} g {}, and weigh again",
                       1e3 * std::abs(off_kg),
                       off_kg > 0.0 ? "lighter" : "heavier");
  return "keep weighing; chart what you weigh";
}

}  // namespace

std::string biscuit_summary(const BiscuitReport& report, bool colour) {
  const auto standing = report.is_within ? draw::Standing::good : draw::Standing::out;
  std::string out =
      coloured(standing, fmt::format("{} {}", shape(standing), verdict(report)), colour) +
      fmt::format("  disc {}, one biscuit a disc\n\n", grams(report.disc_kg));
  put_line(out,
           "disc",
           fmt::format(
               "{:.2f} cm3 at {:.3f} g/cm3{}; biscuit {} with {} flash",
               1e6 * report.volume_m3,
               report.request.density_kg_per_m3 / 1e3,
               report.groove_volume_m3 > 0.0
                   ? fmt::format(", {:.2f} cm3 of groove taken off", 1e6 * report.groove_volume_m3)
                   : std::string{},
               grams(report.biscuit_kg),
               percent(report.request.flash)));
  put_line(out,
           "limits",
           fmt::format("short fill below {}, too thick above {}",
                       grams(report.short_below_kg),
                       grams(report.thick_above_kg)));
  put_cut(out, report);
  put_scatter(out, report);
  put_line(out,
           "regrind",
           fmt::format("flash and scrap give back {} of what is charged",
                       percent(report.regrind_share)));
  for (const auto& remark : report.remarks) put(out, remark, "  remark   ", "           ");
  out += '\n';
  for (const auto& caution : report.cautions) put(out, caution, "  caution  ", "           ");
  out += '\n';
  put(out, next_of(report) + ".", "Next: ", "      ");
  return out;
}

}  // namespace goodside::cli
