#pragma once
#include <cstddef>
#include <vector>

#include "trace/axis.hpp"
#include "trace/beliefs.hpp"
#include "trace/family_index.hpp"

namespace goodside::trace {

/// log(a e^log_ratio + 1 - a): a disc that is touched with probability a.
[[nodiscard]] double touched_with(double a, double log_ratio);

/// What the discs of one unit say of a fault, for every detection probability p, onset cell and end
/// cell: the log-likelihood ratio against a fault that touched none of them is
///   from[p][onset] + upto[p][end] + together[p][block of onset, block of end]
/// (range_scan.hpp). A disc whose impression is known is touched or not; of one that lies in an
/// interval the share behind the onset and before the end is touched, exactly while only one of the
/// two falls into the interval, and else by blocks of cells: exact up to 32 cells.
class UnitLikelihood {
 public:
  explicit UnitLikelihood(const Axis& axis);

  /// Adds `count` discs of this ratio; a negative count takes them off again.
  void add(const Axis& axis, const Member& member, const ByDetection& log_ratio, double count);
  /// To be called once behind all additions, before the three are read.
  void finish();
  /// Lays a finished one under this, which is not finished yet.
  void lay_under(const UnitLikelihood& base);

  std::vector<std::vector<double>> from, upto, together;  ///< by detection
  std::size_t blocks{1};

 private:
  void add_uncertain(const Axis& axis,
                     const Member& member,
                     const ByDetection& ratio,
                     double count);
  std::vector<ByDetection> at_;      ///< of each cell, before it is summed from behind
  std::vector<double> onset_, end_;  ///< representative of each block
  std::vector<double> middle_;       ///< of each cell
};

}  // namespace goodside::trace
