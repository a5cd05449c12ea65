#pragma once
#include <array>
#include <optional>
#include <span>

#include "base/result.hpp"
#include "trace/pull_limit.hpp"
#include "works/stamper_life.hpp"

namespace goodside::trace {

/// Costs by cause, in the order of works::LifeCause; an end whose cause nobody knows costs the mean
/// of the four.
struct LifeCosts {
  double planned_change{}, disc{};
  std::array<FailureCost, works::life_causes> failures{};
};

struct LifeOptions {
  double confidence{0.95};
  int ends_for_shape{3};             ///< by one cause; with fewer its shape is taken as 1
  std::optional<LifeCosts> costs{};  ///< none: no pull limit
  int jobs{};                        ///< threads; 0: one a core. The answer does not depend on it
};

/// Stampers' lives: all together, then by material, press and facing wherever two or more values
/// are known. A group gets its laws by cause (weibull_lives.hpp), the curve without a law
/// (turnbull.hpp) and the cheapest pull limit (pull_limit.hpp); whether the groups of a kind differ
/// is asked with ends by any cause, one law for all against one for each, over groups of
/// `ends_for_shape` ends or more. Where a group has no ends, or no law fits, `undetermined` says
/// why, and the curve stands.
/// Errors: Fault::bad_input for no stampers, or one whose ages are no numbers, negative or in the
/// wrong order (it is named); Fault::out_of_range for costs or a confidence that cannot be.
[[nodiscard]] Result<works::LifeReport> stamper_lives(std::span<const works::StamperLife>,
                                                      const LifeOptions&);

}  // namespace goodside::trace
