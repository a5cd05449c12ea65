#pragma once
#include "trace/touched.hpp"
#include "works/trace_costs.hpp"
#include "works/trace_report.hpp"

namespace goodside::trace {

/// What to do, by expected cost.
///   leave:     P(the cause still acts) * discs to come * cost of a flaw out
///   remedy r:  cost(r) + look + A(r): the first disc after it is spot-heard and, where the cause was
///              left, the cheapest way on is taken,
///              with P given that the fault still acts,
///              A(r) = min{ P(left by r) * discs to come * cost of a flaw out,
///                          min over h above r of P(left by r) * (cost(h) + look) + A(h) }
///   stock: ship: flawed * cost of a flaw out; inspect: discs * cost of looking + flawed * disc;
///          scrap: discs * disc
/// with the table of the works (TraceCosts). Washing takes nine in ten of what belongs to a
/// mounting and one in five of what came to a stamper after its birth (judgement, no source); a new
/// stamper takes
/// what the mother has not, and so on upwards.
[[nodiscard]] works::Action action_for(const FamilyIndex& index,
                                       const Attribution& why,
                                       const works::RecurringFault& fault,
                                       const works::TraceCosts& costs);

}  // namespace goodside::trace
