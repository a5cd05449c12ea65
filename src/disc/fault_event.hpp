#pragma once
#include "stats/draw.hpp"
#include "works/fault_plan.hpp"
#include "works/truth.hpp"

namespace goodside::disc {

/// One fault as it passes under the stylus once, and what it does to the signal meanwhile.
/// tick, pop: a smooth impulse  A (x/2)^2 exp(2 - x) cos(2 pi f (t - t0)),  x = (t - from) / decay,
/// whose envelope peaks with A at t0. burst, arc: grainy noise above 2 kHz in a raised-cosine
/// envelope about t0; A is three times its rms. dropout: the gain of the programme falls to A
/// inside. clip: the capture is held under A of full scale.
class FaultEvent {
 public:
  /// `time_s`: true time of truth.capture_s, the middle of the event, or the peak of an impulse.
  FaultEvent(works::PlannedKind shape,
             const works::TrueFault& truth,
             double time_s,
             stats::Draw draw);

  [[nodiscard]] double from_s() const { return from_s_; }
  [[nodiscard]] double to_s() const { return to_s_; }
  [[nodiscard]] works::PlannedKind shape() const { return shape_; }
  [[nodiscard]] const works::TrueFault& truth() const { return truth_; }

  /// What it adds to each wall; asked once a frame, in order, at a fixed rate.
  struct Added {
    double left{}, right{};
  };
  Added added(double time_s, double rate_Hz);
  [[nodiscard]] double programme_gain(double time_s) const;  ///< 1 save inside a dropout
  [[nodiscard]] double ceiling() const { return amplitude_; }

 private:
  [[nodiscard]] double envelope(double time_s) const;

  works::PlannedKind shape_;
  works::TrueFault truth_;
  stats::Draw draw_;
  double time_s_, from_s_{}, to_s_{};
  double amplitude_, sign_{1.0}, decay_s_{}, frequency_Hz_{}, left_{1.0}, right_{1.0};
  double noise_before_{};
};

}  // namespace goodside::disc
