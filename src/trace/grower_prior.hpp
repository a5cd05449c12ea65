#pragma once
#include <array>
#include <span>
#include <vector>

#include "trace/beliefs.hpp"
#include "trace/family_index.hpp"
#include "trace/range_scan.hpp"

namespace goodside::trace {

/// Prior over the children of a part that grows others: which came first with the fault, and which
/// first without it again.
struct GrowerPrior {
  struct Ending {
    double share{1.0}, never{};
    bool survived{};
    std::vector<double> mass{};
  };
  std::vector<double> onset;
  std::array<Ending, 2> ends;  ///< of itself; else where something was done, or never

  [[nodiscard]] Range range(const Ending& ending,
                            std::span<const double> from,
                            std::span<const double> upto) const {
    return {.onset = onset,
            .end = ending.mass,
            .never = ending.never,
            .survived = ending.survived,
            .from = from,
            .upto = upto};
  }
};

/// Birth on the first child; `at_step` of the rest where something was done between two children, what is
/// left evenly between them. It ends of itself with `ceases`, else at each thing done with `mended`.
[[nodiscard]] GrowerPrior prior_of(const Grower& part, const Beliefs& beliefs);

}  // namespace goodside::trace
