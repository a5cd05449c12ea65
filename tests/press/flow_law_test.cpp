#include "press/flow_law.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace goodside::press {
namespace {

constexpr double pi = std::numbers::pi;

FlowLaw law(double exponent, double consistency) {
  FlowLaw one;
  one.exponent = exponent;
  one.consistency_Pa_sn = consistency;
  one.reference_K = 430.0;
  return one;
}

std::vector<double> even_bounds(std::size_t layers) {
  std::vector<double> bounds(layers + 1);
  for (std::size_t i = 0; i <= layers; ++i)
    bounds[i] = static_cast<double>(i) / static_cast<double>(layers);
  return bounds;
}

GapFlow at(const FlowLaw& one, const std::vector<double>& temperatures) {
  GapFlow flow;
  gap_flow(one, even_bounds(temperatures.size()), temperatures, flow);
  return flow;
}

double conductance(double exponent, double consistency) {
  return at(law(exponent, consistency), std::vector<double>(12, 430.0)).conductance;
}

// Published: Stefan 1874 and Scott 1931, F = 2 pi m R^(n+3)/(n+3) ((2n+1)/n)^n v^n / h^(2n+1): R
// 0.15 m, m 1e4, h 2 mm, v 1 mm/s. Figures computed from the closed form and, for Scott, by direct
// integration of the pressure field.
TEST(Squeeze, AgreesWithStefanAndScott) {
  constexpr double rows[][2] = {{1.0, 2982058.65}, {0.5, 371023.34}, {0.3, 157477.57}};
  for (const auto& [n, force] : rows) {
    const Squeeze squeeze{n, conductance(n, 1e4), 0.002, 0.15};
    EXPECT_NEAR(squeeze.force_N(0.001), force, 0.006);
    EXPECT_NEAR(squeeze.speed_m_per_s(squeeze.force_N(0.001)), 0.001, 1e-15);
  }
}

Closing closing(double exponent) {
  return {.exponent = exponent,
          .conductance = conductance(exponent, 1e4),
          .force_N = 1e6,
          .speed_m_per_s = 1e9,
          .volume_m3 = 1.0,
          .full_radius_m = 0.15,
          .stop_m = 1e-6};
}

// Published: the same laws in time, 1 MN, 4 to 1.9 mm, always full.
TEST(Squeeze, TakesTheTimeOfStefanAndScott) {
  constexpr double rows[][3] = {
      {1.0, 2.558705, 5e-7}, {0.5, 0.0955671, 5e-8}, {0.3, 0.00116735, 5e-9}};
  for (const auto& [n, time_s, half_digit_s] : rows) {
    const auto moved = closing(n).close(0.004, time_s);
    EXPECT_NEAR(moved.gap_m, 0.0019, half_digit_s * closing(n).speed_at(0.0019));
    EXPECT_NEAR(moved.work_J, 1e6 * (0.004 - moved.gap_m), 1e-6);
  }
}

// Closed form: a volume that spreads, t = 3 mu V^2/(8 pi F) (1/h2^4 - 1/h1^4): 20 to 1.9 mm.
TEST(Squeeze, SpreadsAVolumeInTheTimeOfTheClosedForm) {
  Closing one = closing(1.0);
  one.volume_m3 = pi * 0.15 * 0.15 * 0.0019;
  one.full_radius_m = 1.0;
  EXPECT_NEAR(one.close(0.020, 1.651975).gap_m, 0.0019, 1e-9);
  EXPECT_NEAR(one.radius_at(0.0019), 0.15, 1e-12);
}

// Property: the step's length does not matter, over all three changes: speed to force, spreading to
// full, and the stop.
TEST(Squeeze, MovesAlikeInManyStepsAndInOne) {
  Closing one = closing(0.35);
  one.speed_m_per_s = 0.02;
  one.volume_m3 = 1.05 * pi * 0.15 * 0.15 * 0.0019;
  one.stop_m = 0.0019;
  one.conductance = conductance(0.35, 3e4);
  for (const double time_s : {0.3, 0.55, 0.62, 0.7}) {
    const auto whole = one.close(0.013, time_s);
    Closing::Moved parts{0.013, 0.0};
    for (int i = 0; i < 300; ++i) {
      const auto part = one.close(parts.gap_m, time_s / 300.0);
      parts = {part.gap_m, parts.work_J + part.work_J};
    }
    EXPECT_NEAR(parts.gap_m, whole.gap_m, 1e-10) << time_s;
    EXPECT_NEAR(parts.work_J, whole.work_J, 1e-7 * whole.work_J);
  }
  EXPECT_DOUBLE_EQ(one.close(0.013, 100.0).gap_m, 0.0019);
}

// Second road: a Newtonian gap of two halves, viscosities 1 to 4: z0 and s from their integrals.
TEST(Squeeze, LayersOfUnlikeViscosityShareTheGap) {
  FlowLaw one = law(1.0, 100.0);
  const double hot = 430.0;
  // exp[E/R (1/T - 1/430)] = 4
  const double cold =
      1.0 / (1.0 / hot + std::log(4.0) * 8.31446261815324 / one.activation_J_per_mol);
  const auto flow = at(one, {hot, hot, cold, cold});
  const double turning = (0.125 + 0.375 / 4.0) / (0.5 + 0.5 / 4.0);
  EXPECT_NEAR(flow.turning, turning, 1e-8);
  const auto cube = [&](double z) { return std::pow(z - turning, 3.0) / 3.0; };
  const double s = (cube(0.5) - cube(0.0) + (cube(1.0) - cube(0.5)) / 4.0) / 100.0;
  EXPECT_NEAR(flow.conductance, s, 1e-9 * s);
  double sum = 0.0;
  for (const double share : flow.dissipated) sum += share;
  EXPECT_NEAR(sum, 1.0, 1e-14);
  EXPECT_GT(flow.dissipated[0], flow.dissipated[1]);  // shear is at the walls
}

TEST(Squeeze, SolidCompoundDoesNotMove) {
  FlowLaw one = law(0.35, 3e4);
  one.solid_below_K = 340.0;
  EXPECT_EQ(at(one, {330.0, 330.0}).conductance, 0.0);
  Closing stuck = closing(0.35);
  stuck.conductance = 0.0;
  EXPECT_DOUBLE_EQ(stuck.close(0.01, 5.0).gap_m, 0.01);
  // A frozen skin narrows the channel.
  EXPECT_LT(at(one, {330.0, 430.0, 430.0, 330.0}).conductance,
            at(one, {430.0, 430.0, 430.0, 430.0}).conductance);
}

// Published: universal WLF constants (Ferry, Viscoelastic Properties of Polymers, 3rd ed., chapter
// 11): decades below the glass temperature's. Arrhenius: 80 kJ/mol, 150 to 170 C.
TEST(FlowLaw, ShiftsByWlfAndArrhenius) {
  FlowLaw wlf = law(1.0, 1.0);
  wlf.wlf = true;
  wlf.reference_K = wlf.wlf_reference_K;
  constexpr double rows[][2] = {{10.0, -2.831169},
                                {20.0, -4.871508},
                                {50.0, -8.582677},
                                {80.0, -10.601824},
                                {100.0, -11.503958}};
  for (const auto& [above, decades] : rows)
    EXPECT_NEAR(std::log10(wlf.shift(wlf.wlf_reference_K + above)), decades, 5e-7);
  const double end = wlf.wlf_reference_K + 100.0;
  EXPECT_NEAR(wlf.shift(end + 1e-9) / wlf.shift(end), 1.0, 1e-8);
  FlowLaw arrhenius = law(1.0, 1.0);
  EXPECT_NEAR(arrhenius.shift(443.15) / arrhenius.shift(423.15), 0.358359, 5e-7);
}

}  // namespace
}  // namespace goodside::press
