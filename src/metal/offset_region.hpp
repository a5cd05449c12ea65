#pragma once
#include "works/centring.hpp"

namespace goodside::metal {

struct OffsetCovariance {
  double xx{}, xy{}, yy{};      ///< m2
  double degrees_of_freedom{};  ///< of the scatter they rest on; infinite where it is known
};

/// Fills in what the covariance says of an estimate that has its x, y and confidence: standard uncertainties, the
/// interval of each alone (Student's t) and the ellipse of both (F of 2), with the least and the greatest length of an
/// offset in it. The length of an offset is never negative, so a small one reads too long on average: the region says
/// what is known. Source: [NIST-Handbook] 4.1.4.1; Hotelling's region of a fitted pair.
void put_uncertainty(works::OffsetEstimate& estimate, const OffsetCovariance& covariance);

}  // namespace goodside::metal
