#include "listen/kinematics.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "listen/mean_speed.hpp"
#include "listen/wow.hpp"

namespace goodside::listen {
namespace {

using std::numbers::pi;

constexpr double least_valid_s = 8.0;
constexpr double least_turns = 6.0;
// The offset is told with its sigma while that is small in itself; a large one must be
// overshadowed.
constexpr double small_sigma_m = 15e-6;
constexpr double clear_sigmas = 4.0;
constexpr double direction_sigmas = 3.0;
constexpr double least_out_of_round_m = 15e-6;
// How well a groove's radius is usually known: common practice, no source.
constexpr double radius_tolerance_m = 0.3e-3;
// No drive wanders so, and a hole 2 mm off reads 3.3 % at the innermost groove: a hand does it.
constexpr double hand_moved_deviation = 0.04;
constexpr double hand_moved_share = 0.05;

struct Gathered {
  TrackPoints points;
  double valid_s{};
  std::size_t beyond_arm{};
};

Gathered gather_points(const TimeTrack& track,
                       const std::function<double(double)>& radius_at_programme_m,
                       const works::Arm& arm) {
  Gathered all;
  int number = 0;
  for (const Stretch& stretch : track) {
    const std::size_t n = std::min(stretch.programme_s.size(), stretch.sigma_s.size());
    for (std::size_t k = 0; k < n; ++k) {
      const double programme_s = stretch.programme_s[k];
      const double sigma_s = stretch.sigma_s[k];
      if (!std::isfinite(programme_s) || !std::isfinite(sigma_s) || sigma_s < 0.0) continue;
      const double radius_m = radius_at_programme_m(programme_s);
      if (!std::isfinite(radius_m) || radius_m <= 0.0) continue;
      if (!reaches(arm, radius_m)) {
        ++all.beyond_arm;
        continue;
      }
      all.points.capture_s.push_back(stretch.capture_from_s +
                                     static_cast<double>(k) * stretch.hop_s);
      all.points.programme_s.push_back(programme_s);
      all.points.sigma_s.push_back(std::max(sigma_s, 1e-9));
      all.points.radius_m.push_back(radius_m);
      all.points.stretch.push_back(number);
      all.valid_s += stretch.hop_s;
    }
    ++number;
  }
  return all;
}

/// Share of the time that the speed lies further from its median than any drive's would, from
/// half-second steps between medians of five points.
double wild_share(const TrackPoints& points) {
  constexpr std::size_t step = 25, few = 5;
  std::vector<double> rates;
  const auto middle = [&](std::size_t k) {
    double values[few];
    for (std::size_t i = 0; i < few; ++i)
      values[i] = points.programme_s[k + i] - (points.capture_s[k + i] - points.capture_s[k]);
    std::nth_element(values, values + few / 2, values + few);
    return values[few / 2];
  };
  for (std::size_t k = 0; k + step + few <= points.size(); k += step) {
    if (points.stretch[k] != points.stretch[k + step + few - 1]) continue;
    const double passed_s = points.capture_s[k + step] - points.capture_s[k];
    rates.push_back((middle(k + step) - middle(k)) / passed_s);
  }
  if (rates.size() < 4) return 0.0;
  auto sorted = rates;
  const auto half = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2);
  std::nth_element(sorted.begin(), half, sorted.end());
  const double median = *half;
  const auto wild = std::count_if(rates.begin(), rates.end(), [&](double rate) {
    return std::abs(rate - median) > hand_moved_deviation;
  });
  return static_cast<double>(wild) / static_cast<double>(rates.size());
}

double degrees(double angle_rad) {
  const double turned = angle_rad * 180.0 / pi;
  return turned < 0.0 ? turned + 360.0 : turned;
}

/// Peak once-a-turn deviation of speed at a radius, as heard: hole, arm and drive together.
double heard_peak(const OffsetFit& fit, const works::Arm& arm, double radius_m) {
  const double tangent =
      reaches(arm, radius_m) ? -radius_m * arm_turn_rad_per_m(arm, radius_m) : 0.0;
  const DriveWow drive = fit.drive.value_or(DriveWow{});
  const auto& [along_m, across_m] = fit.offset;
  return std::hypot((along_m + tangent * across_m) / radius_m + drive.along,
                    (across_m - tangent * along_m) / radius_m + drive.across);
}

void leave_out_offset(KinematicsResult& result, const std::string& why) {
  for (const char* field : {"wow.eccentricity_m",
                            "wow.eccentricity_direction_deg",
                            "wow.once_per_rev_peak",
                            "wow.out_of_round_m"})
    result.undetermined.push_back({field, why});
}

void leave_out_weighted(KinematicsResult& result, const std::string& why) {
  result.undetermined.push_back({"wow.weighted_2sigma", why});
  result.undetermined.push_back({"wow.weighted_peak", why});
}

void tell_offset(KinematicsResult& result,
                 const OffsetFit& fit,
                 const works::CutSide& side,
                 const works::Arm& arm,
                 double typical_radius_m) {
  const double offset_m = fit.magnitude_m();
  const double sigma_m =
      std::hypot(fit.sigma_m(), offset_m * radius_tolerance_m / typical_radius_m);
  const bool told = sigma_m <= small_sigma_m || offset_m >= clear_sigmas * sigma_m;
  if (!told) {
    leave_out_offset(
        result,
        fmt::format("the drive's own wander hides it: below about {:.0f} um, but no better known",
                    1e6 * (offset_m + 2.0 * sigma_m)));
    return;
  }
  result.wow.eccentricity_m = offset_m;
  result.wow.eccentricity_sigma_m = sigma_m;
  result.wow.arm_corrected = arm.known();
  result.wow.once_per_rev_peak = works::OncePerRevPeak{
      heard_peak(fit, arm, side.outer_radius_m > 0.0 ? side.outer_radius_m : typical_radius_m),
      heard_peak(fit, arm, side.inner_radius_m > 0.0 ? side.inner_radius_m : typical_radius_m)};
  if (offset_m >= direction_sigmas * sigma_m) {
    result.wow.eccentricity_direction_deg = degrees(fit.direction_rad());
    result.direction_sigma_deg = fit.direction_sigma_rad() * 180.0 / pi;
  } else {
    result.undetermined.push_back(
        {"wow.eccentricity_direction_deg",
         fmt::format("the hole is too nearly central to have a direction: {:.0f} +- {:.0f} um",
                     1e6 * offset_m,
                     1e6 * sigma_m)});
  }
  if (fit.drive) {
    result.drive_once_per_turn = std::hypot(fit.drive->along, fit.drive->across);
    result.remarks.push_back(
        fmt::format("the drive itself wows once a turn by {:.3f} % peak; told from the hole's "
                    "share, which grows "
                    "inwards",
                    100.0 * *result.drive_once_per_turn));
  }
  constexpr double common_drive_wow = 1e-4;
  if (!fit.drive && fit.drive_sigma > common_drive_wow)
    result.remarks.push_back(
        fmt::format("over the radii heard, a once-a-turn wow of the drive itself cannot be told "
                    "from the hole's: each 0.01 % "
                    "of it counts as {:.0f} um",
                    1e6 * common_drive_wow * typical_radius_m));
  if (fit.inflation > 1.0)
    result.remarks.push_back(fmt::format(
        "parts of the side disagree on the eccentricity: its sigma was widened {:.1f} times",
        fit.inflation));

  const double oval_m = std::hypot(fit.second.along_m, fit.second.across_m);
  if (oval_m > least_out_of_round_m && oval_m > 4.0 * fit.second_sigma_m) {
    result.wow.out_of_round_m = oval_m;
    result.wow.out_of_round_sigma_m = fit.second_sigma_m;
  } else {
    result.undetermined.push_back(
        {"wow.out_of_round_m",
         fmt::format("nothing stands out twice a turn: below about {:.0f} um",
                     1e6 * (oval_m + 2.0 * fit.second_sigma_m))});
  }
}

void tell_drive(KinematicsResult& result,
                const TrackPoints& points,
                const OffsetFit& fit,
                const works::CutSide& side,
                const KinematicsBench& bench) {
  if (!bench.arm.known() || !bench.clock_known) {
    result.undetermined.push_back({"alignment.drive_error_ppm",
                                   !bench.clock_known
                                       ? "the sound card's clock is not calibrated"
                                       : "the arm's length and mounting distance are not given"});
    return;
  }
  // The table turned through the groove angle, the swing of the arm, and the line of the hole.
  const double turn_rad_per_s = 2.0 * pi * side.rpm / 60.0;
  std::vector<double> also_s(points.size());
  for (std::size_t k = 0; k < points.size(); ++k)
    also_s[k] = fit.line_s[k] + arm_angle_rad(bench.arm, points.radius_m[k]) / turn_rad_per_s;
  if (const auto drive = mean_speed(points, also_s))
    result.drive_error_ppm =
        1e6 * ((drive->speed - 1.0) + drive->speed * bench.clock_error_ppm * 1e-6);
}

void tell_weighted(KinematicsResult& result, const TimeTrack& track, double speed) {
  const auto weighted = weighted_wow(track, speed);
  if (!weighted) {
    leave_out_weighted(result, "less than 5 s of unbroken track to take it from");
    return;
  }
  const double noise = weighted->noise_two_sigma, all = weighted->two_sigma;
  if (noise > 0.7 * all) {
    leave_out_weighted(
        result,
        fmt::format("the programme is too faint to follow flutter: below {:.3f} %", 100.0 * all));
    return;
  }
  // Both spread about normally, so their squares add.
  result.wow.weighted_2sigma = std::sqrt(all * all - noise * noise);
  constexpr double quiet = 0.4;
  if (noise < quiet * all)
    result.wow.weighted_peak = weighted->peak;
  else
    result.undetermined.push_back(
        {"wow.weighted_peak", "the greatest deviation may be the track's own noise"});
}

}  // namespace

