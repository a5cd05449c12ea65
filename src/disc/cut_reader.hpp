#pragma once
#include <array>
#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "base/result.hpp"
#include "disc/fault_event.hpp"
#include "disc/filter.hpp"
#include "disc/groove.hpp"
#include "disc/tracing.hpp"
#include "signal/sample_source.hpp"
#include "signal/sinc_reader.hpp"
#include "works/player.hpp"

namespace goodside::disc {

/// What the two walls of the groove say at given instants: the programme with the echo of the turns
/// beside it, dropouts in it, cut with the recording curve, traced by the stylus, played with the
/// playback curve.
class CutReader {
 public:
  /// Errors: those of opening the programme again.
  static Result<CutReader> of(const signal::SampleSource& programme,
                              const works::PlayedSide& played,
                              const Groove& groove);

  /// Frames in a row, one call after the other. `instants_s`: programme time of each,
  /// `frame_time_s`: capture time. The walls come out Tracing::delay_frames late. `dropouts`:
  /// events; all but dropouts are passed over. Errors: those of the programme.
  Outcome read(std::span<const double> instants_s,
               std::span<const double> frame_time_s,
               std::span<const FaultEvent> dropouts,
               std::array<std::span<double>, 2> walls);

 private:
  struct Reader {
    std::unique_ptr<signal::SincReader> source;
    double shift_s, gain;
  };
  struct Wall {
    Emphasis emphasis;
    Tracing tracing;
    std::vector<double> programme;
  };
  CutReader(const works::PlayedSide& played, const Groove& groove, double programme_rate_Hz);
  Outcome read_programme(std::span<const double> instants_s);

  Groove groove_;
  works::Cartridge cartridge_;
  double programme_rate_Hz_;
  std::vector<Reader> readers_;
  std::array<Wall, 2> walls_;
  std::vector<double> places_;
  std::vector<float> read_;
};

}  // namespace goodside::disc
