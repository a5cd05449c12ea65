#pragma once
#include <cstddef>
#include <functional>
#include <span>
#include <vector>

#include "press/material.hpp"

namespace goodside::press {

/// One layer of a column of conduction, a finite volume. All heats are per square metre of the
/// column's own face; `share` is the part of that face which the layer covers.
struct Cell {
  const HeatCurve* heat{};
  const Property* conductivity{};
  double thickness_m{};
  double share{1.0};
  double resistance_m2K_per_W{};  ///< of the contact with the next cell
  bool joined{true};              ///< to the next cell
};

/// Heat from outside: through a face of a cell, or into the plane between two cells (a row of
/// channels). `film_W_per_m2K` lies between the reservoir and that face or plane; 0 shuts it off.
struct Exchange {
  std::size_t cell{};  ///< the one whose face it is, or the first of the plane's two
  bool plane{};
  double film_W_per_m2K{};
  double temperature_K{};
};

/// Transient conduction through a column of cells:
///     d/dt (heat in cell) = flux from both neighbours + exchanges + source,
/// conductances in series from centre to centre with the contact between. Implicit in time by the
/// two-stage, stiffly accurate SDIRK method of second order, gamma = 1 - 1/sqrt(2), L-stable.
/// Source:   [Patankar1980] chapter 4 for the conductances; [Alexander1977] for the method.
/// Order:    2 in time and 2 in space (measured in tests/press).
/// Balance:  cells gain exactly what their faces pass, so heat is kept to rounding whatever the
///           properties do with temperature; two passes each stage for those.
class Column {
 public:
  /// At one temperature.
  Column(std::vector<Cell> cells, double temperature_K);

  [[nodiscard]] std::size_t size() const { return cells_.size(); }
  [[nodiscard]] std::span<const double> temperature_K() const { return temperature_; }
  [[nodiscard]] const Cell& cell(std::size_t i) const { return cells_[i]; }
  [[nodiscard]] Cell& cell(std::size_t i) { return cells_[i]; }
  void set_temperature(std::size_t i, double temperature_K);
  /// Of cells [from, to).
  [[nodiscard]] double heat_J_per_m2(std::size_t from, std::size_t to) const;

  /// Sets the reservoirs for the instant `after_s` from the step's beginning.
  using Reservoirs = std::function<void(double after_s, std::span<Exchange>)>;

  /// One step. `source_W_per_m2` is one a cell or empty. What each exchange gave in the step is
  /// added to `given_J_per_m2`.
  void step(double time_s,
            std::span<Exchange> exchanges,
            const Reservoirs& reservoirs,
            std::span<const double> source_W_per_m2,
            std::span<double> given_J_per_m2);

  /// Temperatures on both sides of the contact after cell i.
  struct Faces {
    double before_K{}, behind_K{};
  };
  [[nodiscard]] Faces faces(std::size_t i) const;
  /// Of the plane of an exchange, as it stands to its reservoir now.
  [[nodiscard]] double plane_K(const Exchange&) const;

 private:
  void assemble(std::span<const double> at_K, std::span<const Exchange> exchanges);
  void solve(double weight_s, std::span<const double> held, std::span<const double> source);
  void rates(std::span<const double> source);

  std::vector<Cell> cells_;
  std::vector<double> temperature_, heat_;  ///< K, J/m3 of material
  // Of the step at hand.
  std::vector<double> link_, at_, gain_, first_gain_, held_, diagonal_, right_;
  struct Tie {
    std::size_t cell{};
    double conductance{}, temperature_K{};
    std::size_t exchange{};
  };
  std::vector<Tie> ties_;
  std::vector<double> flow_, first_flow_;
};

}  // namespace goodside::press
