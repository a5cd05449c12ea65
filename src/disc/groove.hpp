#pragma once
#include <cstdint>
#include <vector>

#include "base/result.hpp"
#include "works/side.hpp"

namespace goodside::disc {

/// Where a moment of the programme lies on the disc.
struct GroovePlace {
  std::int64_t revolution{};  ///< floor(programme_s rpm / 60)
  double angle_deg{};  ///< 360 frac(programme_s rpm / 60), along the groove from its start, in [0,
                       ///< 360)
  double radius_m{};
};

/// The groove of one side against programme time: piecewise cubic in r(t), one turn every 60/rpm
/// seconds. Beyond the programme the radius goes on with the pitch it had at that end.
class Groove {
 public:
  /// `duration_s` is the programme's; it matters only where the side gives radii without a pitch.
  /// First that is given counts: marks (shape-preserving cubic, Fritsch and Carlson, SIAM J. Numer.
  /// Anal. 17, 1980; a lone mark is joined to the outer radius at 0 s), the pitch profile (pitch
  /// linear between its points, held before and after), the pitch, the inner radius. Errors:
  /// Fault::bad_input or out_of_range with the figure and its mend: rpm not in 10 to 100, no or
  /// negative radius, inner not under outer, beyond the disc's edge, marks out of order, less than
  /// 5 mm at the end.
  static Result<Groove> of(const works::CutSide& side, double duration_s);

  [[nodiscard]] double rpm() const { return rpm_; }
  [[nodiscard]] double turn_s() const { return 60.0 / rpm_; }
  [[nodiscard]] double duration_s() const { return duration_s_; }
  [[nodiscard]] double turns() const { return duration_s_ * rpm_ / 60.0; }

  [[nodiscard]] double radius_m(double programme_s) const;
  /// Movement of the groove towards the centre in one turn, positive inwards.
  [[nodiscard]] double pitch_m(double programme_s) const;
  [[nodiscard]] double speed_m_per_s(double programme_s) const;  ///< 2 pi r rpm / 60
  [[nodiscard]] GroovePlace place(double programme_s) const;
  /// Programme time of the turn nearest to that radius at that angle.
  /// Errors: Fault::out_of_range for a radius beyond the recorded groove.
  [[nodiscard]] Result<double> programme_s(double radius_m, double angle_deg) const;
  /// Unrolled length of the recorded groove: integral of the groove speed, exact for the piecewise
  /// cubic.
  [[nodiscard]] double length_m() const;

 private:
  struct Knot {
    double programme_s, radius_m, slope_m_per_s;
  };
  using Knots = std::vector<Knot>;  ///< at least two, programme time rising
  struct Local {
    double radius_m, slope_m_per_s;
  };
  Groove(double rpm, double duration_s, Knots knots);
  static Result<Knots> through_marks(const works::CutSide& side);
  static Result<Knots> along_profile(const works::CutSide& side, double duration_s);
  static Result<Knots> at_fixed_pitch(const works::CutSide& side, double duration_s);
  [[nodiscard]] Local at(double programme_s) const;

  double rpm_, duration_s_;
  Knots knots_;
};

/// Programme that fits between two radii at a fixed pitch [s]: (outer - inner) / pitch * 60 / rpm.
struct GrooveBand {
  double outer_radius_m, inner_radius_m, pitch_m;  ///< pitch > 0
};
double playing_time_s(const GrooveBand& band, double rpm);

}  // namespace goodside::disc
