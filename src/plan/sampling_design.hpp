#pragma once
#include <cstdint>
#include <span>
#include <vector>

#include "base/result.hpp"
#include "plan/sampling_walk.hpp"

namespace goodside::plan {

/// What a plan must do: hold a good lot (producer_quality flawed or fewer) with at most
/// producer_risk, ship a bad one (consumer_quality or more) with at most consumer_risk. Shares of the
/// lot; of a process where lot = 0.
struct Risks {
  std::int64_t lot{};
  double producer_quality{0.01}, producer_risk{0.05};
  double consumer_quality{0.065}, consumer_risk{0.10};
  /// Flawed discs of the best and worst lots: rounded down and up.
  [[nodiscard]] DiscSource good() const;
  [[nodiscard]] DiscSource bad() const;
};

/// A plan, and the risks it truly has.
struct DesignedPlan {
  std::vector<SamplingStage> stages{};  ///< empty: sequential
  Boundaries boundaries{};
  double producer_risk{}, consumer_risk{};
  double heard_good{}, heard_bad{};  ///< mean discs heard, of good and bad lots
};

/// The single plan with the fewest discs that keeps both risks, exactly (hypergeometric; binomial for
/// a process).
/// Errors: Fault::out_of_range for shares or risks that cannot be, or a lot in which the two
/// qualities are one and the same count of flawed discs.
Result<DesignedPlan> design_single(const Risks&);

/// The double plan, second sample as large as the first or twice as large, that hears the fewest
/// discs of good lots in the mean, stopped as soon as its verdict stands. Searched over all
/// acceptance numbers to five above the single plan's. Errors: as above.
Result<DesignedPlan> design_double(const Risks&);

/// Wald's likelihood-ratio lines between the two qualities, exact for the lot: with D1, D2 flawed of
/// N and d of m heard
///   R(m, d) = C(D2, d) C(N - D2, m - d) / [C(D1, d) C(N - D1, m - d)],
/// ship at R <= B, hold at R >= A. A and B are drawn together from Wald's (1 - b)/a and b/(1 - a) as far
/// as the exact risks allow, which spares the discs that his overshoot costs; a lot ends by itself, a
/// process at `most` discs (none: three times the single plan). Source: A. Wald, Sequential Analysis,
/// Wiley 1947. Errors: as above.
Result<DesignedPlan> design_sequential(const Risks&, std::int64_t most = 0);

/// Wald's own figures for a process: lines  -h1 + s m  and  h2 + s m, and his approximate averages,
/// which leave out the overshoot and so are low.
struct WaldLines {
  double h1{}, h2{}, slope{};
  double heard_good{}, heard_bad{}, heard_at_slope{};
  double ships_at_slope{};
};
[[nodiscard]] WaldLines wald_lines(const Risks&);
/// The plan of those lines disc by disc, to `most`; the last disc decides by the nearer line.
[[nodiscard]] Boundaries boundaries_of(const WaldLines&, std::int64_t most);

/// One point of a plan's curves at a share of flawed discs.
struct CurvePoint {
  double share{}, ships{}, heard{};
  double outgoing{};   ///< flawed share that leaves the works where held lots are heard whole and
                       ///< flawed discs replaced by good ones
  double inspected{};  ///< discs heard a lot, held lots whole
};
/// Curves over shares from 0 to where under 1 in 200 is shipped (lots: at most `points` counts of
/// flawed discs), and the highest outgoing share.
struct PlanCurves {
  std::vector<CurvePoint> points{};
  CurvePoint worst{};
};
[[nodiscard]] PlanCurves curves(const Boundaries&, std::int64_t lot, int points = 60);

}  // namespace goodside::plan
