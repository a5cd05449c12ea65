#pragma once
#include <string>
#include <vector>

#include "works/family.hpp"

namespace goodside::works {

/// Share of one source in the spread of a measure, with its 90 % interval.
struct SpreadComponent {
  std::string source;  ///< stamper, mounting, press, batch, recipe, shift; residual: disc by disc
  double variance{}, low{}, high{};
};

/// One stamper, press, batch … that stands out from its like.
struct SpreadLevel {
  std::string source, id;
  double effect{}, sigma{};  ///< over the mean of all, in the measure's unit
  int discs{};
};

/// Where a measure without a groove place of its own comes from.
struct Spread {
  std::string measure;  ///< noise, level, non-fill …
  std::vector<SpreadComponent> components{};
  DiscSide side{};
  std::string unit{};
  double mean{};
  int discs{};
  std::vector<SpreadLevel> levels{};    ///< those that stand out, surest first
  std::vector<std::string> not_told{};  ///< sources that the discs cannot tell, with the reason
  std::string intervals{};              ///< "profile" or "delta": how they were made
};

/// A displacement in the plane of the disc, in groove angle, from the hole to the groove's centre.
struct HoleOffsetEstimate {
  std::string id;
  double size_m{}, direction_deg{}, sigma_m{};  ///< sigma: along either axis
  int discs{};
};

/// How far a press's pin stands off, whichever way its stampers were turned.
struct PinOffsetEstimate {
  std::string press;
  double size_m{}, sigma_m{};
  int mountings{}, discs{};
};

/// Off-centre taken apart: the stamper's hole shows with one size and direction on every disc of
/// the stamper, the press's pin changes its direction with every mounting.
struct OffCentre {
  DiscSide side{};
  std::vector<SpreadComponent>
      components{};               ///< along either axis [m^2]: stamper, press, mounting, residual
  double mean_x_m{}, mean_y_m{};  ///< what all stampers share: the punch, if anything
  int discs{};
  std::vector<HoleOffsetEstimate> holes{};  ///< every stamper, greatest first
  std::vector<PinOffsetEstimate> pins{};    ///< every press with two mountings or more
  std::vector<std::string> not_told{};
};

}  // namespace goodside::works
