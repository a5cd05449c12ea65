#pragma once
#include <optional>
#include <string>
#include <vector>

#include "works/recipe.hpp"

namespace goodside::works {

struct Mixture {
  double density_kg_per_m3{};  ///< without voids
  /// Binder and extender in what is not regrind, since regrind is taken to be of the same mix. Null
  /// where bought pellets hide it.
  std::optional<double> binder_mass, binder_volume;
  double regrind_mass{};
  std::optional<double> cost_per_kg;  ///< null where a price is missing
};

/// One line of the weigh-up sheet, in the order of charging.
struct WeighLine {
  std::string ingredient, lot, scale, hazard;
  Role role{};
  int charge{};  ///< place in the order of charging, from 1; equal ones go in together
  double fraction{}, volume_fraction{};
  double target_kg{};         ///< dry share of the batch and the water that comes with it
  double weigh_kg{};          ///< the same to the scale's division
  int times{1};               ///< weighings, where the scale does not take it at once
  double tolerance_kg{};      ///< either way
  bool tolerance_told{};      ///< by the works; otherwise common practice by size
  bool is_fine_enough{true};  ///< the division is a third of the tolerance or less
  std::optional<double> stock_kg, cost;
  bool is_short{};  ///< the stock does not reach for it
};

struct WeighUp {
  double batch_kg{};  ///< dry
  int batches{1};     ///< charges of that size
  double volume_m3{};
  std::optional<double> fill;  ///< of the bowl
  double weighed_sigma_kg{};   ///< of the batch, from the divisions of the scales alone
  double water_kg{};           ///< goes off in mixing
  std::vector<WeighLine> lines;
};

struct Deviation {
  std::string ingredient;
  std::optional<double> weighed_kg;  ///< null: not weighed yet
  double target_kg{}, tolerance_kg{};
  double off_kg{};  ///< weighed less target
  double share_of_tolerance{};
  bool is_out{};
};

/// What puts a batch right that the scale says is wrong.
struct Correction {
  enum class Kind {
    none_needed,
    restores,  ///< within tolerance after the additions
    nearest    ///< impossible: the mix whose largest share of a tolerance is the smallest
  };
  struct Line {
    std::string ingredient;
    double add_kg{};          ///< as bought, exact
    double add_weighed_kg{};  ///< the same to the scale's division
    double final_fraction{};  ///< of the dry mix, with the rounded addition
    double share_of_tolerance{};
  };
  Kind kind{Kind::none_needed};
  double worst_share{};  ///< the largest share of a tolerance in the corrected mix, before rounding
  double worst_share_weighed{};  ///< with the rounded additions
  double add_kg{}, batch_kg{}, volume_m3{};
  std::vector<Line> lines;       ///< all ingredients, in the recipe's order
  std::vector<std::string> why;  ///< what stands in the way of a correction
  /// Where the bowl stands in the way: the least to take out of the mix, well mixed, before the
  /// additions of `after_taking_out`.
  std::optional<double> take_out_kg;
  std::vector<Line> after_taking_out;
};

struct Cheapest {
  struct Line {
    std::string ingredient;
    Role role{};
    double before{}, after{};  ///< fractions by dry mass
    Bounds share;              ///< between which it could move
    std::optional<double> needed_kg, stock_kg;
  };
  /// A limit that holds the cost up, and what loosening it by one of its units would save a kilogram.
  struct Held {
    std::string limit;
    double saves{};
    std::string unit;
  };
  bool found{};
  std::vector<std::string> broken;  ///< the limits that cannot all be kept, where none is found
  double cost_per_kg{};
  std::optional<double> cost_before_per_kg;
  Mixture before, after;
  std::vector<Line> lines;
  std::vector<Held> held;
};

/// Regrind returned into each batch at one share.
struct RegrindHistory {
  double share{};
  std::vector<double> through;  ///< [n] share that was through the mixer n times before, settled
  double more{};                ///< more often than the last of them
  double mean_times{};
  int batches_to_settle{};  ///< until the mean is within 1 % of its end
};

struct MixerHeat {
  double heat_J{}, water_heat_J{}, energy_J{};  ///< into the mix; for its water; from the drive
  double heat_capacity_J_per_kgK{};
  bool heat_capacity_told{};  ///< of every ingredient; otherwise from memory, +-20 %
  double from_K{}, to_K{};
  std::optional<double> time_s, work_J_per_kg;
};

struct Purge {
  double left{};     ///< share of the old colour that may be left
  int batches{};     ///< bowls of the new, each mixed through
  double mass_kg{};  ///< run through without a stop, of one that mixes ideally
};

struct MixReport {
  Recipe recipe;
  Mixture mixture;
  WeighUp weigh_up;
  std::vector<Deviation> deviations;
  std::optional<Correction> correction;
  std::optional<Cheapest> cheapest;
  std::optional<RegrindHistory> regrind;
  std::optional<MixerHeat> heat;
  std::optional<Purge> purge;
  std::vector<std::string> remarks, cautions;
  bool is_within{true};
};

}  // namespace goodside::works
