#pragma once
#include <optional>
#include <string>
#include <vector>

#include "works/listening_report.hpp"

namespace goodside::works {

// The contract goodside.plays/1 as plain structs: several plays of one side of one disc, and what of
// the faults and of the offset stays with the disc.

/// What was done to the disc before it was played.
enum class After { as_found, brushed, washed, reseated };

struct DiscPlay {
  AudioFile capture;
  After after{};
  std::vector<Interval_s> heard;
  int plain_faults{}, slight_faults{};
  std::optional<double> eccentricity_m, eccentricity_sigma_m, eccentricity_direction_deg;
  int seating{};  ///< from 1; a play that was not reseated or washed shares that of the one before
};

/// How a place showed in one play.
enum class Showing { found, missed, not_heard };

/// Whose a fault is.
enum class Owner { disc, dust, undecided };

/// One place in the groove where at least one play has a fault.
struct FaultPlace {
  FaultEvent fault;            ///< as the last play that found it has it; its id is the place's
  std::vector<Showing> plays;  ///< one a play
  Owner owner{Owner::undecided};
  double disc_probability{};  ///< that it belongs to the disc, 0..1
  double chance{1.0};  ///< that its findings after the first are strangers that fell together
};

/// The offset, the disc's own part told from the seating's.
struct HoleOffset {
  int seatings{};
  std::optional<double> eccentricity_m;        ///< of the hole: mean vector over the seatings
  std::optional<double> eccentricity_sigma_m;  ///< of each component of that vector
  std::optional<double> eccentricity_direction_deg;
  std::optional<double> seating_spread_m;  ///< one component's standard deviation between seatings
  std::optional<double> same_chance;       ///< of such turns by measuring errors alone
};

/// How surely a fault that is there is found in a play.
struct Detection {
  double plain{}, slight{};
  int plain_trials{}, slight_trials{};  ///< second looks at faults that must have been there
};

struct DiscPlays {
  std::optional<Reference> reference;
  SideGeometry geometry;
  std::vector<DiscPlay> plays;
  std::vector<FaultPlace> places;  ///< in order of programme time
  double match_window_s{};         ///< half of it: as far apart findings of one tick may lie
  std::optional<double> jitter_s;  ///< rms between findings of one tick, a play
  Detection detection;
  HoleOffset hole;
  Verdict verdict;  ///< of what belongs to the disc
  std::vector<Undetermined> undetermined;
  std::vector<std::string> remarks;
};

}  // namespace goodside::works
