#pragma once
#include <cstdint>
#include <vector>

#include "base/result.hpp"
#include "plan/life_law.hpp"

namespace goodside::plan {

/// How many stampers of one side, one after another, give so many closings: the chance that k lives
/// add up to at least T, exactly by convolution.
///   P(k) = sum over i of C(k, i) q^i [ (1 - q)^(k - i) - F_(k-i)(T - i pull) ],
/// q the chance to reach the pull limit, F_m the m-fold convolution of lives that end before it.
/// Lives are laid on a lattice of a fortieth of their deviation (from 150 lives on a tenth), each
/// cell with its own mass; accuracy 2e-4 in the chance, measured against gamma and Poisson sums.
/// The first may have an age. Cost: lives x lattice x longest life.
class StamperSupply {
 public:
  /// For thresholds up to `most_closings` and up to `most` stampers. `first_age`: closings that the
  /// first one, now on the press, has done; 0: new.
  StamperSupply(const LifeLaw&, double most_closings, int most, double first_age = 0.0);

  /// P(k stampers give `closings` or more), 0 <= k <= most, closings <= most_closings.
  [[nodiscard]] double enough(int stampers, double closings) const;

 private:
  using Masses = std::vector<double>;  ///< of sums by the lattice, added up from nought
  [[nodiscard]] double below(const Masses& sums, double closings) const;
  [[nodiscard]] double new_ones(int stampers, double closings) const;

  double step_{}, pull_{}, reaches_pull_{}, excess_{};
  std::vector<Masses> sums_{};  ///< of 0, 1, 2 … lives
  bool aged_{};
  double first_pull_{}, first_reaches_{};
  std::vector<Masses> aged_sums_{};  ///< of the first one's rest and 0, 1, 2 … lives
};

/// What a title asks of its stampers. Both sides run as a pair on one press: the end of one stops
/// both, and the good one is paired again. Every mounting takes `warm_up` closings, and a stamper that
/// fails has pressed `unnoticed` flawed discs by then: both wear the other side too.
struct StamperDemand {
  double impressions{};     ///< wanted, warm-up and unnoticed ones not among them
  double warm_up{};         ///< closings a mounting
  double unnoticed{};       ///< flawed discs pressed before a failure is noticed
  int hand_a{}, hand_b{};   ///< good stampers in the house
  double age_a{}, age_b{};  ///< closings of the one that is on the press, among those; 0: all new
  double yield{1.0};        ///< share of stampers begun that come out good
  /// Closings that `own` stampers of one side must give where the other has `other`: all are charged
  /// as if every stamper were used, so that the chances are the least they can be.
  [[nodiscard]] double closings_of(double own, double other) const;
};

/// One choice of stampers to begin.
struct StamperChoice {
  int a{}, b{};
  double enough{};   ///< chance that enough come out good and last
  double missing{};  ///< mean number of stampers that are wanting, where they do not
  double cost{};     ///< of those begun, and of those wanting
  [[nodiscard]] int all() const { return a + b; }
};
struct StamperNeed {
  StamperChoice chosen{};  ///< fewest in all with the chance asked for
  std::vector<StamperChoice>
      around{};               ///< for each number in all, the best split, rising from none
  StamperChoice cheapest{};   ///< least cost
  double used_a{}, used_b{};  ///< mean used
  int good_a{}, good_b{};     ///< good ones that last with that chance, were none in the house
  int whole_pairs{};          ///< pairs, were both scrapped when one ends; 0: out of reach
};
struct StamperCosts {
  double stamper{};   ///< of one begun
  double shortage{};  ///< of standing for one that is wanting, beside its growing
};

/// Enough where the stampers in the house and those of the begun that come out good (binomial) last.
/// What is wanting is grown then, at `stamper` over the yield and `shortage` each: the newsvendor's sum.
/// Errors: Fault::out_of_range for a law or demand that cannot be, or a need of more than 400
/// stampers a side.
Result<StamperNeed> stamper_need(const LifeBelief&,
                                 const StamperDemand&,
                                 const StamperCosts&,
                                 double chance);

/// The fewest parts to start so that `wanted` come out good with `confidence`, each with `yield`.
[[nodiscard]] std::int64_t starts_for(std::int64_t wanted, double yield, double confidence);

}  // namespace goodside::plan
