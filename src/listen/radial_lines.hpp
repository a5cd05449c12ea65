#pragma once
#include <cstddef>
#include <vector>

#include "listen/groove_index.hpp"

namespace goodside::listen {

struct RadialSearch {
  double slope_deg_per_turn{12.0};  ///< how far from radial a scratch may run, either way
  double wander_deg{0.3};           ///< standard deviation of a tick about a smooth scratch
  double wander_per_slope{0.05};    ///< the same, in degrees for each degree a turn of slope
  double site_deg{1.0};             ///< ticks closer than this are one crossing of the scratch
  int missed_turns{2};              ///< successive turns that a scratch may be silent
  int least_turns{3};               ///< turns struck
  double false_lines{0.05};         ///< expected false lines a side
};

/// Events that lie on one scratch: indices into the GrooveIndex, in order.
struct RadialLine {
  std::vector<std::size_t> events;
  double evidence{};  ///< natural logarithm of the likelihood ratio, scratch over chance
};

/// Scratches: ticks at one angle, or at an angle that creeps steadily, on successive turns.
///
/// A line is opened by two ticks one or two turns apart and followed with a straight fit of its
/// last eight; each turn adds the logarithm of the likelihood ratio
///     struck: ln(q / p)      silent: ln((1 - q) / (1 - p)),   p = 1 - exp(-lambda),   q = 0.8,
/// with lambda the events that chance puts into the window of +-3 sigma of the prediction, at the
/// largest of three rates: of the whole side, of +-8 turns, and of the +-30 degrees beside the
/// line, which keeps dirt and crackle from passing as scratches. Under chance the product of those
/// ratios has mean 1 whatever its length, hence P(it ever exceeds e^s) <= e^-s (Ville's
/// inequality); with the expected number of openings, evidence >= ln(sites / false_lines) keeps the
/// expected false lines of a side under `false_lines`. Where chance alone fills a window more often
/// than 4 times in 10, nothing is claimed. Constants of `RadialSearch`: common practice, no source.
/// Lines come with most evidence first and share no event. Cost: about n times the ticks a turn in
/// 24 degrees.
[[nodiscard]] std::vector<RadialLine> radial_lines(const GrooveIndex& ticks,
                                                   const HeardTurns& heard,
                                                   const RadialSearch& search);

}  // namespace goodside::listen
