#pragma once
#include "base/result.hpp"
#include "works/plating.hpp"

namespace goodside::metal {

/// A strip plated on one side and freed at one end: its tip stands off by `deflection_m`, towards the deposit
/// when the deposit is tensile (positive).
struct StripReading {
  double length_m{}, thickness_m{}, deposit_m{}, deflection_m{};
  double elastic_modulus_Pa{}, poisson_ratio{};
};
/// A helix plated outside, turned by the deposit; `constant_Nm_per_rad` from its weight calibration.
struct SpiralReading {
  double constant_Nm_per_rad{}, turn_rad{}, pitch_m{}, thickness_m{}, deposit_m{};
};

/// Radius of curvature of a strip from its deflection: R = (L^2 + d^2) / (2 |d|), an arc that leaves its clamp straight.
/// sigma = E_s t_s^2 / [6 (1 - nu_s) t_f R]. Source: [Stoney1909], with the biaxial modulus of a plate.
/// Valid for t_f << t_s: 2 % of the stress per 1 % of t_f / t_s is the size of what is left out.
/// Errors: Fault::out_of_range: a size not above 0, a deposit thicker than a tenth of the strip, a deflection beyond the length.
[[nodiscard]] Result<double> strip_stress_Pa(const StripReading&);

/// sigma = 2 K theta / [p t_f (t_s + t_f)]: the deposit's force per width, sigma t_f, at the lever (t_s + t_f) / 2, balanced by
/// the helix's moment K theta over its pitch p. Source: [BrennerSenderoff1949] without their modulus correction (from memory).
/// Errors: Fault::out_of_range.
[[nodiscard]] Result<double> spiral_stress_Pa(const SpiralReading&);

/// A deposit under stress on its base, both free to bend.
struct StressedPair {
  double stress_Pa{}, deposit_m{}, deposit_modulus_Pa{}, deposit_poisson{};
  double base_m{}, base_modulus_Pa{}, base_poisson{};
  double radius_m{};  ///< of the disc
};
struct Bow {
  double curvature_per_m{};  ///< positive: hollow on the deposit's side, as tension does
  double height_m{};         ///< of the middle against the edge, curvature x radius^2 / 2
  bool
      outgrown{};  ///< more than half of the whole thickness: the plate stiffens and the figure is too large
};
/// Timoshenko's two layers with the misfit strain sigma (1 - nu) / E in the place of the thermal one:
///   curvature = 6 e (1 + m)^2 / { h [3 (1 + m)^2 + (1 + m n)(m^2 + 1/(m n))] },  m = t_b/t_d, n = M_b/M_d,
/// M = E / (1 - nu). For t_d << t_b it is Stoney's. Source: [Timoshenko1925].
/// Errors: Fault::out_of_range.
[[nodiscard]] Result<Bow> bow(const StressedPair&);

}  // namespace goodside::metal
