#include "listen/eccentricity.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/expects.hpp"
#include "listen/drift_regression.hpp"
#include "maths/median.hpp"

namespace goodside::listen {
namespace {

using std::numbers::pi;

constexpr double knots_every_turns = 3.0;
constexpr double huber_deviations = 5.0;
constexpr int blocks_per_turn = 8;
constexpr double search_range = 3000e-6;
constexpr double prior_rate_sigma = 200e-6;
// A side over which the drive's wow is known no better than this cannot tell it from an offset.
constexpr double most_drive_sigma = 1e-4;
// A turn rate is believed before the given one only when it is better known than that may be.
constexpr double most_rate_sigma = 100e-6;
// A pivoted arm of unknown geometry turns the line by about so much between the outermost and
// innermost groove.
constexpr double unknown_arm_turns = 5.0 / 360.0;

// Columns of the model: offset (2), second harmonic (2), the drive's own wow (2).
constexpr Eigen::Index second_column = 2, drive_column = 4, all_columns = 6;

double turn_rad_per_s(double rpm) {
  return 2.0 * pi * rpm / 60.0;
}

Eigen::MatrixXd beside(const Eigen::MatrixXd& left, const Eigen::MatrixXd& right) {
  Eigen::MatrixXd both(left.rows(), left.cols() + right.cols());
  both << left, right;
  return both;
}

/// Weighted means of neighbouring points, with the model's columns at one turn rate.
struct Rows {
  std::vector<double> capture_s, programme_s, radius_m, weight, sample_s;
  std::vector<int> stretch;
  Eigen::MatrixXd columns;
};

/// The model's columns [n, 6] in seconds per unit of each coefficient, around no offset.
Eigen::MatrixXd model_columns(const TrackPoints& points, const works::Arm& arm, double rpm) {
  const double turning = turn_rad_per_s(rpm);
  Eigen::MatrixXd columns(static_cast<Eigen::Index>(points.size()), all_columns);
  for (std::size_t k = 0; k < points.size(); ++k) {
    const double angle_rad = turning * points.programme_s[k];
    const double radius_m = points.radius_m[k];
    const double tangent = -radius_m * arm_turn_rad_per_m(arm, radius_m);
    const double sine = std::sin(angle_rad), cosine = std::cos(angle_rad);
    const double sine2 = 2.0 * sine * cosine, cosine2 = cosine * cosine - sine * sine;
    const double scale = -1.0 / (turning * radius_m);
    const auto row = static_cast<Eigen::Index>(k);
    columns(row, 0) = scale * (sine + tangent * cosine);
    columns(row, 1) = scale * (tangent * sine - cosine);
    columns(row, 2) = scale * (0.5 * sine2 + tangent * cosine2);
    columns(row, 3) = scale * (tangent * sine2 - 0.5 * cosine2);
    columns(row, 4) = -sine / turning;
    columns(row, 5) = cosine / turning;
  }
  return columns;
}

/// What the exact geometry adds to the first-order columns for an offset [s], per point.
std::vector<double> beyond_first_order_s(const TrackPoints& points,
                                         const works::Arm& arm,
                                         double rpm,
                                         const Eigen::MatrixXd& columns,
                                         GrooveOffset offset) {
  const double turning = turn_rad_per_s(rpm);
  std::vector<double> beyond_s(points.size());
  for (std::size_t k = 0; k < points.size(); ++k) {
    const GroovePlace place{turning * points.programme_s[k], points.radius_m[k]};
    const auto row = static_cast<Eigen::Index>(k);
    beyond_s[k] = offset_turn_rad(arm, place, offset) / turning - columns(row, 0) * offset.along_m -
                  columns(row, 1) * offset.across_m;
  }
  return beyond_s;
}

/// speed t - p, each stretch from zero at its first point.
std::vector<double> delays_s(const TrackPoints& points, double speed) {
  std::vector<double> delay_s(points.size());
  std::size_t first = 0;
  for (std::size_t k = 0; k < points.size(); ++k) {
    if (points.stretch[k] != points.stretch[first]) first = k;
    delay_s[k] = speed * (points.capture_s[k] - points.capture_s[first]) -
                 (points.programme_s[k] - points.programme_s[first]);
  }
  return delay_s;
}

struct Robust {
  std::vector<double> weight, sample_s;  ///< sample: delay less what lies beyond first order
  double scatter_s{};
};

/// Weights and linearised samples at which iteratively reweighted least squares has settled.
Robust settle(const TrackPoints& points,
              const works::Arm& arm,
              double rpm,
              const std::vector<double>& delay_s,
              const Eigen::MatrixXd& columns,
              double knot_s) {
  const std::size_t n = points.size();
  DriftRegression regression{points.capture_s, points.stretch, knot_s};
  const double trusted_sigma_s = 3.0 * maths::median(points.sigma_s);
  const double smallest_radius_m =
      *std::min_element(points.radius_m.begin(), points.radius_m.end());
  const Eigen::MatrixXd fitted = columns.leftCols(drive_column);
  Robust robust{std::vector<double>(n), delay_s, 0.0};
  std::vector<double> residual_s;
  GrooveOffset used;
  double scatter_s = 1e-3, bound_s = 0.0;
  for (int pass = 0; pass < 8; ++pass) {
    for (std::size_t k = 0; k < n; ++k) {
      const double miss_s = residual_s.empty() ? 0.0 : std::abs(residual_s[k]);
      const double huber = miss_s > bound_s ? bound_s / miss_s : 1.0;
      robust.weight[k] = huber / (points.sigma_s[k] * points.sigma_s[k] + scatter_s * scatter_s);
    }
    regression.weigh(robust.weight);
    auto fit = regression.fit(fitted, robust.sample_s);
    residual_s = std::move(fit.residual);

    const GrooveOffset found{fit.coefficient(0), fit.coefficient(1)};
    const double size_m = std::hypot(found.along_m, found.across_m);
    const double moved_m = std::hypot(found.along_m - used.along_m, found.across_m - used.across_m);
    const bool curved =
        moved_m * size_m > 1e-9 * smallest_radius_m && size_m < 0.1 * smallest_radius_m;
    if (curved) {
      const auto beyond_s = beyond_first_order_s(points, arm, rpm, columns, found);
      for (std::size_t k = 0; k < n; ++k) robust.sample_s[k] = delay_s[k] - beyond_s[k];
      used = found;
    }

    std::vector<double> miss_s;
    miss_s.reserve(n);
    for (std::size_t k = 0; k < n; ++k)
      if (points.sigma_s[k] <= trusted_sigma_s) miss_s.push_back(std::abs(residual_s[k]));
    const double deviation_s = std::max(maths::median(std::move(miss_s)), 1e-9);
    const double last_s = scatter_s;
    scatter_s = 1.4826 * deviation_s;
    bound_s = huber_deviations * deviation_s;
    if (pass >= 2 && !curved && std::abs(scatter_s - last_s) < 0.02 * last_s) break;
  }
  robust.scatter_s = scatter_s;
  return robust;
}

/// Weighted means over an eighth of a turn. Columns are averaged like the samples, so nothing is
/// lost.
Rows gather(const TrackPoints& points,
            const Robust& robust,
            const Eigen::MatrixXd& columns,
            double turn_s) {
  Rows rows;
  std::vector<Eigen::Matrix<double, 1, all_columns>> means;
  for (std::size_t from = 0; from < points.size();) {
    const double until_s = points.capture_s[from] + turn_s / blocks_per_turn;
    double weight = 0.0, capture = 0.0, programme = 0.0, radius = 0.0, sample = 0.0;
    Eigen::Matrix<double, 1, all_columns> mean = Eigen::Matrix<double, 1, all_columns>::Zero();
    std::size_t k = from;
    for (; k < points.size() && points.stretch[k] == points.stretch[from] &&
           points.capture_s[k] < until_s;
         ++k) {
      const double w = robust.weight[k];
      weight += w;
      capture += w * points.capture_s[k];
      programme += w * points.programme_s[k];
      radius += w * points.radius_m[k];
      sample += w * robust.sample_s[k];
      mean += w * columns.row(static_cast<Eigen::Index>(k));
    }
    rows.capture_s.push_back(capture / weight);
    rows.programme_s.push_back(programme / weight);
    rows.radius_m.push_back(radius / weight);
    rows.sample_s.push_back(sample / weight);
    rows.weight.push_back(weight);
    rows.stretch.push_back(points.stretch[from]);
    means.emplace_back(mean / weight);
    from = k;
  }
  rows.columns.resize(static_cast<Eigen::Index>(means.size()), all_columns);
  for (std::size_t k = 0; k < means.size(); ++k)
    rows.columns.row(static_cast<Eigen::Index>(k)) = means[k];
  return rows;
}

/// Sine and cosine at `rate` times the turn rate, scaled as an offset would be.
Eigen::MatrixXd neighbour_columns(const Rows& rows, double turning, double rate) {
  Eigen::MatrixXd columns(static_cast<Eigen::Index>(rows.weight.size()), 2);
  for (std::size_t k = 0; k < rows.weight.size(); ++k) {
    const double angle_rad = rate * turning * rows.programme_s[k];
    const double scale = 1.0 / (turning * rows.radius_m[k]);
    const auto row = static_cast<Eigen::Index>(k);
    columns(row, 0) = scale * std::sin(angle_rad);
    columns(row, 1) = scale * std::cos(angle_rad);
  }
  return columns;
}

/// Mean power of the two components of a line at `rate` over that of the fit's own white noise.
double line_power(const Rows& rows,
                  const DriftRegression& regression,
                  const std::vector<double>& samples_s,
                  double turning,
                  double rate) {
  const auto fit = regression.fit(neighbour_columns(rows, turning, rate), samples_s);
  const Eigen::Vector2d found = fit.coefficient;
  const Eigen::Matrix2d covariance = fit.covariance;
  return 0.5 * found.dot(covariance.inverse() * found);
}

/// How fast the cut turns and how many turns were followed.
struct Turning {
  double rad_per_s{}, turns{};
};

struct Wander {
  double power{};  ///< of the real noise over that of the fit's weights, at the line
  int neighbours{};
};

/// Power that the same fit finds beside the line at `harmonic` a turn, scaled to equal speed
/// deviation.
Wander wander_beside(const Rows& rows,
                     const DriftRegression& regression,
                     const std::vector<double>& residual_s,
                     Turning turning,
                     double harmonic) {
  // Independent frequencies lie 1/turns apart; those within two of a line hold the line's own
  // skirts.
  constexpr int a_side = 20;
  constexpr double widest = 0.5;
  const double step = std::max(1.0, 0.25 * turning.turns / a_side) / turning.turns;
  std::vector<double> power;
  for (int j = 1; j <= a_side + 2 && j * step <= widest + 1e-9; ++j) {
    if (j * step < 2.0 / turning.turns - 1e-9) continue;
    for (const double rate : {harmonic - j * step, harmonic + j * step}) {
      const double equal_speed = rate / harmonic;
      power.push_back(equal_speed * equal_speed *
                      line_power(rows, regression, residual_s, turning.rad_per_s, rate));
    }
  }
  // A flutter line among the neighbours is no noise at the turn rate: cap it. Of an exponential
  // spread, 0.4 % lies above eight medians.
  const double cap = 8.0 * maths::median(power);
  double sum = 0.0;
  for (const double p : power) sum += std::min(p, cap);
  // Student's t with twice as many degrees of freedom as neighbours has n/(n - 1) of a normal's
  // variance.
  return {sum / static_cast<double>(power.size() - 1), static_cast<int>(power.size())};
}

/// Square root of chi^2 per degree of freedom of the offsets of parts of the side; 1 where it is
/// within chance.
double disagreement(const Rows& rows,
                    const DriftRegression& regression,
                    const Eigen::MatrixXd& others,
                    double wander_power,
                    double turns) {
  const Eigen::Index parts = std::clamp(static_cast<int>(turns / 8.0), 1, 8);
  if (parts < 2) return 1.0;
  const auto n = static_cast<Eigen::Index>(rows.weight.size());
  Eigen::MatrixXd columns = Eigen::MatrixXd::Zero(n, 2 * parts + others.cols());
  for (Eigen::Index k = 0; k < n; ++k)
    columns.block(k, 2 * (k * parts / n), 1, 2) = rows.columns.block(k, 0, 1, 2);
  columns.rightCols(others.cols()) = others;
  const auto fit = regression.fit(columns, rows.sample_s);
  const Eigen::VectorXd apart = fit.coefficient.head(2 * parts);
  const Eigen::MatrixXd covariance =
      wander_power * fit.covariance.topLeftCorner(2 * parts, 2 * parts);
  const Eigen::MatrixXd precision = covariance.inverse();
  Eigen::MatrixXd common(2 * parts, 2);
  for (Eigen::Index part = 0; part < parts; ++part)
    common.middleRows(2 * part, 2) = Eigen::Matrix2d::Identity();
  const Eigen::Matrix2d joint = common.transpose() * precision * common;
  const Eigen::Vector2d mean = joint.inverse() * (common.transpose() * precision * apart);
  const Eigen::VectorXd off = apart - common * mean;
  const auto degrees = static_cast<double>(2 * parts - 2);
  const double chi2_per_degree = off.dot(precision * off) / degrees;
  const double by_chance = 1.0 + 3.0 * std::sqrt(2.0 / degrees);
  return chi2_per_degree > by_chance ? std::sqrt(chi2_per_degree) : 1.0;
}

/// Relative change of turn rate at which the line is strongest, on a grid a quarter of a line's
/// width apart.
double strongest_change(const Rows& rows,
                        const DriftRegression& regression,
                        double turning,
                        double span_turns) {
  const double step = 0.25 / span_turns;
  // The rate as given has the first claim: another must be clearly stronger.
  double best = 0.0;
  double best_power = 1.05 * line_power(rows, regression, rows.sample_s, turning, 1.0);
  for (int j = 1; j * step <= search_range; ++j) {
    for (const double change : {j * step, -j * step}) {
      const double power = line_power(rows, regression, rows.sample_s, turning, 1.0 + change);
      if (power <= best_power) continue;
      best_power = power;
      best = change;
    }
  }
  return best;
}

/// How the samples change with the turn rate [s per 1], about `mid_programme_s`.
Eigen::VectorXd rate_column(const Rows& rows,
                            GrooveOffset offset,
                            double turning,
                            double mid_programme_s) {
  Eigen::VectorXd column(static_cast<Eigen::Index>(rows.weight.size()));
  for (Eigen::Index k = 0; k < column.size(); ++k) {
    const double lever_rad =
        turning * (rows.programme_s[static_cast<std::size_t>(k)] - mid_programme_s);
    column(k) =
        lever_rad * (offset.across_m * rows.columns(k, 0) - offset.along_m * rows.columns(k, 1));
  }
  return column;
}

double weighted_mid_s(const Rows& rows) {
  double weight = 0.0, sum = 0.0;
  for (std::size_t k = 0; k < rows.weight.size(); ++k) {
    weight += rows.weight[k];
    sum += rows.weight[k] * rows.programme_s[k];
  }
  return sum / weight;
}

/// The regression of one side at the turn rate it has come to.
class SideFit {
 public:
  SideFit(const TrackPoints& points, const works::Arm& arm, double rpm, double speed)
      : points_{points},
        arm_{arm},
        turn_s_{60.0 / (rpm * speed)},
        delay_s_{delays_s(points, speed)},
        rpm_{rpm},
        columns_{model_columns(points, arm, rpm)},
        robust_{settle(points, arm, rpm, delay_s_, columns_, knots_every_turns * turn_s_)},
        rows_{gather(points, robust_, columns_, turn_s_)},
        regression_{rows_.capture_s, rows_.stretch, knots_every_turns * turn_s_} {
    regression_.weigh(rows_.weight);
    for (std::size_t k = 1; k < rows_.capture_s.size(); ++k)
      heard_turns_ +=
          std::min((rows_.capture_s[k] - rows_.capture_s[k - 1]) / turn_s_, 2.0 / blocks_per_turn);
    span_turns_ =
        std::max(1.0, std::abs(rows_.programme_s.back() - rows_.programme_s.front()) * rpm / 60.0);
    refit();
  }

