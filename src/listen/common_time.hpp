#pragma once
#include <cstddef>
#include <span>
#include <vector>

#include "listen/side_track.hpp"

namespace goodside::listen {

/// Where one capture is read at each moment of the common time.
struct Voice {
  struct Part {
    double from_s{}, to_s{};           ///< of the common time
    TrackCurve capture_s;              ///< common time -> time in the capture
    const FollowedStretch* stretch{};  ///< of the capture's track; null for the base itself
  };
  std::vector<Part> parts;  ///< in order of the common time, none over another
  double speed{1.0};        ///< mean rate of the capture's time against the base's

  /// The part that plays at a moment; null where this capture holds nothing of it.
  [[nodiscard]] const Part* at(double common_s) const;
};

struct CommonTime {
  double duration_s{};
  double programme_from_s{}, programme_to_s{};  ///< what two captures at least agree on
  std::vector<Voice> voices;                    ///< one a capture
};

/// One time for several captures of a cut, so that no disc's own sway becomes the reference's. With u_i(t) the time
/// in capture i where the base plays t (u = t for the base), v_i its mean slope and v the middle one of these:
///     ds/dt = v mean_i (u_i' / v_i),
/// each slope held within 1 % of the middle one of its moment, and each capture's share rising over two seconds
/// from the ends of what it covers. Once-a-turn sways of n discs seated by chance fall as 1/sqrt(n); what all share
/// (the drive's speed, a stamper off centre) stays.
/// `tracks[i]`: capture i followed against the base; `tracks[base]` is unread. The common time begins half a second
/// before the first trusted point of any track and ends half a second after the last. A place that a capture plays
/// twice is taken from its longest stretch. The tracks must outlive the voices.
CommonTime common_time(std::span<const SideTrack> tracks, std::size_t base, double base_duration_s);

}  // namespace goodside::listen
