#include "draw/noise_scale.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace goodside::draw {
namespace {

constexpr std::array<Colour, 9> points{{{0.000000, 0.135112, 0.304751},
                                        {0.103401, 0.220406, 0.435790},
                                        {0.263738, 0.307831, 0.422789},
                                        {0.380830, 0.395164, 0.435653},
                                        {0.488697, 0.485318, 0.471008},
                                        {0.609105, 0.579816, 0.463638},
                                        {0.736488, 0.680629, 0.424028},
                                        {0.870717, 0.789572, 0.343333},
                                        {0.995737, 0.909344, 0.217772}}};

}  // namespace

Colour amount_colour(double amount) {
  const double place = std::clamp(amount, 0.0, 1.0) * (points.size() - 1);
  const auto below = std::min(static_cast<std::size_t>(place), points.size() - 2);
  const double share = place - static_cast<double>(below);
  const Colour &a = points[below], &b = points[below + 1];
  return {std::lerp(a.red, b.red, share),
          std::lerp(a.green, b.green, share),
          std::lerp(a.blue, b.blue, share)};
}

AmountScale round_scale(double least, double most) {
  const double span = std::max(most - least, 1.0);
  const double power = std::pow(10.0, std::floor(std::log10(span)));
  double step = 2.0 * power;
  for (const double factor : {0.2, 0.5, 1.0}) {
    if (std::ceil(most / (factor * power)) - std::floor(least / (factor * power)) > 6.0) continue;
    step = factor * power;
    break;
  }
  const double low = std::floor(least / step) * step;
  return {low, std::max(std::ceil(most / step) * step, low + 2.0 * step), step};
}

}  // namespace goodside::draw
