#include "metal/bare_back.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "stats/linear_fit.hpp"

namespace goodside::metal {
namespace {

constexpr double pi = std::numbers::pi;
constexpr std::size_t least_readings = 6, most_readings = 2000;
constexpr double chance_of_false_outlier = 0.01;
constexpr double thickest_m = 0.02, widest_m = 1.0;
constexpr double nickel_Pa = 200e9, nickel_poisson = 0.31;  // handbook values, from memory
constexpr double reference_m_per_s = 0.05;
constexpr double largest_condition = 1e3;

Outcome check(const MapQuestion& question) {
  const std::size_t count = question.readings.size();
  if (count < least_readings || count > most_readings)
    return Error{Fault::bad_input,
                 fmt::format("{} readings of the thickness; a wedge and a dome need six, spread "
                             "over the plate, and at "
                             "most {} are taken",
                             count,
                             most_readings)};
  for (std::size_t i = 0; i < count; ++i) {
    const auto& one = question.readings[i];
    if (!(one.thickness_m > 0.0 && one.thickness_m < thickest_m &&
          std::hypot(one.x_m, one.y_m) < widest_m))
      return Error{
          Fault::bad_input,
          fmt::format(
              "reading {}: a thickness must lie between nought and 20 mm, its place within 1 m",
              i + 1)};
  }
  return Done{};
}

std::vector<double> design_of(const MapQuestion& question, const std::vector<bool>& kept) {
  std::vector<double> design;
  for (std::size_t i = 0; i < kept.size(); ++i) {
    if (!kept[i]) continue;
    const auto& one = question.readings[i];
    const double r2 =
        (one.x_m * one.x_m + one.y_m * one.y_m) / (question.radius_m * question.radius_m);
    design.insert(design.end(),
                  {1.0, one.x_m / question.radius_m, one.y_m / question.radius_m, -r2});
  }
  return design;
}

std::vector<double> values_of(const MapQuestion& question, const std::vector<bool>& kept) {
  std::vector<double> values;
  for (std::size_t i = 0; i < kept.size(); ++i)
    if (kept[i]) values.push_back(question.readings[i].thickness_m);
  return values;
}

}  // namespace

Result<works::ThicknessMap> thickness_map(const MapQuestion& question) {
  if (const auto checked = check(question); !checked) return checked.error();
  works::ThicknessMap map;
  map.readings = question.readings;
  map.kept.assign(question.readings.size(), true);
  const std::size_t spare = question.readings.size() > 8 ? question.readings.size() / 4 : 0;
  for (const std::size_t bad : stats::outliers(design_of(question, map.kept),
                                               values_of(question, map.kept),
                                               spare,
                                               chance_of_false_outlier)) {
    map.kept[bad] = false;
    map.remarks.push_back(
        fmt::format("reading {} stands off all others and is left out; read it again", bad + 1));
  }
  const auto fit = stats::fit_linear(design_of(question, map.kept), values_of(question, map.kept));
  if (!fit || fit->condition > largest_condition)
    return Error{Fault::bad_input,
                 "the readings do not tell wedge from dome; spread them over the plate, centre and "
                 "edge, all round"};
  const double s = std::sqrt(fit->residual_sum / std::max(fit->degrees_of_freedom, 1));
  const double gx = fit->at[1], gy = fit->at[2], steepness = std::hypot(gx, gy);
  map.radius_m = question.radius_m;
  map.wedge_m = 2.0 * steepness;
  map.wedge_sigma_m =
      2.0 * s * std::sqrt(0.5 * (fit->covariance_of(1, 1) + fit->covariance_of(2, 2)));
  const double towards = std::atan2(gy, gx) * 180.0 / pi;
  map.thick_towards_deg = towards < 0.0 ? towards + 360.0 : towards;
  map.dome_m = fit->at[3];
  map.dome_sigma_m = s * std::sqrt(fit->covariance_of(3, 3));
  map.mean_m = fit->at[0] - 0.5 * fit->at[3];  // over the disc, r^2 is half of R^2
  map.scatter_m = s;
  map.least_m = thickest_m;
  for (std::size_t i = 0; i < map.kept.size(); ++i) {
    if (!map.kept[i]) continue;
    map.least_m = std::min(map.least_m, question.readings[i].thickness_m);
    map.most_m = std::max(map.most_m, question.readings[i].thickness_m);
  }
  map.disc_thickness_m = question.disc_thickness_m;
  map.gravity_limit_m = 4e-3;
  map.centre_of_gravity_m = steepness / question.radius_m * question.disc_radius_m *
                            question.disc_radius_m / (4.0 * question.disc_thickness_m);
  const double gap = question.disc_thickness_m - (map.most_m - map.mean_m);
  map.slower_fill = gap > 0.0 ? std::pow(question.disc_thickness_m / gap, 3) : 0.0;
  map.range_limit_m = question.range_limit_m;
  map.range_limit_from = question.range_limit_from;
  map.within = map.most_m - map.least_m <= map.range_limit_m &&
               map.centre_of_gravity_m <= map.gravity_limit_m;
  return map;
}

Result<works::BackSurface> back_surface(const SurfaceQuestion& question) {
  if (!(question.roughness_m > 0.0 && question.roughness_m < 1e-3 && question.spacing_m > 0.0 &&
        question.spacing_m < 0.1 && question.thickness_m > 0.0 &&
        question.thickness_m < thickest_m && question.pressure_Pa > 0.0))
    return Error{Fault::out_of_range,
                 "roughness (under 1 mm), spacing (under 100 mm), thickness (under 20 mm) and "
                 "pressure must be more "
                 "than nought"};
  const double half = 0.5 * question.roughness_m;
  const double bending = nickel_Pa * std::pow(question.thickness_m, 3) /
                         (12.0 * (1.0 - nickel_poisson * nickel_poisson));
  const double wave = 2.0 * pi / question.spacing_m;
  const double printed = std::min(half, question.pressure_Pa / (bending * std::pow(wave, 4)));
  const auto level = [&](double radius_m) {
    const double speed = 2.0 * pi * question.rpm / 60.0 * radius_m;
    return 20.0 * std::log10(speed * wave * printed / reference_m_per_s);
  };
  return works::BackSurface{.roughness_m = question.roughness_m,
                            .spacing_m = question.spacing_m,
                            .thickness_m = question.thickness_m,
                            .pressure_Pa = question.pressure_Pa,
                            .limit_m = question.limit_m,
                            .limit_from = question.limit_from,
                            .printed_m = 2.0 * printed,
                            .outer_level_dB = level(question.outer_radius_m),
                            .inner_level_dB = level(question.inner_radius_m),
                            .within = question.roughness_m <= question.limit_m};
}

Result<works::Forming> forming(double thickness_m, double inner_radius_m, double limit) {
  if (!(thickness_m > 0.0 && thickness_m < thickest_m && inner_radius_m > 0.0 &&
        inner_radius_m < widest_m && limit > 0.0 && limit < 1.0))
    return Error{Fault::out_of_range,
                 "the thickness and the radius of the bend must be more than nought"};
  works::Forming one{.thickness_m = thickness_m, .inner_radius_m = inner_radius_m, .limit = limit};
  one.strain = thickness_m / (2.0 * inner_radius_m + thickness_m);
  one.least_radius_m = 0.5 * thickness_m * (1.0 / limit - 1.0);
  one.within = one.strain <= limit;
  return one;
}

}  // namespace goodside::metal
