#pragma once
#include <array>
#include <cstddef>
#include <initializer_list>
#include <string>

namespace goodside::press {

/// A property over temperature: straight between its knots, level beyond them.
class Property {
 public:
  struct Knot {
    double temperature_K{}, value{};
  };
  /// One to six knots, temperatures growing.
  Property(std::initializer_list<Knot> knots);
  Property(double constant) : Property({Knot{273.15, constant}}) {}

  [[nodiscard]] double at(double temperature_K) const;
  [[nodiscard]] Property times(double factor) const;
  [[nodiscard]] std::size_t knots() const { return count_; }
  [[nodiscard]] const Knot& knot(std::size_t i) const { return knots_[i]; }
  [[nodiscard]] double slope(std::size_t i) const { return slope_[i]; }

 private:
  std::array<Knot, 6> knots_{};
  std::array<double, 6> slope_{};  ///< from knot i on
  std::size_t count_{};
};

/// Heat in a volume against temperature, from 0 at 273.15 K: the exact integral of density times
/// heat capacity, and its inverse. Density does not change with temperature, so mass is kept.
class HeatCurve {
 public:
  HeatCurve(double density_kg_per_m3, const Property& heat_capacity_J_per_kgK);

  [[nodiscard]] double heat_J_per_m3(double temperature_K) const;
  [[nodiscard]] double capacity_J_per_m3K(double temperature_K) const;
  [[nodiscard]] double temperature_K(double heat_J_per_m3) const;

 private:
  Property capacity_;
  std::array<double, 6> heat_{};  ///< at the knots
};

struct Material {
  std::string name;
  double density_kg_per_m3{};
  Property conductivity_W_per_mK{0.0}, heat_capacity_J_per_kgK{0.0};
};

/// Carbon-manganese steel, pure nickel, pure copper. Source: [Incropera2007] table A.1 (from
/// memory); steels of dies run from 25 to 50 W/mK, bright nickel deposits lower than pure nickel.
[[nodiscard]] Material die_steel();
[[nodiscard]] Material nickel();
[[nodiscard]] Material copper();

}  // namespace goodside::press
