#pragma once
#include <string_view>

#include "base/result.hpp"

namespace goodside::units {

// Quantities as people write them, into SI. A decimal point whatever the locale; whole numbers may
// carry a fraction (`11 7/8 in`, `33⅓`); space before the unit is free; the whole text must be used
// up. Errors: Fault::bad_input when the text is no such quantity (NaN and infinity never are),
// Fault::out_of_range when it is one that nobody in a works can mean. The sentence says what was
// given, what is expected, an example. Accuracy: a relative 4e-16 of the largest term of the
// conversion.

/// Length [m], -1000..1000: m, cm, mm, um (µm), in (`"`), mil.
Result<double> length_m(std::string_view text);

/// Groove pitch [m], 1 um..10 mm: a length, or lines per inch (`120 lpi`) or millimetre (`5
/// lines/mm`).
Result<double> pitch_m(std::string_view text);

/// Time [s], 0..1e9: h, min, s, ms, us (µs), or a clock reading `3:42`, `3:42.5`, `1:03:42`.
Result<double> duration_s(std::string_view text);

/// Turns a minute, 1..1000, `rpm` or a bare number. 33.3, 33.33, 33.333 ... are written for 33 1/3
/// and mean it.
Result<double> rotation_rpm(std::string_view text);

/// Frequency [Hz], 0..10 MHz: Hz, kHz.
Result<double> frequency_Hz(std::string_view text);

/// Mass [kg], 0..1e6 kg: kg, g, mg, t, lb, oz.
Result<double> mass_kg(std::string_view text);

/// Temperature [K], 0..5000 K: °C (C), K, °F (F).
Result<double> temperature_K(std::string_view text);

/// Pressure [Pa], -100 kPa..1 GPa: psi, bar, Pa, kPa, MPa. Gauge or absolute is for the caller to
/// say.
Result<double> pressure_Pa(std::string_view text);

/// Volume [m3], 0..1000 m3: l, ml, cm3, m3.
Result<double> volume_m3(std::string_view text);

/// Density [kg/m3], 1..25000 kg/m3: g/cm3, kg/l, kg/m3.
Result<double> density_kg_per_m3(std::string_view text);

/// Power [W], 0..100 MW: kW, W.
Result<double> power_W(std::string_view text);

/// Heat capacity [J/kgK], 100..10000 J/kgK: kJ/kgK, J/kgK.
Result<double> heat_capacity_J_per_kgK(std::string_view text);

/// Level or gain [dB], -300..300: `dB` or a bare number.
Result<double> level_dB(std::string_view text);

/// Part of a whole, 0..1: a bare number or %.
Result<double> fraction(std::string_view text);

/// Relative deviation as a plain fraction, -1..1: ppm or %; never bare, since 0.3 is read either
/// way.
Result<double> deviation(std::string_view text);

}  // namespace goodside::units
