#include "metal/offset_fit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "metal/offset_region.hpp"
#include "stats/interval.hpp"
#include "stats/linear_fit.hpp"

namespace goodside::metal {
namespace {

using works::GrooveReading;
using works::OffsetEstimate;

constexpr double pi = std::numbers::pi;
constexpr double degree = pi / 180.0;
constexpr double same_angle_rad = 0.05 * degree;
constexpr double farthest_m = 1.0;          // a stamper is 0.32 m wide
constexpr double largest_condition = 60.0;  // readings over some 60 degrees of the turn
constexpr double chance_of_false_outlier = 0.002;
constexpr int freedom_to_leave_out = 4;  // with fewer, out-of-round passes for a bad reading
constexpr std::size_t most_left_out = 20;
constexpr double surprising_chance = 0.001;
constexpr std::size_t most_readings = 2000;
constexpr std::size_t angles_for_out_of_round = 6;
constexpr double infinite = std::numeric_limits<double>::infinity();

/// Readings at one angle.
struct Station {
  double angle_rad{}, mean_m{};
  double count{};
};

struct Model {
  bool out_of_round{};
  [[nodiscard]] std::size_t unknowns() const { return out_of_round ? 5 : 3; }
  void row(double angle, std::vector<double>& design) const {
    design.insert(design.end(), {1.0, std::cos(angle), std::sin(angle)});
    if (out_of_round) design.insert(design.end(), {std::cos(2.0 * angle), std::sin(2.0 * angle)});
  }
};

Outcome check(const OffsetQuestion& question) {
  const std::size_t count = question.readings.size();
  if (count < 3)
    return Error{
        Fault::bad_input,
        fmt::format("{} reading{}; the centre needs at least three, at three angles (five to "
                    "tell out-of-round, six to judge the scatter)",
                    count,
                    count == 1 ? "" : "s")};
  if (count > most_readings)
    return Error{Fault::bad_input,
                 fmt::format("{} readings; at most {} are taken", count, most_readings)};
  for (std::size_t i = 0; i < count; ++i) {
    const auto& one = question.readings[i];
    if (!std::isfinite(one.angle_rad) || !std::isfinite(one.position_m) ||
        std::abs(one.position_m) > farthest_m || std::abs(one.angle_rad) > 2e3 * pi)
      return Error{
          Fault::bad_input,
          fmt::format("reading {}: angle and position must be numbers, the position within "
                      "1 m, the angle within 1000 turns",
                      i + 1)};
  }
  return Done{};
}

double wrapped(double angle) {
  const double turns = angle / (2.0 * pi);
  return (turns - std::floor(turns)) * 2.0 * pi;
}

/// The readings without what is known to be no offset: the spiral's way inwards.
std::vector<GrooveReading> on_a_circle(const OffsetQuestion& question) {
  auto readings = question.readings;
  const double first = readings.empty() ? 0.0 : readings.front().angle_rad;
  for (auto& one : readings)
    one.position_m += question.inward_per_turn_m * (one.angle_rad - first) / (2.0 * pi);
  return readings;
}

class Fitting {
 public:
  Fitting(const OffsetQuestion& question, std::vector<GrooveReading> readings)
      : question_{question}, readings_{std::move(readings)}, kept_(readings_.size(), true) {}

  Result<OffsetEstimate> run() {
    gather();
    if (const auto spread = check_spread(); !spread) return spread.error();
    leave_out();
    gather();
    model_.out_of_round = stations_.size() >= angles_for_out_of_round;
    if (model_.out_of_round && !fit()) model_.out_of_round = false;
    if (!refine()) return Error{Fault::bad_input, "the readings do not settle a centre"};
    return estimate();
  }

