#pragma once
#include <optional>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "works/plating.hpp"

namespace goodside::line {

/// A strip's or a spiral's reading; see metal/stress.hpp.
struct StripGiven {
  double length_m{}, thickness_m{}, deposit_m{}, deflection_m{};
  double elastic_modulus_Pa{105e9}, poisson_ratio{0.34};  ///< brass
};
struct SpiralGiven {
  double constant_Nm_per_rad{}, turn_rad{}, pitch_m{}, thickness_m{}, deposit_m{};
};

/// What the cell is to be: lengths that are 0 take ordinary proportions.
struct CellGiven {
  works::PlatingCell cell{};
  works::Kinetics kinetics{};
  double band_inner_radius_m{}, band_outer_radius_m{};
  bool seek_shield{};
  double shield_thickness_m{5e-3};
  std::optional<double> wanted_evenness{};
};

/// One run: what is laid on what, how long.
struct PlatingRequest {
  works::PlatingMetal metal;
  works::StartingFace face{works::StartingFace::bare};
  double disc_radius_m{};
  std::optional<double> area_m2{};         ///< without it the disc's
  std::optional<double> full_current_A{};  ///< without it the metal's usual current density
  std::vector<works::CurrentStage>
      stages{};  ///< empty: a gentle start for the face, then the full current
  std::optional<double> time_s{};
  std::optional<double> target_m{};  ///< without both: the metal's usual thickness
  std::optional<CellGiven> cell{};
  std::optional<StripGiven> strip{};
  std::optional<SpiralGiven> spiral{};
  std::optional<double> stress_Pa{};
  std::optional<double> base_m{};  ///< of the same metal, under the deposit, for its bow
  int jobs{};
};

/// The whole answer. A run that is given a time lasts so long; else it lasts until the target is reached, by the mean, or with a
/// cell by the thinnest place of the groove band.
/// Errors: those of metal/; Fault::out_of_range for what cannot be, in one sentence.
Result<works::PlatingReport> plan_plating(const PlatingRequest&);

/// True where what was asked is met: evenness within what was wanted, target reached in the time.
[[nodiscard]] bool within_limits(const works::PlatingReport&);

}  // namespace goodside::line
