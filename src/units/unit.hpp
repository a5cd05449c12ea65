#pragma once
#include <string_view>

namespace goodside::units {

/// How a quantity in SI is shown to people:
///   si = (shown + offset) numerator / denominator,  or, for counts per length,  si = numerator /
///   (denominator shown).
/// The factors are whole numbers wherever the definition is exact, so that a conversion rounds at
/// most twice. Sources: [SI2019] for the prefixes, minute, hour, degree Celsius and bar; [SP811]
/// appendix B for the rest.
struct Unit {
  std::string_view symbol;  ///< empty for a plain number
  double numerator{1.0}, denominator{1.0}, offset{0.0};
  bool per_length{false};
};

[[nodiscard]] constexpr double to_si(double shown, const Unit& unit) {
  if (unit.per_length) return unit.numerator / (unit.denominator * shown);
  return (shown + unit.offset) * unit.numerator / unit.denominator;
}

[[nodiscard]] constexpr double from_si(double si, const Unit& unit) {
  if (unit.per_length) return unit.numerator / (unit.denominator * si);
  return si * unit.denominator / unit.numerator - unit.offset;
}

inline constexpr Unit metre{.symbol = "m"};
inline constexpr Unit centimetre{.symbol = "cm", .denominator = 1e2};
inline constexpr Unit millimetre{.symbol = "mm", .denominator = 1e3};
inline constexpr Unit micrometre{.symbol = "µm", .denominator = 1e6};
inline constexpr Unit inch{.symbol = "in", .numerator = 254.0, .denominator = 1e4};
inline constexpr Unit mil{.symbol = "mil", .numerator = 254.0, .denominator = 1e7};
inline constexpr Unit lines_per_inch{
    .symbol = "lpi", .numerator = 254.0, .denominator = 1e4, .per_length = true};
inline constexpr Unit lines_per_millimetre{
    .symbol = "lines/mm", .denominator = 1e3, .per_length = true};

inline constexpr Unit hour{.symbol = "h", .numerator = 3600.0};
inline constexpr Unit minute{.symbol = "min", .numerator = 60.0};
inline constexpr Unit second{.symbol = "s"};
inline constexpr Unit millisecond{.symbol = "ms", .denominator = 1e3};
inline constexpr Unit microsecond{.symbol = "µs", .denominator = 1e6};

inline constexpr Unit hertz{.symbol = "Hz"};
inline constexpr Unit kilohertz{.symbol = "kHz", .numerator = 1e3};
inline constexpr Unit turns_per_minute{.symbol = "rpm"};

inline constexpr Unit kilogram{.symbol = "kg"};
inline constexpr Unit gram{.symbol = "g", .denominator = 1e3};
inline constexpr Unit milligram{.symbol = "mg", .denominator = 1e6};
inline constexpr Unit tonne{.symbol = "t", .numerator = 1e3};
inline constexpr Unit pound{.symbol = "lb", .numerator = 45359237.0, .denominator = 1e8};
inline constexpr Unit ounce{.symbol = "oz", .numerator = 45359237.0, .denominator = 16e8};

inline constexpr Unit kelvin{.symbol = "K"};
inline constexpr Unit celsius{.symbol = "°C", .offset = 273.15};
inline constexpr Unit fahrenheit{
    .symbol = "°F", .numerator = 5.0, .denominator = 9.0, .offset = 459.67};

inline constexpr Unit pascal{.symbol = "Pa"};
inline constexpr Unit kilopascal{.symbol = "kPa", .numerator = 1e3};
inline constexpr Unit megapascal{.symbol = "MPa", .numerator = 1e6};
inline constexpr Unit bar{.symbol = "bar", .numerator = 1e5};
/// 0.45359237 kg x 9.80665 m/s2 on 0.0254 m squared, all exact.
inline constexpr Unit psi{
    .symbol = "psi", .numerator = 44482216152605.0, .denominator = 6451600000.0};

inline constexpr Unit gigapascal{.symbol = "GPa", .numerator = 1e9};

inline constexpr Unit square_metre{.symbol = "m²"};
inline constexpr Unit square_decimetre{.symbol = "dm²", .denominator = 1e2};
inline constexpr Unit square_centimetre{.symbol = "cm²", .denominator = 1e4};
inline constexpr Unit square_foot{.symbol = "ft²", .numerator = 9290304.0, .denominator = 1e8};

inline constexpr Unit ampere{.symbol = "A"};
inline constexpr Unit milliampere{.symbol = "mA", .denominator = 1e3};
inline constexpr Unit ampere_per_square_decimetre{.symbol = "A/dm²", .numerator = 1e2};
inline constexpr Unit ampere_per_square_metre{.symbol = "A/m²"};
inline constexpr Unit milliampere_per_square_centimetre{.symbol = "mA/cm²", .numerator = 10.0};
inline constexpr Unit ampere_per_square_foot{
    .symbol = "A/ft²", .numerator = 1e8, .denominator = 9290304.0};
inline constexpr Unit coulomb{.symbol = "C"};
inline constexpr Unit ampere_hour{.symbol = "A·h", .numerator = 3600.0};
inline constexpr Unit ampere_minute{.symbol = "A·min", .numerator = 60.0};
inline constexpr Unit volt{.symbol = "V"};
inline constexpr Unit millivolt{.symbol = "mV", .denominator = 1e3};
inline constexpr Unit siemens_per_metre{.symbol = "S/m"};
inline constexpr Unit siemens_per_centimetre{.symbol = "S/cm", .numerator = 1e2};
inline constexpr Unit millisiemens_per_centimetre{.symbol = "mS/cm", .denominator = 10.0};
inline constexpr Unit ohm_square_metre{.symbol = "Ω·m²"};
inline constexpr Unit ohm_square_centimetre{.symbol = "Ω·cm²", .denominator = 1e4};

inline constexpr Unit kilogram_per_cubic_metre{.symbol = "kg/m³"};
inline constexpr Unit gram_per_litre{.symbol = "g/L"};
inline constexpr Unit gram_per_cubic_centimetre{.symbol = "g/cm³", .numerator = 1e3};
inline constexpr Unit gram_per_mole{.symbol = "g/mol", .denominator = 1e3};
inline constexpr Unit millilitre_per_kiloampere_hour{.symbol = "mL/kA·h", .denominator = 36e11};
inline constexpr Unit newton_metre_per_radian{.symbol = "N·m/rad"};
/// 1e-3 N m times 180/pi degrees a radian.
inline constexpr Unit newton_millimetre_per_degree{
    .symbol = "N·mm/deg", .numerator = 0.18, .denominator = 3.14159265358979323846};
inline constexpr Unit cubic_metre{.symbol = "m³"};
inline constexpr Unit litre{.symbol = "l", .denominator = 1e3};
inline constexpr Unit cubic_centimetre{.symbol = "cm³", .denominator = 1e6};

inline constexpr Unit watt{.symbol = "W"};
inline constexpr Unit kilowatt{.symbol = "kW", .numerator = 1e3};
inline constexpr Unit joule_per_kilogram_kelvin{.symbol = "J/kgK"};
inline constexpr Unit kilojoule_per_kilogram_kelvin{.symbol = "kJ/kgK", .numerator = 1e3};

inline constexpr Unit plain{.symbol = ""};
inline constexpr Unit per_cent{.symbol = "%", .denominator = 1e2};
inline constexpr Unit ppm{.symbol = "ppm", .denominator = 1e6};
inline constexpr Unit decibel{.symbol = "dB"};

}  // namespace goodside::units
