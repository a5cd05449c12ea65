#pragma once
#include <span>
#include <vector>

#include "trace/beliefs.hpp"
#include "trace/coincide.hpp"
#include "trace/family_index.hpp"
#include "works/heard_play.hpp"

namespace goodside::trace {

/// That a disc is not what its label says (judgement, no source).
inline constexpr double mistaken = 0.004;

/// One play that heard the place.
struct Look {
  const Event* event{};  ///< what it found; null: nothing
  double sigma_s{};
  works::After after{};
  double alike{};  ///< log of how much likelier it sounds as one of the others than as a stray
};

[[nodiscard]] bool heard_at(const works::HeardPlay& play, double programme_s);

/// Plays of a disc that heard the place, with what they found.
[[nodiscard]] std::vector<Look> looks_at(const HeardDisc& heard,
                                         std::span<const works::HeardPlay> plays,
                                         const Coincidences& all,
                                         double programme_s,
                                         std::span<const int> events);

/// A find that a later cleaned play does not show was dust, whatever the odds.
[[nodiscard]] bool stands(std::span<const Look> looks);

/// log P(looks | the disc has the fault, p) / P(looks | it has not) for each detection probability p:
/// found once  p e^alike N(t_d - t; sigma) / lambda + 1 - p,  not found  1 - p. Several plays multiply;
/// without the fault the finds are the disc's own pressed-in fault, a grain of dust that cleaning takes
/// away, or a stranger in each play. N has 7 % of its weight at three times the width.
[[nodiscard]] ByDetection disc_ratio(std::span<const Look> looks,
                                     double programme_s,
                                     double rate_per_s);

}  // namespace goodside::trace
