#pragma once
#include <cstdint>
#include <vector>

#include "works/player.hpp"

namespace goodside::disc {

/// The platter's angle in closed form, so that any instant can be asked for in any order:
///   A(t) = omega [ (1 + speed_error) t + sum_k peak_k / (2 pi f_k) (sin(2 pi f_k t + phi_k) - sin
///   phi_k) ].
/// The slow wander is 40 such lines of equal power with random phases, spread logarithmically over
/// 0.03 to 1.5 Hz.
class Platter {
 public:
  Platter(double rpm, const works::Drive& drive, std::uint64_t seed);

  [[nodiscard]] double angle_rad(double time_s) const;  ///< A, 0 at time 0, rising
  [[nodiscard]] double rate_rad_per_s(double time_s) const;
  /// The time at which the platter has turned so far. Newton's method, to rounding.
  [[nodiscard]] double time_s(double angle_rad) const;

 private:
  struct Line {
    double angular_frequency, peak, phase, sine_at_zero;
  };
  double omega_rad_per_s_, speed_error_;
  std::vector<Line> lines_;
};

}  // namespace goodside::disc
