#pragma once
#include <array>
#include <cstddef>
#include <memory>
#include <vector>

#include "press/heat.hpp"
#include "press/setup.hpp"

namespace goodside::press {

/// The mould as a column of cells, from the back of A to the back of B: steel behind the channels,
/// the bored zone, the steel over it, backing, stamper, compound, and the same mirrored. Cells
/// shrink towards the compound, within it towards both faces.
class Stack {
 public:
  Stack(const CycleSetup&, double refine);
  Stack(const Stack&) = delete;
  Stack& operator=(const Stack&) = delete;

  [[nodiscard]] std::vector<Cell> cells() const { return cells_; }
  [[nodiscard]] std::size_t first_compound() const { return first_; }
  [[nodiscard]] std::size_t end_compound() const { return end_; }
  /// The compound's faces from 0 at A to 1 at B.
  [[nodiscard]] const std::vector<double>& bounds() const { return bounds_; }
  /// The cell before each side's channels, for Exchange::plane.
  [[nodiscard]] std::array<std::size_t, 2> channel() const { return channel_; }
  /// The steel's cell next to each side's stamper or backing.
  [[nodiscard]] std::array<std::size_t, 2> seat() const { return seat_; }

 private:
  void add_side(const CycleSetup&, const Side&, double refine, bool mirrored);

  HeatCurve steel_, bored_a_, bored_b_, nickel_, copper_, compound_;
  Property steel_k_, nickel_k_, copper_k_, compound_k_;
  std::vector<Cell> cells_;
  std::vector<double> bounds_;
  std::size_t first_{}, end_{};
  std::array<std::size_t, 2> channel_{}, seat_{};
};

/// Exchange with a side's channels per square metre of die: a row of channels as a plane.
///     1/U = w/(pi D h) + w/(2 pi k) ln(w/(pi D)),
/// the second being what heat pays for gathering at round holes (pitch w, diameter D) beyond the
/// conduction to their plane. Source: [VDI-E] row of cylinders, far from the face; measured against a
/// two-dimensional solution in tests/press. Water warms on its way: U C/(..) as
/// C [1 - exp(-U/C)], C its heat capacity flow per square metre.
struct ChannelExchange {
  double steam_W_per_m2K{}, water_W_per_m2K{};
  double steam_wall_W_per_m2K{}, water_wall_W_per_m2K{};  ///< film alone, per wetted area
  double water_velocity_m_per_s{}, reynolds{};
};
[[nodiscard]] Result<ChannelExchange> channel_exchange(const CycleSetup&, const Side&);

/// What the bores leave of the steel's heat capacity in their zone.
[[nodiscard]] double bored_share(const Side&);

}  // namespace goodside::press
