#pragma once
#include <string>
#include <utility>
#include <vector>

namespace goodside::works {

/// A radius at a programme time, measured on the disc or the lathe.
struct Mark {
  double programme_s{}, radius_m{};
};

/// A pivoted arm: pivot-to-stylus length and pivot-to-spindle distance; zeros when unknown.
struct Arm {
  double effective_length_m{}, mounting_distance_m{};
  [[nodiscard]] bool known() const { return effective_length_m > 0.0 && mounting_distance_m > 0.0; }
};

/// A cut side as the bench needs it. `pitch_m` is the mean pitch; `pitch_profile` pairs
/// (programme_s, pitch_m) override it where given; marks override both.
struct CutSide {
  std::string format{"custom"};
  double rpm{100.0 / 3.0};
  double disc_diameter_m{};
  double outer_radius_m{}, inner_radius_m{};  ///< groove radius at programme start and end
  double pitch_m{};
  std::vector<std::pair<double, double>> pitch_profile;
  std::vector<Mark> marks;
  bool shellac_type{};  ///< coarse-groove, filled compound: another surface, other limits
  bool stereo{true};    ///< 45/45; false: lateral mono
};

}  // namespace goodside::works
