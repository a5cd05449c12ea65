#include "disc/fault_event.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "disc/decibel.hpp"

namespace goodside::disc {
namespace {

using works::PlannedKind;

constexpr double pi = std::numbers::pi;
constexpr double decays_in_an_impulse = 8.0;  ///< of its stated duration
constexpr double tail_decays = 30.0;
constexpr double noise_corner_Hz = 2000.0;
constexpr double edge_share = 0.2;  ///< of an envelope, at each end

bool is_noise(PlannedKind shape) {
  return shape == PlannedKind::burst || shape == PlannedKind::arc;
}
bool is_silent(PlannedKind shape) {
  return shape == PlannedKind::dropout || shape == PlannedKind::clip;
}

}  // namespace

FaultEvent::FaultEvent(PlannedKind shape,
                       const works::TrueFault& truth,
                       double time_s,
                       stats::Draw draw)
    : shape_{shape},
      truth_{truth},
      draw_{draw},
      time_s_{time_s},
      amplitude_{amplitude(truth.peak_dB)} {
  const double other_wall = draw_.between(0.6, 1.0);
  frequency_Hz_ =
      shape_ == PlannedKind::pop ? draw_.between(250.0, 700.0) : draw_.between(2000.0, 6000.0);
  if (draw_.uniform() < 0.5) sign_ = -1.0;
  switch (truth_.channel) {
    case works::FaultChannel::left:
      right_ = 0.0;
      break;
    case works::FaultChannel::right:
      left_ = 0.0;
      break;
    case works::FaultChannel::both:
      right_ = other_wall;
      break;
  }
  const bool long_lasting = is_noise(shape_) || is_silent(shape_);
  decay_s_ = truth_.duration_s / decays_in_an_impulse;
  from_s_ = long_lasting ? time_s - truth_.duration_s / 2.0 : time_s - 2.0 * decay_s_;
  to_s_ = long_lasting ? time_s + truth_.duration_s / 2.0 : from_s_ + tail_decays * decay_s_;
}

double FaultEvent::envelope(double time_s) const {
  const double part = (time_s - from_s_) / (to_s_ - from_s_);
  const double edge = std::clamp(std::min(part, 1.0 - part) / edge_share, 0.0, 1.0);
  return 0.5 - 0.5 * std::cos(pi * edge);
}

double FaultEvent::programme_gain(double time_s) const {
  return shape_ == PlannedKind::dropout ? 1.0 - (1.0 - amplitude_) * envelope(time_s) : 1.0;
}

FaultEvent::Added FaultEvent::added(double time_s, double rate_Hz) {
  if (is_silent(shape_)) return {};
  double value = 0.0;
  if (is_noise(shape_)) {
    // Torn, not smooth: a few grains stand out of a non-fill, none out of a rubbed sector.
    const double grain = shape_ == PlannedKind::arc ? 1.0 : draw_.uniform() < 0.08 ? 2.6 : 0.7;
    const double noise = grain * draw_.normal();
    const double keep = std::exp(-2.0 * pi * noise_corner_Hz / rate_Hz);
    value = amplitude_ / 3.0 * envelope(time_s) * (noise - keep * noise_before_) /
            std::sqrt(1.0 + keep * keep);
    noise_before_ = noise;
  } else {
    const double x = (time_s - from_s_) / decay_s_;
    if (x > 0.0)
      value = sign_ * amplitude_ * x * x / 4.0 * std::exp(2.0 - x) *
              std::cos(2.0 * pi * frequency_Hz_ * (time_s - time_s_));
  }
  return {value * left_, value * right_};
}

}  // namespace goodside::disc
