#pragma once
#include <array>
#include <optional>
#include <vector>

namespace goodside::intake {

/// A ring's radius [px] round the turn: harmonics 0 to 2 about a centre. A circle seen by a camera is an ellipse, which
/// these hold to R (1 - b/a)^2 / 16: a thousandth of a pixel for 4 degrees of tilt and R = 700.
struct Wave {
  std::array<double, 5> c{};
  [[nodiscard]] double at(double turn_rad) const;
};

struct WavePlace {
  double turn_rad{}, radius_px{};
  double weight{1.0};
};

/// Weighted least squares of a wave through radii, those farther off than `reach_px`, or three medians of the
/// deviations, left out in turn. None from fewer than 20 places.
std::optional<Wave> fit_wave(const std::vector<WavePlace>& places, double reach_px);

}  // namespace goodside::intake
