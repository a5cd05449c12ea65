#pragma once
#include <string>
#include <vector>

#include "base/result.hpp"
#include "works/photograph.hpp"

namespace goodside::intake {

/// The circles to look for on a photograph of a plate, by their diameters.
struct CirclesWanted {
  double hole_diameter_m{};
  std::vector<double> groove_diameters_m;
};

/// Finds the hole and the groove circles on a PNG or JPEG photograph and their edges to fractions of a pixel.
///   1. A rough centre: every edge pixel of a small copy votes along its gradient; round things have one centre.
///   2. Rings: in the picture unrolled about that centre the strongest closed paths of one polarity, by dynamic
///      programming on gradients limited in size, so that a bright stretch counts no more than the rest.
///   3. The hole and the grooves among the rings: those whose radii stand as the diameters asked for, within 2.5 %.
///   4. Edges: along rays from each ring's own centre the extreme of a Gaussian derivative (1.4 pixel), of one polarity
///      all round; from there by the ring's own mean profile (edge_profile.hpp).
/// A first groove too faint to be found among all is looked for from the last one.
/// The points are raw: metal/found_circles.hpp weighs them. Memory: some 20 bytes a pixel.
/// Errors: Fault::not_found, Fault::io; Fault::bad_input for what is no PNG or JPEG, is broken, under 200 or over
/// 12,000 pixels a side or 64 megapixels, and, with its reason, for a picture that does not show the circles.
Result<works::PhotographEdges> find_circle_edges(const std::string& path,
                                                 const CirclesWanted& wanted);
/// The same from a file's bytes; `shown_name` stands in complaints.
Result<works::PhotographEdges> circle_edges_of(const std::string& bytes,
                                               const std::string& shown_name,
                                               const CirclesWanted& wanted);

}  // namespace goodside::intake
