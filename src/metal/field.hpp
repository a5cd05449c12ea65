#pragma once
#include <memory>
#include <vector>

#include "base/result.hpp"
#include "works/plating.hpp"

namespace goodside::metal {

/// The currents on a disc at one total current.
struct FieldState {
  double current_A{};
  std::vector<double> current_density_A_per_m2;  ///< of each ring, see PotentialField::ring_edges_m
  double voltage_V{};       ///< anode against cathode, less their equilibrium potentials
  double charge_balance{};  ///< |anode - cathode current| / current
  int iterations{};         ///< Newton steps
};

/// Potential in a plating cell round its axis:
///   div(kappa grad phi) = 0 in the liquid,  no current into walls, holder, shield and the level,
///   phi = V at the anode,  kappa dphi/dn = i(phi) at the disc, its metal at 0  [NewmanThomasAlyea2004, chapter 18].
/// Finite volumes on the lines of section_mesh, so that charge is kept cell by cell; V is sought with the
/// potentials so that the disc takes the current asked for. Newton; each step is a sparse LDL^T solve, refined once.
/// Validity: uniform conductivity (stirred), one reaction of fixed efficiency, growth far thinner than the
/// cell, an anode whose polarisation is even. A disc that stands upright has no axis of symmetry with its
/// tank: its nearest wall or level as the cell's radius is the careful reading.
/// Accuracy, at fineness 1: docs/metal.md; the order of convergence is shown in tests/metal/field_test.cpp.
class PotentialField {
 public:
  /// Errors: those of check(cell), check(kinetics).
  static Result<PotentialField> make(const works::PlatingCell&,
                                     const works::Kinetics&,
                                     double fineness = 1.0);
  PotentialField(PotentialField&&) noexcept;
  PotentialField& operator=(PotentialField&&) noexcept;
  ~PotentialField();

  /// Errors: Fault::out_of_range for a current that is not above 0 and finite; Fault::not_converged.
  /// Begins from the last state solved. O(n^1.5) of unknowns.
  Result<FieldState> solve(double current_A);

  /// Rings of the disc: ring k lies between entries k and k + 1; the last is the disc's edge.
  [[nodiscard]] const std::vector<double>& ring_edges_m() const;
  [[nodiscard]] int unknowns() const;
  /// Of the last state solved.
  [[nodiscard]] works::CellSection section() const;

 private:
  struct Engine;
  explicit PotentialField(std::unique_ptr<Engine>);
  std::unique_ptr<Engine> engine_;
};

/// V / I of a cell whose cathode answers at once (the primary distribution) [ohm].
[[nodiscard]] Result<double> ohmic_resistance_ohm(const works::PlatingCell&, double fineness = 1.0);

}  // namespace goodside::metal
