#include "draw/colour.hpp"

#include <algorithm>
#include <cmath>

namespace goodside::draw {
namespace {

double linear(double channel) {
  return channel <= 0.03928 ? channel / 12.92 : std::pow((channel + 0.055) / 1.055, 2.4);
}

}  // namespace

double relative_luminance(Colour c) {
  return 0.2126 * linear(c.red) + 0.7152 * linear(c.green) + 0.0722 * linear(c.blue);
}

double contrast_ratio(Colour a, Colour b) {
  const double one = relative_luminance(a), other = relative_luminance(b);
  return (std::max(one, other) + 0.05) / (std::min(one, other) + 0.05);
}

}  // namespace goodside::draw
