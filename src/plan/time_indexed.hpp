#pragma once
#include <cstdint>
#include <optional>

#include "plan/mixed_integer.hpp"
#include "plan/schedule_graph.hpp"

namespace goodside::plan {

struct ProofOptions {
  std::int64_t slot_s{
      0};  ///< 0: the largest that divides every time, if that gives few enough columns, else longer
  int most_columns{5000};
  MixedIntegerLimits limits{.nodes = 300, .pivots = 50000};
};

struct PlanProof {
  PlanCost bound;  ///< late, or end_s where no order has a due date; no plan is below
  bool exact{};    ///< slots divide all times and no change-over was left out: the bound can be met
  bool proven{};   ///< branch and bound came to its end
  std::int64_t slot_s{};
  int columns{};
};

/// Bounds a small plan by one integer problem, indexed by time [Sousa and Wolsey, Mathematical Programming 54, 1992]:
/// x(work, slot) = 1 where it begins then; each begins once; in every slot the works under way fit the units they
/// share; a work begins after the ends of those before it. Change-overs are left out and, on a grid that does not
/// divide them, times are rounded down, so that the value is below any plan's. `best` bounds how late anything can lie.
/// Errors: Fault::out_of_range where it takes more columns than allowed, or slots longer than a quarter of the mean work that
/// do not divide the works; Fault::not_converged of the solver.
Result<PlanProof> prove(const ShopIndex& index,
                        const ShopSchedule& best,
                        const ProofOptions& options);

/// Large-neighbourhood step: some works that stand together in time on a few units of one kind are taken out,
/// sequenced anew by the integer problem (change-overs as long as they are now), put back, and timed exactly. Empty
/// where that is no better. `focus` is a work to take out among them.
[[nodiscard]] std::optional<ShopSchedule> resequence(const ShopIndex& index,
                                                     const ShopSchedule& plan,
                                                     int focus,
                                                     std::size_t most_works,
                                                     const MixedIntegerLimits& limits);

}  // namespace goodside::plan
