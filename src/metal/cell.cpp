#include "metal/cell.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace goodside::metal {
namespace {

using works::PlatingCell;

constexpr double least_size_m = 1e-4, most_size_m = 100.0;
/// Gaps below this share of the disc's radius are no gaps that anybody builds.
constexpr double least_gap = 1e-5;

std::string mm(double length_m) {
  return fmt::format("{:.6g} mm", length_m * 1e3);
}

Error refuse(const std::string& text) {
  return {Fault::out_of_range, text};
}

Outcome check_sizes(const PlatingCell& cell) {
  struct Size {
    const char* name;
    double value;
    bool may_be_none;
  };
  const std::array sizes{Size{"the disc's radius", cell.disc_radius_m, false},
                         Size{"the holder's radius", cell.holder_radius_m, false},
                         Size{"the holder's height", cell.holder_height_m, true},
                         Size{"the rim's height", cell.rim_height_m, true},
                         Size{"the cell's radius", cell.cell_radius_m, false},
                         Size{"the level", cell.level_m, false},
                         Size{"the anode's distance", cell.anode_distance_m, false},
                         Size{"the anode's radius", cell.anode_radius_m, false},
                         Size{"the anode's inner radius", cell.anode_inner_radius_m, true},
                         Size{"the anode's thickness", cell.anode_thickness_m, false}};
  for (const Size& one : sizes) {
    const bool none = one.may_be_none && one.value == 0.0;
    if (!none && !(one.value >= least_size_m && one.value <= most_size_m))
      return refuse(fmt::format("{}, {}, cannot be; give {}one from {} to {}",
                                one.name,
                                mm(one.value),
                                one.may_be_none ? "0 or " : "",
                                mm(least_size_m),
                                mm(most_size_m)));
  }
  if (!(cell.conductivity_S_per_m >= 1e-3 && cell.conductivity_S_per_m <= 1e3))
    return refuse(
        fmt::format("a conductivity of {:g} S/m is no bath's; nickel baths have 5 to 12 S/m",
                    cell.conductivity_S_per_m));
  return Done{};
}

Outcome check_shield(const PlatingCell& cell) {
  if (!cell.shield) return Done{};
  const auto& shield = *cell.shield;
  const double gap = least_gap * cell.disc_radius_m;
  for (const double one :
       {shield.opening_radius_m, shield.distance_m, shield.thickness_m, shield.outer_radius_m})
    if (!std::isfinite(one)) return refuse("the shield has a size that is no number; give lengths");
  if (!(shield.outer_radius_m <= cell.cell_radius_m))
    return refuse(
        fmt::format("the shield, {} in radius, is larger than the cell, {}; give a smaller shield",
                    mm(shield.outer_radius_m),
                    mm(cell.cell_radius_m)));
  if (!(shield.opening_radius_m >= least_size_m))
    return refuse(fmt::format("the shield's opening, {} in radius, is shut; give one of {} or more",
                              mm(shield.opening_radius_m),
                              mm(least_size_m)));
  if (!(shield.opening_radius_m < shield.outer_radius_m))
    return refuse(fmt::format(
        "the shield's opening, {} in radius, is larger than {}, {}; give a smaller opening",
        mm(shield.opening_radius_m),
        shield.outer_radius_m >= cell.cell_radius_m ? "the cell" : "the shield itself",
        mm(shield.outer_radius_m)));
  if (shield.outer_radius_m - shield.opening_radius_m < gap)
    return refuse("the shield is thinner than a hair from opening to edge; give a smaller opening");
  if (!(shield.thickness_m >= 1e-5 && shield.thickness_m <= most_size_m))
    return refuse(
        fmt::format("a shield {} thick cannot be; give 0.01 mm or more", mm(shield.thickness_m)));
  if (!(shield.distance_m >= 0.0))
    return refuse(fmt::format("the shield's distance, {}, lies behind the disc; give 0 or more",
                              mm(shield.distance_m)));
  const bool over_disc = shield.opening_radius_m < cell.disc_radius_m;
  if (over_disc && shield.distance_m < std::max(gap, 1e-5))
    return refuse(
        "the shield lies on the disc and masks its edge; give it a distance, or plate a smaller "
        "disc");
  if (shield.distance_m < cell.rim_height_m && shield.opening_radius_m < cell.holder_radius_m &&
      shield.outer_radius_m > cell.disc_radius_m)
    return refuse(fmt::format(
        "the shield, at {}, cuts into the holder's rim, {} high; move it out or lower the rim",
        mm(shield.distance_m),
        mm(cell.rim_height_m)));
  if (!(shield.distance_m + shield.thickness_m <= cell.anode_distance_m - gap))
    return refuse(
        fmt::format("the shield, {} to {} from the disc, reaches the anode at {}; move one of them",
                    mm(shield.distance_m),
                    mm(shield.distance_m + shield.thickness_m),
                    mm(cell.anode_distance_m)));
  return Done{};
}

}  // namespace

