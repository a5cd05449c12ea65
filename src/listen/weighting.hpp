#pragma once
#include <functional>

#include "listen/bands.hpp"

namespace goodside::listen {

// Frequency weightings of noise as power ratios, all 1 at 1 kHz but for the rumble's.
// Valid: 0 <= frequency_Hz.

/// A-weighting.
/// Source:   IEC 61672-1, with f1 20.598997, f2 107.65265, f3 737.86223, f4 12194.217 Hz.
/// Accuracy: 0.005 dB against tabulated values, 10 Hz .. 20 kHz.
double a_weighting_power(double frequency_Hz);

/// The weighting network for audio-frequency noise, without the quasi-peak meter that belongs to it.
/// Source:   ITU-R BS.468-4; the rational form is common practice, no source. Its zero of the
///           decibel is 1 kHz; the network gains most, 12.2 dB, at 6.3 kHz.
/// Accuracy: 0.05 dB against the recommendation's table, 31.5 Hz .. 31.5 kHz.
double itu_468_weighting_power(double frequency_Hz);

/// K-weighting of programme loudness, here relative to its own gain at 1 kHz (0.691 dB at 997 Hz).
/// Source:   ITU-R BS.1770, the two second-order sections given for 48 kHz. Valid to 24 kHz; 0
///           above.
double k_weighting_power(double frequency_Hz);

/// Rumble weighting, curve B of IEC 60098 (DIN 45539): 12 dB an octave up to 0 dB at 315 Hz. From
/// memory. Valid to 315 Hz: the standard's fall above is not in it.
double rumble_weighting_power(double frequency_Hz);

/// Mean of a weighting over a band, for noise of even density there.
double mean_weight(const std::function<double(double)>& weighting_power, const Band& band);

}  // namespace goodside::listen
