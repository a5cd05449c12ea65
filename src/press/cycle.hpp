#pragma once
#include <array>
#include <optional>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "press/setup.hpp"

namespace goodside::press {

// One cycle of the press and the state that repeats itself. The model: docs/press.md.

/// How finely a cycle is computed. Halving the cells' and the steps' sizes moves the faces by less
/// than 0.1 K at `refine` 1 (measured in tests/press).
struct Numerics {
  double refine{1.0};
};

/// Temperatures of both halves of the mould at the cycle's beginning, from the back of A to the
/// back of B, on the mesh of the same numerics.
using State = std::vector<double>;

/// A place in a die's steel, from the stamper's seat.
struct SteelPlace {
  std::size_t side{};
  double depth_m{};
};

/// At one instant; the compound's temperatures are empty while the press is open.
struct Moment {
  double time_s{};
  std::array<double, 2> face_K{};               ///< of the stampers, towards the compound
  std::array<double, 2> groove_K{};             ///< of the compound's own faces
  double middle_K{}, coldest_K{}, hottest_K{};  ///< of the compound
  std::array<double, 2> channel_K{};            ///< of the steel at the channels' plane
  std::array<double, 2> steam_Pa{};  ///< absolute, in the channels; 0 while no steam is on
  double gap_m{}, radius_m{}, force_N{};
  bool closed{};
  std::vector<double> steel_K;  ///< at CycleOptions::steel
};

/// The stack from the back of A to the back of B.
struct Profile {
  double time_s{};
  std::string when;
  std::vector<double> depth_m, temperature_K;
};

/// Heats of the whole column over a disc's area in one cycle [J]; closes to rounding.
struct Balance {
  std::array<double, 2> steam_J{}, water_J{}, back_J{}, open_J{};  ///< into the column
  double press_work_J{}, biscuit_J{};  ///< in; heats of compound count from the ambient
  double disc_J{}, flash_J{};          ///< out
  double stored_J{};                   ///< gained by the dies
  [[nodiscard]] double moved_J() const;
  [[nodiscard]] double gap_J() const;  ///< in - out - stored
  [[nodiscard]] double error() const { return gap_J() / moved_J(); }
};

struct CycleResult {
  Balance balance;
  State end;  ///< of the dies, the next cycle's beginning
  double period_s{}, discs_per_hour{};
  std::optional<double> full_s;    ///< the compound reaches the mould's rim
  std::optional<double> seated_s;  ///< the gap reaches the stop
  std::optional<double> flowed_s;  ///< the last place has reached flow temperature while full
  std::optional<double> set_s;     ///< the hottest place has set, for good
  std::string coldest_place, hottest_place, last_to_set;
  double final_gap_m{}, final_radius_m{}, peak_force_N{};
  double least_flow_K{};  ///< best temperature of the place that got least
  double peak_K{};        ///< of the compound
  double opening_hottest_K{};
  double squeeze_rise_K{};           ///< press work over the biscuit's heat capacity
  double unevenness_at_setting_K{};  ///< face A less face B
  double unevenness_at_opening_K{};
  double dish_m{};  ///< see dish_m(); towards A positive
  double disc_mass_kg{}, flash_mass_kg{};
  double steam_kg{}, water_kg{}, energy_J{};  ///< a disc, die rims included
  std::vector<Moment> moments;
  std::vector<Profile> profiles;
};

struct CycleOptions {
  Numerics numerics;
  bool keep_moments{};              ///< and the stack's profiles at the cycle's events
  std::vector<SteelPlace> steel{};  ///< followed in the moments
};

/// One cycle from a state of the dies. The setup must pass check().
[[nodiscard]] CycleResult run_cycle(const CycleSetup&, const State&, const CycleOptions& = {});

/// A uniform state to begin from.
[[nodiscard]] State uniform_state(const CycleSetup&, const Numerics& = {});

/// The state that repeats itself: cycles are run and extrapolated (Anderson's mixing) until the dies
/// come back to within 0.002 K. Source: [Anderson1965], [Walker2011].
/// Errors: Fault::not_converged after 200 cycles.
struct Periodic {
  State state;
  int cycles{};
  double difference_K{};
};
[[nodiscard]] Result<Periodic> periodic_state(const CycleSetup&,
                                              const Numerics& = {},
                                              const State& guess = {});

/// Height of the middle over the rim of a free disc that set with a temperature profile: a plate
/// stress-free then, cooled to one temperature, bends to
///     curvature = (12/h^3) int alpha T(z) (z - h/2) dz,   dish = curvature R^2 / 2.
/// Source: [Timoshenko1959] article 14 (thermal bending of a free plate). Linear, without creep.
struct SetProfile {
  double expansion_per_K{}, radius_m{};
};
[[nodiscard]] double dish_m(const SetProfile&,
                            const std::vector<double>& depth_m,
                            const std::vector<double>& temperature_K,
                            double thickness_m);

}  // namespace goodside::press
