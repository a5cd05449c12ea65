#pragma once
#include <cstdint>
#include <vector>

#include "base/result.hpp"

namespace goodside::plan {

/// min c x  subject to  low <= A x <= high,  0 <= x <= upper, some x whole.
struct MixedInteger {
  struct Column {
    double cost{}, upper{1.0};
    bool whole{true};
  };
  struct Row {
    double low{}, high{};  ///< infinite where there is none
    std::vector<int> columns;
    std::vector<double> factors;
  };
  std::vector<Column> columns;
  std::vector<Row> rows;
};

struct MixedIntegerLimits {
  int nodes{2000};     ///< of branch and bound
  int pivots{200000};  ///< of the simplex method, each relaxation
};

struct MixedIntegerAnswer {
  bool proven{};            ///< the best there is
  bool found{};             ///< `values` can be used
  double value{}, bound{};  ///< of the best found; below which none can be
  std::vector<double> values{};
};

/// By maths::LinearProgramme: dual simplex, then branch and bound without cuts. Budgets count nodes and pivots, never
/// seconds, so that the same problem has the same answer, but for one that takes a minute. Safe from several threads.
/// Errors: Fault::not_converged where the relaxation meets its budget or fails; Fault::out_of_range where nothing is
/// feasible.
Result<MixedIntegerAnswer> solve(const MixedInteger& problem, const MixedIntegerLimits& limits);

}  // namespace goodside::plan
