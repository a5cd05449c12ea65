#pragma once
#include <vector>

#include "base/result.hpp"

namespace goodside::dispatch {

/// A rectangle on the floor [m].
struct Footprint {
  double length_m{}, width_m{};
};

/// A carton on a layer: its corner nearest the pallet's, turned by a quarter or not.
struct CartonPlace {
  double x_m{}, y_m{};
  bool turned{};
};

/// How cartons stand on one layer of a pallet, none over the edge: the best of all patterns of five blocks (four round
/// the rim and one in the middle, each of cartons that lie one way), rows and two-block patterns being among them.
/// Not always the most that is possible, but never more. Measured in tests against exhaustive search on small floors.
/// Cost: O(k^4) in the number k of distinct sums of length and width along a side, k held under 40.
/// Errors: Fault::out_of_range for sizes that are not above nought and under 20 m.
Result<std::vector<CartonPlace>> pallet_pattern(const Footprint& pallet, const Footprint& carton);

}  // namespace goodside::dispatch
