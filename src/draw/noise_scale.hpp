#pragma once
#include "draw/colour.hpp"

namespace goodside::draw {

/// The colour of an amount, 0 (least) to 1 (most); values outside are held at the ends.
/// Lightness rises evenly and blue turns to yellow, which eyes of every kind tell apart.
/// Source: nine points of the map "cividis", J. R. Nuñez, C. R. Anderton, R. S. Renslow,
/// "Optimizing colormaps with consideration for color vision deficiency", PLoS ONE 13(7) e0199239
/// (2018), joined by straight lines in sRGB.
[[nodiscard]] Colour amount_colour(double amount);

/// A scale with round ends and ticks that holds the values given.
struct AmountScale {
  double low{}, high{}, step{};
  [[nodiscard]] double amount(double value) const { return (value - low) / (high - low); }
};
/// Ends on multiples of a step of 1, 2 or 5 times a power of ten, with two to six steps.
[[nodiscard]] AmountScale round_scale(double least, double most);

}  // namespace goodside::draw
