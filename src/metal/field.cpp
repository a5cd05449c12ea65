#include "metal/field.hpp"

#include <fmt/format.h>

#include <Eigen/SparseCholesky>
#include <cmath>
#include <limits>
#include <numbers>

#include "metal/cell.hpp"
#include "metal/kinetics.hpp"
#include "metal/mesh.hpp"

namespace goodside::metal {
namespace {

using Matrix = Eigen::SparseMatrix<double>;
using Vector = Eigen::VectorXd;

constexpr int most_steps = 60;
/// Of the current: what may be left over in Newton's equations.
constexpr double fine = 1e-10;
/// Where rounding lets it fall no further (a cell a thousand times as wide as its smallest gap): so much is taken,
/// if the charge balances.
constexpr double settled = 1e-5, balance = 1e-9;

struct Edge {
  int a{}, b{};
  double conductance_S{};
};
/// A cell of liquid that touches an electrode.
struct Contact {
  int cell{};
  double area_m2{}, depth_m{};  ///< from the cell's middle to the electrode
};

double ring_m2(double inner, double outer) {
  return std::numbers::pi * (outer - inner) * (outer + inner);
}

}  // namespace

struct PotentialField::Engine {
  works::PlatingCell cell;
  works::Kinetics kinetics;
  SectionMesh mesh;
  std::vector<int> number;  ///< of cells; -1: no liquid
  std::vector<Edge> edges;
  std::vector<Contact> disc, anode;
  std::vector<double> rings_m;
  Vector anode_S;  ///< of cells
  int count{};

  Vector
      below_anode;  ///< potentials of cells less the anode's: small where cells are wide and conduct well
  double voltage{}, solved_A{};
  Eigen::SimplicialLDLT<Matrix> solver;
  bool analysed{};

  /// Liquid that the disc can see: a pocket closed off by shield and holder has no potential of its own.
  void number_cells() {
    const std::size_t columns = mesh.columns();
    number.assign(mesh.cells.size(), -1);
    std::vector<std::size_t> front{mesh.face_row * columns};
    number[front.back()] = 0;
    const auto visit = [&](std::size_t cell_index) {
      if (mesh.cells[cell_index] != MeshCell::liquid || number[cell_index] == 0) return;
      number[cell_index] = 0;
      front.push_back(cell_index);
    };
    while (!front.empty()) {
      const std::size_t here = front.back(), column = here % columns, row = here / columns;
      front.pop_back();
      if (column > 0) visit(here - 1);
      if (column + 1 < columns) visit(here + 1);
      if (row > 0) visit(here - columns);
      if (row + 1 < mesh.rows()) visit(here + columns);
    }
    for (int& one : number)
      if (one == 0) one = count++;
  }

  /// The face between two cells, or between liquid and anode.
  void join(std::size_t one, std::size_t other, double area, double one_depth, double other_depth) {
    const int a = number[one], b = number[other];
    if (a >= 0 && b >= 0)
      edges.push_back({a, b, cell.conductivity_S_per_m * area / (one_depth + other_depth)});
    else if (a >= 0 && mesh.cells[other] == MeshCell::anode)
      anode.push_back({a, area, one_depth});
    else if (b >= 0 && mesh.cells[one] == MeshCell::anode)
      anode.push_back({b, area, other_depth});
  }

  void join_cells() {
    const auto& r = mesh.radius_m;
    const auto& z = mesh.height_m;
    for (std::size_t row = 0; row < mesh.rows(); ++row)
      for (std::size_t column = 0; column < mesh.columns(); ++column) {
        const std::size_t here = row * mesh.columns() + column;
        const double height = z[row + 1] - z[row], width = r[column + 1] - r[column];
        if (column + 1 < mesh.columns())
          join(here,
               here + 1,
               2.0 * std::numbers::pi * r[column + 1] * height,
               0.5 * width,
               0.5 * (r[column + 2] - r[column + 1]));
        if (row + 1 < mesh.rows())
          join(here,
               here + mesh.columns(),
               ring_m2(r[column], r[column + 1]),
               0.5 * height,
               0.5 * (z[row + 2] - z[row + 1]));
        if (row == mesh.face_row && r[column + 1] <= cell.disc_radius_m * (1.0 + 1e-12))
          disc.push_back({number[here], ring_m2(r[column], r[column + 1]), 0.5 * height});
      }
    // An anode let into the far wall: a basket that begins at the level.
    if (anode_is_far_wall()) join_far_wall();
  }