  OffsetFit told() {
    OffsetFit result;
    result.turn_rate = settle_turn_rate();
    result.mid_programme_s = weighted_mid_s(rows_);
    result.neighbours = wander_.neighbours;
    result.scatter_s = robust_.scatter_s;
    const Wander second =
        wander_beside(rows_, regression_, fit_.residual, {turn_rad_per_s(rpm_), heard_turns_}, 2.0);

    result.drive_sigma = drive_sigma();
    // The last fit keeps the rate free, so that what it costs the offset is in the covariance.
    fit_ = fit_with(told_.rate, told_.drive);
    if (told_.drive)
      result.drive = DriveWow{fit_.coefficient(drive_column), fit_.coefficient(drive_column + 1)};
    result.inflation =
        disagreement(rows_,
                     regression_,
                     columns_with(told_.rate, told_.drive).rightCols(fit_.coefficient.size() - 2),
                     wander_.power,
                     heard_turns_);
    result.offset = offset();
    result.covariance_m2 =
        result.inflation * result.inflation * wander_.power * fit_.covariance.topLeftCorner(2, 2);
    result.second = {fit_.coefficient(2), fit_.coefficient(3)};
    result.second_sigma_m =
        std::sqrt(0.5 * second.power * fit_.covariance.block(2, 2, 2, 2).trace());
    const Eigen::Index used = told_.drive ? all_columns : drive_column;
    const Eigen::VectorXd line = columns_.leftCols(used) * fit_.coefficient.head(used);
    result.line_s.resize(points_.size());
    for (std::size_t k = 0; k < points_.size(); ++k)
      result.line_s[k] = line(static_cast<Eigen::Index>(k)) + delay_s_[k] - robust_.sample_s[k];
    return result;
  }

