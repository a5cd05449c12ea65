#include "metal/stress.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>

#include "metal/bounds.hpp"

namespace goodside::metal {
Result<double> strip_stress_Pa(const StripReading& strip) {
  const std::array bounds{
      Bounds{"a strip's length in m", strip.length_m, 1e-3, 1.0},
      Bounds{"a strip's thickness in m", strip.thickness_m, 1e-6, 0.02},
      Bounds{"a strip's deposit in m", strip.deposit_m, 1e-9, 0.1 * strip.thickness_m},
      Bounds{"a strip's deflection in m", std::abs(strip.deflection_m), 0.0, strip.length_m},
      Bounds{"a strip's elastic modulus in Pa", strip.elastic_modulus_Pa, 1e9, 1e12},
      Bounds{"a strip's Poisson's ratio", strip.poisson_ratio, 0.0, 0.49}};
  if (const auto fit = within("", bounds); !fit) return fit.error();
  const double d = strip.deflection_m;
  const double curvature = 2.0 * d / (strip.length_m * strip.length_m + d * d);
  return strip.elastic_modulus_Pa * strip.thickness_m * strip.thickness_m * curvature /
         (6.0 * (1.0 - strip.poisson_ratio) * strip.deposit_m);
}

Result<double> spiral_stress_Pa(const SpiralReading& spiral) {
  const std::array bounds{
      Bounds{"a spiral's constant in N m/rad", spiral.constant_Nm_per_rad, 1e-7, 10.0},
      Bounds{"a spiral's turn in rad", std::abs(spiral.turn_rad), 0.0, 20.0},
      Bounds{"a spiral's pitch in m", spiral.pitch_m, 1e-3, 0.1},
      Bounds{"a spiral's thickness in m", spiral.thickness_m, 1e-5, 0.01},
      Bounds{"a spiral's deposit in m", spiral.deposit_m, 1e-8, spiral.thickness_m}};
  if (const auto fit = within("", bounds); !fit) return fit.error();
  return 2.0 * spiral.constant_Nm_per_rad * spiral.turn_rad /
         (spiral.pitch_m * spiral.deposit_m * (spiral.thickness_m + spiral.deposit_m));
}

Result<Bow> bow(const StressedPair& pair) {
  const std::array bounds{
      Bounds{"a stress in Pa", std::abs(pair.stress_Pa), 0.0, 3e9},
      Bounds{"a deposit's thickness in m", pair.deposit_m, 1e-9, 0.05},
      Bounds{"a base's thickness in m", pair.base_m, 1e-6, 0.2},
      Bounds{"a deposit's elastic modulus in Pa", pair.deposit_modulus_Pa, 1e9, 1e12},
      Bounds{"a base's elastic modulus in Pa", pair.base_modulus_Pa, 1e9, 1e12},
      Bounds{"a deposit's Poisson's ratio", pair.deposit_poisson, 0.0, 0.49},
      Bounds{"a base's Poisson's ratio", pair.base_poisson, 0.0, 0.49},
      Bounds{"a disc's radius in m", pair.radius_m, 1e-3, 10.0}};
  if (const auto fit = within("", bounds); !fit) return fit.error();
  const double deposit_M = pair.deposit_modulus_Pa / (1.0 - pair.deposit_poisson);
  const double base_M = pair.base_modulus_Pa / (1.0 - pair.base_poisson);
  const double strain = pair.stress_Pa / deposit_M;
  const double m = pair.base_m / pair.deposit_m, n = base_M / deposit_M;
  const double h = pair.base_m + pair.deposit_m, whole = (1.0 + m) * (1.0 + m);
  Bow bow;
  bow.curvature_per_m =
      6.0 * strain * whole / (h * (3.0 * whole + (1.0 + m * n) * (m * m + 1.0 / (m * n))));
  bow.height_m = 0.5 * bow.curvature_per_m * pair.radius_m * pair.radius_m;
  bow.outgrown = std::abs(bow.height_m) > 0.5 * h;
  return bow;
}

}  // namespace goodside::metal
