#include "cli/back_text.hpp"

#include <fmt/format.h>

#include <cmath>

#include "cli/standing_text.hpp"
#include "cli/wrap.hpp"

namespace goodside::cli {
namespace {

constexpr double um = 1e6, mm = 1e3, percent = 1e2, celsius_K = 273.15;
constexpr const char* indent = "           ";

std::string first_line(bool good, const std::string& said, bool colour) {
  const auto standing = good ? draw::Standing::good : draw::Standing::out;
  return coloured(standing, fmt::format("{} {}", shape(standing), said), colour);
}

void put_bow(std::string& out, const works::BackingReport& report) {
  const char* first = "  bow      ";
  for (const auto& bow : report.bows) {
    put(out,
        fmt::format("{} at {:.0f} °C: {:.2f} mm centre to edge, the face {}{}",
                    bow.when,
                    bow.temperature_K - celsius_K,
                    std::abs(bow.sag_m) * mm,
                    bow.sag_m > 0.0 ? "hollow" : "domed",
                    std::abs(bow.curvature_per_m) > 0.0
                        ? fmt::format(" (radius {:.3g} m); some {:.2g} bar press it flat",
                                      1.0 / std::abs(bow.curvature_per_m),
                                      bow.flattening_Pa * 1e-5)
                        : std::string{}),
        first,
        indent);
    first = indent;
  }
  std::string stress;
  for (std::size_t i = 0; i < report.layers.size(); ++i)
    stress += fmt::format("{}{} {:+.0f}",
                          stress.empty() ? "" : ", ",
                          report.layers[i].name,
                          report.bows.front().flat_stress_Pa[i] * 1e-6);
  put(out, stress + " MPa, cold and pressed flat (+ pulls)", "  stress   ", indent);
}

void put_solders(std::string& out, const works::BackingReport& report) {
  constexpr std::size_t most = 6;
  const char* first = "  solders  ";
  std::size_t shown = 0;
  for (const auto& one : report.solders) {
    const bool chosen = one.solder.name == report.solder;
    if (shown >= most && !chosen) continue;
    ++shown;
    put(out,
        fmt::format("{:<15}{:>4.0f} to {:.0f} °C {:>+5.0f} K  {}{}{}",
                    one.solder.name,
                    one.solder.solidus_K - celsius_K,
                    one.solder.liquidus_K - celsius_K,
                    one.margin_K,
                    one.fit ? "fit" : "not fit",
                    one.solder.leaded ? ", lead" : "",
                    chosen ? ", chosen" : ""),
        first,
        indent);
    first = indent;
  }
}

void put_forming(std::string& out, const char* name, const std::optional<works::Forming>& one) {
  if (!one) return;
  put(out,
      fmt::format("{}: the outer fibre stretches by {:.1f} %, {:.0f} % allowed{}",
                  name,
                  one->strain * percent,
                  one->limit * percent,
                  one->within
                      ? std::string{}
                      : fmt::format("; bend it round {:.2f} mm or more", one->least_radius_m * mm)),
      "  forming  ",
      indent);
}

}  // namespace

std::string back_text(const works::BackingReport& report, bool colour) {
  const bool good = report.flat && report.solder_fit;
  std::string said = !report.solder_fit ? fmt::format("{} does not stand the press", report.solder)
                     : report.flat      ? "Backed within the limits"
                                        : "Bowed beyond the limit";
  std::string out = first_line(good, said, colour) + fmt::format("  flat within {:.2g} mm ({})\n",
                                                                 report.flat_limit_m * mm,
                                                                 report.flat_limit_from);
  put_bow(out, report);
  put_solders(out, report);
  for (const auto& remark : report.remarks) put(out, remark, "  remark   ", indent);
  put(out,
      "hot solder and flame burn, a damp part spatters, flux fume and lead harm: dry parts, "
      "extraction, no flame near "
      "solvent, hands washed; acids for cleaning go into water, never water into acid. Follow your "
      "local code and your "
      "licensed adviser.",
      "  caution  ",
      indent);
  out += '\n';
  const std::string fit = report.solders.empty() || !report.solders.front().fit
                              ? std::string{}
                              : report.solders.front().solder.name;
  put(out,
      !report.solder_fit
          ? (fit.empty()
                 ? "no solder here stands this press: lower its temperature, or do not solder."
                 : fmt::format("ask again with --alloy {}.", fit))
      : report.flat
          ? "solder under weight from the middle outwards, let it freeze under weight, and measure "
            "the bow."
          : "take a thicker plate, or one whose expansion is nearer the shell's, and ask again.",
      "Next: ",
      "      ");
  return out;
}

std::string back_text(const works::BareBackReport& report, bool colour) {
  std::string out =
      first_line(report.within,
                 report.within ? "The back is within the limits" : "The back is outside the limits",
                 colour) +
      "\n";
  if (const auto& map = report.map) {
    put(out,
        fmt::format("{:.1f} to {:.1f} µm, mean {:.1f}; range {:.1f}, {:.0f} allowed ({})",
                    map->least_m * um,
                    map->most_m * um,
                    map->mean_m * um,
                    (map->most_m - map->least_m) * um,
                    map->range_limit_m * um,
                    map->range_limit_from),
        "  thick    ",
        indent);
    put(out,
        fmt::format("wedge {:.1f} ± {:.1f} µm edge to edge, thick towards {:.0f}°; dome {:.1f} ± "
                    "{:.1f} µm, the middle "
                    "{}; a reading scatters by {:.1f} µm",
                    map->wedge_m * um,
                    map->wedge_sigma_m * um,
                    map->thick_towards_deg,
                    map->dome_m * um,
                    map->dome_sigma_m * um,
                    map->dome_m >= 0.0 ? "thick" : "thin",
                    map->scatter_m * um),
        indent,
        indent);
    put(out,
        fmt::format("the disc is thinner there, its centre of gravity {:.2f} mm off the hole "
                    "({:.0f} allowed, IEC 60098); "
                    "the thickest place asks for {:.1f} % more pressure to fill",
                    map->centre_of_gravity_m * mm,
                    map->gravity_limit_m * mm,
                    (map->slower_fill - 1.0) * percent),
        "  press    ",
        indent);
    for (const auto& remark : map->remarks) put(out, remark, "  remark   ", indent);
  }
  if (const auto& surface = report.surface) {
    put(out,
        fmt::format("Rz {:.2f} µm every {:.2f} mm, {:.2f} µm allowed ({})",
                    surface->roughness_m * um,
                    surface->spacing_m * mm,
                    surface->limit_m * um,
                    surface->limit_from),
        "  texture  ",
        indent);
    put(out,
        fmt::format("{:.3g} µm of it reaches the groove: {:.0f} dB at the outer groove, {:.0f} at "
                    "the inner, re 5 cm/s peak, "
                    "vertical",
                    surface->printed_m * um,
                    surface->outer_level_dB,
                    surface->inner_level_dB),
        indent,
        indent);
  }
  put_forming(out, "edge", report.edge);
  put_forming(out, "centre", report.centre);
  for (const auto& remark : report.remarks) put(out, remark, "  remark   ", indent);
  put(out,
      "sharp foil edges cut, grinding dust of nickel harms: cut-resistant gloves, wet grinding, "
      "extraction; forming and "
      "punching tools pinch: two-hand control. Follow your local code and your licensed adviser.",
      "  caution  ",
      indent);
  out += '\n';
  put(out,
      report.within ? "form and centre it." : "grind the back, or grow another, and measure again.",
      "Next: ",
      "      ");
  return out;
}

}  // namespace goodside::cli
