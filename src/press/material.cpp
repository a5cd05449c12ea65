#include "press/material.hpp"

#include <algorithm>
#include <cmath>

#include "base/expects.hpp"

namespace goodside::press {
namespace {

constexpr double nought_K = 273.15;

}  // namespace

Property::Property(std::initializer_list<Knot> knots) : count_{knots.size()} {
  EXPECTS(count_ >= 1 && count_ <= knots_.size());
  std::ranges::copy(knots, knots_.begin());
  for (std::size_t i = 0; i + 1 < count_; ++i) {
    EXPECTS(knots_[i + 1].temperature_K > knots_[i].temperature_K);
    slope_[i] = (knots_[i + 1].value - knots_[i].value) /
                (knots_[i + 1].temperature_K - knots_[i].temperature_K);
  }
}

double Property::at(double temperature_K) const {
  if (temperature_K <= knots_[0].temperature_K) return knots_[0].value;
  std::size_t i = 0;
  while (i + 1 < count_ && temperature_K >= knots_[i + 1].temperature_K) ++i;
  return knots_[i].value + slope_[i] * (temperature_K - knots_[i].temperature_K);
}

Property Property::times(double factor) const {
  Property scaled = *this;
  for (std::size_t i = 0; i < count_; ++i) {
    scaled.knots_[i].value *= factor;
    scaled.slope_[i] *= factor;
  }
  return scaled;
}

HeatCurve::HeatCurve(double density_kg_per_m3, const Property& heat_capacity_J_per_kgK)
    : capacity_{heat_capacity_J_per_kgK.times(density_kg_per_m3)} {
  // From the first knot first, then shifted to 0 at 273.15 K.
  for (std::size_t i = 0; i + 1 < capacity_.knots(); ++i) {
    const double span = capacity_.knot(i + 1).temperature_K - capacity_.knot(i).temperature_K;
    heat_[i + 1] = heat_[i] + 0.5 * span * (capacity_.knot(i).value + capacity_.knot(i + 1).value);
  }
  const double shift = heat_J_per_m3(nought_K);
  for (std::size_t i = 0; i < capacity_.knots(); ++i) heat_[i] -= shift;
}

double HeatCurve::heat_J_per_m3(double temperature_K) const {
  std::size_t i = 0;
  while (i + 1 < capacity_.knots() && temperature_K >= capacity_.knot(i + 1).temperature_K) ++i;
  const double above = temperature_K - capacity_.knot(i).temperature_K;
  const double slope = above < 0.0 ? 0.0 : capacity_.slope(i);
  return heat_[i] + above * (capacity_.knot(i).value + 0.5 * slope * above);
}

double HeatCurve::capacity_J_per_m3K(double temperature_K) const {
  return capacity_.at(temperature_K);
}

double HeatCurve::temperature_K(double heat_J_per_m3) const {
  std::size_t i = 0;
  while (i + 1 < capacity_.knots() && heat_J_per_m3 >= heat_[i + 1]) ++i;
  const double above = heat_J_per_m3 - heat_[i], first = capacity_.knot(i).value;
  const double slope = above < 0.0 ? 0.0 : capacity_.slope(i);
  // The root of slope/2 x^2 + first x = above that is continuous in slope.
  return capacity_.knot(i).temperature_K +
         2.0 * above / (first + std::sqrt(first * first + 2.0 * slope * above));
}

Material die_steel() {
  return {.name = "die steel",
          .density_kg_per_m3 = 7850.0,
          .conductivity_W_per_mK = {{300.0, 41.0}, {400.0, 42.2}, {600.0, 39.7}},
          .heat_capacity_J_per_kgK = {{300.0, 434.0}, {400.0, 487.0}, {600.0, 559.0}}};
}

Material nickel() {
  return {.name = "nickel",
          .density_kg_per_m3 = 8900.0,
          .conductivity_W_per_mK = {{300.0, 90.7}, {400.0, 80.2}, {600.0, 65.6}},
          .heat_capacity_J_per_kgK = {{300.0, 444.0}, {400.0, 485.0}, {600.0, 592.0}}};
}

Material copper() {
  return {.name = "copper",
          .density_kg_per_m3 = 8933.0,
          .conductivity_W_per_mK = {{300.0, 401.0}, {400.0, 393.0}, {600.0, 379.0}},
          .heat_capacity_J_per_kgK = {{300.0, 385.0}, {400.0, 397.0}, {600.0, 417.0}}};
}

}  // namespace goodside::press
