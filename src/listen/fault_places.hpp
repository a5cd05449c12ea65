#pragma once
#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "works/disc_plays.hpp"

namespace goodside::listen {

/// The findings of several plays that lie at one place of the groove.
struct MatchedPlace {
  std::vector<works::Showing> plays;              ///< one a play
  std::vector<std::optional<std::size_t>> fault;  ///< index into that play's faults
  std::vector<double> coincidence;  ///< a play: chance of an unrelated fault within the window
};

struct Matched {
  std::vector<MatchedPlace> places;  ///< in order of programme time
  double window_s{};
  std::optional<double> jitter_s;  ///< rms of a tick's time about the mean of its findings, a play
};

/// Gathers faults by programme time. Two findings are one where they lie no further apart than
///   3 hypot(sigma_a, sigma_b) + 1.5 ms,
/// sigma the reports' `programme_sigma_s`; findings of more than 10 ms, whose onset is vague, half
/// their length more. A second finding of the same play within the window is taken as the same
/// fault. A place that a play did not hear is `not_heard` there, never `missed`. The chance of an
/// unrelated fault within the window of w either way is 1 - exp(-2 w r), r the rate of that play's
/// other faults within 5 s, Poisson. Faults without programme time and masked ones are passed over.
/// O(n log n) for n faults.
[[nodiscard]] Matched match_places(std::span<const works::ListeningReport> plays);

}  // namespace goodside::listen
