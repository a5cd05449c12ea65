#pragma once
#include <limits>
#include <string_view>

#include "base/result.hpp"

namespace goodside::press {

/// Where steam condenses, and what `length_m` of a film is there.
enum class FilmPlace {
  vertical_plate,  ///< its height
  outside_tube,    ///< the diameter of a horizontal tube, steam outside
  inside_tube      ///< the diameter of a horizontal channel, steam inside at low velocity
};

struct Film {
  FilmPlace place{FilmPlace::inside_tube};
  double steam_pressure_Pa{};   ///< absolute, saturated
  double wall_temperature_K{};  ///< below the steam's, at most 100 K
  double length_m{};
  double gravity_m_per_s2{9.80665};
};

/// Mean coefficient [W/m2K] of laminar film condensation of saturated steam:
///     h = C {g rho_l (rho_l - rho_v) k_l^3 h_fg' / [mu_l (T_s - T_w) L]}^(1/4),
/// C = 0.943 (4/3 4^(-1/4)) plate, 0.729 outside, 0.555 inside; h_fg' = h_fg + c c_p (T_s - T_w),
/// c = 0.68 plate and outside, 3/8 inside; the liquid at the mean of T_s and T_w.
/// Source:   [Nusselt1916]; 0.68 [Rohsenow1956]; 0.555 and 3/8 [Chato1962].
/// Valid:    pure steam at rest, film Reynolds number below 30 (waves then carry more heat).
/// Accuracy: of the model itself in press channels a factor of two: bends, slugs of condensate and
///           air (1 % by volume can halve it; from memory). Calibrate; 3000-8000 W/m2K is usual.
/// Errors:   Fault::out_of_range for a wall that is not colder than the steam, or an argument
///           outside the ranges above.
Result<double> film_condensation_W_per_m2K(const Film& film);

struct ChannelFlow {
  double hydraulic_diameter_m{};  ///< 4 area / wetted perimeter
  double velocity_m_per_s{};
  double water_temperature_K{};  ///< bulk
  double pressure_Pa{};          ///< absolute, above boiling
  /// From the inlet; endless leaves the entrance's gain out.
  double length_m{std::numeric_limits<double>::infinity()};
};

struct ChannelHeat {
  double reynolds{}, prandtl{}, nusselt{};
  double friction_factor{};  ///< Darcy's
  double coefficient_W_per_m2K{};
  std::string_view regime;  ///< laminar, transition, turbulent
};

/// Heat from a channel's wall to the water in it, at constant wall temperature.
///     turbulent, Re >= 3000: Nu = (f/8)(Re - 1000) Pr / [1 + 12.7 sqrt(f/8) (Pr^(2/3) - 1)]
///                                 [1 + (D/L)^(2/3)],   f = (0.790 ln Re - 1.64)^-2;
///     laminar, Re <= 2300:   Nu^3 = 3.66^3 + 0.7^3 + [1.615 (Re Pr D/L)^(1/3) - 0.7]^3,  f = 64/Re;
///     between: a straight line in Re between the two.
/// Source:   [Gnielinski1976]; [VDI-G1] for the laminar law; [Petukhov1970] for f.
/// Valid:    smooth channel, Re < 5e6, 0.5 < Pr < 2000, D < L.
/// Accuracy: 10 % turbulent, 20 % in transition (the authors' claim; from memory).
/// Errors:   Fault::out_of_range outside those, or for water that boils.
Result<ChannelHeat> channel_heat(const ChannelFlow& flow);

/// The Nusselt number and friction factor of it alone, from Re, Pr and D/L (0 for an endless one);
/// Re and Pr positive.
struct Similarity {
  double reynolds{}, prandtl{}, diameter_by_length{};
};
struct NusseltNumber {
  double nusselt{}, friction_factor{};
};
[[nodiscard]] NusseltNumber nusselt_number(const Similarity& at);

}  // namespace goodside::press