 private:
  /// Angles at which something kept was read, each with its mean.
  void gather() {
    stations_.clear();
    station_of_.assign(readings_.size(), 0);
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < readings_.size(); ++i)
      if (kept_[i]) order.push_back(i);
    std::ranges::sort(order, {}, [&](std::size_t i) { return wrapped(readings_[i].angle_rad); });
    double from = -1.0;
    for (const std::size_t i : order) {
      const double angle = wrapped(readings_[i].angle_rad);
      if (stations_.empty() || angle - from > same_angle_rad) {
        stations_.push_back({angle, 0.0, 0.0});
        from = angle;
      }
      station_of_[i] = stations_.size() - 1;
    }
    // The first and the last may be one angle, on either side of the zero.
    if (stations_.size() > 1 &&
        stations_.front().angle_rad + 2.0 * pi - stations_.back().angle_rad <= same_angle_rad) {
      for (const std::size_t i : order)
        if (station_of_[i] == stations_.size() - 1) station_of_[i] = 0;
      stations_.pop_back();
    }
    for (const std::size_t i : order) {
      auto& station = stations_[station_of_[i]];
      station.count += 1.0;
      station.mean_m += (readings_[i].position_m - station.mean_m) / station.count;
    }
  }

  Outcome check_spread() {
    if (stations_.size() < 3)
      return Error{
          Fault::bad_input,
          stations_.size() == 1
              ? std::string{"all readings are at one angle; turn the plate and read at three or "
                            "more"}
              : fmt::format(
                    "readings at {} angles only; read at three or more, spread round the turn",
                    stations_.size())};
    model_.out_of_round = false;
    const auto first = fit();
    if (!first || first->condition > largest_condition)
      return Error{
          Fault::bad_input,
          "the angles lie too close together to tell the centre; spread the readings round "
          "the turn"};
    return Done{};
  }

  /// First the repeats of each angle against each other, then the angles' means against the fit.
  void leave_out() {
    while (leave_out_repeat()) gather();
    for (const bool with_out_of_round : {false, true}) {
      model_.out_of_round = with_out_of_round;
      gather();
      const std::size_t spare = model_.unknowns() + freedom_to_leave_out;
      if (stations_.size() < spare) continue;
      std::vector<double> design, values;
      for (const auto& station : stations_) {
        model_.row(station.angle_rad, design);
        values.push_back(station.mean_m);
      }
      const std::size_t most =
          std::min({stations_.size() / 4, stations_.size() - spare + 1, most_left_out});
      const auto before = kept_;
      for (const std::size_t bad : stats::outliers(design, values, most, chance_of_false_outlier))
        for (std::size_t i = 0; i < readings_.size(); ++i)
          if (before[i] && station_of_[i] == bad) kept_[i] = false;
      gather();
      if (!settled()) kept_ = before;
    }
  }

  /// Leaves out the reading that stands farthest off the others of its angle, where it is beyond chance; three at
  /// least, for of two nobody can say which is the bad one.
  bool leave_out_repeat() {
    weigh();
    if (repeats_freedom_ < 3.0) return false;
    double largest = 0.0;
    std::size_t worst = 0;
    for (std::size_t i = 0; i < readings_.size(); ++i) {
      const auto& station = stations_[station_of_[i]];
      if (!kept_[i] || station.count < 3.0) continue;
      const double off = readings_[i].position_m - station.mean_m;
      const double own = off * off / (1.0 - 1.0 / station.count);
      const double others = std::max(repeats_sum_ - own, 0.0) / (repeats_freedom_ - 1.0);
      const double t = others > 0.0 ? std::sqrt(own / others) : 0.0;
      if (t > largest) largest = t, worst = i;
    }
    const double bound = stats::student_t_quantile(
        1.0 - chance_of_false_outlier / (2.0 * static_cast<double>(readings_.size())),
        repeats_freedom_ - 1.0);
    if (largest <= bound) return false;
    kept_[worst] = false;
    return true;
  }

  [[nodiscard]] bool settled() {
    if (stations_.size() < 4) return false;
    const Model held = model_;
    model_.out_of_round = false;
    const auto now = fit();
    model_ = held;
    return now && now->condition <= largest_condition;
  }

