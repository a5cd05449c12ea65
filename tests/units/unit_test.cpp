#include "units/unit.hpp"

#include <gtest/gtest.h>

namespace goodside::units {
namespace {

// Published: [SP811] (NIST SP 811, 2008), appendix B.8. Factors in bold there are exact.
TEST(Units, ExactFactorsOfSP811HoldToTheLastBit) {
  EXPECT_EQ(to_si(1.0, inch), 2.54e-2);        // inch (in) to metre
  EXPECT_EQ(to_si(1.0, mil), 2.54e-5);         // mil (0.001 in) to metre
  EXPECT_EQ(to_si(1.0, bar), 1.0e5);           // bar to pascal
  EXPECT_EQ(to_si(1.0, hour), 3.6e3);          // hour to second
  EXPECT_EQ(to_si(1.0, minute), 60.0);         // minute to second
  EXPECT_EQ(to_si(0.0, celsius), 273.15);      // T/K = t/degC + 273.15
  EXPECT_EQ(to_si(32.0, fahrenheit), 273.15);  // T/K = (t/degF + 459.67)/1.8
  EXPECT_DOUBLE_EQ(to_si(212.0, fahrenheit), 373.15);
  EXPECT_EQ(to_si(1.0, ppm), 1.0e-6);
}

// Published: the same table, psi to pascal 6.894 757 E+03; half of the last printed digit.
TEST(Units, PsiAgreesWithSP811) {
  EXPECT_NEAR(to_si(1.0, psi), 6.894757e3, 0.0005);
}

// Second road: pound (0.45359237 kg exactly) times standard gravity (9.80665 m/s2 exactly) on a
// square inch.
TEST(Units, PsiIsAPoundForceOnASquareInch) {
  EXPECT_DOUBLE_EQ(to_si(1.0, psi), 0.45359237 * 9.80665 / (0.0254 * 0.0254));
}

// Second road: 120 grooves of pitch p fill an inch; 5 fill a millimetre.
TEST(Units, LinesPerLengthAreTheInverseOfPitch) {
  EXPECT_DOUBLE_EQ(120.0 * to_si(120.0, lines_per_inch), 0.0254);
  EXPECT_DOUBLE_EQ(5.0 * to_si(5.0, lines_per_millimetre), 0.001);
  EXPECT_DOUBLE_EQ(from_si(to_si(224.0, lines_per_inch), lines_per_inch), 224.0);
}

}  // namespace
}  // namespace goodside::units
