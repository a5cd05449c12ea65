#include "line/demo_tune.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "base/expects.hpp"
#include "stats/draw.hpp"

namespace goodside::line {
namespace {

constexpr double tau = 2.0 * std::numbers::pi;
constexpr double peak = 0.4;
constexpr double lead_s = 0.1;
constexpr double fade_s = 2.0;
constexpr double plectrum_corner_Hz = 2000.0;
constexpr double brush_corner_Hz = 3000.0;
constexpr int beats_a_bar = 4;
constexpr std::array dorian{0, 2, 3, 5, 7, 9, 10};
constexpr std::array roads{0, 3, 4, 6};  ///< degrees that a bar may stand on

struct Place {
  double at_s, strength, pan;  ///< pan: 0 left, 1 right
};

double pitch_Hz(double tonic_Hz, int degree) {
  const int octave = static_cast<int>(std::floor(degree / 7.0));
  const int step = dorian[static_cast<std::size_t>(degree - 7 * octave)];
  return tonic_Hz * std::exp2(octave + step / 12.0);
}

/// Two channels that voices are added to.
class Tape {
 public:
  Tape(double duration_s, double rate_Hz)
      : rate_Hz_{rate_Hz}, frames_{static_cast<std::size_t>(std::round(duration_s * rate_Hz))} {
    sums_.resize(2 * frames_);
  }

  /// Adds `length_s` of `voice(k)` from that place on; the voice is asked frame by frame.
  template <class Voice>
  void add(const Place& place, double length_s, Voice voice) {
    const auto from = static_cast<std::size_t>(place.at_s * rate_Hz_);
    const auto to = std::min(frames_, from + static_cast<std::size_t>(length_s * rate_Hz_));
    const double left = place.strength * std::cos(place.pan * tau / 4.0);
    const double right = place.strength * std::sin(place.pan * tau / 4.0);
    for (std::size_t k = from; k < to; ++k) {
      const double value = voice(static_cast<double>(k - from) / rate_Hz_);
      sums_[2 * k] += left * value;
      sums_[2 * k + 1] += right * value;
    }
  }

  [[nodiscard]] double rate_Hz() const { return rate_Hz_; }

  [[nodiscard]] std::vector<float> finished() const {
    double loudest = 0.0;
    for (const double value : sums_) loudest = std::max(loudest, std::abs(value));
    const double gain = loudest > 0.0 ? peak / loudest : 0.0;
    std::vector<float> samples(sums_.size());
    for (std::size_t k = 0; k < sums_.size(); ++k) {
      const double left_s = static_cast<double>(frames_ - k / 2) / rate_Hz_;
      samples[k] = static_cast<float>(gain * std::min(1.0, left_s / fade_s) * sums_[k]);
    }
    return samples;
  }

 private:
  double rate_Hz_;
  std::size_t frames_;
  std::vector<double> sums_;
};

/// A string plucked once.
class String {
 public:
  String(double frequency_Hz, double rate_Hz, stats::Draw& draw) {
    constexpr double loop_delay = 0.5;  // of the averaging that damps it
    const double whole = rate_Hz / frequency_Hz - loop_delay;
    line_.resize(static_cast<std::size_t>(whole - 0.2));
    const double part = whole - static_cast<double>(line_.size());
    pass_ = (1.0 - part) / (1.0 + part);
    // A soft plectrum: what a groove cannot be traced with never reaches the lathe.
    const double keep = std::exp(-tau * plectrum_corner_Hz / rate_Hz);
    double soft = 0.0;
    double softer = 0.0;
    for (double& sample : line_) {
      soft = keep * soft + (1.0 - keep) * draw.between(-1.0, 1.0);
      sample = softer = keep * softer + (1.0 - keep) * soft;
    }
    const auto [least, most] = std::minmax_element(line_.begin(), line_.end());
    const double swing = std::max(*most - *least, 1e-9);
    const double middle = (*most + *least) / 2.0;
    for (double& sample : line_) sample = 2.0 * (sample - middle) / swing;
  }

  double next() {
    const double now = line_[at_];
    const double damped = 0.4985 * (now + before_);
    before_ = now;
    const double passed = pass_ * (damped - passed_before_) + damped_before_;
    damped_before_ = damped;
    passed_before_ = passed;
    line_[at_] = passed;
    at_ = (at_ + 1) % line_.size();
    return now;
  }