  /// Weights follow the two scatters, within an angle and between angles, where repeats tell them apart.
  void weigh() {
    weight_.assign(stations_.size(), 1.0);
    for (std::size_t s = 0; s < stations_.size(); ++s) weight_[s] = stations_[s].count;
    repeats_sum_ = 0.0;
    repeats_freedom_ = 0.0;
    for (std::size_t i = 0; i < readings_.size(); ++i) {
      if (!kept_[i]) continue;
      const double off = readings_[i].position_m - stations_[station_of_[i]].mean_m;
      repeats_sum_ += off * off;
      repeats_freedom_ += 1.0;
    }
    repeats_freedom_ -= static_cast<double>(stations_.size());
  }

  Result<stats::LinearFit> fit() {
    weigh();
    std::vector<double> design, values;
    for (const auto& station : stations_) {
      model_.row(station.angle_rad, design);
      values.push_back(station.mean_m + bend(station.angle_rad));
    }
    return stats::fit_linear(design, values, weight_);
  }

  /// What a shifted circle lacks of its harmonic, to second order.
  [[nodiscard]] double bend(double angle) const {
    if (!question_.radius_m) return 0.0;
    const double across = x_ * std::sin(angle) - y_ * std::cos(angle);
    return across * across / (2.0 * *question_.radius_m);
  }

  bool refine() {
    constexpr int rounds = 8;
    for (int round = 0; round < rounds; ++round) {
      auto now = fit();
      if (!now) return false;
      fit_ = std::move(*now);
      const double step = std::hypot(fit_.at[1] - x_, fit_.at[2] - y_);
      x_ = fit_.at[1];
      y_ = fit_.at[2];
      if (!question_.radius_m || step < 1e-12) break;
    }
    return true;
  }

  /// Variance of one reading and its degrees of freedom.
  struct Scatter {
    double variance{}, freedom{};
    std::string from;
  };
  [[nodiscard]] std::optional<Scatter> scatter(std::vector<std::string>& remarks) const {
    const double between_freedom = fit_.degrees_of_freedom;
    std::optional<Scatter> seen;
    if (between_freedom >= 3.0 || (between_freedom > 0.0 && repeats_freedom_ == 0.0)) {
      seen = Scatter{fit_.residual_sum / between_freedom,
                     between_freedom,
                     repeats_freedom_ > 0.0 ? "the angles' means about the fit"
                                            : "the readings about the fit"};
    } else if (between_freedom + repeats_freedom_ > 0.0) {
      seen = Scatter{(fit_.residual_sum + repeats_sum_) / (between_freedom + repeats_freedom_),
                     between_freedom + repeats_freedom_,
                     between_freedom > 0.0 ? "repeats, and the means about the fit"
                                           : "repeats at one angle alone"};
      if (between_freedom == 0.0)
        remarks.push_back(
            "three angles leave nothing to judge the fit by: out-of-round would pass for "
            "off-centre, "
            "and the region holds the scatter of repeats alone");
    }
    if (!question_.reading_sigma_m) return seen;
    const double given = *question_.reading_sigma_m * *question_.reading_sigma_m;
    if (seen && stats::chi_squared_tail(seen->variance * seen->freedom / given, seen->freedom) <
                    surprising_chance) {
      remarks.push_back(
          fmt::format("the readings scatter by {:.1f} µm, more than the {:.1f} µm given for one: "
                      "the scatter seen counts",
                      std::sqrt(seen->variance) * 1e6,
                      *question_.reading_sigma_m * 1e6));
      return seen;
    }
    return Scatter{given, infinite, "as given for one reading"};
  }

