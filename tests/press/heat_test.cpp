#include "press/heat.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "press/stack.hpp"

namespace goodside::press {
namespace {

constexpr double pi = std::numbers::pi;

/// A block of one material in even cells.
struct Block {
  HeatCurve heat;
  Property conductivity;
  double thickness_m;
  std::size_t count;

  [[nodiscard]] std::vector<Cell> cells() const {
    return std::vector<Cell>(count,
                             {&heat, &conductivity, thickness_m / static_cast<double>(count)});
  }
};

void run(Column& column, std::vector<Exchange> exchanges, double time_s, int steps) {
  std::vector<double> given(exchanges.size());
  for (int i = 0; i < steps; ++i)
    column.step(
        time_s / steps, exchanges, [](double, std::span<Exchange>) {}, {}, given);
}

/// The slab's full series, theta(x) = sum C exp(-zeta^2 Fo) cos(zeta x), zeta tan zeta = Bi.
double slab(double biot, double fourier, double place) {
  double sum = 0.0;
  for (int n = 0; n < 60; ++n) {
    double low = n * pi, high = (n + 0.5) * pi;
    for (int i = 0; i < 100; ++i) {
      const double middle = 0.5 * (low + high);
      (middle * std::sin(middle) < biot * std::cos(middle)) == (n % 2 == 0) ? low = middle
                                                                            : high = middle;
    }
    const double zeta = 0.5 * (low + high);
    const double c = 4.0 * std::sin(zeta) / (2.0 * zeta + std::sin(2.0 * zeta));
    sum += c * std::exp(-zeta * zeta * fourier) * std::cos(zeta * place);
  }
  return sum;
}

/// Half a slab of unit everything: its middle insulated, a film on its face.
double computed_slab(double biot, double fourier, std::size_t cells, int steps, bool surface) {
  const Block block{HeatCurve{1.0, Property{1.0}}, Property{1.0}, 1.0, cells};
  Column column{block.cells(), 274.15};
  run(column,
      {{.cell = cells - 1, .plane = false, .film_W_per_m2K = biot, .temperature_K = 273.15}},
      fourier,
      steps);
  const auto at = column.temperature_K();
  if (!surface) return at[0] - 273.15;
  const double half = 0.5 / static_cast<double>(cells);  // in series with the film
  return (at[cells - 1] - 273.15) / (1.0 + biot * half);
}

// Published: Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, 6th ed., table 5.1, plane
// wall: first root and coefficient, printed to four decimals, from memory.
TEST(Conduction, SeriesOfASlabBeginsWithHeislersTable) {
  constexpr double rows[][3] = {{0.1, 0.3111, 1.0161},
                                {0.5, 0.6533, 1.0701},
                                {1.0, 0.8603, 1.1191},
                                {5.0, 1.3138, 1.2402},
                                {10.0, 1.4289, 1.2620}};
  for (const auto& [biot, zeta, c] : rows)
    EXPECT_NEAR(slab(biot, 2.0, 0.0), c * std::exp(-2.0 * zeta * zeta), 3e-4) << biot;
}

// Second road: the series. Extrapolated over two meshes, so that the scheme itself is held.
TEST(Conduction, FollowsTheSeriesOfASlab) {
  constexpr double rows[][2] = {{1.0, 0.2}, {1.0, 1.0}, {10.0, 0.1}, {0.1, 2.0}, {50.0, 0.5}};
  for (const auto& [biot, fourier] : rows) {
    for (const bool surface : {false, true}) {
      const double coarse = computed_slab(biot, fourier, 100, 400, surface);
      const double fine = computed_slab(biot, fourier, 200, 800, surface);
      // The first cell's middle stands half a cell from the slab's; even cells share that order.
      const double exact = slab(biot, fourier, surface ? 1.0 : 0.0);
      EXPECT_NEAR(fine + (fine - coarse) / 3.0, exact, 2e-6) << biot << ' ' << fourier;
      EXPECT_NEAR(fine, exact, 2e-4);
    }
  }
}

// Property: halving step or mesh divides the error by four.
TEST(Conduction, IsOfSecondOrderInTimeAndSpace) {
  const auto by_time = [](int steps) { return computed_slab(10.0, 0.3, 60, steps, false); };
  const double a = by_time(20), b = by_time(40), c = by_time(80);
  EXPECT_NEAR(std::log2((a - b) / (b - c)), 2.0, 0.15);
  const auto by_space = [](std::size_t n) { return computed_slab(10.0, 0.3, n, 400, true); };
  const double d = by_space(20), e = by_space(40), f = by_space(80);
  EXPECT_NEAR(std::log2((d - e) / (e - f)), 2.0, 0.15);
}

// Closed form: two half-spaces in contact, Tc = (e1 T1 + e2 T2)/(e1 + e2), and erf beyond it
// (Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed., 2.14). Nickel at 160 C on PVC at
// 130 C: 159.256 C.
TEST(Conduction, TwoHalfSpacesMeetAtTheirContactTemperature) {
  const Block metal{HeatCurve{8900.0, Property{444.0}}, Property{91.2}, 0.05, 500};
  const Block plastic{HeatCurve{1370.0, Property{1000.0}}, Property{0.17}, 0.002, 400};
  auto cells = metal.cells();
  const auto more = plastic.cells();
  cells.insert(cells.end(), more.begin(), more.end());
  Column column{cells, 433.15};
  for (std::size_t i = 500; i < 900; ++i) column.set_temperature(i, 403.15);
  run(column, {}, 1.0, 400);
  const double e1 = std::sqrt(91.2 * 8900.0 * 444.0), e2 = std::sqrt(0.17 * 1370.0 * 1000.0);
  const double contact = (e1 * 433.15 + e2 * 403.15) / (e1 + e2);
  EXPECT_NEAR(contact - 273.15, 159.256, 5e-4);
  EXPECT_NEAR(column.faces(499).behind_K, contact, 0.01);
  for (const std::size_t i : {410U, 450U, 500U}) {
    const double x = (static_cast<double>(i - 400) + 0.5) * 0.002 / 400.0;
    const double reach = 2.0 * std::sqrt(0.17 / 1.37e6);
    EXPECT_NEAR(
        column.temperature_K()[100 + i], contact + (403.15 - contact) * std::erf(x / reach), 0.02);
  }
}

// Closed form: steady flux through two layers, their contact and a film, resistances in series.
TEST(Conduction, LayersAndContactsAreInSeries) {
  const Block steel{HeatCurve{7850.0, Property{480.0}}, Property{45.0}, 0.012, 20};
  const Block plastic{HeatCurve{1380.0, Property{1000.0}}, Property{0.17}, 0.0019, 20};
  auto cells = steel.cells();
  const auto more = plastic.cells();
  cells.insert(cells.end(), more.begin(), more.end());
  Column column{cells, 300.0};
  column.cell(19).resistance_m2K_per_W = 1e-4;
  std::vector<Exchange> exchanges{
      {.cell = 0, .plane = false, .film_W_per_m2K = 5000.0, .temperature_K = 440.0},
      {.cell = 39, .plane = false, .film_W_per_m2K = 1e9, .temperature_K = 300.0}};
  run(column, exchanges, 2000.0, 400);
  std::vector<double> given(2);
  column.step(
      1.0, exchanges, [](double, std::span<Exchange>) {}, {}, given);
  const double flux = 140.0 / (1.0 / 5000.0 + 0.012 / 45.0 + 1e-4 + 0.0019 / 0.17 + 1e-9);
  EXPECT_NEAR(given[0], flux, 1e-6 * flux);
  EXPECT_NEAR(given[1], -flux, 1e-6 * flux);
  const auto faces = column.faces(19);
  EXPECT_NEAR(faces.before_K - faces.behind_K, flux * 1e-4, 1e-6 * flux);
}

// Property: with properties that change with temperature, what is stored is what came in.
TEST(Conduction, KeepsHeatToRounding) {
  const Block block{HeatCurve{1380.0, Property{{290.0, 1000.0}, {350.0, 1100.0}, {360.0, 1500.0}}},
                    Property{{290.0, 0.15}, {400.0, 0.20}},
                    0.002,
                    30};
  Column column{block.cells(), 300.0};
  std::vector<Exchange> exchanges{
      {.cell = 0, .plane = false, .film_W_per_m2K = 2000.0, .temperature_K = 430.0},
      {.cell = 14, .plane = true, .film_W_per_m2K = 50.0, .temperature_K = 310.0}};
  std::vector<double> given(2), source(30, 10.0);
  const double before = column.heat_J_per_m2(0, 30);
  for (int i = 0; i < 50; ++i)
    column.step(
        0.1, exchanges, [](double, std::span<Exchange>) {}, source, given);
  const double in = given[0] + given[1] + 50 * 0.1 * 30 * 10.0;
  EXPECT_NEAR(column.heat_J_per_m2(0, 30) - before, in, 1e-11 * std::abs(in));
}

// Property: the heat curve and its inverse.
TEST(Conduction, HeatCurveIsInvertible) {
  const HeatCurve curve{1380.0, Property{{293.15, 1000.0}, {338.15, 1100.0}, {358.15, 1500.0}}};
  EXPECT_DOUBLE_EQ(curve.heat_J_per_m3(273.15), 0.0);
  for (double at = 230.0; at < 480.0; at += 7.3)
    EXPECT_NEAR(curve.temperature_K(curve.heat_J_per_m3(at)), at, 1e-10);
  const double slope = (curve.heat_J_per_m3(345.001) - curve.heat_J_per_m3(344.999)) / 0.002;
  EXPECT_NEAR(slope, curve.capacity_J_per_m3K(345.0), 1.0);
}

// Second road: the exact field of a row of line sources before an isothermal face,
//     T = q/(4 pi k) ln{[cosh 2pi(y + z)/w - cos 2pi x/w] / [cosh 2pi(y - z)/w - cos 2pi x/w]}
// (images; Carslaw and Jaeger 10.10), averaged round the bore, against plane and gathering.
TEST(Conduction, ARowOfChannelsIsAPlaneAndItsGathering) {
  const double w = 0.014, d = 0.008, k = 42.0;
  for (const double depth : {0.008, 0.012, 0.020}) {
    double mean = 0.0;
    constexpr int around = 360;
    for (int i = 0; i < around; ++i) {
      const double angle = 2.0 * pi * i / around;
      const double x = 0.5 * d * std::cos(angle), y = depth + 0.5 * d * std::sin(angle);
      const double near = std::cosh(2.0 * pi * (y - depth) / w) - std::cos(2.0 * pi * x / w);
      const double far = std::cosh(2.0 * pi * (y + depth) / w) - std::cos(2.0 * pi * x / w);
      mean += std::log(far / near) / (4.0 * pi * k) / around;
    }
    const double exact = mean * w;  // kelvin per watt and square metre
    const double plane = depth / k + w / (2.0 * pi * k) * std::log(w / (pi * d));
    EXPECT_NEAR(plane, exact, 0.03 * exact) << depth;
  }
}

}  // namespace
}  // namespace goodside::press