  [[nodiscard]] bool anode_is_far_wall() const {
    return cell.anode_distance_m >= cell.level_m * (1.0 - 1e-12);
  }

  void join_far_wall() {
    const std::size_t row = mesh.rows() - 1;
    const double depth = 0.5 * (mesh.height_m[row + 1] - mesh.height_m[row]);
    for (std::size_t column = 0; column < mesh.columns(); ++column) {
      const double inner = mesh.radius_m[column], outer = mesh.radius_m[column + 1];
      const double middle = 0.5 * (inner + outer);
      const int here = number[row * mesh.columns() + column];
      if (here >= 0 && middle > cell.anode_inner_radius_m && middle < cell.anode_radius_m)
        anode.push_back({here, ring_m2(inner, outer), depth});
    }
  }

  void prepare() {
    number_cells();
    join_cells();
    rings_m.assign(mesh.radius_m.begin(),
                   mesh.radius_m.begin() + static_cast<std::ptrdiff_t>(disc.size()) + 1);
    anode_S = Vector::Zero(count);
    for (const Contact& one : anode)
      anode_S[one.cell] += cell.conductivity_S_per_m * one.area_m2 / one.depth_m;
    below_anode = Vector::Zero(count);
  }

  [[nodiscard]] SurfaceState at_disc(const Contact& one) const {
    return surface_state(
        kinetics, one.depth_m / cell.conductivity_S_per_m, voltage + below_anode[one.cell]);
  }

  /// Current that leaves each cell; nought where the potentials are right.
  [[nodiscard]] Vector imbalance() const {
    Vector out = anode_S.cwiseProduct(below_anode);
    for (const Edge& edge : edges) {
      const double flow = edge.conductance_S * (below_anode[edge.a] - below_anode[edge.b]);
      out[edge.a] += flow;
      out[edge.b] -= flow;
    }
    return out;
  }

  [[nodiscard]] Matrix jacobian(const Vector& disc_S) const {
    std::vector<Eigen::Triplet<double>> entries;
    entries.reserve(edges.size() + static_cast<std::size_t>(count));
    Vector diagonal = anode_S + disc_S;
    for (const Edge& edge : edges) {
      diagonal[edge.a] += edge.conductance_S;
      diagonal[edge.b] += edge.conductance_S;
      entries.emplace_back(std::max(edge.a, edge.b), std::min(edge.a, edge.b), -edge.conductance_S);
    }
    for (int i = 0; i < count; ++i) entries.emplace_back(i, i, diagonal[i]);
    Matrix matrix(count, count);
    matrix.setFromTriplets(entries.begin(), entries.end());
    return matrix;
  }

  /// Solved and refined once; the lower half of a symmetric matrix.
  [[nodiscard]] Vector solved(const Matrix& lower, const Vector& right) const {
    Vector x = solver.solve(right);
    const Vector rest = right - lower.selfadjointView<Eigen::Lower>() * x;
    x += solver.solve(rest);
    return x;
  }

  /// A beginning: the mean overpotential everywhere, so that the first step is that of a linear law there.
  void begin(double current_A) {
    const double mean = current_A / ring_m2(0.0, cell.disc_radius_m);
    if (solved_A > 0.0) {
      const double before = overpotential_V(kinetics, solved_A / ring_m2(0.0, cell.disc_radius_m));
      const double after = overpotential_V(kinetics, mean), scale = current_A / solved_A;
      below_anode *= scale;
      voltage = (voltage - before) * scale + after;
      return;
    }
    voltage = overpotential_V(kinetics, mean);
  }