  void out_of_round(OffsetEstimate& told, const std::optional<Scatter>& spread) const {
    if (stations_.size() < 5) {
      told.remarks.push_back(
          "fewer than five angles: out-of-round cannot be told from off-centre; read at six or "
          "more");
      return;
    }
    std::vector<double> design, values;
    const Model full{true};
    for (const auto& station : stations_) {
      full.row(station.angle_rad, design);
      values.push_back(station.mean_m + bend(station.angle_rad));
    }
    const auto harmonic = model_.out_of_round ? Result<stats::LinearFit>{fit_}
                                              : stats::fit_linear(design, values, weight_);
    if (!harmonic || harmonic->condition > largest_condition) {
      told.remarks.push_back(
          "the angles do not tell out-of-round from off-centre; spread them evenly");
      return;
    }
    const double a = harmonic->at[3], b = harmonic->at[4];
    works::OutOfRound found{.amplitude_m = std::hypot(a, b),
                            .direction_deg = wrapped(std::atan2(b, a)) / 2.0 / degree,
                            .sigma_m = {},
                            .chance = {}};
    if (model_.out_of_round && spread) {
      const double c11 = harmonic->covariance_of(3, 3), c12 = harmonic->covariance_of(3, 4),
                   c22 = harmonic->covariance_of(4, 4);
      found.sigma_m = std::sqrt(spread->variance * 0.5 * (c11 + c22));
      const double f = (a * a * c22 - 2.0 * a * b * c12 + b * b * c11) /
                       (2.0 * spread->variance * (c11 * c22 - c12 * c12));
      found.chance = spread->variance > 0.0 ? stats::f_tail_of_two(f, spread->freedom) : 0.0;
    } else {
      told.remarks.push_back(
          "five angles give out-of-round a figure and nothing to judge it by; read at six or more");
    }
    told.out_of_round = found;
  }

  [[nodiscard]] OffsetEstimate estimate() const {
    OffsetEstimate told;
    told.x_m = x_;
    told.y_m = y_;
    told.mean_position_m = fit_.at[0];
    told.confidence = question_.confidence;
    told.stations = static_cast<int>(stations_.size());
    int left = 0;
    for (std::size_t i = 0; i < readings_.size(); ++i) {
      const double angle = readings_[i].angle_rad;
      std::vector<double> row;
      model_.row(angle, row);
      double fitted = -bend(angle);
      for (std::size_t k = 0; k < row.size(); ++k) fitted += row[k] * fit_.at[k];
      told.readings.push_back({.angle_deg = wrapped(angle) / degree,
                               .position_m = readings_[i].position_m,
                               .residual_m = readings_[i].position_m - fitted,
                               .kept = kept_[i]});
      if (kept_[i]) continue;
      ++left;
      told.remarks.push_back(
          fmt::format("reading {} stands {:+.0f} µm off all others and is left out; read it again",
                      i + 1,
                      told.readings.back().residual_m * 1e6));
    }
    const auto spread = scatter(told.remarks);
    if (spread) {
      told.scatter_m = std::sqrt(spread->variance);
      told.scatter_from = spread->from;
      told.degrees_of_freedom = spread->freedom;
      put_uncertainty(told,
                      {.xx = spread->variance * fit_.covariance_of(1, 1),
                       .xy = spread->variance * fit_.covariance_of(1, 2),
                       .yy = spread->variance * fit_.covariance_of(2, 2),
                       .degrees_of_freedom = spread->freedom});
    } else {
      told.remarks.push_back(
          "as many readings as unknowns: nothing tells how sure the centre is; read more angles, "
          "repeat each, "
          "or give the instrument's standard uncertainty");
    }
    out_of_round(told, spread);
    return told;
  }

  const OffsetQuestion& question_;
  std::vector<GrooveReading> readings_;
  std::vector<bool> kept_;
  std::vector<Station> stations_;
  std::vector<std::size_t> station_of_;
  std::vector<double> weight_;
  Model model_;
  stats::LinearFit fit_;
  double x_{}, y_{};
  double repeats_sum_{}, repeats_freedom_{};
};

}  // namespace

Result<OffsetEstimate> fit_offset(const OffsetQuestion& question) {
  if (const auto checked = check(question); !checked) return checked.error();
  return Fitting{question, on_a_circle(question)}.run();
}

}  // namespace goodside::metal
