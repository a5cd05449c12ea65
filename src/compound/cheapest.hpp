#pragma once
#include "base/result.hpp"
#include "works/mix_report.hpp"

namespace goodside::compound {

/// How much dry compound the stock must reach for; 0: stock does not count.
struct Ahead {
  double mass_kg{};
};

/// The cheapest recipe within every bound, a linear programme in the dry fractions w_i:
///     minimise sum p_i u_i w_i  with  sum w_i = 1,  low_i <= w_i <= high_i,
///     bounds of each role's share, of 1/rho, of the binder's volume, of each property's mean,
///     u_i w_i mass <= stock_i,   u_i = 1/(1 - moisture).
/// An ingredient without bounds of its own moves where its role has bounds, and otherwise stays as it
/// is. A mean by volume, sum (w_i/rho_i)(q_i - bound) >= 0, is linear as well.
/// Where no recipe keeps every bound, `broken` names those that the least breach (each in shares of
/// its own size) leaves broken.
/// Errors: Fault::bad_input for an ingredient that may move and has no price, or lacks a property that
/// is bounded, or nothing that may move; Fault::not_converged.
Result<works::Cheapest> cheapest(const works::Recipe& recipe, const Ahead& ahead);

}  // namespace goodside::compound
