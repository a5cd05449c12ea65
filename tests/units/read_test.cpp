#include "units/read.hpp"

#include <gtest/gtest.h>

#include <array>
#include <clocale>
#include <cmath>
#include <random>
#include <string>

#include "support/golden.hpp"

namespace goodside::units {
namespace {

using Reader = Result<double> (*)(std::string_view);

struct Named {
  const char* name;
  Reader read;
};
constexpr std::array readers{Named{"length", length_m},
                             Named{"pitch", pitch_m},
                             Named{"duration", duration_s},
                             Named{"rotation", rotation_rpm},
                             Named{"frequency", frequency_Hz},
                             Named{"mass", mass_kg},
                             Named{"temperature", temperature_K},
                             Named{"pressure", pressure_Pa},
                             Named{"level", level_dB},
                             Named{"fraction", fraction},
                             Named{"deviation", deviation},
                             Named{"area", area_m2},
                             Named{"current", current_A},
                             Named{"current density", current_density_A_per_m2},
                             Named{"charge", charge_C},
                             Named{"voltage", voltage_V},
                             Named{"conductivity", conductivity_S_per_m},
                             Named{"surface resistance", surface_resistance_ohm_m2},
                             Named{"concentration", concentration_kg_per_m3},
                             Named{"molar mass", molar_mass_kg_per_mol},
                             Named{"dose", dose_m3_per_C},
                             Named{"stress", stress_Pa},
                             Named{"torsion", torsion_Nm_per_rad}};

TEST(Read, LengthsInEverySpelling) {
  for (const auto* text : {"10in",
                           "10 in",
                           "10\"",
                           "10 inches",
                           "254 mm",
                           "254mm",
                           "25.4 cm",
                           "0.254 m",
                           "2.54e2 mm",
                           "+254 mm",
                           " 254\u00a0mm ",
                           "254\u202fmm",
                           "10 ″",
                           "10000 mil"})
    EXPECT_EQ(length_m(text).value(), 0.254) << text;
  for (const auto* text : {"25um", "25 µm", "25 μm", "0.025 mm"})
    EXPECT_DOUBLE_EQ(length_m(text).value(), 25e-6) << text;
  EXPECT_EQ(length_m("12 in").value(), 0.3048);
  EXPECT_EQ(length_m("-0.1 mm").value(), -1e-4);
  EXPECT_EQ(length_m("−0.1 mm").value(), -1e-4);
  EXPECT_EQ(length_m(".5 mm").value(), 5e-4);
}

// Published: 1 ft = 0.3048 m exactly [SP811, appendix B.8]; A h and the litre by [SI2019].
TEST(Read, QuantitiesOfTheMetalRoom) {
  for (const auto* text : {"6 A/dm2", "6A/dm²", "600 A/m2", "60 mA/cm2"})
    EXPECT_DOUBLE_EQ(current_density_A_per_m2(text).value(), 600.0) << text;
  EXPECT_NEAR(current_density_A_per_m2("60 ASF").value(), 60.0 / (0.3048 * 0.3048), 1e-9);
  for (const auto* text : {"2 Ah", "2 A·h", "120 A·min", "7200 C"})
    EXPECT_DOUBLE_EQ(charge_C(text).value(), 7200.0) << text;
  for (const auto* text : {"8 S/m", "80 mS/cm", "0.08 S/cm"})
    EXPECT_DOUBLE_EQ(conductivity_S_per_m(text).value(), 8.0) << text;
  for (const auto* text : {"220 g/L", "220 kg/m3", "0.22 g/cm3"})
    EXPECT_DOUBLE_EQ(concentration_kg_per_m3(text).value(), 220.0) << text;
  EXPECT_DOUBLE_EQ(area_m2("8 dm2").value(), 0.08);
  EXPECT_DOUBLE_EQ(area_m2("1 ft2").value(), 0.3048 * 0.3048);
  EXPECT_DOUBLE_EQ(surface_resistance_ohm_m2("5 ohm cm2").value(), 5e-4);
  EXPECT_DOUBLE_EQ(dose_m3_per_C("36 mL/kAh").value(), 1e-11);
  EXPECT_DOUBLE_EQ(stress_Pa("-40 MPa").value(), -40e6);
  EXPECT_DOUBLE_EQ(molar_mass_kg_per_mol("58.6934 g/mol").value(), 58.6934e-3);
  EXPECT_NEAR(torsion_Nm_per_rad("1 N mm/deg").value(), 1e-3 * 180.0 / 3.14159265358979, 1e-15);
  EXPECT_DOUBLE_EQ(voltage_V("120 mV").value(), 0.12);
  EXPECT_DOUBLE_EQ(current_A("48 A").value(), 48.0);
}

TEST(Read, WhatACompoundIsMadeOfInEverySpelling) {
  for (const auto* text : {"75 l", "75 L", "75 litres", "0.075 m3", "75000 cm³", "75000 ml"})
    EXPECT_DOUBLE_EQ(volume_m3(text).value(), 0.075) << text;
  for (const auto* text : {"1.92 g/cm3", "1.92 kg/l", "1920 kg/m³", "1920kg/m3"})
    EXPECT_DOUBLE_EQ(density_kg_per_m3(text).value(), 1920.0) << text;
  for (const auto* text : {"55 kW", "55000 W"})
    EXPECT_DOUBLE_EQ(power_W(text).value(), 55e3) << text;
  for (const auto* text : {"1.1 kJ/kgK", "1100 J/kgK", "1.1 kJ/(kg K)"})
    EXPECT_DOUBLE_EQ(heat_capacity_J_per_kgK(text).value(), 1100.0) << text;
  for (const auto* text : {"1.92", "0 g/cm3", "-2 g/cm3", "nan g/cm3"})
    EXPECT_FALSE(density_kg_per_m3(text)) << text;
  EXPECT_FALSE(volume_m3("-1 l"));
  EXPECT_FALSE(power_W("55 KW"));
}

// Published: 1 lb = 0.45359237 kg exactly, 1 oz = 1/16 lb [SP811, appendix B.8].
TEST(Read, MassesInEverySpelling) {
  for (const auto* text : {"0.14 kg", "140 g", "140g", "140000 mg", "0.00014 t"})
    EXPECT_DOUBLE_EQ(mass_kg(text).value(), 0.14) << text;
  EXPECT_EQ(mass_kg("1 lb").value(), 0.45359237);
  EXPECT_DOUBLE_EQ(mass_kg("16 oz").value(), 0.45359237);
  for (const auto* text : {"140", "-1 kg", "nan kg", "1e9 kg", "1 stone"})
    EXPECT_FALSE(mass_kg(text).has_value()) << text;
}

// Published: 9 7/8 in and 11 7/8 in are 250.8 mm and 301.6 mm in the table of disc diameters
// [Usma18483].
TEST(Read, FractionsOfAnInch) {
  EXPECT_NEAR(length_m("9 7/8 in").value(), 0.2508, 0.00005);
  EXPECT_NEAR(length_m("11⅞ in").value(), 0.3016, 0.00005);
  EXPECT_EQ(length_m("11 7/8 in").value(), 11.875 * 0.0254);
  EXPECT_EQ(length_m("7/8in").value(), 0.022225);
}

TEST(Read, PitchAsCountOrLength) {
  EXPECT_DOUBLE_EQ(pitch_m("100 lpi").value(), 0.254e-3);
  EXPECT_DOUBLE_EQ(pitch_m("120 lines/inch").value(), 0.0254 / 120.0);
  EXPECT_DOUBLE_EQ(pitch_m("4 lines/mm").value(), 0.25e-3);
  EXPECT_EQ(pitch_m("0.1 mm").value(), 1e-4);
}

TEST(Read, TimesAsClockOrQuantity) {
  EXPECT_EQ(duration_s("3:42").value(), 222.0);
  EXPECT_EQ(duration_s("3:42.5").value(), 222.5);
  EXPECT_EQ(duration_s("1:03:42").value(), 3822.0);
  EXPECT_EQ(duration_s("75:00").value(), 4500.0);
  EXPECT_EQ(duration_s("8 h").value(), 28800.0);
  EXPECT_EQ(duration_s("20 ms").value(), 0.020);
  EXPECT_EQ(duration_s("2.5min").value(), 150.0);
  for (const auto* text : {"3:72",
                           "3:4",
                           "3:042",
                           "1:75:00",
                           "1:2:03",
                           "1:00:00:00",
                           ":42",
                           "3:",
                           "3:-4",
                           "-3:42",
                           "3:42 s",
                           "3.5:42",
                           "3:42:",
                           "3: 42",
                           "nan:00",
                           "1e1:00",
                           "3:1e1"})
    EXPECT_FALSE(duration_s(text).has_value()) << text;
}

TEST(Read, SpeedsOfRotation) {
  for (const auto* text :
       {"33 1/3", "33⅓", "33⅓ rpm", "33 ⅓ rpm", "33.3", "33.33 rpm", "33.333", "33.3333333"})
    EXPECT_EQ(rotation_rpm(text).value(), 100.0 / 3.0) << text;
  EXPECT_EQ(rotation_rpm("78.26 rpm").value(), 78.26);
  EXPECT_EQ(rotation_rpm("45").value(), 45.0);
  EXPECT_EQ(rotation_rpm("33").value(), 33.0);
  EXPECT_EQ(rotation_rpm("33.32").value(), 33.32);
}

TEST(Read, TemperatureAndPressure) {
  EXPECT_EQ(temperature_K("165 °C").value(), 438.15);
  EXPECT_EQ(temperature_K("165C").value(), 438.15);
  EXPECT_EQ(temperature_K("-40 °F").value(), temperature_K("-40 °C").value());
  EXPECT_EQ(temperature_K("0 K").value(), 0.0);
  EXPECT_EQ(temperature_K("-274 °C").error().fault, Fault::out_of_range);
  EXPECT_NEAR(pressure_Pa("90 psi").value(), 90.0 * 6.894757e3, 90.0 * 0.0005);  // [SP811] B.8
  EXPECT_EQ(pressure_Pa("6.2 bar").value(), 620000.0);
  EXPECT_EQ(pressure_Pa("0.62 MPa").value(), 620000.0);
}

TEST(Read, LevelsAndShares) {
  EXPECT_EQ(level_dB("-12 dB").value(), -12.0);
  EXPECT_EQ(level_dB("-12").value(), -12.0);
  EXPECT_EQ(fraction("95 %").value(), 0.95);
  EXPECT_EQ(fraction("0.95").value(), 0.95);
  EXPECT_EQ(deviation("120 ppm").value(), 120e-6);
  EXPECT_EQ(deviation("0.3%").value(), 0.003);
  EXPECT_EQ(frequency_Hz("3.15 kHz").value(), 3150.0);
  EXPECT_FALSE(deviation("0.3").has_value());
}

TEST(Read, NothingThatIsNoFiniteQuantityPasses) {
  for (const auto& [name, read] : readers)
    for (const char* number :
         {"nan", "NaN", "inf",  "-inf", "infinity", "1e999", "-1e999", "1e300", "",    " ", "-",
          ".",   "e5",  "0x10", "1,5",  "1 2",      "1/0",   "5/",     "--1",   "+-1", "١"})
      for (const char* unit :
           {"", " mm", " lpi", " s", " rpm", " Hz", " °C", " bar", " dB", " %", " ppm"})
        EXPECT_FALSE(read(std::string{number} + unit).has_value())
            << name << ": " << number << unit;
}

TEST(Read, TrailingJunkIsRefused) {
  EXPECT_FALSE(length_m("10 mm.").has_value());
  EXPECT_FALSE(length_m("10 mm mm").has_value());
  EXPECT_FALSE(length_m("10 MM").has_value());
  EXPECT_FALSE(length_m(std::string_view{"10 mm\0", 6}).has_value());
  EXPECT_FALSE(pressure_Pa("6 mPa").has_value());
}

TEST(Read, ABareNumberIsOnlyTakenWhereItCanMeanOneThing) {
  for (const Reader read :
       {length_m, pitch_m, duration_s, frequency_Hz, temperature_K, pressure_Pa, deviation})
    EXPECT_FALSE(read("0.5").has_value());
  for (const Reader read : {level_dB, fraction}) EXPECT_TRUE(read("0.5").has_value());
}

// A locale with a decimal comma, where strtod would stop at the point. Any that is installed will
// do; the "C" locale still runs the reading.
TEST(Read, DoesNotHearTheLocale) {
  const std::string before = std::setlocale(LC_ALL, nullptr);
  for (const char* comma : {"de_DE.UTF-8", "fr_FR.UTF-8", "C.UTF-8"})
    if (std::setlocale(LC_ALL, comma) != nullptr) break;
  EXPECT_EQ(length_m("2.5 mm").value(), 0.0025);
  EXPECT_FALSE(length_m("2,5 mm").has_value());
  std::setlocale(LC_ALL, before.c_str());
}

// Property: no text, however broken, does more than be read or refused with one line.
TEST(Read, SurvivesAnyText) {
  std::mt19937 engine{20251125};
  const std::string letters = "0123456789.:/-+eE nifaIN\"mCKrps%\xc2\xb0\xe2\x85\x93\xff\n\t";
  for (int trial = 0; trial < 20000; ++trial) {
    std::string text(engine() % 12, ' ');
    for (char& letter : text) letter = letters[engine() % letters.size()];
    for (const auto& [name, read] : readers) {
      const auto value = read(text);
      if (value)
        EXPECT_TRUE(std::isfinite(*value)) << name << ": " << text;
      else
        EXPECT_EQ(value.error().text.find('\n'), std::string::npos) << name << ": " << text;
    }
  }
}

TEST(Read, RefusalsReadAsApproved) {
  std::string sentences;
  const auto refuse = [&](Reader read, std::string_view text) {
    sentences += read(text).error().text + "\n";
  };
  for (const auto& [name, read] : readers) refuse(read, "ten");
  refuse(length_m, "10");
  refuse(length_m, "2,5 mm");
  refuse(length_m, "nan mm");
  refuse(length_m, "1e9 m");
  refuse(pitch_m, "0 lpi");
  refuse(rotation_rpm, "0 rpm");
  refuse(temperature_K, "-300 °C");
  refuse(fraction, "120 %");
  refuse(length_m, "a text so long that nobody at the bench would ever read it to its end");
  EXPECT_TRUE(goodside::testing::matches_golden("units/golden/refusals.txt", sentences));
}

}  // namespace
}  // namespace goodside::units
