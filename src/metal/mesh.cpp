#include "metal/mesh.hpp"

#include <algorithm>
#include <cmath>

#include "base/expects.hpp"
#include "metal/cell.hpp"

namespace goodside::metal {
namespace {

/// Cell sizes between two places as a function of the distance from the first.
struct Stretch {
  double length, from_size, to_size, growth, largest;

  [[nodiscard]] double size(double x) const {
    return std::min({from_size + growth * x, to_size + growth * (length - x), largest});
  }
  /// integral of dx / size from 0 to x: each of the three pieces in closed form.
  [[nodiscard]] double cells(double x) const {
    // Where the rising and the falling branch meet, or each meets the largest size.
    const double meet =
        std::clamp((to_size - from_size + growth * length) / (2.0 * growth), 0.0, length);
    const double rise_end = std::clamp((largest - from_size) / growth, 0.0, meet);
    const double fall_begin = std::clamp(length - (largest - to_size) / growth, meet, length);
    double count = std::log1p(growth * std::min(x, rise_end) / from_size) / growth;
    if (x > rise_end) count += (std::min(x, fall_begin) - rise_end) / level(rise_end, fall_begin);
    if (x > fall_begin)
      count +=
          std::log((to_size + growth * (length - fall_begin)) / (to_size + growth * (length - x))) /
          growth;
    return count;
  }

 private:
  [[nodiscard]] double level(double rise_end, double fall_begin) const {
    return fall_begin > rise_end ? largest : 1.0;
  }
};

/// Lines after the first place up to and with the second.
void fill(std::vector<double>& lines, double from, double to, const Stretch& stretch) {
  const double whole = stretch.cells(stretch.length);
  const auto count = std::max(2, static_cast<int>(std::ceil(whole)));
  double low = 0.0;
  for (int k = 1; k < count; ++k) {
    const double wanted = whole * k / count;
    double high = stretch.length;
    // Bisection: the integral grows with x.
    for (int step = 0; step < 60 && high - low > 1e-15 * stretch.length; ++step) {
      const double middle = 0.5 * (low + high);
      (stretch.cells(middle) < wanted ? low : high) = middle;
    }
    lines.push_back(from + 0.5 * (low + high));
  }
  lines.push_back(to);
}

std::vector<MeshLine> merged(std::vector<MeshLine> places) {
  std::sort(
      places.begin(), places.end(), [](const auto& a, const auto& b) { return a.at_m < b.at_m; });
  const double fine = 1e-9 * (places.back().at_m - places.front().at_m);
  std::vector<MeshLine> kept;
  for (const MeshLine& one : places) {
    if (!kept.empty() && one.at_m - kept.back().at_m <= fine)
      kept.back().size_m = std::min(kept.back().size_m, one.size_m);
    else
      kept.push_back(one);
  }
  return kept;
}

}  // namespace

std::vector<double> graded_lines(std::vector<MeshLine> places, double growth, double largest) {
  EXPECTS(places.size() >= 2 && growth > 0.0 && largest > 0.0);
  auto at = merged(std::move(places));
  EXPECTS(at.size() >= 2);
  for (std::size_t i = 0; i < at.size(); ++i) {
    double room = largest;
    if (i > 0) room = std::min(room, 0.25 * (at[i].at_m - at[i - 1].at_m));
    if (i + 1 < at.size()) room = std::min(room, 0.25 * (at[i + 1].at_m - at[i].at_m));
    at[i].size_m = std::min(at[i].size_m, room);
  }
  std::vector<double> lines{at.front().at_m};
  for (std::size_t i = 1; i < at.size(); ++i)
    fill(lines,
         at[i - 1].at_m,
         at[i].at_m,
         {at[i].at_m - at[i - 1].at_m, at[i - 1].size_m, at[i].size_m, growth, largest});
  return lines;
}

SectionMesh section_mesh(const works::PlatingCell& cell, double fineness) {
  EXPECTS(fineness >= 0.1 && fineness <= 8.0);
  const double scale = cell.disc_radius_m, growth = 0.2 / fineness;
  const double edge = 4e-5 * scale / (fineness * fineness), plain = 0.0125 * scale / fineness;
  // A small anode is a bottleneck of its own, whatever the disc's size.
  const double anode_m = std::min(scale, cell.anode_radius_m - cell.anode_inner_radius_m);
  const double anode_edge = 0.3 * plain * anode_m / scale;
  std::vector<MeshLine> radii{{0.0, plain},
                              {cell.disc_radius_m, edge},
                              {cell.holder_radius_m, plain},
                              {cell.cell_radius_m, plain},
                              {cell.anode_radius_m, anode_edge}};
  if (cell.anode_inner_radius_m > 0.0) radii.push_back({cell.anode_inner_radius_m, anode_edge});
  const SectionBox anode = anode_box(cell);
  std::vector<MeshLine> heights{{-cell.holder_height_m, plain},
                                {0.0, edge},
                                {anode.low_m, anode_edge},
                                {anode.high_m, plain},
                                {cell.level_m, plain}};
  if (cell.rim_height_m > 0.0) {
    heights.push_back({cell.rim_height_m, 0.1 * plain});
    radii.push_back({cell.disc_radius_m, edge});
  }
  if (cell.shield) {
    // A far, wide opening bends the lines gently at the disc; a small one needs cells of its own size.
    const auto box = shield_box(cell);
    const double own = std::min(scale, cell.shield->opening_radius_m) / scale * 20.0 * edge;
    radii.push_back({box.inner_m, own});
    radii.push_back({box.outer_m, plain});
    heights.push_back({box.low_m, own});
    heights.push_back({box.high_m, own});
  }
  const double widest = 0.04 * std::max(cell.cell_radius_m, cell.level_m) / fineness;
  SectionMesh mesh{.radius_m = graded_lines(std::move(radii), growth, widest),
                   .height_m = graded_lines(std::move(heights), growth, widest),
                   .cells = {}};
  const SectionBox holder = holder_box(cell), rim = rim_box(cell), shield = shield_box(cell);
  mesh.cells.resize(mesh.columns() * mesh.rows(), MeshCell::liquid);
  for (std::size_t row = 0; row < mesh.rows(); ++row) {
    const double height = 0.5 * (mesh.height_m[row] + mesh.height_m[row + 1]);
    if (height < 0.0) mesh.face_row = row + 1;
    for (std::size_t column = 0; column < mesh.columns(); ++column) {
      const double radius = 0.5 * (mesh.radius_m[column] + mesh.radius_m[column + 1]);
      MeshCell& one = mesh.cells[row * mesh.columns() + column];
      if (holder.holds(radius, height) || rim.holds(radius, height) || shield.holds(radius, height))
        one = MeshCell::insulator;
      else if (anode.holds(radius, height))
        one = MeshCell::anode;
    }
  }
  return mesh;
}

}  // namespace goodside::metal