  struct Step {
    double left{}, disc_A{};  ///< imbalance as a share of the current; current into the disc
    Vector residual, slope_S;
  };
  [[nodiscard]] Step look(double current_A) const {
    Step step{.residual = imbalance(), .slope_S = Vector::Zero(count)};
    for (const Contact& one : disc) {
      const SurfaceState state = at_disc(one);
      step.disc_A += one.area_m2 * state.current_density_A_per_m2;
      step.residual[one.cell] += one.area_m2 * state.current_density_A_per_m2;
      step.slope_S[one.cell] += one.area_m2 * state.slope_S_per_m2;
    }
    step.left = (step.residual.lpNorm<1>() + std::abs(step.disc_A - current_A)) / current_A;
    return step;
  }

  /// One Newton step; the bordering equation asks that the disc takes the current. Its denominator is a sum of
  /// positive terms, so nothing cancels.
  bool advance(const Step& step, double current_A) {
    const Matrix matrix = jacobian(step.slope_S);
    if (!analysed) {
      solver.analyzePattern(matrix);
      analysed = true;
    }
    solver.factorize(matrix);
    if (solver.info() != Eigen::Success) return false;
    const Vector by_disc = solved(matrix, step.slope_S), by_rest = solved(matrix, step.residual);
    const double more_V =
        (current_A - step.disc_A + step.slope_S.dot(by_rest)) / anode_S.dot(by_disc);
    below_anode -= more_V * by_disc + by_rest;
    voltage += more_V;
    return std::isfinite(voltage) && below_anode.allFinite();
  }

  Result<FieldState> solve(double current_A) {
    begin(current_A);
    FieldState state{.current_A = current_A, .current_density_A_per_m2 = {}};
    Step step = look(current_A);
    double best = std::numeric_limits<double>::infinity();
    int stuck = 0;
    while (state.iterations < most_steps) {
      if (!advance(step, current_A)) break;
      ++state.iterations;
      step = look(current_A);
      // What rounding leaves no longer falls; the charge balance below says how much that is.
      stuck = step.left < 0.5 * best ? 0 : stuck + 1;
      best = std::min(best, step.left);
      const bool balanced = std::abs(step.residual.sum()) < balance * current_A;
      if (step.left < fine || (stuck >= 2 && best < settled && balanced))
        return finished(std::move(state));
    }
    return Error{
        Fault::not_converged,
        fmt::format("the potential in the cell did not settle at {:g} A ({:.1e} of it left over)",
                    current_A,
                    step.left)};
  }

  FieldState finished(FieldState state) {
    double disc_A = 0.0;
    for (const Contact& one : disc) {
      state.current_density_A_per_m2.push_back(at_disc(one).current_density_A_per_m2);
      disc_A += one.area_m2 * state.current_density_A_per_m2.back();
    }
    const double anode_A = -anode_S.dot(below_anode);
    state.voltage_V = voltage;
    state.charge_balance = std::abs(anode_A - disc_A) / state.current_A;
    solved_A = state.current_A;
    return state;
  }

  /// Current down through a ring of the line of height below row `row`: between cells, into the disc, out of the anode.
  [[nodiscard]] double through_A(std::size_t column, std::size_t row) const {
    const std::size_t columns = mesh.columns(), above = row * columns + column;
    const bool has_above = row<mesh.rows(), has_below = row> 0;
    const int up = has_above ? number[above] : -1, down = has_below ? number[above - columns] : -1;
    const double ring = ring_m2(mesh.radius_m[column], mesh.radius_m[column + 1]);
    const auto half = [&](std::size_t at) {
      return 0.5 * (mesh.height_m[at + 1] - mesh.height_m[at]);
    };
    if (up >= 0 && down >= 0)
      return cell.conductivity_S_per_m * ring * (below_anode[up] - below_anode[down]) /
             (half(row) + half(row - 1));
    if (up >= 0 && row == mesh.face_row && column < disc.size())
      return disc[column].area_m2 * at_disc(disc[column]).current_density_A_per_m2;
    const bool under_anode = has_above ? mesh.cells[above] == MeshCell::anode
                                       : anode_is_far_wall() &&
                                             mesh.radius_m[column] < cell.anode_radius_m &&
                                             mesh.radius_m[column + 1] > cell.anode_inner_radius_m;
    if (down >= 0 && under_anode)
      return -cell.conductivity_S_per_m * ring * below_anode[down] / half(row - 1);
    return 0.0;
  }

