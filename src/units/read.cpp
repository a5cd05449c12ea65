#include "units/read.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <optional>
#include <span>
#include <string>

#include "units/number.hpp"
#include "units/print.hpp"
#include "units/unit.hpp"

namespace goodside::units {
namespace {

struct Spelling {
  std::string_view text;
  const Unit& unit;
};

/// What one kind of quantity looks like.
struct Kind {
  std::string_view noun, expected, example;
  std::span<const Spelling> spellings;  ///< an empty text: a bare number will do
  std::span<const Spelling> further{};
  double low_si{}, high_si{};
  const Unit& shown;  ///< in which the bounds are told
};

constexpr std::array length_spellings{Spelling{"mm", millimetre},
                                      Spelling{"m", metre},
                                      Spelling{"cm", centimetre},
                                      Spelling{"um", micrometre},
                                      Spelling{"µm", micrometre},
                                      Spelling{"μm", micrometre},
                                      Spelling{"in", inch},
                                      Spelling{"inch", inch},
                                      Spelling{"inches", inch},
                                      Spelling{"\"", inch},
                                      Spelling{"″", inch},
                                      Spelling{"mil", mil},
                                      Spelling{"thou", mil}};
constexpr std::array count_spellings{Spelling{"lpi", lines_per_inch},
                                     Spelling{"lines/in", lines_per_inch},
                                     Spelling{"lines/inch", lines_per_inch},
                                     Spelling{"lines/mm", lines_per_millimetre}};
constexpr std::array duration_spellings{Spelling{"h", hour},
                                        Spelling{"min", minute},
                                        Spelling{"s", second},
                                        Spelling{"ms", millisecond},
                                        Spelling{"us", microsecond},
                                        Spelling{"µs", microsecond},
                                        Spelling{"μs", microsecond}};
constexpr std::array rotation_spellings{Spelling{"", turns_per_minute},
                                        Spelling{"rpm", turns_per_minute}};
constexpr std::array frequency_spellings{Spelling{"Hz", hertz}, Spelling{"kHz", kilohertz}};
constexpr std::array mass_spellings{Spelling{"kg", kilogram},
                                    Spelling{"g", gram},
                                    Spelling{"mg", milligram},
                                    Spelling{"t", tonne},
                                    Spelling{"lb", pound},
                                    Spelling{"oz", ounce}};
constexpr std::array temperature_spellings{Spelling{"°C", celsius},
                                           Spelling{"C", celsius},
                                           Spelling{"℃", celsius},
                                           Spelling{"K", kelvin},
                                           Spelling{"°F", fahrenheit},
                                           Spelling{"F", fahrenheit}};
constexpr std::array pressure_spellings{Spelling{"psi", psi},
                                        Spelling{"bar", bar},
                                        Spelling{"Pa", pascal},
                                        Spelling{"kPa", kilopascal},
                                        Spelling{"MPa", megapascal}};
constexpr std::array volume_spellings{Spelling{"l", litre},
                                      Spelling{"L", litre},
                                      Spelling{"litre", litre},
                                      Spelling{"litres", litre},
                                      Spelling{"m3", cubic_metre},
                                      Spelling{"m³", cubic_metre},
                                      Spelling{"cm3", cubic_centimetre},
                                      Spelling{"cm³", cubic_centimetre},
                                      Spelling{"ml", cubic_centimetre}};
constexpr std::array density_spellings{Spelling{"g/cm3", gram_per_cubic_centimetre},
                                       Spelling{"g/cm³", gram_per_cubic_centimetre},
                                       Spelling{"kg/l", gram_per_cubic_centimetre},
                                       Spelling{"g/ml", gram_per_cubic_centimetre},
                                       Spelling{"kg/m3", kilogram_per_cubic_metre},
                                       Spelling{"kg/m³", kilogram_per_cubic_metre}};
constexpr std::array power_spellings{Spelling{"kW", kilowatt}, Spelling{"W", watt}};
constexpr std::array heat_capacity_spellings{Spelling{"kJ/kgK", kilojoule_per_kilogram_kelvin},
                                             Spelling{"kJ/(kg K)", kilojoule_per_kilogram_kelvin},
                                             Spelling{"kJ/kg K", kilojoule_per_kilogram_kelvin},
                                             Spelling{"J/kgK", joule_per_kilogram_kelvin},
                                             Spelling{"J/(kg K)", joule_per_kilogram_kelvin},
                                             Spelling{"J/kg K", joule_per_kilogram_kelvin}};
constexpr std::array level_spellings{Spelling{"", decibel}, Spelling{"dB", decibel}};
constexpr std::array fraction_spellings{Spelling{"", plain}, Spelling{"%", per_cent}};
constexpr std::array deviation_spellings{Spelling{"ppm", ppm}, Spelling{"%", per_cent}};

constexpr std::array area_spellings{Spelling{"dm2", square_decimetre},
                                    Spelling{"dm²", square_decimetre},
                                    Spelling{"cm2", square_centimetre},
                                    Spelling{"cm²", square_centimetre},
                                    Spelling{"m2", square_metre},
                                    Spelling{"m²", square_metre},
                                    Spelling{"ft2", square_foot},
                                    Spelling{"ft²", square_foot}};
constexpr std::array current_spellings{Spelling{"A", ampere}, Spelling{"mA", milliampere}};
constexpr std::array current_density_spellings{
    Spelling{"A/dm2", ampere_per_square_decimetre},
    Spelling{"A/dm²", ampere_per_square_decimetre},
    Spelling{"A/m2", ampere_per_square_metre},
    Spelling{"A/m²", ampere_per_square_metre},
    Spelling{"mA/cm2", milliampere_per_square_centimetre},
    Spelling{"mA/cm²", milliampere_per_square_centimetre},
    Spelling{"A/ft2", ampere_per_square_foot},
    Spelling{"A/ft²", ampere_per_square_foot},
    Spelling{"ASF", ampere_per_square_foot},
    Spelling{"asf", ampere_per_square_foot}};
constexpr std::array charge_spellings{Spelling{"A·h", ampere_hour},
                                      Spelling{"Ah", ampere_hour},
                                      Spelling{"A h", ampere_hour},
                                      Spelling{"A.h", ampere_hour},
                                      Spelling{"A·min", ampere_minute},
                                      Spelling{"A min", ampere_minute},
                                      Spelling{"C", coulomb}};
constexpr std::array voltage_spellings{Spelling{"V", volt}, Spelling{"mV", millivolt}};
constexpr std::array conductivity_spellings{Spelling{"S/m", siemens_per_metre},
                                            Spelling{"S/cm", siemens_per_centimetre},
                                            Spelling{"mS/cm", millisiemens_per_centimetre}};
constexpr std::array surface_resistance_spellings{Spelling{"ohm cm2", ohm_square_centimetre},
                                                  Spelling{"ohm·cm2", ohm_square_centimetre},
                                                  Spelling{"ohm·cm²", ohm_square_centimetre},
                                                  Spelling{"Ω·cm²", ohm_square_centimetre},
                                                  Spelling{"Ω cm²", ohm_square_centimetre},
                                                  Spelling{"ohm m2", ohm_square_metre},
                                                  Spelling{"ohm·m2", ohm_square_metre},
                                                  Spelling{"Ω·m²", ohm_square_metre}};
constexpr std::array concentration_spellings{Spelling{"g/L", gram_per_litre},
                                             Spelling{"g/l", gram_per_litre},
                                             Spelling{"kg/m3", kilogram_per_cubic_metre},
                                             Spelling{"kg/m³", kilogram_per_cubic_metre},
                                             Spelling{"g/cm3", gram_per_cubic_centimetre},
                                             Spelling{"g/cm³", gram_per_cubic_centimetre}};
constexpr std::array molar_mass_spellings{Spelling{"g/mol", gram_per_mole}};
constexpr std::array dose_spellings{Spelling{"mL/kAh", millilitre_per_kiloampere_hour},
                                    Spelling{"ml/kAh", millilitre_per_kiloampere_hour},
                                    Spelling{"mL/kA·h", millilitre_per_kiloampere_hour}};
constexpr std::array stress_spellings{
    Spelling{"MPa", megapascal}, Spelling{"GPa", gigapascal}, Spelling{"Pa", pascal}};
constexpr std::array torsion_spellings{Spelling{"N mm/deg", newton_millimetre_per_degree},
                                       Spelling{"N·mm/deg", newton_millimetre_per_degree},
                                       Spelling{"N m/rad", newton_metre_per_radian},
                                       Spelling{"N·m/rad", newton_metre_per_radian}};

constexpr Kind length{.noun = "length",
                      .expected = "a number with mm, cm, m, um, in or mil",
                      .example = "254 mm",
                      .spellings = length_spellings,
                      .low_si = -1e3,
                      .high_si = 1e3,
                      .shown = metre};
constexpr Kind pitch{.noun = "pitch",
                     .expected = "lines per inch, or a length from groove to groove",
                     .example = "120 lpi or 0.1 mm",
                     .spellings = count_spellings,
                     .further = length_spellings,
                     .low_si = 1e-6,
                     .high_si = 1e-2,
                     .shown = millimetre};
constexpr Kind duration{.noun = "time",
                        .expected = "minutes:seconds, or a number with h, min, s, ms or us",
                        .example = "3:42 or 20 ms",
                        .spellings = duration_spellings,
                        .low_si = 0.0,
                        .high_si = 1e9,
                        .shown = second};
constexpr Kind rotation{.noun = "speed of rotation",
                        .expected = "turns a minute",
                        .example = "33 1/3 or 78.26 rpm",
                        .spellings = rotation_spellings,
                        .low_si = 1.0,
                        .high_si = 1000.0,
                        .shown = turns_per_minute};
constexpr Kind frequency{.noun = "frequency",
                         .expected = "a number with Hz or kHz",
                         .example = "1 kHz",
                         .spellings = frequency_spellings,
                         .low_si = 0.0,
                         .high_si = 1e7,
                         .shown = hertz};
constexpr Kind mass{.noun = "mass",
                    .expected = "a number with kg, g, mg, t, lb or oz",
                    .example = "2.3 kg",
                    .spellings = mass_spellings,
                    .low_si = 0.0,
                    .high_si = 1e6,
                    .shown = kilogram};
constexpr Kind temperature{.noun = "temperature",
                           .expected = "a number with °C, °F or K",
                           .example = "165 °C",
                           .spellings = temperature_spellings,
                           .low_si = 0.0,
                           .high_si = 5000.0,
                           .shown = kelvin};
constexpr Kind pressure{.noun = "pressure",
                        .expected = "a number with psi, bar, Pa, kPa or MPa",
                        .example = "90 psi or 6.2 bar",
                        .spellings = pressure_spellings,
                        .low_si = -1e5,
                        .high_si = 1e9,
                        .shown = bar};
constexpr Kind volume{.noun = "volume",
                      .expected = "a number with l, cm3 or m3",
                      .example = "75 l",
                      .spellings = volume_spellings,
                      .low_si = 0.0,
                      .high_si = 1e3,
                      .shown = cubic_metre};
constexpr Kind density{.noun = "density",
                       .expected = "a number with g/cm3 or kg/m3",
                       .example = "1.92 g/cm3",
                       .spellings = density_spellings,
                       .low_si = 1.0,
                       .high_si = 25e3,
                       .shown = kilogram_per_cubic_metre};
constexpr Kind power{.noun = "power",
                     .expected = "a number with kW or W",
                     .example = "55 kW",
                     .spellings = power_spellings,
                     .low_si = 0.0,
                     .high_si = 1e8,
                     .shown = kilowatt};
constexpr Kind heat_capacity{.noun = "heat capacity",
                             .expected = "a number with kJ/kgK or J/kgK",
                             .example = "1.0 kJ/kgK",
                             .spellings = heat_capacity_spellings,
                             .low_si = 100.0,
                             .high_si = 1e4,
                             .shown = joule_per_kilogram_kelvin};
constexpr Kind level{.noun = "level",
                     .expected = "decibels",
                     .example = "-12 dB",
                     .spellings = level_spellings,
                     .low_si = -300.0,
                     .high_si = 300.0,
                     .shown = decibel};
constexpr Kind part{.noun = "part of a whole",
                    .expected = "a number from 0 to 1, or one with %",
                    .example = "0.95 or 95 %",
                    .spellings = fraction_spellings,
                    .low_si = 0.0,
                    .high_si = 1.0,
                    .shown = plain};
constexpr Kind relative{.noun = "deviation",
                        .expected = "a number with ppm or %",
                        .example = "120 ppm or 0.3 %",
                        .spellings = deviation_spellings,
                        .low_si = -1.0,
                        .high_si = 1.0,
                        .shown = per_cent};

constexpr Kind area{.noun = "area",
                    .expected = "a number with dm2, cm2, m2 or ft2",
                    .example = "8 dm2",
                    .spellings = area_spellings,
                    .low_si = 0.0,
                    .high_si = 1e4,
                    .shown = square_metre};
constexpr Kind current{.noun = "current",
                       .expected = "a number with A or mA",
                       .example = "48 A",
                       .spellings = current_spellings,
                       .low_si = 0.0,
                       .high_si = 1e5,
                       .shown = ampere};
constexpr Kind current_density{.noun = "current density",
                               .expected = "a number with A/dm2, A/m2, mA/cm2 or A/ft2",
                               .example = "6 A/dm2",
                               .spellings = current_density_spellings,
                               .low_si = 0.0,
                               .high_si = 1e5,
                               .shown = ampere_per_square_decimetre};
constexpr Kind charge{.noun = "charge",
                      .expected = "a number with Ah, A·min or C",
                      .example = "150 Ah",
                      .spellings = charge_spellings,
                      .low_si = 0.0,
                      .high_si = 1e12,
                      .shown = ampere_hour};
constexpr Kind voltage{.noun = "potential",
                       .expected = "a number with V or mV",
                       .example = "120 mV",
                       .spellings = voltage_spellings,
                       .low_si = 0.0,
                       .high_si = 1e4,
                       .shown = volt};
constexpr Kind conductivity{.noun = "conductivity",
                            .expected = "a number with S/m, S/cm or mS/cm",
                            .example = "8 S/m",
                            .spellings = conductivity_spellings,
                            .low_si = 0.0,
                            .high_si = 1e4,
                            .shown = siemens_per_metre};
constexpr Kind surface_resistance{.noun = "resistance of a surface",
                                  .expected = "a number with ohm cm2 or ohm m2",
                                  .example = "5 ohm cm2",
                                  .spellings = surface_resistance_spellings,
                                  .low_si = 0.0,
                                  .high_si = 1e3,
                                  .shown = ohm_square_metre};
constexpr Kind concentration{.noun = "concentration or density",
                             .expected = "a number with g/L, kg/m3 or g/cm3",
                             .example = "220 g/L",
                             .spellings = concentration_spellings,
                             .low_si = 0.0,
                             .high_si = 3e4,
                             .shown = gram_per_litre};
constexpr Kind molar_mass{.noun = "molar mass",
                          .expected = "a number with g/mol",
                          .example = "58.69 g/mol",
                          .spellings = molar_mass_spellings,
                          .low_si = 0.0,
                          .high_si = 1.0,
                          .shown = gram_per_mole};
constexpr Kind dose{.noun = "dose by charge",
                    .expected = "a number with mL/kAh",
                    .example = "150 mL/kAh",
                    .spellings = dose_spellings,
                    .low_si = 0.0,
                    .high_si = 1e-6,
                    .shown = millilitre_per_kiloampere_hour};
constexpr Kind stress{.noun = "stress or modulus",
                      .expected = "a number with MPa, GPa or Pa",
                      .example = "40 MPa",
                      .spellings = stress_spellings,
                      .low_si = -1e13,
                      .high_si = 1e13,
                      .shown = gigapascal};
constexpr Kind torsion{.noun = "torque of a turn",
                       .expected = "a number with N mm/deg or N m/rad",
                       .example = "0.02 N mm/deg",
                       .spellings = torsion_spellings,
                       .low_si = 0.0,
                       .high_si = 1e3,
                       .shown = newton_metre_per_radian};

/// What was typed, fit for one line of a terminal: no control characters, and not a page of it.
std::string quoted(std::string_view text) {
  constexpr std::size_t longest = 40;
  std::string shown{text.substr(0, longest)};
  for (char& letter : shown)
    if (static_cast<unsigned char>(letter) < 0x20 || letter == 0x7f) letter = '?';
  // A cut must not leave half of a letter behind.
  if (text.size() > longest) {
    while (!shown.empty() && (static_cast<unsigned char>(shown.back()) & 0xc0) == 0x80)
      shown.pop_back();
    if (!shown.empty() && static_cast<unsigned char>(shown.back()) >= 0xc0) shown.pop_back();
    shown += "…";
  }
  return fmt::format("\"{}\"", shown);
}

Error no_such(std::string_view text, const Kind& kind) {
  const bool comma = text.find(',') != std::string_view::npos;
  return {Fault::bad_input,
          fmt::format("{} is no {}: give {}, such as {}{}",
                      quoted(text),
                      kind.noun,
                      kind.expected,
                      kind.example,
                      comma ? ", with a decimal point" : "")};
}

Result<double> within(double si, std::string_view text, const Kind& kind) {
  if (si >= kind.low_si && si <= kind.high_si) return si;
  return Error{Fault::out_of_range,
               fmt::format("{} is no {} that can be meant: give one from {} to {}, such as {}",
                           quoted(text),
                           kind.noun,
                           print(kind.low_si, kind.shown),
                           print(kind.high_si, kind.shown),
                           kind.example)};
}

const Unit* find_unit(std::string_view spelling, const Kind& kind) {
  for (const auto& spellings : {kind.spellings, kind.further})
    for (const auto& known : spellings)
      if (known.text == spelling) return &known.unit;
  return nullptr;
}

Result<double> read(std::string_view text, const Kind& kind) {
  const auto number = leading_number(text);
  if (!number) return no_such(text, kind);
  const Unit* const unit = find_unit(number->rest, kind);
  if (unit == nullptr) return no_such(text, kind);
  return within(to_si(number->value, *unit), text, kind);
}

/// `3:42.5`, `1:03:42`; nothing when the text is no clock reading.
std::optional<double> clock_s(std::string_view text) {
  double time_s = 0.0;
  for (int colons = 0; colons <= 2; ++colons) {
    const auto colon = text.find(':');
    const bool last = colon == std::string_view::npos;
    const auto field = text.substr(0, colon);
    const auto whole = last ? field.substr(0, field.find('.')) : field;
    const auto number = leading_number(field);
    if (!number || !number->rest.empty()) return std::nullopt;
    if (whole.find_first_not_of("0123456789") != std::string_view::npos) return std::nullopt;
    if (colons > 0 && (whole.size() != 2 || number->value >= 60.0)) return std::nullopt;
    time_s = 60.0 * time_s + number->value;
    if (last) return time_s;
    text.remove_prefix(colon + 1);
  }
  return std::nullopt;
}

}  // namespace

Result<double> length_m(std::string_view text) {
  return read(text, length);
}

Result<double> pitch_m(std::string_view text) {
  return read(text, pitch);
}

Result<double> duration_s(std::string_view text) {
  if (text.find(':') == std::string_view::npos) return read(text, duration);
  const auto time_s = clock_s(trimmed(text));
  if (!time_s) return no_such(text, duration);
  return within(*time_s, text, duration);
}

Result<double> rotation_rpm(std::string_view text) {
  auto rpm = read(text, rotation);
  if (!rpm) return rpm;
  const auto digits = leading_number(text)->digits;
  const bool a_third = digits.size() > 3 && digits.starts_with("33.") &&
                       digits.find_first_not_of('3', 3) == std::string_view::npos;
  return a_third ? 100.0 / 3.0 : *rpm;
}

Result<double> frequency_Hz(std::string_view text) {
  return read(text, frequency);
}
Result<double> mass_kg(std::string_view text) {
  return read(text, mass);
}
Result<double> temperature_K(std::string_view text) {
  return read(text, temperature);
}
Result<double> pressure_Pa(std::string_view text) {
  return read(text, pressure);
}
Result<double> level_dB(std::string_view text) {
  return read(text, level);
}
Result<double> fraction(std::string_view text) {
  return read(text, part);
}
Result<double> deviation(std::string_view text) {
  return read(text, relative);
}
Result<double> area_m2(std::string_view text) {
  return read(text, area);
}
Result<double> current_A(std::string_view text) {
  return read(text, current);
}
Result<double> current_density_A_per_m2(std::string_view text) {
  return read(text, current_density);
}
Result<double> charge_C(std::string_view text) {
  return read(text, charge);
}
Result<double> voltage_V(std::string_view text) {
  return read(text, voltage);
}
Result<double> conductivity_S_per_m(std::string_view text) {
  return read(text, conductivity);
}
Result<double> surface_resistance_ohm_m2(std::string_view text) {
  return read(text, surface_resistance);
}
Result<double> concentration_kg_per_m3(std::string_view text) {
  return read(text, concentration);
}
Result<double> molar_mass_kg_per_mol(std::string_view text) {
  return read(text, molar_mass);
}
Result<double> dose_m3_per_C(std::string_view text) {
  return read(text, dose);
}
Result<double> stress_Pa(std::string_view text) {
  return read(text, stress);
}
Result<double> torsion_Nm_per_rad(std::string_view text) {
  return read(text, torsion);
}

Result<double> volume_m3(std::string_view text) {
  return read(text, volume);
}
Result<double> density_kg_per_m3(std::string_view text) {
  return read(text, density);
}
Result<double> power_W(std::string_view text) {
  return read(text, power);
}
Result<double> heat_capacity_J_per_kgK(std::string_view text) {
  return read(text, heat_capacity);
}

}  // namespace goodside::units
