#pragma once

namespace goodside::draw {

/// Which face is looked at. Disc and mother lie as heard; stamper and father are their mirror
/// images.
enum class View { disc, mother, stamper, father };

[[nodiscard]] constexpr bool is_mirrored(View view) {
  return view == View::stamper || view == View::father;
}
[[nodiscard]] constexpr bool is_metal(View view) {
  return view != View::disc;
}

/// A point of the page: x to the right, y downwards.
struct Point {
  double x{}, y{};
};

/// Where a place of the groove lies on the page. A disc turns clockwise under the stylus, so the
/// groove's angle grows counter-clockwise on a disc and clockwise on the mirrored metal:
///   x = centre.x -+ s r sin(angle - landmark),  y = centre.y - s r cos(angle - landmark)
/// with the minus for disc and mother. The landmark's angle is at the top.
struct DiscView {
  View view{View::disc};
  Point centre{};
  double units_per_m{1.0};  ///< s, page units a metre
  double landmark_angle_deg{};

  [[nodiscard]] Point place(double radius_m, double angle_deg) const;
  /// The direction of a groove angle on the page, as cairo counts it: radians, clockwise from the x
  /// axis.
  [[nodiscard]] double page_angle_rad(double angle_deg) const;
};

}  // namespace goodside::draw
