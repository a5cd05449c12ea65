#pragma once
#include <array>
#include <span>
#include <vector>

#include "base/result.hpp"
#include "trace/weibull_lives.hpp"
#include "works/stamper_life.hpp"

namespace goodside::trace {

/// What a change of stamper costs the works, in money of one kind.
struct FailureCost {
  double change{};          ///< the unplanned change: stand of the press, the next stamper
  double scrapped_discs{};  ///< pressed before it was noticed, in the mean
};
struct PullCosts {
  double planned_change{};  ///< at a time of the works' choosing, the next stamper included
  double disc{};            ///< one scrapped disc
  std::vector<FailureCost> failures;  ///< one a cause, in the fit's order
};

/// Cost per disc where every stamper is pulled at age T (or fails before):
///   C(T) = [ planned S(T) + sum_k failure_k F_k(T) ] / integral over (0, T) of S,
/// S the share that outlives all causes, F_k the share that ends by cause k before T. Renewal and
/// reward: source R. E. Barlow, F. Proschan, Mathematical Theory of Reliability, Wiley 1965,
/// chapter 4 (age replacement; from memory). T > 0, may be `never`.
[[nodiscard]] double cost_per_disc(std::span<const WeibullLaw>, const PullCosts&, double age);

/// The share that ends by `cause` up to `age`.
[[nodiscard]] double ended_by(std::span<const WeibullLaw>, std::size_t cause, double age);

/// The T that makes C(T) least: none where no T is cheaper than never by more than 0.1 %, as with
/// shapes of 1 and less, or where a planned change costs as much as a failure. Searched on 400 ages
/// even in their logarithm over the whole of the law, then refined; accuracy 1e-6 of the age, save
/// where the cost is so flat that it makes no odds.
/// Errors: Fault::out_of_range for costs that are negative or no number, or no cost at all.
[[nodiscard]] Result<works::PullLimit> pull_limit(std::span<const WeibullLaw>, const PullCosts&);

}  // namespace goodside::trace
