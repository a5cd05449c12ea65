#pragma once
#include <vector>

#include "listen/features.hpp"

namespace goodside::listen {

/// Where the programme lies at one moment of the capture: programme time = capture time + offset.
struct PlacePoint {
  double capture_s{}, offset_s{}, score{};
};

/// A run of playing without a jump, known to about 10 ms.
struct PlacedStretch {
  double capture_from_s{}, capture_to_s{};
  std::vector<PlacePoint> points;  ///< at least two, in order of capture time
  /// Between the points by straight lines; past either end on the mean slope of its last five
  /// seconds.
  [[nodiscard]] double programme_at(double capture_s) const;
};

struct Placement {
  bool found{};
  double confidence{};  ///< median correlation of the features along the path; 0.25 divides right
                        ///< from wrong
  std::vector<PlacedStretch> stretches;  ///< in order of capture time
};

/// Lays the reference over the capture from their features alone: anchors are sought over the whole
/// reference, the straightest chain of them is followed chunk by chunk, and a Viterbi path over
/// candidate offsets finds skips, repeats and locked grooves. Jumps of whole turns (`revolution_s`)
/// are cheaper than others. Valid: speed within 6 % of the cut's; captures from 5 s, any part of
/// the reference. A wrong title gives found = false.
Placement place(const Features& capture, const Features& reference, double revolution_s);

}  // namespace goodside::listen
