#pragma once
#include <cstdint>

namespace goodside::draw {

/// An sRGB colour, channels in [0, 1].
struct Colour {
  double red{}, green{}, blue{};
  bool operator==(const Colour&) const = default;
};

/// 0xRRGGBB as a Colour.
constexpr Colour colour(std::uint32_t rgb) {
  return {((rgb >> 16) & 0xFFU) / 255.0, ((rgb >> 8) & 0xFFU) / 255.0, (rgb & 0xFFU) / 255.0};
}

/// Relative luminance, 0 black to 1 white:  L = 0.2126 R + 0.7152 G + 0.0722 B of the linearised
/// channels. Source: W3C, WCAG 2.1, "relative luminance".
[[nodiscard]] double relative_luminance(Colour);

/// Contrast ratio (L1 + 0.05)/(L2 + 0.05), 1 to 21, the order of the two being of no matter.
/// Source: W3C, WCAG 2.1, "contrast ratio"; success criteria 1.4.3 (text, 4.5) and 1.4.11 (marks,
/// 3).
[[nodiscard]] double contrast_ratio(Colour, Colour);

/// The house's colours: paper, groove black and copper; blue for good, orange for out.
struct Palette {
  Colour ground, raised, line, ink, quiet_ink, copper, good, out;
};

/// Sleeve paper by day.
inline constexpr Palette light_palette{.ground = colour(0xF6F4EF),
                                       .raised = colour(0xFFFFFF),
                                       .line = colour(0xD5D0C4),
                                       .ink = colour(0x1D1F21),
                                       .quiet_ink = colour(0x5B5F63),
                                       .copper = colour(0x9A4F1F),
                                       .good = colour(0x1F5FA8),
                                       .out = colour(0xB85000)};
/// The same at a darkened bench; blue and orange are raised until they read on the dark ground.
inline constexpr Palette dark_palette{.ground = colour(0x16181A),
                                      .raised = colour(0x1F2225),
                                      .line = colour(0x383D42),
                                      .ink = colour(0xECE9E2),
                                      .quiet_ink = colour(0xA3A7AA),
                                      .copper = colour(0xE0935A),
                                      .good = colour(0x7DB2EE),
                                      .out = colour(0xF0923C)};

}  // namespace goodside::draw
