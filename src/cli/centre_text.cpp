#include "cli/centre_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/standing_text.hpp"
#include "cli/wrap.hpp"

namespace goodside::cli {
namespace {

using works::CentringReport;
using works::CentringStanding;

constexpr double um = 1e6, mm = 1e3, percent = 1e2;
constexpr double plain_chance = 0.05;
constexpr const char* indent = "           ";

draw::Standing standing(const CentringReport& report) {
  if (report.standing == CentringStanding::within) return draw::Standing::good;
  return report.standing == CentringStanding::outside ? draw::Standing::out
                                                      : draw::Standing::unjudged;
}

std::string headline(const CentringReport& report) {
  const char* said = report.standing == CentringStanding::within ? "Centred within the limit"
                     : report.standing == CentringStanding::outside
                         ? "Off centre, outside the limit"
                         : "Not decided";
  return fmt::format("{} {}", shape(standing(report)), said);
}

void put_offset(std::string& out, const CentringReport& report) {
  const auto& offset = report.offset;
  put(out,
      fmt::format("{:.0f} µm towards {:.0f}°, from the hole to the groove's centre: x {:+.1f}, y "
                  "{:+.1f} µm",
                  report.length_m * um,
                  report.direction_deg,
                  offset.x_m * um,
                  offset.y_m * um),
      "  offset   ",
      indent);
  if (!offset.region) return;
  put(out,
      fmt::format("{:.0f} %: x {:+.1f} to {:+.1f}, y {:+.1f} to {:+.1f} µm; both together a length "
                  "of {:.0f} to "
                  "{:.0f} µm",
                  offset.confidence * percent,
                  *offset.x_low_m * um,
                  *offset.x_high_m * um,
                  *offset.y_low_m * um,
                  *offset.y_high_m * um,
                  offset.region->nearest_m * um,
                  offset.region->farthest_m * um),
      indent,
      indent);
}

void put_move(std::string& out, const CentringReport& report) {
  put(out,
      fmt::format("the plate by x {:+.0f}, y {:+.0f} µm: {:.0f} µm towards {:.0f}°",
                  report.move_x_m * um,
                  report.move_y_m * um,
                  report.move_m * um,
                  report.move_towards_deg),
      "  move     ",
      indent);
}

void put_wow(std::string& out, const CentringReport& report) {
  const char* first = "  wow      ";
  for (const auto& wow : report.wow) {
    put(out,
        fmt::format("{} groove, {:.1f} mm: {:.3f} % peak as it lies{}{}",
                    wow.groove,
                    wow.radius_m * mm,
                    wow.peak * percent,
                    report.offset.region
                        ? fmt::format(" ({:.3f} to {:.3f})", wow.low * percent, wow.high * percent)
                        : std::string{},
                    wow.after_peak
                        ? fmt::format("; moved, at most {:.3f} %", *wow.after_peak * percent)
                        : std::string{}),
        first,
        indent);
    first = indent;
  }
  if (report.rpm > 0.0)
    put(out,
        fmt::format("once a turn, {:.3f} Hz at {:.5g} rpm", report.rpm / 60.0, report.rpm),
        indent,
        indent);
}

void put_round(std::string& out, const CentringReport& report) {
  const auto& found = report.offset.out_of_round;
  if (!found) return;
  std::string said = fmt::format(
      "{:.0f} µm, out at {:.0f}° and opposite", found->amplitude_m * um, found->direction_deg);
  if (found->chance && *found->chance < plain_chance)
    said += "; the groove is out of round, which no move mends";
  else if (found->chance)
    said = fmt::format("within what the scatter makes ({:.0f} µm)", found->amplitude_m * um);
  put(out, said, "  round    ", indent);
}

void put_readings(std::string& out, const CentringReport& report) {
  const auto& offset = report.offset;
  if (offset.readings.empty()) return;
  std::string said = fmt::format("{} at {} angles", offset.readings.size(), offset.stations);
  if (offset.scatter_m)
    said +=
        fmt::format(", each good to {:.1f} µm ({})", *offset.scatter_m * um, offset.scatter_from);
  put(out, said, "  readings ", indent);
}

void put_photograph(std::string& out, const CentringReport& report) {
  if (!report.photograph) return;
  const auto& photo = *report.photograph;
  std::string said = fmt::format("{:.2f} px/mm", photo.scale_px_per_m * 1e-3);
  for (const auto& circle : photo.circles)
    said += fmt::format("; {} {:.2f} mm on {:.0f} % of the turn",
                        circle.name,
                        circle.diameter_m * mm,
                        circle.share * percent);
  said += photo.tilt_measured ? fmt::format("; camera tilted {:.2f}°, allowed for", photo.tilt_deg)
                              : std::string{"; taken as square to the plate"};
  put(out, said, "  photo    ", indent);
}

std::string next(const CentringReport& report) {
  if (report.heard && !report.heard->agree)
    return "look at the mould's pin and clamp and the plate's seat, and read the plate again, "
           "before "
           "more is pressed from it.";
  if (report.source == "record")
    return report.heard ? "press on." : "hear a disc of it, and ask again.";
  if (report.standing == CentringStanding::within)
    return "punch, and read the first good disc's offset when it is heard.";
  if (report.standing == CentringStanding::outside)
    return "move the plate as above, and read again before punching.";
  if (report.more_readings)
    return fmt::format(
        "take {} more readings ({}), then ask again.", *report.more_readings, report.more_why);
  if (!report.more_why.empty()) return report.more_why + ".";
  return "move the plate as above, and read again.";
}

}  // namespace

std::string centre_text(const CentringReport& report, bool colour) {
  std::string out = coloured(standing(report), headline(report), colour) +
                    fmt::format("  limit {:.0f} µm ({})\n", report.limit_m * um, report.limit_from);
  put_offset(out, report);
  put_move(out, report);
  put_wow(out, report);
  put_round(out, report);
  put_readings(out, report);
  put_photograph(out, report);
  if (report.heard)
    put(out, report.heard->said + " (" + report.heard->from + ")", "  heard    ", indent);
  for (const auto* remarks : {&report.offset.remarks, &report.remarks})
    for (const auto& remark : *remarks) put(out, remark, "  remark   ", indent);
  put(out,
      "punch press and flying slug: two-hand control and guard. Follow your local code and your "
      "licensed adviser.",
      "  caution  ",
      indent);
  out += '\n';
  put(out, next(report), "Next: ", "      ");
  return out;
}

}  // namespace goodside::cli
