#include "metal/move_plate.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "stats/linear_fit.hpp"

namespace goodside::metal {
namespace {

using works::CentringReport;
using works::CentringStanding;

constexpr double most_asked_for = 200.0;
constexpr double least_angles = 8.0;  // five unknowns and three degrees of freedom

double direction_deg(double x, double y) {
  const double angle = std::atan2(y, x) * 180.0 / std::numbers::pi;
  return angle < 0.0 ? angle + 360.0 : angle;
}

CentringStanding standing_of(const CentringReport& report) {
  if (!report.offset.region) return CentringStanding::undecided;
  if (report.offset.region->farthest_m <= report.limit_m) return CentringStanding::within;
  if (report.offset.region->nearest_m > report.limit_m) return CentringStanding::outside;
  return CentringStanding::undecided;
}

/// Readings in all, even round the turn, whose region of radius `room_m` would decide.
double readings_for(double scatter_m, double room_m, double confidence) {
  const double f = stats::f_quantile_of_two(confidence, std::numeric_limits<double>::infinity());
  return 4.0 * f * scatter_m * scatter_m / (room_m * room_m);
}

void ask_for_more(CentringReport& report) {
  const auto& offset = report.offset;
  const double have =
      static_cast<double>(std::ranges::count_if(offset.readings, &works::ReadingResidual::kept));
  if (report.standing != CentringStanding::undecided || offset.readings.empty()) return;
  if (!offset.scatter_m) {
    report.more_readings = static_cast<int>(std::max(least_angles - have, 3.0));
    report.more_why = "nothing tells the scatter yet";
    return;
  }
  const double room = std::abs(report.length_m - report.limit_m);
  const double need =
      room > 0.0 ? std::max(readings_for(*offset.scatter_m, room, offset.confidence), least_angles)
                 : std::numeric_limits<double>::infinity();
  if (need > most_asked_for) {
    report.more_why = fmt::format(
        "the offset lies {:.0f} µm from the limit and a reading scatters by {:.0f} µm: no number "
        "of readings decides; "
        "move the plate, or read with a finer instrument",
        room * 1e6,
        *offset.scatter_m * 1e6);
    return;
  }
  report.more_readings = std::max(2, static_cast<int>(std::ceil(need - have)));
  report.more_why = "at the scatter seen, spread evenly between those taken";
}

void put_wow(CentringReport& report, const std::vector<GrooveRadius>& grooves) {
  for (const auto& groove : grooves) {
    works::WowAtGroove wow{.groove = groove.groove, .radius_m = groove.radius_m, .after_peak = {}};
    wow.peak = report.length_m / groove.radius_m;
    wow.low = wow.high = wow.peak;
    if (const auto& region = report.offset.region) {
      wow.low = region->nearest_m / groove.radius_m;
      wow.high = region->farthest_m / groove.radius_m;
      wow.after_peak = region->half_major_m / groove.radius_m;
    }
    report.wow.push_back(wow);
  }
}

}  // namespace

CentringReport judge_centring(works::OffsetEstimate offset, const CentringLimits& limits) {
  CentringReport report;
  report.offset = std::move(offset);
  report.limit_m = limits.offset_m;
  report.limit_from = limits.from;
  report.rpm = limits.rpm;
  report.length_m = std::hypot(report.offset.x_m, report.offset.y_m);
  report.direction_deg = direction_deg(report.offset.x_m, report.offset.y_m);
  report.move_x_m = -report.offset.x_m;
  report.move_y_m = -report.offset.y_m;
  report.move_m = report.length_m;
  report.move_towards_deg = direction_deg(report.move_x_m, report.move_y_m);
  report.standing = standing_of(report);
  ask_for_more(report);
  put_wow(report, limits.grooves);
  return report;
}

}  // namespace goodside::metal
