#pragma once
#include "base/result.hpp"
#include "listen/listen.hpp"
#include "signal/sample_source.hpp"
#include "works/listening_report.hpp"

namespace goodside::listen {

/// What one capture tells without its cut: plain ticks and pops by what their past does not foretell
/// (prediction_faults.hpp), noise, rumble and hum (capture_noise.hpp), ticks at one angle from turn to turn.
/// In the report
///     reference, alignment, every programme_s, revolution, angle and radius of a fault: null
///     faults       plain ones only; peak_dB is re full scale of the capture; masked: the weaker ones set aside
///     patterns     turns and angles count from the capture's first sample at the side's nominal speed
///     noise        0 dB is a full-scale sine of the capture
///     undetermined what cannot be known, each with its reason
///     verdict      holds the limits that can be judged; a remark names the others
/// The report lacks `capture.path` and `.sha256`. The same for any number of jobs; memory is bounded: 0.3 MB a
/// minute beside the pieces.
/// `capture`: finite samples; whoever opened it has looked it over.
/// Errors: Fault::bad_input for a capture under 5 s; Fault::io of the source; Fault::conflict when `progress` asked
/// to stop.
Result<works::ListeningReport> listen_alone(const signal::SampleSource& capture,
                                            const Options& options,
                                            const Progress& progress);

}  // namespace goodside::listen
