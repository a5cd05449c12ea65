#pragma once
#include "base/result.hpp"
#include "works/biscuit_report.hpp"

namespace goodside::compound {

/// Volume of a body of revolution whose thickness runs straight between its points [m3]:
///     V = 2 pi sum (r2 - r1) [t1 (2 r1 + r2) + t2 (r1 + 2 r2)]/6,  exact.
/// Points by radius, at least two (EXPECTS).
[[nodiscard]] double profile_volume_m3(const works::DiscProfile& profile);

/// Volume of the grooves of all sides: the spiral's length, area/pitch, times the V's section
///     w^2/(4 tan(angle/2)):  pi (ro^2 - ri^2)/pitch w^2/(4 tan(angle/2)) sides.
/// A modulated groove is as wide on average; its length is longer by less than 1 %.
[[nodiscard]] double groove_volume_m3(const works::Grooves& grooves);

/// A disc with a raised label and rim as a profile: hole, label, groove area, rim. A part of no width
/// is left out.
struct PlainDisc {
  double diameter_m{}, hole_m{7.24e-3};  ///< [IEC60098]
  double thickness_m{};                  ///< of the groove area
  double label_diameter_m{}, label_thickness_m{};
  double rim_width_m{}, rim_thickness_m{};
};
Result<works::DiscProfile> profile_of(const PlainDisc& disc);

/// What a disc takes, how large its biscuit is cut, and what the scatter of biscuits does:
///     m = rho V (1 - s)^3 of a mould's profile, rho V of a cold disc's;  biscuit = m (1 + flash);
///     sheet: area = biscuit/(rho t);  sigma/m = sqrt((sigma_t/t)^2 + (sigma_k/k)^2);
///     short below m (1 + least flash), too thick above m (1 + most flash);
///     chances by a normal law of known sigma, or Student's for the next biscuit where n were weighed
///     (mean known to sigma/sqrt(n)): z -> t_(n-1), sigma -> s sqrt(1 + 1/n);
///     aim: the least mean at which the chance of falling short is the one allowed.
/// Flash and scrap give back  r = 1 - (1 - scrap)/(1 + flash)  of what was charged.
/// Source: common practice for the limits of flash; the laws are elementary.
/// Errors: Fault::bad_input or out_of_range, naming what cannot be and the mend.
Result<works::BiscuitReport> biscuit(const works::BiscuitRequest& request);

}  // namespace goodside::compound