SectionBox holder_box(const PlatingCell& cell) {
  return {-1.0, cell.holder_radius_m, -cell.holder_height_m, 0.0};
}

SectionBox rim_box(const PlatingCell& cell) {
  return {cell.disc_radius_m, cell.holder_radius_m, 0.0, cell.rim_height_m};
}

SectionBox shield_box(const PlatingCell& cell) {
  if (!cell.shield) return {};
  const auto& shield = *cell.shield;
  return {shield.opening_radius_m,
          shield.outer_radius_m,
          shield.distance_m,
          shield.distance_m + shield.thickness_m};
}

SectionBox anode_box(const PlatingCell& cell) {
  return {cell.anode_inner_radius_m > 0.0 ? cell.anode_inner_radius_m : -1.0,
          cell.anode_radius_m,
          cell.anode_distance_m,
          std::min(cell.level_m, cell.anode_distance_m + cell.anode_thickness_m)};
}

PlatingCell ordinary_cell(double disc_radius_m, double conductivity_S_per_m) {
  return {.disc_radius_m = disc_radius_m,
          .holder_radius_m = 1.1 * disc_radius_m,
          .holder_height_m = 0.25 * disc_radius_m,
          .cell_radius_m = 1.6 * disc_radius_m,
          .level_m = 1.9 * disc_radius_m,
          .anode_distance_m = 1.25 * disc_radius_m,
          .anode_radius_m = disc_radius_m,
          .anode_thickness_m = 0.3 * disc_radius_m,
          .conductivity_S_per_m = conductivity_S_per_m};
}

Outcome check(const PlatingCell& cell) {
  if (const auto sized = check_sizes(cell); !sized) return sized;
  const double gap = least_gap * cell.disc_radius_m;
  if (cell.disc_radius_m > cell.cell_radius_m)
    return refuse(
        fmt::format("the disc, {} in radius, is larger than the cell, {}; give a wider cell",
                    mm(cell.disc_radius_m),
                    mm(cell.cell_radius_m)));
  if (cell.holder_radius_m < cell.disc_radius_m || cell.holder_radius_m > cell.cell_radius_m)
    return refuse(
        fmt::format("the holder, {} in radius, must lie between the disc, {}, and the wall, {}",
                    mm(cell.holder_radius_m),
                    mm(cell.disc_radius_m),
                    mm(cell.cell_radius_m)));
  if (cell.rim_height_m > 0.0 && cell.holder_radius_m - cell.disc_radius_m < gap)
    return refuse("the holder has a rim but no edge beyond the disc for it; give a wider holder");
  if (cell.anode_radius_m > cell.cell_radius_m)
    return refuse(
        fmt::format("the anode, {} in radius, is larger than the cell, {}; give a smaller anode",
                    mm(cell.anode_radius_m),
                    mm(cell.cell_radius_m)));
  if (cell.anode_inner_radius_m > cell.anode_radius_m - gap)
    return refuse("the anode's inner radius leaves nothing of it; give a smaller one");
  if (!(cell.level_m - cell.anode_distance_m >= -1e-12 * cell.level_m))
    return refuse(fmt::format(
        "the level, {} above the disc, leaves the anode at {} dry; fill up or lower the anode",
        mm(cell.level_m),
        mm(cell.anode_distance_m)));
  if (!(cell.rim_height_m <= cell.anode_distance_m - gap))
    return refuse(fmt::format("the holder's rim, {} high, reaches the anode at {}; lower the rim",
                              mm(cell.rim_height_m),
                              mm(cell.anode_distance_m)));
  return check_shield(cell);
}

}  // namespace goodside::metal
