#pragma once
#include <optional>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "works/backing.hpp"

namespace goodside::metal {

struct MapQuestion {
  std::vector<works::GaugeReading> readings;
  double radius_m{};                ///< of the plate
  double disc_thickness_m{1.6e-3};  ///< of what is pressed
  double disc_radius_m{0.1505};
  double range_limit_m{};  ///< thickest to thinnest
  std::string range_limit_from{};
};

/// Thickness as  t = c + gx x + gy y - q r^2 / R^2  by least squares, bad readings left out by the generalized ESD test
/// (stats/linear_fit.hpp): wedge 2 R |g| towards its thick side, dome q. What the press makes of it, both platens
/// parallel: the disc is thinner where the stamper is thicker, so its centre of gravity lies |g| Rd^2/(4 h) from the
/// hole, on the stamper's thin side; the melt's flow through a gap goes by its cube, so the thickest place asks for
/// (h/(h - dt))^3 of the pressure.
/// Source: elementary; [IEC60098] 5.3: centre of gravity within a circle of 8 mm. Errors: Fault::bad_input for fewer than
/// six readings, absurd figures, or readings that lie on one line.
Result<works::ThicknessMap> thickness_map(const MapQuestion& question);

struct SurfaceQuestion {
  double roughness_m{};  ///< Rz, mean height of the profile, peak to valley
  double spacing_m{};    ///< RSm, mean width of its elements
  double thickness_m{}, pressure_Pa{};
  double limit_m{};
  std::string limit_from{};
  double rpm{33.0 + 1.0 / 3.0}, outer_radius_m{}, inner_radius_m{};
};

/// How much of the back's texture reaches the groove face: pressed against a rigid die, the plate follows a wave of the
/// back of height a (half of Rz) and length L as far as pressure bends it,  min(a, p / (D (2 pi/L)^4)),
/// D = E t^3/(12 (1 - nu^2)) of nickel. Its vertical velocity 2 pi v a/L at groove speed v, in dB re 5 cm/s peak.
/// Source: a plate's bending under a wave of pressure, elementary. Valid: L > 3 t; shorter waves print less still.
Result<works::BackSurface> back_surface(const SurfaceQuestion& question);

/// Strain of the outer fibre where a plate is formed round a radius:  t/(2 r + t), against what nickel stands.
/// Limit 5 %: electroformed nickel of little stress draws 5 to 25 % (from memory).
Result<works::Forming> forming(double thickness_m, double inner_radius_m, double limit = 0.05);

}  // namespace goodside::metal
