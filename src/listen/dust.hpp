#pragma once
#include <span>
#include <vector>

#include "listen/fault_places.hpp"
#include "works/disc_plays.hpp"

namespace goodside::listen {

/// Chance that a speck lying in the groove is gone after what was done to the disc. Common
/// practice, no source: set so that one brushing that a plain fault outlives makes it the disc's
/// with 9 in 10. Playing and reseating move a speck too.
[[nodiscard]] double removal_chance(works::After after);

/// How surely a fault that is there is found again, from second looks: a play counts where the
/// fault was found before and after it, or just before it with no cleaning between. Mean of the
/// beta posterior; the prior means are 0.97 (plain) and 0.8 (slight), worth 10 looks each (no
/// source).
[[nodiscard]] works::Detection detection(const Matched& matched,
                                         std::span<const works::ListeningReport> plays,
                                         std::span<const works::After> after);

/// What was seen of one place, play by play.
struct Sightings {
  std::span<const works::Showing> plays;
  std::span<const works::After> after;
  std::span<const double> coincidence;
  double detection{};      ///< in (0, 1)
  double disc_prior{0.5};  ///< before it was played again
};

/// The probability that a place belongs to the disc, by Bayes' rule over three stories: it is of
/// the disc and there in every play (prior p), a speck that lay there at first ((1 - p) 0.8) or one
/// that came at some later play ((1 - p) 0.2, each alike). A speck goes with `removal_chance`
/// before each later play and stays away. A play finds what is there with `detection`, and
/// something at the place all the same with `coincidence`. Groove that was not heard says nothing,
/// though what was done before that play still counts.
[[nodiscard]] double disc_probability(const Sightings&);

/// From 9 in 10 on, either way; between, undecided.
[[nodiscard]] works::Owner owner_of(double disc_probability);

}  // namespace goodside::listen