 private:
  [[nodiscard]] GrooveOffset offset() const { return {fit_.coefficient(0), fit_.coefficient(1)}; }

  void refit() {
    fit_ = regression_.fit(rows_.columns.leftCols(drive_column), rows_.sample_s);
    wander_ =
        wander_beside(rows_, regression_, fit_.residual, {turn_rad_per_s(rpm_), heard_turns_}, 1.0);
  }

  void turn_at(double rpm) {
    rpm_ = rpm;
    columns_ = model_columns(points_, arm_, rpm_);
    // Twice: the first fit has the offset of another turn rate for what lies beyond first order.
    for (int pass = 0; pass < 2; ++pass) {
      const auto beyond_s = beyond_first_order_s(points_, arm_, rpm_, columns_, offset());
      for (std::size_t k = 0; k < points_.size(); ++k)
        robust_.sample_s[k] = delay_s_[k] - beyond_s[k];
      rows_ = gather(points_, robust_, columns_, turn_s_);
      fit_ = regression_.fit(rows_.columns.leftCols(drive_column), rows_.sample_s);
    }
    refit();
  }

  /// Offset and second harmonic; then the drive's wow; then the turn rate, where they are let in.
  [[nodiscard]] Eigen::MatrixXd columns_with(bool rate, bool drive) const {
    Eigen::MatrixXd lines = rows_.columns.leftCols(drive ? all_columns : drive_column);
    if (!rate) return lines;
    return beside(lines, rate_column(rows_, offset(), turn_rad_per_s(rpm_), weighted_mid_s(rows_)));
  }

