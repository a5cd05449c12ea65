#pragma once
#include <span>
#include <string>
#include <string_view>

#include "base/result.hpp"

namespace goodside::disc {

/// A playback curve by its time constants; 0 s means that the term is absent.
///   H(s) = (1 + s T2) / [(1 + s T1)(1 + s T3)] * s T4 / (1 + s T4),
/// T1 bass shelf, T2 turnover, T3 treble, T4 rumble zero. A turnover without a shelf rises 6 dB an
/// octave towards zero frequency: there 1/s stands for the shelf's term. Source: "iec-60098" and
/// "iec-60098-amended": IEC 60098; "bs-1928-coarse": BS 1928:1955; the rest: IASA TC-04,
/// section 5.3.6, save the constants of "coarse-250" and the 25 us of "coarse-wide", from memory.
struct Curve {
  std::string_view name;
  double bass_s, turnover_s, treble_s, rumble_s;
};

std::span<const Curve> curves();

/// The curve of a name, or of time constants in microseconds, bass/turnover/treble with 0 for none and
/// a fourth for the rumble zero: "3180/318/75", "0/318/100", "3180/318/75/7950". "riaa" is another
/// name of "iec-60098". Errors: Fault::not_found, listing the names there are; Fault::bad_input for
/// time constants that make no curve.
Result<Curve> curve(std::string_view name);

/// Whether it changes nothing.
bool is_flat(const Curve& curve);

/// Name and time constants: "iec-60098 (3180/318/75 us)".
std::string describe(const Curve& curve);

/// Playback gain [dB] at `frequency_Hz` > 0, relative to 1 kHz: 20 log10 |H(f)| - 20 log10 |H(1
/// kHz)|. The recording characteristic is its negative. Accuracy: rounding only.
double playback_gain_dB(const Curve& curve, double frequency_Hz);

}  // namespace goodside::disc
