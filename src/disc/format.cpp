#include "disc/format.hpp"

#include <fmt/format.h>

#include <array>
#include <string>

namespace goodside::disc {
namespace {

constexpr double rpm_33 = 100.0 / 3.0;
constexpr double rpm_45 = 45.0;
constexpr double rpm_78_60Hz = 3600.0 / 46.0;
constexpr double rpm_78_50Hz = 6000.0 / 77.0;

constexpr double small_hole_m = 7.24e-3;
constexpr double large_hole_m = 38.2e-3;

constexpr Format microgroove_12in(std::string_view name, double rpm) {
  return {name, rpm, 0.301, 0.1463, 0.060325, 0.0532, 0.102, small_hole_m, false};
}
constexpr Format microgroove_10in(std::string_view name, double rpm) {
  return {name, rpm, 0.251, 0.1209, 0.060325, 0.0532, 0.102, small_hole_m, false};
}
constexpr Format microgroove_7in(std::string_view name, double rpm, double hole_m) {
  return {name, rpm, 0.175, 0.08415, 0.053, 0.0485, 0.093, hole_m, false};
}
constexpr Format coarse_12in(std::string_view name, double rpm) {
  return {name, rpm, 0.301, 0.1463, 0.050, 0.0475, 0.085, small_hole_m, true};
}
constexpr Format coarse_10in(std::string_view name, double rpm) {
  return {name, rpm, 0.251, 0.1209, 0.050, 0.0475, 0.085, small_hole_m, true};
}
constexpr Format coarse_7in(std::string_view name, double rpm) {
  return {name, rpm, 0.175, 0.08415, 0.050, 0.0475, 0.078, small_hole_m, true};
}

constexpr std::array all_formats{
    microgroove_12in("12in-33", rpm_33),
    microgroove_10in("10in-33", rpm_33),
    microgroove_7in("7in-33", rpm_33, small_hole_m),
    microgroove_12in("12in-45", rpm_45),
    microgroove_10in("10in-45", rpm_45),
    microgroove_7in("7in-45", rpm_45, large_hole_m),
    coarse_12in("12in-78", rpm_78_60Hz),
    coarse_10in("10in-78", rpm_78_60Hz),
    coarse_7in("7in-78", rpm_78_60Hz),
    coarse_12in("12in-77.92", rpm_78_50Hz),
    coarse_10in("10in-77.92", rpm_78_50Hz),
    coarse_7in("7in-77.92", rpm_78_50Hz),
};

}  // namespace

std::span<const Format> formats() {
  return all_formats;
}

Result<Format> format(std::string_view name) {
  std::string names;
  for (const Format& candidate : all_formats) {
    if (candidate.name == name) return candidate;
    names += fmt::format(" {}", candidate.name);
  }
  return Error{Fault::not_found,
               fmt::format("format '{}' is not known; use one of{}", name, names)};
}

works::CutSide cut_side(const Format& format) {
  works::CutSide side;
  side.format = format.name;
  side.rpm = format.rpm;
  side.disc_diameter_m = format.disc_diameter_m;
  side.outer_radius_m = format.outer_radius_m;
  side.inner_radius_m = format.inner_radius_m;
  side.shellac_type = format.shellac_type;
  side.stereo = !format.shellac_type;
  return side;
}

Result<works::CutSide> cut_side(std::string_view name) {
  const auto found = format(name);
  if (!found) return found.error();
  return cut_side(*found);
}

}  // namespace goodside::disc
