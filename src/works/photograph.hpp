#pragma once
#include <cstdint>
#include <string>
#include <vector>

namespace goodside::works {

/// Grey levels, row by row from the top left.
struct GreyPicture {
  int width_px{}, height_px{};
  std::vector<std::uint8_t> grey;
};

/// A place on the edge of a circle, in pixels: the middle of the top left pixel is (0, 0), y grows downwards.
struct EdgePoint {
  double x_px{}, y_px{};
  double sigma_px{1.0};  ///< standard uncertainty across the edge
};

/// One circle of a plate as its edge shows on a photograph.
struct CircleEdge {
  std::string name;
  double diameter_m{};  ///< as asked for
  std::vector<EdgePoint> points;
  double share{};         ///< of the turn on which the edge was found
  double to_middle_px{};  ///< from the flank that was read to the middle of a line; 0: a step
};

/// What a photograph shows of a plate: the hole, and its groove circles in the order asked for.
struct PhotographEdges {
  GreyPicture picture;
  CircleEdge hole;
  std::vector<CircleEdge> grooves;
};

}  // namespace goodside::works
