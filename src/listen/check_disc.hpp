#pragma once
#include <span>
#include <vector>

#include "base/result.hpp"
#include "works/bench_check.hpp"
#include "works/listening_report.hpp"

namespace goodside::listen {

struct CheckDiscOptions {
  std::vector<double> day;  ///< of each play, growing; empty: one play a day from day 0
  int first_plays{};        ///< that show the bench as it was set up; 0: half of them, 5 to 20
};

/// Plays of one check disc in order of time: speed, gain, offset, wow, balance, separation, loss of
/// treble, noise, hum, rumble, and each third octave, both channels' mean against the side's mean
/// from 250 Hz to 9 kHz. Each is an individuals chart [NIST/SEMATECH e-Handbook, 6.3.2.2] standing
/// on the first plays, its limits as stats::half_width gives them (third octaves share one error
/// among them). The disc is the same each day, so what moves is the bench (or the wear of the disc,
/// which a second check disc tells apart). A measure has moved where
///   its latest play, after the first plays, is outside;
///   or the eight latest of those lie on one side of the centre [WesternElectric1956];
///   or its slope over all plays is not nought: Student's interval of the least-squares slope,
///   99.73 %, shared likewise.
/// Repeatability is the first plays' sample standard deviation with its 95 % interval. A measure
/// that is null in a play misses that play; with fewer than 4 first plays it is not charted.
/// Errors: Fault::bad_input for fewer than 6 plays, plays of different cuts, days that do not grow
/// or are not as many as the plays, first plays under 4 or all of them, a play whose cut was not
/// found.
Result<works::BenchCheck> check_bench(std::span<const works::ListeningReport> plays,
                                      const CheckDiscOptions& options);

}  // namespace goodside::listen