 private:
  std::vector<double> line_;
  std::size_t at_{};
  double pass_{}, before_{}, damped_before_{}, passed_before_{};
};

void pluck(Tape& tape, const Place& place, double frequency_Hz, double rate_Hz, stats::Draw& draw) {
  String string{frequency_Hz, rate_Hz, draw};
  constexpr double length_s = 1.6;
  tape.add(place, length_s, [&](double t) {
    return std::min({1.0, t / 0.003, (length_s - t) / 0.1}) * string.next();
  });
}

void bass(Tape& tape, const Place& place, double frequency_Hz) {
  constexpr double length_s = 1.0;
  tape.add(place, length_s, [&](double t) {
    const double swell =
        std::min(1.0, t / 0.008) * std::exp(-t / 0.4) * std::min(1.0, (length_s - t) / 0.05);
    const double phase = tau * frequency_Hz * t;
    return swell * (std::sin(phase) + 0.45 * std::sin(2.0 * phase) + 0.2 * std::sin(3.0 * phase));
  });
}

void drum(Tape& tape, const Place& place) {
  tape.add(place, 0.5, [](double t) {
    const double phase = tau * (58.0 * t + 2.2 * (1.0 - std::exp(-t / 0.04)));
    return std::min(1.0, t / 0.002) * std::exp(-t / 0.11) * std::sin(phase);
  });
}

void brush(Tape& tape, const Place& place, stats::Draw& draw) {
  const double keep = std::exp(-tau * brush_corner_Hz / tape.rate_Hz());
  double soft = 0.0;
  double softer = 0.0;
  tape.add(place, 0.25, [&](double t) {
    soft = keep * soft + (1.0 - keep) * draw.normal();
    softer = keep * softer + (1.0 - keep) * soft;
    return 0.5 * std::min(1.0, t / 0.006) * std::exp(-t / 0.045) * (soft - softer);
  });
}

}  // namespace

std::vector<float> demo_tune(const DemoTune& tune, double rate_Hz) {
  EXPECTS(rate_Hz >= 8000.0 && rate_Hz <= 192000.0 && tune.duration_s >= 5.0);
  stats::Draw draw{tune.seed};
  Tape tape{tune.duration_s, rate_Hz};
  int melody = 7;
  int road = 0;
  const double last_s = tune.duration_s - fade_s;
  for (int beat = 0; lead_s + beat * tune.beat_s < last_s; ++beat) {
    const double at_s = lead_s + beat * tune.beat_s;
    const int in_bar = beat % beats_a_bar;
    if (in_bar == 0)
      road = roads[static_cast<std::size_t>(draw.between(0.0, static_cast<double>(roads.size())))];
    // Nobody plays to the millisecond.
    const auto humanly = [&](double time_s) { return time_s + 0.004 * draw.uniform(); };
    if (in_bar % 2 == 0) {
      bass(tape, {humanly(at_s), 0.5, 0.5}, pitch_Hz(tune.tonic_Hz / 2.0, road + 4 * (in_bar / 2)));
      drum(tape, {humanly(at_s), 0.55, 0.45});
      pluck(tape, {humanly(at_s), 0.5, 0.75}, pitch_Hz(tune.tonic_Hz, road + 2), rate_Hz, draw);
    } else {
      brush(tape, {humanly(at_s), 0.5, 0.6}, draw);
      pluck(tape, {humanly(at_s), 0.45, 0.8}, pitch_Hz(tune.tonic_Hz, road + 4), rate_Hz, draw);
    }
    for (int half = 0; half < 2; ++half) {
      melody = std::clamp(melody + static_cast<int>(std::floor(draw.between(-2.0, 3.0))), 5, 16);
      if (half == 1 && draw.uniform() < 0.3) continue;
      const Place place{humanly(at_s + half * tune.beat_s / 2.0), draw.between(0.6, 1.0), 0.25};
      pluck(tape, place, pitch_Hz(tune.tonic_Hz, melody), rate_Hz, draw);
    }
  }
  return tape.finished();
}

}  // namespace goodside::line
