#pragma once
#include <optional>
#include <vector>

#include "intake/ring_wave.hpp"

namespace goodside::intake {

/// Grey levels 0 to 255, row by row from the top left.
struct GreyLevels {
  const float* first{};
  int width_px{}, height_px{};
};

/// What is known of a ring before its edge is placed.
struct RoughEdge {
  double centre_x_px{}, centre_y_px{};
  Wave wave;                ///< the flank, to a pixel or so
  double clear_px{};        ///< to each side, that nothing else lies in
  double other_flank_px{};  ///< from this flank to a line's other one, outwards; 0: a step
};

struct EdgePlace {
  double turn_rad{}, radius_px{};
  double sigma_px{};
};

struct ProfiledEdge {
  std::vector<EdgePlace> places;  ///< one an arc that shows the edge
  double share{};                 ///< of the turn that does
};

/// Places a ring's edge by its own mean profile.
///
/// The picture is unrolled along the wave and averaged over short arcs s. All arcs show one profile T, blurred alike by
/// lens, line and pixel, at a contrast of their own on light of their own:
///     I_s(x) = b_s + c_s x + a_s T(x - d_s) + noise,    a_s d_s = y_s by least squares on 1, x, T, -T',
/// T from all arcs in turn. For white noise that is the maximum likelihood of d; it uses a blurred edge and both flanks
/// of a line whole, takes a contrast that changes sign in a fan of light, and a slope of light does not move it.
/// A flank that the camera clips to white or black on a part of the turn only would lean towards that part by tenths
/// of a pixel without scatter: grey levels within the noise of either end are not read. Where nearly all of the turn is
/// clipped, the flank that is left is read, without a slope of light.
/// sigma_px is from the scatter of y over the turn by each arc's contrast, and 0.02 px of the edge's own.
/// Source: matched filters, elementary; accuracy as measured in docs/centring.md. None where no edge shows.
std::optional<ProfiledEdge> place_by_profile(const GreyLevels& picture, const RoughEdge& rough);

}  // namespace goodside::intake
