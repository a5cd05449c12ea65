#pragma once
#include "base/result.hpp"
#include "works/plating.hpp"

namespace goodside::metal {

// The cathode's laws of works::Kinetics. eta [V] is positive where metal is laid, i [A/m2] too.
// Sources: [NewmanThomasAlyea2004] chapter 8; the primary law has no current of its own.

/// i(eta); for linear, tafel and butler_volmer. Grows with eta. Beyond 1e300 it stays there.
[[nodiscard]] double current_density_A_per_m2(const works::Kinetics&, double overpotential_V);
/// di/deta > 0.
[[nodiscard]] double conductance_S_per_m2(const works::Kinetics&, double overpotential_V);
/// eta(i), the inverse; 0 for primary. `i` > 0.
[[nodiscard]] double overpotential_V(const works::Kinetics&, double current_density_A_per_m2);

/// Wagner number  Wa = kappa (d eta / d i) / a  at a current density. Source: [IUPAC-Wagner] (C01456).
[[nodiscard]] double wagner(const works::Kinetics&,
                            double current_density_A_per_m2,
                            double conductivity_S_per_m,
                            double length_m);

/// The surface where `resistance` [ohm m2] of liquid lies before it and `beyond_V` stands behind that:
///   i = i(eta),  eta + resistance i = beyond_V.
struct SurfaceState {
  double current_density_A_per_m2{};
  double slope_S_per_m2{};  ///< d i / d beyond
};
/// Newton held within a bracket; to 1e-15 of the larger of |beyond| and 1 mV, in at most 200 steps.
[[nodiscard]] SurfaceState surface_state(const works::Kinetics&,
                                         double resistance_ohm_m2,
                                         double beyond_V);

/// Errors: Fault::out_of_range naming the figure and the mend.
[[nodiscard]] Outcome check(const works::Kinetics&);

}  // namespace goodside::metal
