#pragma once
#include <optional>
#include <span>

#include "listen/eccentricity.hpp"

namespace goodside::listen {

/// A mean speed and where it was taken.
struct MeanSpeed {
  double speed{};  ///< programme time over capture time
  double sigma{};  ///< standard error from what is unsure at the ends
  double heard_s{};
};

/// Programme time passed over capture time passed: the exact mean of d(programme)/d(capture)
/// between the first and the last point of each stretch that weighs well (sigma within five
/// medians, or 5 us), so that a faded ending has no say; the ends are read off a cubic through the
/// nearest 20 such points. `also_s[n]`, when not empty, is added to the programme time (arm, line).
/// nullopt when no stretch holds a second of such points.
std::optional<MeanSpeed> mean_speed(const TrackPoints& points, std::span<const double> also_s);

}  // namespace goodside::listen
