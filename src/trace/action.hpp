#pragma once
#include "trace/touched.hpp"
#include "works/trace_costs.hpp"
#include "works/trace_report.hpp"

namespace goodside::trace {

/// What to do, by expected cost.
///   remedy r:  cost(r) + P(the cause is left by r and still acts) * discs to come * cost of a flaw out
///   stock: ship: flawed * cost of a flaw out; inspect: discs * cost of looking + flawed * disc;
///          scrap: discs * disc
/// with the table of the works (TraceCosts). Washing takes nine in ten of what belongs to a
/// mounting and one in five of what sits on a stamper (judgement, no source); a new stamper takes
/// what the mother has not, and so on upwards.
[[nodiscard]] works::Action action_for(const FamilyIndex& index,
                                       const Attribution& why,
                                       const works::RecurringFault& fault,
                                       const works::TraceCosts& costs);

}  // namespace goodside::trace
