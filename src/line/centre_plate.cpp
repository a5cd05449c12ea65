#include "line/centre_plate.hpp"

#include <fmt/format.h>

#include <cmath>
#include <limits>
#include <map>
#include <variant>

#include "disc/format.hpp"
#include "intake/circle_edges.hpp"
#include "intake/safe_file.hpp"
#include "json/family.hpp"
#include "json/listening_report.hpp"
#include "line/family_of_record.hpp"
#include "line/part_life.hpp"
#include "metal/found_circles.hpp"
#include "metal/heard_offset.hpp"
#include "metal/move_plate.hpp"
#include "metal/offset_fit.hpp"
#include "metal/offset_region.hpp"

namespace goodside::line {
namespace {

constexpr double least_radius_m = 0.01;

Result<metal::CentringLimits> limits_of(const CentreFor& title) {
  const auto format = disc::format(title.format);
  if (!format) return format.error();
  const auto limit = title.limit_m ? title.limit_m : title.limits.eccentricity_m;
  if (!limit)
    return Error{Fault::bad_input,
                 "no limit for the offset is set for " + title.format +
                     "; give --limit, for instance 0.2mm"};
  return metal::CentringLimits{
      .offset_m = *limit,
      .from = title.limit_m ? std::string{"as given"} : "limits of " + title.limits.name,
      .rpm = format->rpm,
      .grooves = {{"outer", format->outer_radius_m}, {"inner", format->inner_radius_m}}};
}

double radius_of(const CentreReadings& asked, double finishing_radius_m) {
  if (asked.groove_radius_m) return *asked.groove_radius_m;
  double mean = 0.0;
  for (const auto& one : asked.readings)
    mean += one.position_m / static_cast<double>(asked.readings.size());
  return !asked.inwards && mean > least_radius_m ? mean : finishing_radius_m;
}

void put_beside(works::CentringReport& report,
                const std::vector<metal::HeardOffset>& heard,
                const std::string& from) {
  report.heard = metal::heard_against_read(heard, report.offset);
  if (report.heard)
    report.heard->from = from;
  else
    report.remarks.push_back("the readings have no region to hold what was heard against");
}

}  // namespace

Result<works::CentringReport> centre_by_readings(const CentreReadings& asked) {
  const auto limits = limits_of(asked.title);
  if (!limits) return limits.error();
  const double turn = asked.axes.clockwise ? -1.0 : 1.0;
  metal::OffsetQuestion question{
      .readings = asked.readings,
      .reading_sigma_m = asked.reading_sigma_m,
      .radius_m = radius_of(asked, disc::format(asked.title.format)->finishing_radius_m),
      .inward_per_turn_m = turn * asked.inward_per_turn_m};
  for (auto& one : question.readings) {
    one.angle_rad = turn * (one.angle_rad - asked.axes.x_at_rad);
    if (asked.inwards) one.position_m = -one.position_m;
  }
  auto offset = metal::fit_offset(question);
  if (!offset) return offset.error();
  auto report = metal::judge_centring(std::move(*offset), *limits);
  report.source = "readings";
  return report;
}

Result<CentredPhotograph> centre_by_photograph(const CentrePhotograph& asked) {
  const auto limits = limits_of(asked.title);
  if (!limits) return limits.error();
  const auto format = disc::format(asked.title.format);
  intake::CirclesWanted wanted{.hole_diameter_m = asked.hole_diameter_m > 0.0
                                                      ? asked.hole_diameter_m
                                                      : format->hole_diameter_m,
                               .groove_diameters_m = asked.groove_diameters_m};
  if (wanted.groove_diameters_m.empty())
    wanted.groove_diameters_m = {2.0 * format->finishing_radius_m, 2.0 * format->outer_radius_m};
  for (const double one : wanted.groove_diameters_m)
    if (one <= 1.2 * wanted.hole_diameter_m)
      return Error{
          Fault::bad_input,
          fmt::format(
              "a groove of {:.4g} mm does not lie round a hole of {:.4g} mm; mend the diameters",
              one * 1e3,
              wanted.hole_diameter_m * 1e3)};
  auto edges = intake::find_circle_edges(asked.path, wanted);
  if (!edges) return edges.error();
  auto found = metal::find_offset({.edges = *edges, .flat_scan = asked.flat_scan});
  if (!found) return Error{found.error().fault, asked.path + ": " + found.error().text};
  CentredPhotograph answer{.report = metal::judge_centring(std::move(found->offset), *limits),
                           .picture = std::move(edges->picture)};
  answer.report.source = "photograph";
  answer.report.photograph = std::move(found->photograph);
  return answer;
}

Outcome lay_heard_beside(works::CentringReport& report, const std::vector<std::string>& reports) {
  std::vector<metal::HeardOffset> heard;
  for (const std::string& path : reports) {
    const auto text = intake::read_whole(path, json::largest_report_bytes);
    if (!text) return text.error();
    const auto one = json::read_heard_play(*text);
    if (!one) return Error{one.error().fault, path + ": " + one.error().text};
    // The sigma of an offset heard is small beside the play of a disc on its spindle.
    if (const auto& off = one->measures.off_centre)
      heard.push_back({path, std::hypot(off->x_m, off->y_m), 0.0});
  }
  if (heard.empty())
    return Error{Fault::bad_input,
                 "no report that was given knows its disc's offset; hear a whole side of one"};
  put_beside(report, heard, "the reports given");
  return Done{};
}

Outcome lay_recorded_beside(works::CentringReport& report, const RecordedPart& part) {
  std::string side;
  const auto asked = part.record.read([&](ledger::Reader& reader) {
    side = ledger::text(ledger::at(known_part(reader, part.code).row, "side"));
  });
  if (!asked) return asked.error();
  if (side.empty()) return Done{};
  const auto family = family_of_record(part.record, part.folder, side, {}, 0);
  if (!family) return family.error().fault == Fault::bad_input ? Outcome{Done{}} : family.error();
  std::map<std::string, std::string> stamper;
  for (const auto& disc : family->family.discs)
    for (const auto& play : family->plays)
      if (play.disc == disc.id) stamper[disc.id] = disc.stamper_of(play.side);
  std::map<std::string, std::vector<double>> squares;
  for (const auto& play : family->plays)
    if (const auto& off = play.measures.off_centre; off && stamper[play.disc] == part.code)
      squares[play.disc].push_back(off->x_m * off->x_m + off->y_m * off->y_m);
  std::vector<metal::HeardOffset> heard;
  for (const auto& [disc, all] : squares) {
    double mean = 0.0;
    for (const double one : all) mean += one / static_cast<double>(all.size());
    heard.push_back({disc, std::sqrt(mean), 0.0});
  }
  if (!heard.empty()) put_beside(report, heard, "the record");
  return Done{};
}

Result<works::CentringReport> recorded_centring(const RecordedPart& part, const CentreFor& title) {
  const auto limits = limits_of(title);
  if (!limits) return limits.error();
  std::map<std::string, double> values;
  std::string step;
  const auto asked = part.record.read([&](ledger::Reader& reader) {
    static_cast<void>(known_part(reader, part.code));
    for (const auto& one : reader.standing("step", "part", part.code)) {
      if (ledger::text(ledger::at(one, "what")) != works::word(works::Step::centred)) continue;
      values.clear();
      step = ledger::text(ledger::at(one, "code"));
      for (const auto& reading : reader.standing("reading", "step", step))
        if (!ledger::is_null(ledger::at(reading, "value")))
          values[ledger::text(ledger::at(reading, "name"))] =
              std::get<double>(ledger::at(reading, "value"));
    }
  });
  if (!asked) return asked.error();
  if (!values.contains("offset_x_m") || !values.contains("offset_y_m"))
    return Error{Fault::not_found,
                 fmt::format("the record holds no centring of {}: give readings, or --photo; --log "
                             "enters them",
                             part.code)};
  works::OffsetEstimate offset;
  offset.x_m = values["offset_x_m"];
  offset.y_m = values["offset_y_m"];
  if (values.contains("offset_x_sigma_m") && values.contains("offset_y_sigma_m"))
    metal::put_uncertainty(offset,
                           {.xx = values["offset_x_sigma_m"] * values["offset_x_sigma_m"],
                            .yy = values["offset_y_sigma_m"] * values["offset_y_sigma_m"],
                            .degrees_of_freedom = values.contains("degrees_of_freedom")
                                                      ? values["degrees_of_freedom"]
                                                      : std::numeric_limits<double>::infinity()});
  auto report = metal::judge_centring(std::move(offset), *limits);
  report.source = "record";
  report.remarks.push_back("as read and entered at step " + step);
  return report;
}

}  // namespace goodside::line
