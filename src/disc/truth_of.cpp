#include "disc/truth_of.hpp"

#include <algorithm>
#include <cmath>

namespace goodside::disc {

works::Truth truth_of(const works::PlayedSide& played,
                      const Groove& groove,
                      const PlayedPath& path,
                      std::span<const FaultEvent> events) {
  const double clock = 1.0 + played.drive.clock_error_ppm * 1e-6;
  const double duration_s = groove.duration_s();
  const PlayedStretch& first = path.stretches().front();
  const PlayedStretch& last = path.stretches().back();

  works::Truth truth;
  truth.sample_rate_Hz = played.sample_rate_Hz;
  truth.frames = static_cast<std::int64_t>(std::ceil(path.end_s() * clock * played.sample_rate_Hz));
  truth.programme_start_s = path.time_s(0.0, first) * clock;
  truth.programme_end_s = path.time_s(duration_s, last) * clock;
  truth.drive_error_ppm = played.drive.speed_error * 1e6;
  truth.eccentricity_m = played.eccentricity_m;
  truth.eccentricity_direction_deg = played.eccentricity_direction_deg;

  const double from_s = std::max(0.0, first.programme_from_s);
  const double to_s = std::min(duration_s, first.programme_to_s);
  const double heard_s = clock * (path.time_s(to_s, first) - path.time_s(from_s, first));
  truth.speed_error_ppm = 1e6 * ((to_s - from_s) / heard_s - 1.0);

  const double outer_m = groove.radius_m(0.0);
  const double inner_m = groove.radius_m(duration_s);
  truth.geometry = {
      played.side.format, played.side.rpm, outer_m, inner_m, (outer_m - inner_m) / groove.turns()};

  for (const PlayedStretch& stretch : path.stretches())
    truth.stretches.push_back({stretch.from_s * clock,
                               stretch.to_s * clock,
                               stretch.programme_from_s,
                               stretch.programme_to_s});

  const auto points = static_cast<std::size_t>(std::ceil(path.end_s() * clock / truth.track_hop_s));
  for (std::size_t k = 0; k < points; ++k)
    truth.track_programme_s.push_back(
        path.programme_s(static_cast<double>(k) * truth.track_hop_s / clock));

  for (const FaultEvent& event : events) truth.faults.push_back(event.truth());
  std::stable_sort(truth.faults.begin(),
                   truth.faults.end(),
                   [](const works::TrueFault& a, const works::TrueFault& b) {
                     return a.capture_s < b.capture_s;
                   });
  return truth;
}

}  // namespace goodside::disc
