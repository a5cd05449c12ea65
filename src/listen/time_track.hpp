#pragma once
#include <vector>

namespace goodside::listen {

/// Programme time against capture time over one unbroken stretch of playing, between two jumps.
struct Stretch {
  double capture_from_s{};          ///< capture time of the first point
  double hop_s{};                   ///< spacing of the points in capture time, 0.02 s
  std::vector<double> programme_s;  ///< programme time under the stylus at capture_from_s + k hop_s
  std::vector<double>
      sigma_s;  ///< standard error of each; infinity where there was nothing to hold on to
};

/// A whole capture: its stretches in order of capture time.
using TimeTrack = std::vector<Stretch>;

}  // namespace goodside::listen
