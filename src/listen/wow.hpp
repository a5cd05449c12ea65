#pragma once
#include <optional>

#include "listen/time_track.hpp"
#include "works/listening_report.hpp"

namespace goodside::listen {

/// Weighting of wow and flutter, a plain factor: the 17 points of IEC 60386 / AES6 between 0.1 and
/// 200 Hz (0 dB at 4 Hz), decibels interpolated against log frequency, end slopes continued
/// outside; 0 at 0 Hz.
double wow_weight(double frequency_Hz);

enum class WowWeighting { standard, none };

struct WeightedWow {
  double two_sigma{};        ///< fraction: |weighted deviation| exceeded 5 % of the time
  double peak{};             ///< the greatest |weighted deviation|; a meter's quasi-peak reads less
  double noise_two_sigma{};  ///< what the track's own standard errors put into it
  double heard_s{};          ///< time that it rests on
};

/// Weighted wow and flutter of a track of mean `speed` = d(programme)/d(capture).
///
/// The delay programme - speed t is differentiated and weighted in the frequency domain, each
/// stretch continued by reflection; gaps, single stray points and a second at both ends of a stretch
/// or gap are left out of the statistic. The band is flat to 200 Hz and gone at 315 Hz, as far as the
/// track reaches: one of 50 Hz is flat to 20 and gone at 25 Hz, so flutter above 20 Hz, where the
/// weight is -6 dB and falling, is not in its figure. Unweighted, it is flat down to 0 Hz, less the
/// steady drift of each stretch. AES6-2008: statistic over >= 5 s. A sine of peak P reads cos(0.05 pi/2) P =
/// 0.9969 P times the weight. nullopt when less than 5 s remain. Cost O(n log n).
std::optional<WeightedWow> weighted_wow(const TimeTrack& track,
                                        double speed,
                                        WowWeighting weighting = WowWeighting::standard);

/// The relative deviation of speed over capture time, d(programme)/d(capture)/speed - 1: slope of a
/// weighted straight line over five points or one step, whichever is longer; a point at least every
/// `1/50 s` and at most `most_points` in all. Gaps are left out.
works::WowCurve wow_curve(const TimeTrack& track, double speed, std::size_t most_points = 20000);

}  // namespace goodside::listen