  /// Added up from the axis; below the face from the holder outwards, where no current passes; beyond the middle of the
  /// anode from the wall inwards: the anode takes lines up, so that the two sides of it differ.
  [[nodiscard]] works::CellSection section() const {
    works::CellSection shown{mesh.radius_m, mesh.height_m, {}, {}};
    const std::size_t columns = mesh.columns(), lines = columns + 1;
    shown.potential_V.assign(mesh.cells.size(), std::numeric_limits<double>::quiet_NaN());
    for (std::size_t i = 0; i < number.size(); ++i)
      if (number[i] >= 0) shown.potential_V[i] = voltage + below_anode[number[i]];
    shown.current_share.assign(lines * mesh.height_m.size(), 0.0);
    const double middle = cell.anode_inner_radius_m > 0.0
                              ? 0.5 * (cell.anode_inner_radius_m + cell.anode_radius_m)
                              : 0.0;
    for (std::size_t row = 0; row < mesh.height_m.size(); ++row) {
      double* const share = &shown.current_share[row * lines];
      share[0] = row < mesh.face_row ? 1.0 : 0.0;
      for (std::size_t column = 0; column < columns; ++column)
        share[column + 1] = share[column] + through_A(column, row) / solved_A;
      if (mesh.height_m[row] <= cell.anode_distance_m) continue;
      const double at_wall = share[columns];
      for (std::size_t column = 0; column < lines; ++column)
        if (mesh.radius_m[column] >= middle) share[column] += 1.0 - at_wall;
    }
    return shown;
  }
};

PotentialField::PotentialField(std::unique_ptr<Engine> engine) : engine_{std::move(engine)} {}
PotentialField::PotentialField(PotentialField&&) noexcept = default;
PotentialField& PotentialField::operator=(PotentialField&&) noexcept = default;
PotentialField::~PotentialField() = default;

Result<PotentialField> PotentialField::make(const works::PlatingCell& cell,
                                            const works::Kinetics& kinetics,
                                            double fineness) {
  if (const auto fit = check(cell); !fit) return fit.error();
  if (const auto fit = check(kinetics); !fit) return fit.error();
  auto engine = std::make_unique<Engine>();
  engine->cell = cell;
  engine->kinetics = kinetics;
  engine->mesh = section_mesh(cell, fineness);
  engine->prepare();
  return PotentialField{std::move(engine)};
}

Result<FieldState> PotentialField::solve(double current_A) {
  if (!(current_A > 0.0 && std::isfinite(current_A)))
    return Error{Fault::out_of_range,
                 fmt::format("a current of {:g} A gives no field; give one above 0", current_A)};
  return engine_->solve(current_A);
}

const std::vector<double>& PotentialField::ring_edges_m() const {
  return engine_->rings_m;
}
int PotentialField::unknowns() const {
  return engine_->count;
}
works::CellSection PotentialField::section() const {
  return engine_->section();
}

Result<double> ohmic_resistance_ohm(const works::PlatingCell& cell, double fineness) {
  auto field = PotentialField::make(cell, {.law = works::KineticLaw::primary}, fineness);
  if (!field) return field.error();
  const auto state = field->solve(1.0);
  if (!state) return state.error();
  return state->voltage_V;
}

}  // namespace goodside::metal
