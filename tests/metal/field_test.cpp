#include "metal/field.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "metal/cell.hpp"
#include "metal/kinetics.hpp"
#include "metal/mesh.hpp"

namespace goodside::metal {
namespace {

using std::numbers::pi;
using works::KineticLaw;
using works::Kinetics;
using works::PlatingCell;

constexpr Kinetics primary{.law = KineticLaw::primary};

/// A disc of radius a in the floor of an insulating tube, its far end the anode.
PlatingCell tube(double a, double radius, double length) {
  return {.disc_radius_m = a,
          .holder_radius_m = radius,
          .cell_radius_m = radius,
          .level_m = length,
          .anode_distance_m = length,
          .anode_radius_m = radius,
          .anode_thickness_m = 0.01,
          .conductivity_S_per_m = 10.0};
}

Kinetics linear(double wagner, const PlatingCell& cell) {
  return {.law = KineticLaw::linear,
          .resistance_ohm_m2 = wagner * cell.disc_radius_m / cell.conductivity_S_per_m};
}

struct Solved {
  FieldState state;
  std::vector<double> edges;
  [[nodiscard]] double mean() const { return state.current_A / (pi * edges.back() * edges.back()); }
  /// i / i_avg at a radius, a straight line between the middles of rings.
  [[nodiscard]] double relative(double radius) const {
    for (std::size_t k = 0; k + 2 < edges.size(); ++k) {
      const double left = 0.5 * (edges[k] + edges[k + 1]),
                   right = 0.5 * (edges[k + 1] + edges[k + 2]);
      if (radius > right) continue;
      const double share = std::max(0.0, (radius - left) / (right - left));
      return std::lerp(
                 state.current_density_A_per_m2[k], state.current_density_A_per_m2[k + 1], share) /
             mean();
    }
    return state.current_density_A_per_m2.back() / mean();
  }
  /// Share of the current within a radius that is an edge of a ring or lies within one.
  [[nodiscard]] double within(double radius) const {
    double sum = 0.0;
    for (std::size_t k = 0; k + 1 < edges.size(); ++k) {
      const double outer = std::min(radius, edges[k + 1]);
      if (outer > edges[k])
        sum += pi * (outer * outer - edges[k] * edges[k]) * state.current_density_A_per_m2[k];
    }
    return sum / state.current_A;
  }
};

Solved solved(const PlatingCell& cell,
              const Kinetics& kinetics,
              double current_A,
              double fineness = 1.0) {
  auto field = PotentialField::make(cell, kinetics, fineness);
  if (!field) throw std::runtime_error(field.error().text);
  auto state = field->solve(current_A);
  if (!state) throw std::runtime_error(state.error().text);
  return {*state, field->ring_edges_m()};
}

// Published: J. Newman, "Resistance for flow of current to a disk", J. Electrochem. Soc. 113 (1966) 501, and "Current
// distribution on a rotating disk below the limiting current", ibid. 1235: i / i_avg = 0.5 / sqrt(1 - (r/a)^2), R = 1 / (4 kappa a).
// The counter electrode lies far off in a tube of 100 radii, which takes 1.40918 a/b from the constriction (C. Gibson, 1976;
// from memory; cell_reference.py finds the same by Fourier-Bessel series).
struct Newman {
  double resistance_error{}, density_error{};
};
Newman newman(double fineness) {
  const double a = 0.1, b = 10.0, length = 30.0, kappa = 10.0, e = a / b;
  const Solved s = solved(tube(a, b, length), primary, 1.0, fineness);
  const double exact =
      (1.0 - 1.40918 * e + 0.33801 * e * e * e) / (4.0 * kappa * a) + length / (kappa * pi * b * b);
  Newman errors{.resistance_error = std::abs(s.state.voltage_V / exact - 1.0)};
  // The exact mean over each ring.
  for (std::size_t k = 0; k + 1 < s.edges.size(); ++k) {
    const double r0 = s.edges[k] / a, r1 = s.edges[k + 1] / a;
    if (r1 > 0.95) break;
    const double share = std::sqrt(1.0 - r0 * r0) - std::sqrt(1.0 - r1 * r1);
    const double found =
        pi * a * a * (r1 * r1 - r0 * r0) * s.state.current_density_A_per_m2[k] / s.state.current_A;
    errors.density_error = std::max(errors.density_error, std::abs(found / share - 1.0));
  }
  return errors;
}

TEST(Field, IsNewmansOnADiscAndConvergesBySecondOrder) {
  const Newman coarse = newman(0.5), usual = newman(1.0);
  EXPECT_LT(usual.resistance_error, 6e-3);
  EXPECT_LT(usual.density_error, 3e-3);
  // Halving the cells (and quartering those at the edge) divides by 4.
  EXPECT_NEAR(std::log2(coarse.resistance_error / usual.resistance_error), 2.0, 0.15);
  EXPECT_GT(std::log2(coarse.density_error / usual.density_error), 1.5);
}

// Published: fraction of the current within 0.9 a, 1 - sqrt(1 - 0.81), from the same.
TEST(Field, HoldsNewmansShareOfTheCurrentWithinARadius) {
  const Solved s = solved(tube(0.1, 10.0, 30.0), primary, 7.0);
  for (const double x : {0.25, 0.5, 0.75, 0.9, 0.95})
    EXPECT_NEAR(s.within(x * 0.1), 1.0 - std::sqrt(1.0 - x * x), 1.5e-3) << x;
}

// Second road: disc in a tube by Fourier-Bessel series and Galerkin's method, tests/metal/cell_reference.py (SciPy).
TEST(Field, AgreesWithTheSeriesOfADiscInATube) {
  struct Row {
    double radius, length, wagner, resistance;  // in a, a, -, 1 / (kappa a)
    std::array<double, 4> density;              // i / i_avg at 0.1, 0.5, 0.8, 0.9 a
  };
  for (const Row& row : {Row{2.0, 1.0, 0.0, 0.161741, {0.570813, 0.625589, 0.836392, 1.113339}},
                         Row{1.1, 0.4, 0.0, 0.108997, {0.856495, 0.860145, 0.898187, 0.982867}},
                         Row{5.0, 3.0, 0.0, 0.216721, {0.506712, 0.580387, 0.833594, 1.144991}},
                         Row{2.0, 1.0, 0.2, 0.235376, {0.741052, 0.814416, 1.02778, 1.206774}},
                         Row{1.1, 0.4, 0.1, 0.142422, {0.897436, 0.908672, 0.980437, 1.08203}}}) {
    const double a = 0.16;
    const PlatingCell cell = tube(a, row.radius * a, row.length * a);
    const Solved s = solved(cell, row.wagner > 0.0 ? linear(row.wagner, cell) : primary, 48.0);
    EXPECT_NEAR(s.state.voltage_V / 48.0 * 10.0 * a / row.resistance, 1.0, 4e-3) << row.radius;
    constexpr std::array at{0.1, 0.5, 0.8, 0.9};
    for (std::size_t i = 0; i < at.size(); ++i)
      EXPECT_NEAR(s.relative(at[i] * a) / row.density[i], 1.0, 6e-3) << row.radius << ' ' << at[i];
  }
}

// Published: J. Newman's secondary distribution (same papers) in oblate spheroidal terms; values from a solution with 60 terms
// (SciPy), edge to 1e-3: i(0), i(0.5 a), i(0.9 a) over i_avg, R x 4 kappa a.
TEST(Field, AgreesWithNewmansSecondaryDistribution) {
  struct Row {
    double wagner, centre, half, outer, resistance;
  };
  for (const Row& row : {Row{0.1, 0.6224, 0.7203, 1.2932, 1.1646},
                         Row{1.0, 0.8826, 0.9292, 1.0841, 2.3437},
                         Row{10.0, 0.9853, 0.9916, 1.0101, 13.8119}}) {
    const double a = 0.1, b = 10.0, length = 30.0;
    const PlatingCell cell = tube(a, b, length);
    const Solved s = solved(cell, linear(row.wagner, cell), 3.0);
    EXPECT_NEAR(s.relative(0.0) / row.centre, 1.0, 4e-3) << row.wagner;
    EXPECT_NEAR(s.relative(0.05) / row.half, 1.0, 4e-3) << row.wagner;
    EXPECT_NEAR(s.relative(0.09) / row.outer, 1.0, 4e-3) << row.wagner;
    const double spreading =
        s.state.voltage_V / 3.0 - length / (10.0 * pi * b * b) + 1.40918 * 0.01 / 4.0;
    EXPECT_NEAR(spreading * 4.0 / row.resistance, 1.0, 6e-3) << row.wagner;
  }
}

// Published: a thin iris in a tube is twice the constriction of a disc, 2 psi(e) / (4 kappa r), psi = 1 - 1.40918 e + 0.33801 e^3 +
// 0.06790 e^5 (R. D. Gibson, "The contact resistance for a semi-infinite cylinder in a vacuum", Applied Energy 2, 1976; from memory).
TEST(Field, AgreesWithTheConstrictionOfAnIris) {
  for (const double e : {0.2, 0.5, 0.8}) {
    const double b = 0.1, length = 0.6, kappa = 10.0, r = e * b;
    PlatingCell cell = tube(b, b, length);
    cell.shield = works::CellShield{r, 0.3, 1e-5, b};
    const double psi = 1.0 - 1.40918 * e + 0.33801 * e * e * e + 0.0679 * std::pow(e, 5.0);
    const double exact = length / (kappa * pi * b * b) + 2.0 * psi / (4.0 * kappa * r);
    EXPECT_NEAR(solved(cell, primary, 1.0).state.voltage_V / exact, 1.0, 4e-3) << e;
  }
}

// Second road: a whole cell by nodal finite elements on three meshes, extrapolated (tests/metal/cell_reference.py, SciPy);
// elements come from above, finite volumes from below. Volts, and the share of the current within 0.25, 0.5, 0.75, 0.9 a.
TEST(Field, AgreesWithFiniteElementsOnAWholeCell) {
  PlatingCell cell{.disc_radius_m = 0.16,
                   .holder_radius_m = 0.18,
                   .holder_height_m = 0.03,
                   .rim_height_m = 0.006,
                   .cell_radius_m = 0.26,
                   .level_m = 0.3,
                   .anode_distance_m = 0.2,
                   .anode_radius_m = 0.17,
                   .anode_inner_radius_m = 0.04,
                   .anode_thickness_m = 0.05,
                   .conductivity_S_per_m = 8.0,
                   .shield = works::CellShield{0.12, 0.05, 0.006, 0.26}};
  const Kinetics tafel{.law = KineticLaw::tafel,
                       .exchange_current_density_A_per_m2 = 0.01,
                       .slope_V_per_decade = 0.12};
  struct Row {
    const Kinetics& law;
    double voltage;
    std::array<double, 4> within;
  };
  for (const Row& row : {Row{primary, 15.0692, {0.07935, 0.31789, 0.66609, 0.85914}},
                         Row{tafel, 15.6437, {0.07922, 0.31706, 0.66386, 0.85829}}}) {
    const Solved s = solved(cell, row.law, 48.0);
    EXPECT_NEAR(s.state.voltage_V / row.voltage, 1.0, 3e-3);
    constexpr std::array at{0.25, 0.5, 0.75, 0.9};
    for (std::size_t i = 0; i < at.size(); ++i)
      EXPECT_NEAR(s.within(at[i] * 0.16) / row.within[i], 1.0, 3e-3) << at[i];
  }
}

TEST(Field, IsEvenWhereTheWagnerNumberIsLargeOrTheDiscFillsTheCell) {
  PlatingCell cell = ordinary_cell(0.16, 8.0);
  const Solved slow = solved(cell, linear(2000.0, cell), 48.0);
  for (const double x : {0.0, 0.3, 0.6, 0.9, 0.999})
    EXPECT_NEAR(slow.relative(x * 0.16), 1.0, 1e-3) << x;
  const Solved full = solved(tube(0.1, 0.1, 0.2), primary, 48.0);
  for (const double x : {0.0, 0.5, 1.0}) EXPECT_NEAR(full.relative(x * 0.1), 1.0, 1e-9);
  EXPECT_NEAR(full.state.voltage_V, 48.0 * 0.2 / (10.0 * pi * 0.01), 1e-8);
}

TEST(Field, KeepsItsChargeUnderEveryLaw) {
  PlatingCell cell = ordinary_cell(0.16, 8.0);
  cell.shield = works::CellShield{0.12, 0.05, 0.005, cell.cell_radius_m};
  cell.rim_height_m = 0.004;
  const std::array laws{primary,
                        linear(0.1, cell),
                        Kinetics{.law = KineticLaw::tafel,
                                 .exchange_current_density_A_per_m2 = 0.01,
                                 .slope_V_per_decade = 0.12},
                        Kinetics{.law = KineticLaw::butler_volmer,
                                 .exchange_current_density_A_per_m2 = 20.0,
                                 .cathodic_coefficient = 0.5,
                                 .anodic_coefficient = 0.5}};
  for (const Kinetics& law : laws)
    for (const double current : {0.01, 48.0, 2000.0}) {
      const Solved s = solved(cell, law, current, 0.5);
      double sum = 0.0;
      for (std::size_t k = 0; k + 1 < s.edges.size(); ++k)
        sum += pi * (s.edges[k + 1] * s.edges[k + 1] - s.edges[k] * s.edges[k]) *
               s.state.current_density_A_per_m2[k];
      EXPECT_NEAR(sum / current, 1.0, 1e-8) << current;
      EXPECT_LT(s.state.charge_balance, 1e-8) << current;
    }
}

// Property: where Tafel and Butler-Volmer agree (far from equilibrium, slope = ln 10 RT / alpha F) so do the fields; and at
// small overpotentials Butler-Volmer is the linear law of RT / (F i0 (a_c + a_a)).
TEST(Field, LawsAgreeWhereTheyMust) {
  const PlatingCell cell = ordinary_cell(0.16, 8.0);
  const Kinetics bv{.law = KineticLaw::butler_volmer,
                    .exchange_current_density_A_per_m2 = 0.01,
                    .cathodic_coefficient = 0.5,
                    .anodic_coefficient = 0.5};
  const double thermal_V = 8.314462618 * 298.15 / 96485.33212;
  const Kinetics tafel{.law = KineticLaw::tafel,
                       .exchange_current_density_A_per_m2 = 0.01,
                       .slope_V_per_decade = std::numbers::ln10 * thermal_V / 0.5};
  const Solved one = solved(cell, bv, 48.0, 0.5), other = solved(cell, tafel, 48.0, 0.5);
  EXPECT_NEAR(one.state.voltage_V, other.state.voltage_V, 1e-6);
  EXPECT_NEAR(one.relative(0.0), other.relative(0.0), 1e-6);
  Kinetics fast = bv;
  fast.exchange_current_density_A_per_m2 = 1e4;
  const Kinetics near_rest{.law = KineticLaw::linear, .resistance_ohm_m2 = thermal_V / 1e4};
  const Solved small = solved(cell, fast, 0.5, 0.5), line = solved(cell, near_rest, 0.5, 0.5);
  EXPECT_NEAR(small.state.voltage_V / line.state.voltage_V, 1.0, 1e-5);
}

// Property: of a linear law the field is proportional to the current; and solving again from another state gives the same.
TEST(Field, DoesNotDependOnWhereItBegan) {
  const PlatingCell cell = ordinary_cell(0.16, 8.0);
  const Kinetics tafel{.law = KineticLaw::tafel,
                       .exchange_current_density_A_per_m2 = 0.01,
                       .slope_V_per_decade = 0.12};
  auto field = PotentialField::make(cell, tafel, 0.5);
  ASSERT_TRUE(field);
  const auto first = field->solve(48.0);
  ASSERT_TRUE(field->solve(0.5));
  ASSERT_TRUE(field->solve(3000.0));
  const auto again = field->solve(48.0);
  ASSERT_TRUE(first && again);
  EXPECT_NEAR(first->voltage_V, again->voltage_V, 1e-8);
  EXPECT_NEAR(first->current_density_A_per_m2[0] / again->current_density_A_per_m2[0], 1.0, 1e-8);
}

TEST(Field, SolvesOddCells) {
  const Kinetics tafel{.law = KineticLaw::tafel,
                       .exchange_current_density_A_per_m2 = 0.01,
                       .slope_V_per_decade = 0.12};
  std::vector<PlatingCell> odd;
  odd.push_back(ordinary_cell(0.002, 8.0));  // tiny
  odd.push_back(ordinary_cell(5.0, 8.0));    // huge
  PlatingCell cell = ordinary_cell(0.16, 8.0);
  cell.shield = works::CellShield{0.15, 5e-4, 1e-3, cell.cell_radius_m};  // close to the cathode
  odd.push_back(cell);
  cell.shield = works::CellShield{5e-4, 0.05, 0.005, cell.cell_radius_m};  // nearly shut
  odd.push_back(cell);
  cell.shield = works::CellShield{0.2559, 0.05, 0.005, cell.cell_radius_m};  // nearly gone
  odd.push_back(cell);
  cell.shield = works::CellShield{
      0.17, 0.0, 0.005, cell.cell_radius_m};  // lies on the holder, shuts a pocket off
  odd.push_back(cell);
  cell.shield = works::CellShield{
      0.05, 0.0999, 0.1, 0.12};  // a thick ring that hangs free, close to the anode
  cell.anode_distance_m = 0.2;
  odd.push_back(cell);
  cell = ordinary_cell(0.16, 8.0);
  cell.holder_radius_m = cell.cell_radius_m = 0.1601;  // a disc nearly as wide as the cell
  cell.anode_radius_m = 0.16;
  odd.push_back(cell);
  cell = ordinary_cell(0.16, 8.0);
  cell.anode_distance_m = 0.002;  // a narrow gap
  cell.level_m = 0.05;
  odd.push_back(cell);
  cell = ordinary_cell(0.16, 8.0);
  cell.anode_radius_m = 0.003;  // a rod far off in a wide tank
  cell.cell_radius_m = 4.0;
  cell.anode_distance_m = 3.0;
  cell.level_m = 3.5;
  odd.push_back(cell);
  cell = ordinary_cell(0.16, 8.0);
  cell.level_m = cell.anode_distance_m;  // the basket just touches
  cell.anode_inner_radius_m = 0.1;
  odd.push_back(cell);
  cell = ordinary_cell(0.16, 8.0);
  cell.rim_height_m = 0.199;  // a rim up to the anode
  odd.push_back(cell);
  for (std::size_t i = 0; i < odd.size(); ++i)
    for (const Kinetics& law : {primary, tafel}) {
      const double current = 600.0 * pi * odd[i].disc_radius_m * odd[i].disc_radius_m;
      const Solved s = solved(odd[i], law, current, 0.5);
      EXPECT_LT(s.state.charge_balance, 1e-8) << i;
      EXPECT_GT(s.state.voltage_V, 0.0) << i;
      for (const double one : s.state.current_density_A_per_m2) ASSERT_GE(one, 0.0) << i;
    }
}

TEST(Cell, RefusesWhatCannotBe) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const PlatingCell good = ordinary_cell(0.16, 8.0);
  ASSERT_TRUE(check(good));
  const auto refused = [&](auto change, std::string_view word) {
    PlatingCell cell = good;
    cell.shield = works::CellShield{0.12, 0.05, 0.005, cell.cell_radius_m};
    change(cell);
    const auto fit = check(cell);
    ASSERT_FALSE(fit) << word;
    EXPECT_NE(fit.error().text.find(word), std::string::npos) << fit.error().text;
    EXPECT_EQ(fit.error().text.find('\n'), std::string::npos);
  };
  refused([&](auto& cell) { cell.disc_radius_m = nan; }, "disc's radius");
  refused([&](auto& cell) { cell.level_m = std::numeric_limits<double>::infinity(); }, "level");
  refused([](auto& cell) { cell.disc_radius_m = 1e6; }, "disc's radius");
  refused([](auto& cell) { cell.disc_radius_m = 0.3; }, "larger than the cell");
  refused([](auto& cell) { cell.conductivity_S_per_m = 0.0; }, "conductivity");
  refused([](auto& cell) { cell.shield->outer_radius_m = 0.3; }, "larger than the cell");
  refused([](auto& cell) { cell.shield->opening_radius_m = 0.3; }, "larger than the cell");
  refused([](auto& cell) { cell.shield->opening_radius_m = 0.0; }, "shut");
  refused([](auto& cell) { cell.shield->distance_m = -0.01; }, "behind");
  refused([](auto& cell) { cell.shield->distance_m = 0.0; }, "masks");
  refused([](auto& cell) { cell.shield->distance_m = 0.199; }, "reaches the anode");
  refused([&](auto& cell) { cell.shield->thickness_m = nan; }, "shield");
  refused([](auto& cell) { cell.level_m = 0.1; }, "dry");
  refused([](auto& cell) { cell.anode_radius_m = 0.3; }, "anode");
  refused([](auto& cell) { cell.anode_inner_radius_m = 0.2; }, "anode");
  refused([](auto& cell) { cell.holder_radius_m = 0.1; }, "holder");
  refused([](auto& cell) { cell.rim_height_m = 0.3; }, "rim");
}

TEST(Mesh, LinesGrowEvenlyAndPassThroughEveryPlace) {
  const auto lines = graded_lines({{0.0, 0.01}, {1.0, 1e-4}, {1.001, 0.5}, {3.0, 0.02}}, 0.2, 0.1);
  for (const double at : {0.0, 1.0, 1.001, 3.0})
    EXPECT_NE(std::find(lines.begin(), lines.end(), at), lines.end()) << at;
  for (std::size_t i = 2; i < lines.size(); ++i) {
    const double one = lines[i - 1] - lines[i - 2], next = lines[i] - lines[i - 1];
    ASSERT_GT(next, 0.0);
    EXPECT_LT(std::max(one / next, next / one), 1.6) << lines[i - 1];
    EXPECT_LT(next, 0.1001);
  }
}

// Property: the derivative against differences; the surface's balance; the inverse.
TEST(Kinetics, LawsAreConsistent) {
  const std::array laws{Kinetics{.law = KineticLaw::linear, .resistance_ohm_m2 = 2e-4},
                        Kinetics{.law = KineticLaw::tafel,
                                 .exchange_current_density_A_per_m2 = 0.3,
                                 .slope_V_per_decade = 0.11},
                        Kinetics{.law = KineticLaw::butler_volmer,
                                 .exchange_current_density_A_per_m2 = 30.0,
                                 .cathodic_coefficient = 0.4,
                                 .anodic_coefficient = 1.3}};
  for (const Kinetics& law : laws) {
    for (const double eta : {-0.3, -0.01, 0.002, 0.1, 0.6}) {
      const double h = 1e-6;
      const double slope =
          (current_density_A_per_m2(law, eta + h) - current_density_A_per_m2(law, eta - h)) /
          (2.0 * h);
      EXPECT_NEAR(conductance_S_per_m2(law, eta) / slope, 1.0, 1e-6);
    }
    for (const double current : {1e-3, 1.0, 600.0, 1e5})
      EXPECT_NEAR(
          current_density_A_per_m2(law, overpotential_V(law, current)) / current, 1.0, 1e-9);
    for (const double resistance : {1e-9, 1e-4, 0.1, 10.0})
      for (const double beyond : {-2.0, -1e-3, 0.0, 1e-3, 0.3, 5.0, 1e4}) {
        const auto s = surface_state(law, resistance, beyond);
        ASSERT_TRUE(std::isfinite(s.current_density_A_per_m2) && s.slope_S_per_m2 > 0.0);
        const double eta = beyond - resistance * s.current_density_A_per_m2;
        if (std::abs(beyond) > 1e3 || resistance > 1.0)
          continue;  // eta is then a small difference of large ones
        const double again = current_density_A_per_m2(law, eta);
        EXPECT_NEAR(again, s.current_density_A_per_m2, 1e-6 * (std::abs(again) + 1e-9 / resistance))
            << beyond;
      }
  }
}

}  // namespace
}  // namespace goodside::metal
