#pragma once
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "listen/window_audio.hpp"
#include "signal/sample_source.hpp"
#include "works/limits.hpp"
#include "works/listening_report.hpp"
#include "works/side.hpp"

namespace goodside::listen {

/// What the bench knows beside the two recordings.
struct Bench {
  works::Arm arm;
  double clock_error_ppm{};  ///< of the capture's sound card: true rate = nominal (1 + ppm 1e-6)
  bool clock_calibrated{};   ///< false: the figure above is not known
};

struct Options {
  works::CutSide side;
  Bench bench;
  works::Limits limits;
  /// The reference was itself played from a disc or metal: what it holds of faults is marked as its own.
  bool captured_reference{};
  std::vector<works::Interval_s> reference_faults{};  ///< its own, in programme time, where known
  int jobs{0};                                        ///< 0: all cores
  /// Where set, handed what windows of this capture can be heard again from (listen/window_audio), once, when the
  /// capture was laid over the cut; not called for a wrong title.
  std::function<void(Kept&&)> keep{};
};

/// Told now and then from the calling thread's workers, with the share done in [0, 1]; returns
/// false to stop.
using Progress = std::function<bool(double)>;

/// Lays the cut over the capture, takes it away and measures what is left.
/// `capture` and `reference`: 8-192 kHz, one or two channels. The report lacks only `capture.path`,
/// `.sha256` and the reference's: whoever opened the files fills them in. The same inputs give the
/// same report for any number of jobs. Memory is bounded whatever the length. Errors:
/// Fault::bad_input when nothing can be measured (silent, shorter than 5 s, NaN); Fault::io from
/// the sources; Fault::conflict when `progress` asked to stop. A wrong title is no error:
/// alignment.found is false.
Result<works::ListeningReport> listen(const signal::SampleSource& capture,
                                      const signal::SampleSource& reference,
                                      const Options& options,
                                      const Progress& progress);

}  // namespace goodside::listen
