#include "listen/fit_reading.hpp"

#include <algorithm>
#include <iterator>
#include <map>
#include <vector>

namespace goodside::listen {
namespace {

constexpr double least_gain = 0.01;         // of the mean logarithm, to be worth a parameter
constexpr double usual_strength_m2 = 1e-6;  // a ball of 15 um, full scale of 7 cm/s
constexpr double fine_step = 0.08;

/// What is left by each value of one parameter that was tried.
class Trials {
 public:
  Trials(double GrooveReading::*parameter, const TryReadings& try_readings)
      : parameter_{parameter}, try_readings_{try_readings} {}

  Outcome add(const GrooveReading& reading, const std::vector<double>& values) {
    std::vector<GrooveReading> readings(values.size(), reading);
    for (std::size_t k = 0; k < values.size(); ++k) readings[k].*parameter_ = values[k];
    std::vector<Leftover> left(values.size());
    if (auto tried = try_readings_(readings, left); !tried) return tried;
    for (std::size_t k = 0; k < values.size(); ++k) left_[values[k]] = left[k].mean();
    return Done{};
  }

  /// A value that was tried elsewhere.
  void know(double value, double left) { left_[value] = left; }
  [[nodiscard]] double left_by(double value) const { return left_.at(value); }
  [[nodiscard]] double best() const { return lowest()->first; }
  /// How much less the best leaves than another.
  [[nodiscard]] double gain_over(double value) const { return left_.at(value) - lowest()->second; }

  /// The lowest point of the parabola through the best and its neighbours; the best where it stands at an end.
  [[nodiscard]] double vertex() const {
    const auto middle = lowest();
    if (middle == left_.begin() || std::next(middle) == left_.end()) return middle->first;
    const auto [x0, y0] = *std::prev(middle);
    const auto [x1, y1] = *middle;
    const auto [x2, y2] = *std::next(middle);
    const double before = (x1 - x0) * (y1 - y2);
    const double after = (x1 - x2) * (y1 - y0);
    const double bend = before - after;
    return bend == 0.0 ? x1 : x1 - 0.5 * ((x1 - x0) * before - (x1 - x2) * after) / bend;
  }

 private:
  [[nodiscard]] std::map<double, double>::const_iterator lowest() const {
    return std::ranges::min_element(left_, {}, [](const auto& one) { return one.second; });
  }

  double GrooveReading::*parameter_;
  const TryReadings& try_readings_;
  std::map<double, double> left_;
};

/// What the cut leaves as it came, neither traced nor limited, told in `bare`.
Outcome fit_strength(GrooveReading& reading, const TryReadings& try_readings, double& bare) {
  Trials trials{&GrooveReading::strength_m2, try_readings};
  constexpr double usual = usual_strength_m2;
  if (auto tried = trials.add(reading, {-usual, 0.0, usual}); !tried) return tried;
  bare = trials.left_by(0.0);
  const double sense = trials.left_by(usual) < trials.left_by(-usual) ? usual : -usual;
  const bool strong = trials.left_by(sense) < trials.left_by(0.0);
  const std::vector<double> nearer{0.25 * sense, 0.5 * sense};
  const std::vector<double> around{0.5 * sense, 1.6 * sense, 2.6 * sense};
  if (auto tried = trials.add(reading, strong ? around : nearer); !tried) return tried;
  if (trials.best() == 2.6 * sense)
    if (auto tried = trials.add(reading, {4.0 * sense}); !tried) return tried;
  if (trials.gain_over(0.0) >= least_gain) reading.strength_m2 = trials.vertex();
  return Done{};
}

Outcome fit_limiting(GrooveReading& reading, const TryReadings& try_readings, double bare) {
  Trials trials{&GrooveReading::limiting, try_readings};
  std::vector<double> first{0.6, 2.0};
  if (reading.strength_m2 == 0.0)
    trials.know(0.0, bare);
  else
    first.push_back(0.0);
  if (auto tried = trials.add(reading, first); !tried) return tried;
  if (trials.gain_over(0.0) < least_gain) return Done{};
  if (auto tried = trials.add(reading, {1.2, 3.5}); !tried) return tried;
  reading.limiting = trials.vertex();
  return Done{};
}

Outcome refine_strength(GrooveReading& reading, const TryReadings& try_readings) {
  Trials trials{&GrooveReading::strength_m2, try_readings};
  const double about = reading.strength_m2;
  const std::vector<double> near{(1.0 - fine_step) * about, about, (1.0 + fine_step) * about};
  if (auto tried = trials.add(reading, near); !tried) return tried;
  reading.strength_m2 = trials.vertex();
  return Done{};
}

}  // namespace

Result<GrooveReading> fit_reading(const GrooveReading& start, const TryReadings& try_readings) {
  GrooveReading reading = start;
  double bare = 0.0;
  if (auto done = fit_strength(reading, try_readings, bare); !done) return done.error();
  if (auto done = fit_limiting(reading, try_readings, bare); !done) return done.error();
  if (reading.strength_m2 != 0.0)
    if (auto done = refine_strength(reading, try_readings); !done) return done.error();
  return reading;
}

}  // namespace goodside::listen
