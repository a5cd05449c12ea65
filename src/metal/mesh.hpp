#pragma once
#include <cstddef>
#include <cstdint>
#include <vector>

#include "works/plating.hpp"

namespace goodside::metal {

/// A place on an axis that must be a mesh line, and how fine the mesh is there.
struct MeshLine {
  double at_m{};
  double size_m{};  ///< of the cells beside it
};

/// Lines through all places, cells growing from each by the share `growth` of the distance from it, none above
/// `largest_m`: the count in a stretch is the integral of dx / size. Halving `size_m`, `growth` and `largest_m`
/// halves every cell. Places closer than 1e-9 of the whole are one; sizes are held to a quarter of
/// the shorter stretch beside.
[[nodiscard]] std::vector<double> graded_lines(std::vector<MeshLine> places,
                                               double growth,
                                               double largest_m);

enum class MeshCell : std::uint8_t { liquid, insulator, anode };

/// The half section of a cell on lines of radius and height. The current has an inverse-root edge where
/// insulator meets the disc's rim or the shield ends, so the lines close up there.
struct SectionMesh {
  std::vector<double> radius_m, height_m;  ///< lines
  std::vector<MeshCell> cells;             ///< radius fastest
  std::size_t face_row{};                  ///< the line of height 0
  [[nodiscard]] std::size_t columns() const { return radius_m.size() - 1; }
  [[nodiscard]] std::size_t rows() const { return height_m.size() - 1; }
  [[nodiscard]] MeshCell at(std::size_t column, std::size_t row) const {
    return cells[row * columns() + column];
  }
};

/// `fineness` 1: the default, some 20,000 cells; 2 has cells half as wide, a quarter as wide at edges.
/// The cell must pass check(). fineness in [0.1, 8] (EXPECTS).
[[nodiscard]] SectionMesh section_mesh(const works::PlatingCell&, double fineness);

}  // namespace goodside::metal