  [[nodiscard]] DriftRegression::Fit fit_with(bool rate, bool drive) const {
    return regression_.fit(columns_with(rate, drive), rows_.sample_s);
  }

  [[nodiscard]] bool line_is_strong() const {
    const Eigen::Vector2d found = fit_.coefficient.head(2);
    const Eigen::Matrix2d covariance = wander_.power * fit_.covariance.topLeftCorner(2, 2);
    return found.dot(covariance.inverse() * found) > 36.0;
  }

  [[nodiscard]] double weighted_misfit(const DriftRegression::Fit& fit) const {
    double sum = 0.0;
    for (std::size_t k = 0; k < fit.residual.size(); ++k)
      sum += rows_.weight[k] * fit.residual[k] * fit.residual[k];
    return sum;
  }

  struct RateStep {
    double change{}, sigma{1.0};
  };

  [[nodiscard]] RateStep rate_step(bool drive) const {
    const auto fit = fit_with(true, drive);
    const Eigen::Index last = fit.coefficient.size() - 1;
    return {fit.coefficient(last), std::sqrt(wander_.power * fit.covariance(last, last))};
  }

  /// Chooses what is let in beside the offset, each only on evidence: over a short side the drive's
  /// own wow cannot be told from an offset and would cost all precision. A wrong turn rate and a
  /// drive's wow look alike (the line's phase turns along the side); where neither is clearly
  /// better, both are let in and sigma grows.
  TurnRate settle_turn_rate() {
    const double given_rpm = rpm_;
    const double misfit_plain = weighted_misfit(fit_);
    const double misfit_drive = weighted_misfit(fit_with(false, true));
    const double power_given = wander_.power;
    // An arm that is not known bends the line much as a drive's wow does.
    const bool drive_can_tell = arm_.known() && drive_sigma() < most_drive_sigma;
    const double unknown_arm = arm_.known() ? 0.0 : unknown_arm_turns / span_turns_;
    // Fisher's F(2, v) exceeds v (p^(-2/v) - 1)/2 with probability p; v is twice the neighbours.
    constexpr double chance = 1e-4;
    const double freedom = 2.0 * wander_.neighbours;
    const double of_two = freedom * (std::pow(chance, -2.0 / freedom) - 1.0);
    const double of_one =
        0.784 * of_two;  // the ratio of the chi^2 of one and two degrees of freedom

    const TurnRate as_given{given_rpm, 1e6 * prior_rate_sigma, false};
    if (!line_is_strong() && span_turns_ * search_range < 0.5) {
      told_.drive = drive_can_tell && misfit_plain - misfit_drive > of_two * power_given;
      return as_given;
    }
    bool far = false;
    if (span_turns_ * search_range > 0.5) {
      const double change = strongest_change(rows_, regression_, turn_rad_per_s(rpm_), span_turns_);
      // Nearer than half a line's width the straight-line steps below reach by themselves.
      far = std::abs(change) * span_turns_ > 0.45;
      if (far) turn_at(rpm_ * (1.0 + change));
    }
    RateStep step = rate_step(false);
    for (int pass = 0; pass < 4 && line_is_strong(); ++pass) {
      if (std::abs(step.change) < 0.05 * step.sigma || step.sigma > most_rate_sigma) break;
      turn_at(rpm_ * (1.0 + step.change));
      step = rate_step(false);
    }
    const double error = rpm_ * (1.0 + step.change) / given_rpm - 1.0;
    const double power = std::min(power_given, wander_.power);
    const double by_drive = drive_can_tell ? (misfit_plain - misfit_drive) / power : 0.0;
    const double by_rate = (misfit_plain - weighted_misfit(fit_with(true, false))) / power;
    const double by_both = (misfit_plain - weighted_misfit(fit_with(true, true))) / power;
    const RateStep with_drive = rate_step(true);

    const bool strong = line_is_strong();
    const double rate_sigma = std::hypot(step.sigma, unknown_arm);
    const bool rate_tells = strong && by_rate > of_one && rate_sigma < most_rate_sigma &&
                            std::abs(error) > 3.0 * rate_sigma && std::abs(error) < search_range;
    const bool drive_tells = by_drive > of_two;
    constexpr double clearly_better = 10.0, one_parameter_fewer = 3.0;
    const bool both_tell =
        drive_can_tell && rate_tells && by_both > std::max(by_rate + of_two, by_drive + of_one);
    if (rate_tells && !both_tell && by_rate > by_drive - one_parameter_fewer)
      return {rpm_, 1e6 * rate_sigma, true};
    if (rate_tells && both_tell && with_drive.sigma < most_rate_sigma) {
      turn_at(rpm_ * (1.0 + with_drive.change));
      told_ = {true, true};
      return {rpm_, 1e6 * with_drive.sigma, true};
    }
    if (rpm_ != given_rpm) turn_at(given_rpm);
    told_.drive = drive_tells || both_tell;
    told_.rate = told_.drive && rate_tells && by_drive < by_rate + clearly_better;
    const double left_sigma = told_.drive ? with_drive.sigma : std::hypot(rate_sigma, error);
    return {given_rpm,
            1e6 * (strong && !far ? std::min(prior_rate_sigma, left_sigma) : prior_rate_sigma),
            false};
  }

