#pragma once
#include <Eigen/Core>
#include <optional>
#include <vector>

#include "listen/arm_kinematics.hpp"
#include "works/side.hpp"

namespace goodside::listen {

/// The points of a time track that hold on to something, one row each, in order of capture time.
struct TrackPoints {
  std::vector<double> capture_s, programme_s, sigma_s, radius_m;
  std::vector<int> stretch;  ///< which unbroken stretch of playing a point belongs to
  [[nodiscard]] std::size_t size() const { return capture_s.size(); }
};

/// How fast the cut turned, in programme time.
struct TurnRate {
  double rpm{};
  double sigma_ppm{};  ///< standard error relative to rpm
  bool fitted{};  ///< true: from the once-a-turn line; false: as given, with the sigma left to it
  /// How much less a groove angle is known with every turn away from where it was fixed.
  [[nodiscard]] double angle_sigma_deg_per_revolution() const { return 360e-6 * sigma_ppm; }
};

/// Speed of the drive that comes back every turn: dv/v = along cos theta + across sin theta.
struct DriveWow {
  double along{}, across{};
};

/// What the once-a-turn line of a track tells.
struct OffsetFit {
  GrooveOffset offset;            ///< from the hole to the groove's centre, groove angle
  Eigen::Matrix2d covariance_m2;  ///< of (along, across), drive wander included
  std::optional<DriveWow> drive;  ///< the drive's own once-a-turn wow, only on evidence
  double drive_sigma{};           ///< of each component, were that wow fitted beside the offset
  GrooveOffset second;            ///< second harmonic as radial amplitude: r + a cos 2(theta - psi)
  double second_sigma_m{};        ///< of each component
  TurnRate turn_rate;
  double mid_programme_s{};    ///< where the turn rate's error does not touch the direction
  double scatter_s{};          ///< robust rms of what neither drift nor lines explain
  double inflation{1.0};       ///< > 1: parts of the side disagree, and sigma was widened so much
  int neighbours{};            ///< frequencies that the drive's wander was estimated from
  std::vector<double> line_s;  ///< [points] share of hole, second harmonic and drive in speed t - p

  [[nodiscard]] double magnitude_m() const;          ///< |offset|, the noise's own share taken off
  [[nodiscard]] double sigma_m() const;              ///< standard error of magnitude_m()
  [[nodiscard]] double direction_rad() const;        ///< in (-pi, pi]
  [[nodiscard]] double direction_sigma_rad() const;  ///< at programme start
};

/// Fits the offset between hole and groove centre to a track.
///
/// Model, exact geometry (arm_kinematics.hpp), in the delay domain, with theta = 2 pi f p:
///
///     speed t - p = drift(t) + [offset_turn(theta, r; e) + second harmonic] / (2 pi f)
///
/// f = rpm/60; drift a cubic spline with a knot every 3 turns, one a stretch. The second harmonic
/// is that of an inextensible groove: radius a cos 2(theta - psi) goes with a sideways
/// -(a/2) sin 2(theta - psi). Weights 1/(sigma^2 + scatter^2), Huber at 5 median absolute
/// deviations in seconds.
///
/// Sigma: the same fit is repeated at neighbouring turn rates, where no line is; what it finds
/// there is the wander of the drive, and scales the covariance (equal to sigma_e = r sqrt(2 S/T), S
/// the one-sided density of dv/v at the turn rate), with Student's allowance for their number.
/// Where parts of the side of at least 8 turns contradict each other, sigma is widened by Birge's
/// ratio.
///
/// The drive's own once-a-turn wow (constant in dv/v) is fitted beside the offset (which grows as
/// 1/r) only when the arm is known, the radii heard tell it to 0.01 %, and it stands out at
/// p < 1e-4; otherwise it counts as offset: 0.01 % of it reads as 10 um at r = 100 mm.
///
/// Turn rate: searched within +-3000 ppm, adopted at p < 1e-4 when its sigma is < 100 ppm, 200 ppm
/// being what a given one may be wrong. It and the drive's wow look alike; where neither explains
/// the side clearly better, both are fitted and sigma grows.
///
/// Preconditions: >= 6 turns and >= 8 s of points; radii within the arm's reach; speed > 0.
OffsetFit fit_offset(const TrackPoints& points, const works::Arm& arm, double rpm, double speed);

}  // namespace goodside::listen
