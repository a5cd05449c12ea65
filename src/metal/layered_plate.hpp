#pragma once
#include <span>
#include <string>

#include "base/result.hpp"
#include "works/backing.hpp"

namespace goodside::metal {

/// Two strips, fast to each other, heated by dT (Timoshenko):  m = t1/t2, n = E1/E2, h = t1 + t2,
///   kappa = 6 (alpha2 - alpha1) dT (1+m)^2 / (h (3 (1+m)^2 + (1 + m n)(m^2 + 1/(m n)))).
/// Positive: the second expands more and lies outside the bend. For plates of equal Poisson's ratio the same.
/// Source: S. Timoshenko, J. Opt. Soc. Am. 11, 1925, 233, equation 4 (from memory). Thicknesses, moduli > 0.
[[nodiscard]] double bimetal_curvature_per_m(const works::PlateLayer& first,
                                             const works::PlateLayer& second,
                                             double temperature_change_K);

/// A free plate of layers, all without stress at one temperature and then changed by dT, small bows:
///   [A B; B D] [e0; kappa] = [sum M a dT t; sum M a dT t z],   M = E/(1 - nu), z from the first layer's face,
/// A = sum M t, B and D its first and second moments; strain e0 + kappa z, stress M (strain - a dT), alike in all
/// directions of the plane. Source: classical plates, balance of forces and moments; two layers give Timoshenko.
struct FreePlate {
  double curvature_per_m{};
  double membrane_N_per_m{};  ///< A
  double bending_N_m{};       ///< D - B^2/A
  double neutral_m{};         ///< B/A
  double poisson{};           ///< mean, by M t
  double thickness_m{};
};
[[nodiscard]] FreePlate free_plate(std::span<const works::PlateLayer> layers,
                                   double temperature_change_K);

/// The curvature that a round plate of radius R really takes: a bowl must stretch, and the energies balance at
///   k0 = k + (1 - nu) A R^4 k^3 / (192 D'),   k0 of small bows, D' about the neutral plane.
/// Source: L. B. Freund, J. Mech. Phys. Solids 48, 2000 (from memory), whose form for one layer this is; derived again
/// in tests/metal/backing_test.cpp. Valid up to k R^2 sqrt(A/(192 D')) = 1/sqrt(1 + nu), past which the bowl may turn
/// into a roll. Accuracy: a few % of the bow (the bowl is taken as a sphere).
[[nodiscard]] double bowl_curvature_per_m(const FreePlate& plate, double radius_m);

struct BackingQuestion {
  std::vector<works::PlateLayer> layers;  ///< from the groove face to the back
  works::Solder solder{};
  std::vector<works::Solder> choice{};
  double room_K{}, press_K{}, radius_m{};
  double hottest_K{};  ///< of the press's cycle
  double flat_limit_m{};
  std::string flat_limit_from{};
  double least_margin_K{15.0};  ///< common practice, no source
};

/// The stack when cold and in the press, free of stress as the solder froze (at its solidus), and which solders stand
/// the press. Errors: Fault::bad_input, Fault::out_of_range naming the layer or temperature.
Result<works::BackingReport> backing(const BackingQuestion& question);

}  // namespace goodside::metal
