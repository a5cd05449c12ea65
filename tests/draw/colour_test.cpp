#include "draw/colour.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>

#include "draw/noise_scale.hpp"

namespace goodside::draw {
namespace {

// Published: W3C, WCAG 2.1, definitions of relative luminance and contrast ratio: black on white is
// 21:1, equal colours 1:1. #777777 on white, 4.48:1, is the accessibility guides' usual near miss
// (from memory).
TEST(Contrast, AgreesWithTheDefinition) {
  EXPECT_NEAR(contrast_ratio(colour(0x000000), colour(0xFFFFFF)), 21.0, 1e-12);
  EXPECT_DOUBLE_EQ(contrast_ratio(colour(0x9A4F1F), colour(0x9A4F1F)), 1.0);
  EXPECT_NEAR(contrast_ratio(colour(0x777777), colour(0xFFFFFF)), 4.48, 0.005);
}

// Published: W3C, WCAG 2.1, success criteria 1.4.3 (text at least 4.5:1) and 1.4.11 (marks at least
// 3:1).
TEST(Palette, EveryPairInUseReadsByDayAndInTheDark) {
  for (const Palette& p : {light_palette, dark_palette}) {
    for (const Colour text : {p.ink, p.quiet_ink, p.copper, p.good, p.out})
      for (const Colour ground : {p.ground, p.raised}) EXPECT_GE(contrast_ratio(text, ground), 4.5);
    EXPECT_GE(contrast_ratio(p.ink, p.line), 3.0);        // the disc's edge on its body
    EXPECT_GE(contrast_ratio(p.quiet_ink, p.line), 3.0);  // the band's edge on its body
  }
}

/// CIE 1976 lightness, 0 to 100, of a relative luminance. Source: CIE 15:2004, 8.2.1.
double lightness(Colour c) {
  const double y = relative_luminance(c);
  return y > 216.0 / 24389.0 ? 116.0 * std::cbrt(y) - 16.0 : y * 24389.0 / 27.0;
}

// Property: equal steps of the amount are nearly equal steps of lightness, everywhere upwards.
TEST(AmountColour, RisesEvenlyInLightness) {
  constexpr int steps = 32;
  const double mean = (lightness(amount_colour(1.0)) - lightness(amount_colour(0.0))) / steps;
  for (int i = 0; i < steps; ++i) {
    const double step =
        lightness(amount_colour((i + 1.0) / steps)) - lightness(amount_colour(1.0 * i / steps));
    EXPECT_GT(step, 0.7 * mean) << i;
    EXPECT_LT(step, 1.3 * mean) << i;
  }
}

// Published: deuteranopia at severity 1.0, G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, IEEE
// TVCG 15(6) (2009), table 1 (from memory). An eye without the green cone sees the scale rise
// everywhere too.
TEST(AmountColour, RisesForAnEyeWithoutTheGreenCone) {
  constexpr std::array<std::array<double, 3>, 3> m{{{0.367322, 0.860646, -0.227968},
                                                    {0.280085, 0.672501, 0.047413},
                                                    {-0.011820, 0.042940, 0.968881}}};
  const auto seen = [&](Colour c) {
    const auto row = [&](int i) {
      const auto& r = m[static_cast<std::size_t>(i)];
      return std::min(1.0, std::max(0.0, r[0] * c.red + r[1] * c.green + r[2] * c.blue));
    };
    return Colour{row(0), row(1), row(2)};
  };
  for (int i = 0; i < 32; ++i)
    EXPECT_GT(lightness(seen(amount_colour((i + 1) / 32.0))),
              lightness(seen(amount_colour(i / 32.0))));
}

TEST(AmountColour, HoldsItsEnds) {
  EXPECT_EQ(amount_colour(-3.0), amount_colour(0.0));
  EXPECT_EQ(amount_colour(7.0), amount_colour(1.0));
}

// Property: the ends are multiples of the step, hold both values, and leave two to six steps.
TEST(RoundScale, HoldsItsValuesBetweenRoundEnds) {
  for (const auto& [least, most] : std::array<std::pair<double, double>, 6>{{{-72.3, -41.0},
                                                                             {-50.0, -50.0},
                                                                             {-3.2, 2.9},
                                                                             {0.0, 7.0},
                                                                             {-100.0, 0.0},
                                                                             {-61.99, -60.01}}}) {
    const AmountScale scale = round_scale(least, most);
    const double steps = (scale.high - scale.low) / scale.step;
    EXPECT_LE(scale.low, least);
    EXPECT_GE(scale.high, most);
    EXPECT_NEAR(scale.low / scale.step, std::round(scale.low / scale.step), 1e-9);
    EXPECT_GE(steps, 2.0 - 1e-9);
    EXPECT_LE(steps, 6.0 + 1e-9);
  }
}

}  // namespace
}  // namespace goodside::draw
