#pragma once
#include <array>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/result.hpp"
#include "press/flow_law.hpp"
#include "press/material.hpp"

namespace goodside::press {

/// What is pressed. `expansion` is linear, below the setting temperature.
struct Compound {
  std::string name;
  bool filled{};  ///< with mineral, as a shellac-type compound is: other ranges of ignorance
  double density_kg_per_m3{};
  Property conductivity_W_per_mK{0.17}, heat_capacity_J_per_kgK{1000.0};
  FlowLaw flow;
  double flow_temperature_K{};  ///< from which a groove fills under the press's pressure
  double set_temperature_K{};   ///< below which the disc keeps its shape out of the press
  double overheated_K{};        ///< above which the compound is hurt
  double expansion_per_K{};
};

/// One half of the mould: its steel, the row of round channels in it, the stamper on its face.
struct Side {
  double die_thickness_m{0.022};  ///< from its back to the face that carries the stamper
  double cover_m{0.005};          ///< steel between channel and that face
  double channel_diameter_m{0.008};
  double channel_pitch_m{0.014};  ///< from channel to channel
  double channels{22};            ///< fed side by side
  double backing_m{};             ///< copper behind the stamper; 0: none
  double stamper_m{0.00025};
  double contact_m2K_per_W{3e-5};  ///< stamper on die
  double steam_gauge_Pa{9e5};
  double water_temperature_K{288.15};
  double water_flow_kg_per_s{2.5};
};

/// Seconds; the cycle begins as the press is fully open and ends as it opens again.
struct Schedule {
  double open_s{7.0};        ///< taking out, labels, biscuit, and the way down to it
  double steam_lead_s{5.0};  ///< steam is on before the press meets the biscuit
  double steam_s{5.0};       ///< from there until steam off
  double drain_s{0.3};       ///< steam off to water on
  double water_s{13.0};
  double rest_s{0.0};  ///< water off to opening

  [[nodiscard]] double steam_on_s() const { return open_s - steam_lead_s; }
  [[nodiscard]] double steam_off_s() const { return open_s + steam_s; }
  [[nodiscard]] double water_on_s() const { return steam_off_s() + drain_s; }
  [[nodiscard]] double water_off_s() const { return water_on_s() + water_s; }
  [[nodiscard]] double period_s() const { return water_off_s() + rest_s; }
};

struct Biscuit {
  double mass_kg{0.140}, diameter_m{0.100}, temperature_K{413.15};
};

struct Disc {
  double diameter_m{0.301}, thickness_m{0.0019}, thickness_tolerance_m{0.0001};
};

/// What is known within a factor only; each multiplies what its name says and is found by a fit.
struct Factors {
  double steam{0.6};  ///< film condensation against Nusselt's clean law: air, bends, slugs
  double water{1.0};
  double contact{1.0};
  double conductivity{1.0}, heat_capacity{1.0}, consistency{1.0};  ///< of the compound
  double steel_conductivity{1.0};
};

struct Limits {
  double dish_m{0.001};       ///< height of the middle over the rim, either way
  double set_margin_K{0.0};   ///< hottest place below setting, at opening
  double flow_margin_K{0.0};  ///< coldest place above flowing, once full
};

/// All that one cycle needs.
struct CycleSetup {
  Disc disc;
  Biscuit biscuit;
  Compound compound;
  std::array<Side, 2> sides{};  ///< A above, B below
  Schedule schedule;
  double die_diameter_m{0.330};
  double force_N{1.0e6};
  double closing_speed_m_per_s{0.02};
  double stop_m{};  ///< gap at which the mould's rims meet; 0: the disc's thickness
  double ambient_K{298.15};
  double back_loss_W_per_m2K{20.0};  ///< of each die's back
  double face_loss_W_per_m2K{15.0};  ///< of an open face
  double compound_contact_m2K_per_W{1e-5};
  double steam_lag_s{0.5}, water_lag_s{0.4};  ///< of valve and channel, to 63 %
  double feed_water_K{353.15};                ///< of the boiler: what steam's heat is counted from
  double steam_lost{0.10};  ///< share of the steam that traps and blowing through lose
  Factors factors;
  Limits limits;
  /// Names of inputs (input.hpp) that a fit found, each with its standard deviation as a share.
  std::vector<std::pair<std::string, double>> fitted;

  /// Both from a log of thermocouples and from a ladder of short charges: see fit.hpp.
  [[nodiscard]] bool heat_fitted() const { return was_fitted("steam_factor"); }
  [[nodiscard]] bool flow_fitted() const { return was_fitted("consistency_factor"); }
  [[nodiscard]] bool calibrated() const { return heat_fitted() && flow_fitted(); }
  [[nodiscard]] double stop() const { return stop_m > 0.0 ? stop_m : disc.thickness_m; }

 private:
  [[nodiscard]] bool was_fitted(std::string_view name) const {
    for (const auto& one : fitted)
      if (one.first == name) return true;
    return false;
  }
};

/// Compounds to begin from; values, ranges and sources in input.hpp's table.
[[nodiscard]] Compound vinyl();
[[nodiscard]] Compound shellac();
/// A 12 in vinyl or a 10 in shellac-type press as a starting point; common practice, no source.
[[nodiscard]] CycleSetup vinyl_setup();
[[nodiscard]] CycleSetup shellac_setup();

/// Refuses what cannot be or what cannot work, with the limit that it breaks: Fault::bad_input for
/// a part that cannot be built, Fault::out_of_range for a figure that cannot be meant or a cycle
/// that can never flow, fill or set.
[[nodiscard]] Outcome check(const CycleSetup&);

}  // namespace goodside::press
