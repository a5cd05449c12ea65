#pragma once
#include "base/result.hpp"
#include "works/plating.hpp"

namespace goodside::metal {

/// A rectangle of the half section: radius and height from the disc's face.
struct SectionBox {
  double inner_m{}, outer_m{}, low_m{}, high_m{};
  [[nodiscard]] bool holds(double radius_m, double height_m) const {
    return radius_m > inner_m && radius_m < outer_m && height_m > low_m && height_m < high_m;
  }
};

// What stands in the liquid. An empty box where the cell has no such thing.
[[nodiscard]] SectionBox holder_box(const works::PlatingCell&);
[[nodiscard]] SectionBox rim_box(const works::PlatingCell&);
[[nodiscard]] SectionBox shield_box(const works::PlatingCell&);
/// Cut off at the level where it stands out of the liquid.
[[nodiscard]] SectionBox anode_box(const works::PlatingCell&);

/// A cell of ordinary proportions round a disc: holder 1.1, wall 1.6, anode 1.0, distance 1.25, level 1.9
/// times the disc's radius. Common practice, no source: measure your own.
[[nodiscard]] works::PlatingCell ordinary_cell(double disc_radius_m, double conductivity_S_per_m);

/// Whether such a cell can be. Errors: Fault::out_of_range: which piece, what it stands in, the mend.
[[nodiscard]] Outcome check(const works::PlatingCell&);

}  // namespace goodside::metal
