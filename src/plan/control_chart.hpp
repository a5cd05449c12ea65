#pragma once
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "plan/run_length.hpp"
#include "works/control_chart.hpp"

namespace goodside::plan {

/// Values taken together: one for a chart of single values.
struct Subgroup {
  std::string label{};
  std::vector<double> values{};
};
/// So many flawed discs (or faults) among so many looked at.
struct Counted {
  std::string label{};
  std::int64_t count{}, size{1};
};

struct ChartRequest {
  works::ChartKind kind{works::ChartKind::individuals};
  std::string what{}, unit{};
  std::int64_t baseline{};                  ///< the first points, that the limits rest on; 0: all
  std::optional<double> centre{}, sigma{};  ///< known beforehand, of single values
  std::vector<works::RunRule> rules{works::RunRule::beyond_limits};
  CusumDesign cusum{};
  EwmaDesign ewma{};
  std::optional<double> spec_low{}, spec_high{};
  double confidence{0.95};
};

/// Charts of measured values. sigma of single values:
///   individuals, and cusum and ewma of them: mean moving range / d2(2)   (stats/individuals.hpp)
///   xbar-r, and subgroups of cusum and ewma: R / d2(n), of xbar-s: s / c4(n); where samples differ
///   in size, the mean of these weighted by (d2/d3)^2, c4^2/(1 - c4^2) [I. W. Burr, 1969, from memory]
/// Limits: mean +- 3 sigma / sqrt(n); ranges d2 sigma +- 3 d3 sigma; deviations c4 sigma +- 3 sigma
/// sqrt(1 - c4^2); ewma centre +- width sigma sqrt(w/(2-w) (1 - (1-w)^(2i)) / n). Lower limits under
/// nought of what cannot be negative are none. Source: NIST/SEMATECH e-Handbook, 6.3.2; ASTM Manual
/// on Presentation of Data (constants computed: stats/spread_constants.hpp).
/// Capability where a specification is given, from the baseline's values:
///   Cp = (high - low)/(6 sigma), Cpk = min(high - mean, mean - low)/(3 sigma); Pp, Ppk with the
///   deviation of all; Cp's and Pp's intervals by chi squared, the others' by Bissell's
///   Cpk +- z sqrt(1/(9n) + Cpk^2/(2 nu)), nu the degrees of freedom behind sigma. Source: NIST/SEMATECH
///   e-Handbook, 6.1.6; A. F. Bissell, Applied Statistics 39, 1990 (from memory).
/// Errors: Fault::bad_input for too few points, values that are no numbers or all alike, samples of
/// one size short; Fault::out_of_range for figures that cannot be.
Result<works::ControlChart> chart_values(std::span<const Subgroup>, const ChartRequest&);

/// Charts of counts: p and np (binomial), u and c (Poisson), limits 3 sigma about the mean, each
/// with its own size. Source: NIST/SEMATECH e-Handbook, 6.3.3. Errors: as above; for np and c sizes
/// that differ.
Result<works::ControlChart> chart_counts(std::span<const Counted>, const ChartRequest&);

}  // namespace goodside::plan
