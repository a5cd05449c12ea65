#pragma once
#include <cstddef>
#include <span>
#include <vector>

namespace goodside::press {

/// Power law tau = m(T) rate^n whose rates shift with temperature: m(T) = m_ref a(T)^n.
///   Arrhenius  a = exp[(E/R)(1/T - 1/T_ref)]
///   WLF        log10 a = w(T) - w(T_ref),  w(T) = -C1 (T - T_s)/(C2 + T - T_s), up to T_s + 100 K,
///              Arrhenius beyond
/// Source:   [Ferry1980] chapter 11; universal C1 17.44, C2 51.6 K from the glass temperature T_s.
/// Below `solid_below_K` nothing flows (the no-flow temperature of moulding practice).
struct FlowLaw {
  double exponent{0.35};          ///< n, in (0, 1]
  double consistency_Pa_sn{3e4};  ///< m at the reference temperature
  double reference_K{438.15};
  double activation_J_per_mol{80e3};
  bool wlf{};
  double wlf_c1{17.44}, wlf_c2_K{51.6}, wlf_reference_K{345.15};
  double solid_below_K{};

  /// a(T): by what the rates are slower than at the reference temperature.
  [[nodiscard]] double shift(double temperature_K) const;
  [[nodiscard]] double consistency_at(double temperature_K) const;
};

/// How a gap of unit height with layers of unlike consistency lets through: the flow per width
/// under a pressure gradient G is  q = s h^(2 + 1/n) G^(1/n)  for a gap h without slip, and of the work
/// done the share `dissipated` falls to each layer. In the lubrication approximation
///     shear stress = G (z - z0),   s = int |z - z0|^(1+1/n) m(z)^(-1/n) dz   over unit height,
/// with z0 where the two walls' conditions of no slip meet. Exact for layers of constant m.
struct GapFlow {
  double conductance{};  ///< s, (Pa s^n)^(-1/n)
  double turning{0.5};   ///< z0
  std::vector<double> dissipated;
  std::vector<double> fluidity;  ///< a(T)^-1 of each layer, 0 where it is solid
};
/// `bounds` are the layers' faces from 0 to 1, one more than temperatures. Buffers are reused.
void gap_flow(const FlowLaw&,
              std::span<const double> bounds,
              std::span<const double> temperature_K,
              GapFlow& out);

/// Force [N] that closes a gap h at a speed over a full radius:
///     F = pi/(n+3) R^(n+3) (v / (2 s h^(2+1/n)))^n,
/// which is Scott's and, at n = 1, Stefan's law where all layers are alike. Source: [Scott1931],
/// [Stefan1874], [Bird1987] section 4.2. No slip; the compound touches both faces over R.
struct Squeeze {
  double exponent{}, conductance{}, gap_m{}, radius_m{};
  [[nodiscard]] double force_N(double speed_m_per_s) const;
  [[nodiscard]] double speed_m_per_s(double force_N) const;
};

/// How far a gap closes under a force limit F and a speed limit v in a time: the slower of both
/// holds at each instant, so speed first and, once the gap is narrow enough, force.
/// Closed form at constant s, both while a volume V spreads (R^2 = V/(pi h)) and at a full radius,
/// where the rest leaves as flash; ends at the stop.
struct Closing {
  double exponent{}, conductance{};
  double force_N{}, speed_m_per_s{};
  double volume_m3{}, full_radius_m{}, stop_m{};

  struct Moved {
    double gap_m{};
    double work_J{};  ///< of the force on the compound
  };
  [[nodiscard]] Moved close(double gap_m, double time_s) const;
  /// On the compound at this gap; 0 at the stop.
  [[nodiscard]] double force_at(double gap_m) const;
  [[nodiscard]] double speed_at(double gap_m) const;
  [[nodiscard]] double radius_at(double gap_m) const;
  [[nodiscard]] double full_gap_m() const;  ///< where the spreading compound fills the radius
};

}  // namespace goodside::press
