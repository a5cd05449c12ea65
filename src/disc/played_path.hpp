#pragma once
#include <span>
#include <vector>

#include "base/result.hpp"
#include "disc/platter.hpp"
#include "disc/tracking.hpp"
#include "works/player.hpp"

namespace goodside::disc {

/// Unbroken playing between two jumps. Times are true seconds from the capture's first sample.
struct PlayedStretch {
  double from_s{}, to_s{};
  double programme_from_s{}, programme_to_s{};
  double turns{};  ///< whole turns that the stylus is ahead of the platter's count
  int plan{-1};    ///< index of the fault at which the stretch begins, -1: none
};

/// The whole way of the stylus through one play: lead-in, programme with its jumps, run-out.
/// A repeat is heard once, a locked groove `turns` times, then the stylus goes on; a seam that was
/// skipped is not met.
class PlayedPath {
 public:
  /// Errors: those of Tracking::of; Fault::bad_input or out_of_range for an excerpt outside the
  /// programme, a jump of over 100 turns or out of the groove.
  static Result<PlayedPath> of(const works::PlayedSide& played,
                               const Groove& groove,
                               double finishing_radius_m);

  /// Programme time under the stylus; negative in the lead-in, beyond the duration in the run-out.
  [[nodiscard]] double programme_s(double time_s) const;
  /// The same, as if that stretch had neither beginning nor end.
  [[nodiscard]] double programme_s(double time_s, const PlayedStretch& stretch) const;
  [[nodiscard]] double time_s(double programme_s, const PlayedStretch& stretch) const;
  /// Every instant at which that groove place passes, in order.
  [[nodiscard]] std::vector<double> times_s(double programme_s) const;

  [[nodiscard]] std::span<const PlayedStretch> stretches() const { return stretches_; }
  [[nodiscard]] double needle_down_s() const { return needle_down_s_; }  ///< before 0 in an excerpt
  [[nodiscard]] double needle_up_s() const {
    return needle_up_s_;
  }  ///< after the end in an excerpt
  [[nodiscard]] double end_s() const { return end_s_; }
  [[nodiscard]] const Tracking& tracking() const { return tracking_; }

 private:
  PlayedPath(const works::PlayedSide& played, const Groove& groove, const Tracking& tracking);
  Outcome lay_stretches(const works::PlayedSide& played);

  Groove groove_;
  Tracking tracking_;
  Platter platter_;
  double start_s_{}, platter_at_start_rad_{};
  double needle_down_s_{}, needle_up_s_{}, end_s_{};
  std::vector<PlayedStretch> stretches_;
};

/// Where a planned fault lies in programme time: as given, or from its radius and angle.
Result<double> planned_programme_s(const works::FaultPlan& plan, const Groove& groove);

}  // namespace goodside::disc
