#pragma once
#include "base/result.hpp"
#include "works/centring.hpp"
#include "works/photograph.hpp"

namespace goodside::metal {

struct FoundCircles {
  works::OffsetEstimate offset;  ///< x to the picture's right, y upwards
  works::PhotographFound photograph;
};

struct PhotographQuestion {
  const works::PhotographEdges& edges;
  bool flat_scan{};  ///< the plate lay flat on a scanner: no perspective
  double confidence{0.9};
};

/// The offset of a hole from its groove's centre, from edge points of both on a photograph.
///
/// A plate seen by a tilted camera is a plane through a projection; with rotation taken out, an image point p lies at
///   P = S (p - p0) / (1 + q (p - p0)),  S symmetric, 2 x 2,
/// of the plate. Groove circles have one centre, so |P| = r_j for all of them settles p0, S, q and the other radii (the
/// first is the unit): the centre of one ellipse alone is *not* the centre of its circle, and one circle cannot tell
/// how far off it is; two can. The hole's edge is then carried into the plane and a circle fitted there. Both by
/// Gauss and Newton with Tukey's weights (c = 4.685) on the scatter's median; each point counts by its own
/// uncertainty (works::EdgePoint).
///
/// Uncertainty: the jackknife over 16 sectors of the turn, groove and hole each, which holds what dust, glare and a
/// worn edge do to whole stretches; Student's t on 15. A floor of 0.01 pixel. The hole is taken as round.
/// Accuracy: 0.1 pixel or a refusal, on synthetic photographs (tests/cli/metal_test.py).
/// Source: the common centre of two circles under projection, elementary; [NIST-Handbook] 1.3.5; Tukey's weights,
/// P. J. Huber, Robust Statistics, 1981 (from memory).
/// Errors: Fault::bad_input with the reason: one groove circle and no flat scan; too little of an edge; a scatter that
/// is no edge's; a scan that is not flat; an uncertainty over 0.033 pixel.
Result<FoundCircles> find_offset(const PhotographQuestion& question);

}  // namespace goodside::metal
