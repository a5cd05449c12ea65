#pragma once
#include <functional>
#include <span>

#include "listen/groove_ground.hpp"
#include "listen/residual_events.hpp"
#include "listen/side_track.hpp"
#include "works/listening_report.hpp"

namespace goodside::listen {

struct FaultMaterial {
  std::span<const ResidualEvent> events;  ///< at_s in capture time, in order
  const GrooveGround& ground;
  const SideTrack& track;
  bool shellac_type{};
  double rpm{}, angle_sigma_deg_per_revolution{};
  std::function<double(double)> radius_m;
};

/// Turns events and seams into the report's faults, patterns and masked count: audibility, kind,
/// place on the disc, crackle of a filled surface taken out, patterns gathered.
void report_faults(const FaultMaterial& material, works::ListeningReport& report);

}  // namespace goodside::listen
