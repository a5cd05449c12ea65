#pragma once
#include <cstddef>
#include <functional>
#include <span>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "listen/side_track.hpp"
#include "signal/sample_source.hpp"

namespace goodside::listen {

/// One capture of a cut, and what to call it in a refusal.
struct Peer {
  const signal::SampleSource* source{};
  std::string name;
};

struct PeerGroup {
  std::size_t base{};             ///< the capture that all others were followed against
  std::vector<SideTrack> tracks;  ///< capture i against the base; empty for the base
  std::vector<bool> mono;         ///< capture i carries one signal
};

struct PeerSetting {
  double revolution_s{};  ///< of the cut
  int jobs{};
};

/// The most captures that may vote.
inline constexpr std::size_t most_peers = 16;

/// Finds the capture that covers most (of those within 2 % of the longest the one of the highest rate, then the one
/// against which the others play with the fewest jumps) and follows each of the others against it. Cost: a pass
/// over each for its features, and one following for each but one.
/// Errors: Fault::bad_input, by name: fewer than two or more than most_peers captures; one shorter than 5 s or
/// silent; the same recording given twice, which would vote for itself; captures of another title or side. The
/// sources'; Fault::conflict when `go_on` says no.
Result<PeerGroup> follow_peers(std::span<const Peer> peers,
                               const PeerSetting& setting,
                               const std::function<bool(double)>& go_on);

}  // namespace goodside::listen
