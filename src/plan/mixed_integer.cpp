#include "plan/mixed_integer.hpp"

#include <cmath>

#include "maths/linear_programme.hpp"

namespace goodside::plan {
namespace {

using maths::Found;
using maths::LinearProgramme;

LinearProgramme posed(const MixedInteger& from, bool relaxed) {
  LinearProgramme programme;
  for (const auto& column : from.columns)
    programme.add(
        {.cost = column.cost, .low = 0.0, .high = column.upper, .whole = column.whole && !relaxed});
  std::vector<LinearProgramme::Term> terms;
  for (const auto& row : from.rows) {
    terms.clear();
    for (std::size_t k = 0; k < row.columns.size(); ++k)
      terms.push_back({row.columns[k], row.factors[k]});
    programme.constrain(terms, row.low, row.high);
  }
  return programme;
}

}  // namespace

Result<MixedIntegerAnswer> solve(const MixedInteger& from, const MixedIntegerLimits& limits) {
  const bool relaxed = limits.nodes <= 0;
  const auto solved =
      posed(from, relaxed).solve({.nodes = limits.nodes, .pivots = limits.pivots, .cuts = false});
  if (solved.found == Found::none || solved.found == Found::endless)
    return Error{Fault::out_of_range, "nothing is feasible"};
  if (!solved.is_feasible() && std::isinf(solved.bound))
    return Error{Fault::not_converged,
                 "the relaxation met its budget of pivots; make the problem smaller"};
  MixedIntegerAnswer answer{.proven = !relaxed && solved.found == Found::best,
                            .found = !relaxed && solved.is_feasible(),
                            .bound = solved.bound};
  if (answer.found) answer.value = solved.cost, answer.values = solved.values;
  return answer;
}

}  // namespace goodside::plan
