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

// Of the metal room.

/// Area [m2], 0..1e4: m2, dm2, cm2, ft2, also with ².
Result<double> area_m2(std::string_view text);
/// Current [A], 0..1e5: A, mA.
Result<double> current_A(std::string_view text);
/// Current density [A/m2], 0..1e5: A/dm2, A/m2, mA/cm2, A/ft2 (ASF).
Result<double> current_density_A_per_m2(std::string_view text);
/// Charge [C], 0..1e12: A·h (Ah), A·min, C.
Result<double> charge_C(std::string_view text);
/// Potential [V], 0..1e4: V, mV.
Result<double> voltage_V(std::string_view text);
/// Conductivity [S/m], 0..1e4: S/m, S/cm, mS/cm.
Result<double> conductivity_S_per_m(std::string_view text);
/// Resistance of a surface [ohm m2], 0..1e3: ohm·cm2, ohm·m2.
Result<double> surface_resistance_ohm_m2(std::string_view text);
/// Mass in a volume [kg/m3], 0..3e4: g/L, kg/m3, g/cm3.
Result<double> concentration_kg_per_m3(std::string_view text);
/// Molar mass [kg/mol], 0..1: g/mol.
Result<double> molar_mass_kg_per_mol(std::string_view text);
/// Volume used by charge [m3/C], 0..1e-6: mL/kA·h (mL/kAh).
Result<double> dose_m3_per_C(std::string_view text);
/// Stress or modulus [Pa], -1e13..1e13: GPa, MPa, Pa.
Result<double> stress_Pa(std::string_view text);
/// Torque of a turn [N m/rad], 0..1e3: N·mm/deg, N·m/rad.
Result<double> torsion_Nm_per_rad(std::string_view text);

}  // namespace goodside::units