KinematicsResult kinematics(const TimeTrack& track,
                            const works::CutSide& side,
                            const std::function<double(double)>& radius_at_programme_m,
                            const KinematicsBench& given) {
  KinematicsResult result;
  result.turn_rate = {side.rpm, 200.0, false};
  KinematicsBench bench = given;
  Gathered all = gather_points(track, radius_at_programme_m, bench.arm);
  if (all.beyond_arm > all.points.size() / 100) {
    result.remarks.emplace_back(
        "an arm of this length and mounting distance cannot reach the groove: check the two; "
        "nothing was "
        "corrected for it");
    bench.arm = {};
    all = gather_points(track, radius_at_programme_m, bench.arm);
  }
  const TrackPoints& points = all.points;

  const auto measured = mean_speed(points, {});
  if (!measured || measured->speed <= 0.0) {
    const std::string why = "too little of the programme was followed";
    result.undetermined.push_back({"alignment.speed_error_ppm", why});
    result.undetermined.push_back({"alignment.drive_error_ppm", why});
    leave_out_weighted(result, why);
    leave_out_offset(result, why);
    return result;
  }
  result.speed_error_ppm = 1e6 * (measured->speed - 1.0);
  result.speed_error_sigma_ppm = 1e6 * measured->sigma;
  result.wow.curve = wow_curve(track, measured->speed);

  const double turns = all.valid_s * measured->speed * side.rpm / 60.0;
  const double wild = wild_share(points);
  if (wild > hand_moved_share) {
    const std::string why = fmt::format(
        "the record did not turn steadily: {:.0f} % of the time its speed was more than {:.0f} % "
        "off, as if moved "
        "by hand",
        100.0 * wild,
        100.0 * hand_moved_deviation);
    result.undetermined.push_back({"alignment.drive_error_ppm", why});
    leave_out_weighted(result, why);
    leave_out_offset(result, why);
    return result;
  }
  tell_weighted(result, track, measured->speed);
  if (all.valid_s < least_valid_s || turns < least_turns) {
    const std::string why = fmt::format(
        "only {:.1f} s ({:.1f} turns) of the programme were followed; {:.0f} s and {:.0f} turns "
        "are "
        "needed",
        all.valid_s,
        turns,
        least_valid_s,
        least_turns);
    result.undetermined.push_back({"alignment.drive_error_ppm", why});
    leave_out_offset(result, why);
    return result;
  }
  const OffsetFit fit = fit_offset(points, bench.arm, side.rpm, measured->speed);
  result.turn_rate = fit.turn_rate;
  double radius_sum_m = 0.0;
  for (const double radius_m : points.radius_m) radius_sum_m += radius_m;
  tell_offset(result, fit, side, bench.arm, radius_sum_m / static_cast<double>(points.size()));
  tell_drive(result, points, fit, side, bench);
  return result;
}

}  // namespace goodside::listen