  [[nodiscard]] double drive_sigma() const {
    const auto fit = fit_with(false, true);
    return std::sqrt(0.5 * wander_.power * fit.covariance.block(4, 4, 2, 2).trace());
  }

  struct Told {
    bool rate{}, drive{};
  };

  const TrackPoints& points_;
  const works::Arm& arm_;
  double turn_s_;
  std::vector<double> delay_s_;
  double rpm_;
  Eigen::MatrixXd columns_;
  Robust robust_;
  Rows rows_;
  DriftRegression regression_;
  DriftRegression::Fit fit_;
  Wander wander_;
  Told told_;
  double heard_turns_{}, span_turns_{};
};

}  // namespace

double OffsetFit::magnitude_m() const {
  const double squared_m2 = offset.along_m * offset.along_m + offset.across_m * offset.across_m;
  return std::sqrt(std::max(squared_m2 - 0.5 * covariance_m2.trace(), 0.0));
}

double OffsetFit::sigma_m() const {
  const Eigen::Vector2d towards{std::cos(direction_rad()), std::sin(direction_rad())};
  return std::sqrt(towards.dot(covariance_m2 * towards));
}

double OffsetFit::direction_rad() const {
  return std::atan2(offset.across_m, offset.along_m);
}

double OffsetFit::direction_sigma_rad() const {
  const Eigen::Vector2d aside{-std::sin(direction_rad()), std::cos(direction_rad())};
  const double here_rad = std::sqrt(aside.dot(covariance_m2 * aside)) /
                          std::max(std::hypot(offset.along_m, offset.across_m), 1e-12);
  if (!turn_rate.fitted) return here_rad;
  const double carried_rad =
      turn_rad_per_s(turn_rate.rpm) * mid_programme_s * turn_rate.sigma_ppm * 1e-6;
  return std::hypot(here_rad, carried_rad);
}

OffsetFit fit_offset(const TrackPoints& points, const works::Arm& arm, double rpm, double speed) {
  EXPECTS(points.size() >= 64 && rpm > 0.0 && speed > 0.0);
  return SideFit{points, arm, rpm, speed}.told();
}

}  // namespace goodside::listen
