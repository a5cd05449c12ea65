#pragma once
#include <functional>
#include <vector>

#include "base/result.hpp"
#include "listen/echo.hpp"
#include "listen/groove_ground.hpp"
#include "listen/infrasound.hpp"
#include "listen/levels.hpp"
#include "listen/low_noise.hpp"
#include "listen/noise_levels.hpp"
#include "listen/noise_map.hpp"
#include "listen/residual_events.hpp"
#include "listen/side_track.hpp"
#include "listen/trace_cut.hpp"
#include "signal/sample_source.hpp"

namespace goodside::listen {

/// What is left of a whole side when the cut is taken away.
struct SideResidual {
  std::vector<ResidualEvent> events;  ///< at_s in capture time, in order
  LevelMeter levels;
  NoiseMap map;
  NoiseLevels noise;
  LowNoise low;
  EchoFit echo;
  Infrasound infrasound;
  GrooveGround ground;
  GrooveReading reading;  ///< how the cut was read
};

struct ResidualSetting {
  bool mono{};
  double rpm{};
  double programme_duration_s{};
  std::function<double(double)> radius_m;  ///< at a programme time
  bool captured_reference{};  ///< it has faults of its own: each event is held against both
  int jobs{};
};

/// Works through the capture in pieces of six seconds and what lies about them. Events belong to
/// the piece that they begin in; measures are merged in the order of the pieces, so that any number
/// of jobs gives one answer.
Result<SideResidual> hear_residual(const signal::SampleSource& capture,
                                   const signal::SampleSource& reference,
                                   const SideTrack& track,
                                   const ResidualSetting& setting,
                                   const std::function<bool(double)>& go_on);

}  // namespace goodside::listen
