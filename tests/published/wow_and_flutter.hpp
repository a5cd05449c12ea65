#pragma once

namespace goodside::published {

/// A tone with sine frequency modulation and its weighted two-sigma reading, IEC 60386 / AES6-2008.
/// Source: check list in the README of an open AES6 wow and flutter meter, commit 019f3b2, column
/// "theory"; for one sine two-sigma = peak x sin(0.95 pi/2) x weight. (The list slips a decade in
/// one name; put right.)
struct ModulatedTone {
  double modulation_Hz, peak_percent, two_sigma_percent, half_last_digit_percent;
};

inline constexpr ModulatedTone modulated_tones[]{{4.0, 0.01, 0.00997, 0.000005},
                                                 {4.0, 0.1, 0.0997, 0.00005},
                                                 {4.0, 1.0, 0.997, 0.0005},
                                                 {4.0, 10.0, 9.97, 0.005},
                                                 {0.8, 0.1, 0.0499, 0.00005},
                                                 {20.0, 0.1, 0.0506, 0.00005},
                                                 {0.2, 0.1, 0.0030, 0.00006}};
// The last row is printed to two digits; its weight of -30.6 dB makes 0.00294, so the tolerance is
// that of the rounding shown, 0.00006.

}  // namespace goodside::published
