#pragma once
#include <optional>
#include <span>
#include <vector>

#include "base/result.hpp"
#include "metal/field.hpp"
#include "works/plating.hpp"

namespace goodside::metal {

/// Radii between which the groove lies.
struct GrooveBand {
  double inner_radius_m{}, outer_radius_m{};
};

/// Lowest, highest and area mean of a profile over the band; straight lines between the middles of rings.
[[nodiscard]] works::BandSpread band_spread(const works::ThicknessProfile&, const GrooveBand&);

/// Thickness along the radius at any time of a staged run:
///   h(r, t) = eta M / (z F rho)  integral of i(r; I(t)) dt.
/// Where the cathode's law is linear the shape i / I is one and the same. Else it is solved at up to seven currents
/// (Chebyshev's in log I) between the largest and 1/50 of it, and put through them by Lagrange's polynomial in log I, so
/// that every stage that rises is taken with the shapes it passes through; below 1/50 the shape stays.
/// Accuracy of the interpolation: 2e-4 of the thickness in tests/metal/spread_test.cpp.
class DepositGrowth {
 public:
  /// Errors: those of PotentialField; Fault::out_of_range where the band does not lie on the disc.
  static Result<DepositGrowth> make(const works::PlatingMetal&,
                                    const works::PlatingCell&,
                                    const works::Kinetics&,
                                    std::span<const works::CurrentStage>,
                                    const GrooveBand&,
                                    double fineness = 1.0);

  /// At a time >= 0; the last current is held on.
  [[nodiscard]] works::ThicknessProfile profile(double time_s) const;
  [[nodiscard]] works::BandSpread band(double time_s) const;
  /// When the thinnest place of the band reaches a thickness [s], to 1e-9 of it.
  /// Errors: Fault::out_of_range where the last current is 0.
  [[nodiscard]] Result<double> time_to_reach_s(double thickness_m) const;

  /// All that is told of the cell, at the end of the run; `time_s` sets it. The section is of the last current.
  [[nodiscard]] Result<works::CellResult> result(double time_s);

 private:
  struct Shape {
    double current_A{};
    std::vector<double> share_per_m2;  ///< i / I of rings
  };
  DepositGrowth(PotentialField field) : field_{std::move(field)} {}
  [[nodiscard]] std::vector<double> shape_at(double current_A) const;
  [[nodiscard]] std::vector<double> charge_per_m2(double time_s) const;

  works::PlatingMetal metal_;
  works::PlatingCell cell_;
  works::Kinetics kinetics_;
  std::vector<works::CurrentStage> stages_;
  GrooveBand band_;
  PotentialField field_;
  std::vector<Shape> shapes_;
  double balance_{};
  double fineness_{1.0};
  int iterations_{};
};

}  // namespace goodside::metal
