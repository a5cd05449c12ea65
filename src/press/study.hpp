#pragma once
#include <array>
#include <cstdint>
#include <string_view>
#include <vector>

#include "press/cycle.hpp"
#include "press/input.hpp"
#include "press/judge.hpp"

namespace goodside::press {

/// The answers of a cycle that a study follows. NaN where the cycle has none.
inline constexpr std::array<std::string_view, 12> figure_names{"full_s",
                                                               "flowed_s",
                                                               "set_s",
                                                               "least_flow_K",
                                                               "peak_K",
                                                               "opening_hottest_K",
                                                               "unevenness_at_setting_K",
                                                               "dish_m",
                                                               "final_gap_m",
                                                               "final_radius_m",
                                                               "squeeze_rise_K",
                                                               "steam_kg"};
using Figures = std::array<double, figure_names.size()>;
[[nodiscard]] Figures figures_of(const CycleResult&);

/// What one input in doubt does to each figure and margin as it moves by its whole spread: half the
/// difference between both ends, each with its own periodic state.
struct Effect {
  const Input* input{};
  Spread spread;
  Figures on_figures{};
  Margins on_margins;
};

struct Sensitivities {
  std::vector<Effect> effects;  ///< in the order of inputs()
  /// 95 % of where each figure lies, to first order: 1.96 sqrt(sum effect^2 / 3), rectangular
  /// distributions [GUM 4.3.7, 5.1.2].
  Figures within{};
};
struct Doubts {
  bool tolerances{true}, knowledge{true};
  int jobs{};
};
/// Errors: Fault::not_converged where one end does not come to repeat itself.
[[nodiscard]] Result<Sensitivities> sensitivities(const CycleSetup&,
                                                  const Periodic&,
                                                  const Doubts& = {});

/// Single cycles from a stored periodic state, every input in doubt drawn evenly over its spread;
/// the dies begin as they stand in the undisturbed run. Sample i is drawn from the seed and i alone:
/// the same answer for any number of threads.
struct Trials {
  std::uint64_t samples{};
  std::array<std::uint64_t, standing_count> standings{};
  struct Figure {
    double mean{}, deviation{}, low{}, middle{}, high{};  ///< 2.5, 50, 97.5 %
    std::uint64_t known{};
  };
  std::array<Figure, figure_names.size()> figures{};
};
[[nodiscard]] Trials trials(const CycleSetup&,
                            const Periodic&,
                            std::uint64_t samples,
                            std::uint64_t seed,
                            const Doubts& = {});

/// A map over two inputs: what each pair comes to, and whether it still works when each tolerance
/// is at its worse end, to first order.
struct Axis {
  const Input* input{};
  double low{}, high{};
  int points{13};
};
struct MapPoint {
  double x{}, y{};
  Standing standing{};
  Standing worst{};  ///< under the tolerances
  double period_s{};
  bool possible{true};  ///< false: check() refuses it
};
struct WindowMap {
  Axis x, y;
  std::vector<MapPoint> points;  ///< y by y, x fastest
};
[[nodiscard]] Result<WindowMap> window_map(const CycleSetup&,
                                           const Axis& x,
                                           const Axis& y,
                                           int jobs);

/// The shortest cycle within the limits over steam lead, steam time and water time, with a reserve
/// for the tolerances to first order (as in the map), by COBYLA from several beginnings.
/// Errors: Fault::out_of_range naming the limit that no cycle keeps.
struct Best {
  CycleSetup setup;
  Periodic periodic;
  CycleResult cycle;
  Margins reserve;  ///< what the tolerances may take
  int cycles_tried{};
};
[[nodiscard]] Result<Best> best_cycle(const CycleSetup&, int jobs, bool with_reserve = true);

}  // namespace goodside::press
