#pragma once
#include "base/result.hpp"
#include "metal/spread.hpp"
#include "works/plating.hpp"

namespace goodside::metal {

struct ShieldSearch {
  double thickness_m{5e-3};
  double outer_radius_m{};  ///< the cell's radius: closed on the wall
  double wanted_evenness{0.05};
  double fineness{0.5};  ///< of the meshes that are tried
  int jobs{0};           ///< 0: one a core; the answer is the same for any number
};

struct FoundShield {
  works::CellShield shield;
  double evenness{};  ///< of the band at `current_A`, on the mesh of the search
  bool reached{};
  int tried{};
};

/// The opening and distance that make the band most even at one current. The objective has kinks where the
/// place of least or most thickness jumps, so: a scan of 9 x 7 (openings from a third of the disc to the
/// ring's edge, distances from near the rim to near the anode), then a compass search from the three best of it that do
/// not touch, halving its step to 0.2 mm or 1e-3 of the disc. Among settings of equal evenness (1e-4) the wider opening.
/// Errors: Fault::out_of_range where no shield fits between disc and anode; those of PotentialField.
[[nodiscard]] Result<FoundShield> best_shield(const works::PlatingCell&,
                                              const works::Kinetics&,
                                              const GrooveBand&,
                                              double current_A,
                                              const ShieldSearch&);

}  // namespace goodside::metal
