#pragma once
#include <cstdint>

#include "plan/plan_shop.hpp"
#include "works/shop_plan.hpp"

namespace goodside::plan {

struct PromiseOptions {
  std::int64_t replays{2000};
  std::uint64_t seed{1};  ///< the same luck for every plan of the works under the same seed
  int jobs{0};            ///< threads, which change nothing; 0: one a core
};

/// How a plan fares when the world is not as planned. Each replay works the plan off as a list, in the order of its sequence:
/// each work begins as soon as what it waits for is done and its units are free, and where a unit holds it up by more than an
/// hour it goes to the one of its kind with the same hours that is free first. Drawn are
///   a work's time      log-normal about the planned median, by the step's spread
///   discs that pass    from a good share whose logit is normal about the step's yield: what is lost is done again
///   breakdowns         Poisson over the time worked on the station's machines, each repaired in a log-normal time
///   stampers' lives    Weibull, side by side as pairs: how often a work changes stampers; beyond the spares each change
///                      waits for new metal, as long as the route's steps before take. A title without a law of its own
///                      has one of shop.lives, the same for all of a replay. The first work of a title goes on with
///                      stampers of the title's ages
///   refusals           of a step (test pressing, approval): it and the steps from `again` on once more, until accepted
/// and works all times out anew. Works that are fixed begin no sooner; one that has begun draws what is left of it. Every draw hangs on the seed, the replay, and
/// the work's name alone [common random numbers], so that two plans of the same orders meet the same luck and any
/// number of threads gives the same answer.
/// An order's causes: along the path that held up its last work, what each work took beyond plan is put down to
/// what made it so; only late replays count, weighed by their lateness.
/// Shares have Clopper and Pearson's interval. O(replays x works).
[[nodiscard]] works::PlanPromise promise(const works::Shop& shop,
                                         const PlannedShop& planned,
                                         const PromiseOptions& options);

}  // namespace goodside::plan
