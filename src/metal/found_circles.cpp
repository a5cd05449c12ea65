#include "metal/found_circles.hpp"

#include <fmt/format.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>
#include <vector>

#include "base/expects.hpp"
#include "metal/offset_region.hpp"

namespace goodside::metal {
namespace {

using Eigen::Matrix2d;
using Eigen::Vector2d;
using Eigen::VectorXd;

constexpr double pi = std::numbers::pi;
constexpr int sectors = 16;
constexpr double tukey_c = 4.685;
constexpr double mad_to_sigma = 1.4826;
constexpr double most_scatter_px = 0.8;
constexpr double least_share = 0.55;
constexpr std::size_t least_points = 24;
constexpr double floor_px = 0.01;
/// So that one answer in a hundred is more than a tenth of a pixel out: exp(-(0.1 / sigma)^2 / 2) = 0.01.
constexpr double most_sigma_px = 0.033;
constexpr double most_scan_squeeze = 0.01;
constexpr double groove_tolerance =
    0.013;  // the disc's own edge lies 2.9 % outside the outermost groove

struct Point {
  Vector2d at;  ///< normalised
  double sigma_px{1.0};
  std::size_t circle{};
  int sector{};
};

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::ranges::nth_element(values, middle);
  return *middle;
}

/// Gauss and Newton with Tukey's weights: unknowns from `at`, a residual a point.
struct RobustFit {
  VectorXd at;
  double scatter{};  ///< of residuals by their sigmas
  double kept{};     ///< share of points with a weight above a tenth
};
using Residual = std::function<double(const VectorXd&, const Point&)>;

RobustFit fit_robust(const std::vector<Point>& points,
                     VectorXd at,
                     const Residual& residual,
                     int left_out_sector,
                     int rounds) {
  const Eigen::Index p = at.size();
  RobustFit fit{.at = std::move(at)};
  std::vector<const Point*> used;
  for (const auto& one : points)
    if (one.sector != left_out_sector) used.push_back(&one);
  for (int round = 0; round < rounds; ++round) {
    std::vector<double> off, size;
    for (const auto* one : used) {
      off.push_back(residual(fit.at, *one));
      size.push_back(std::abs(off.back()));
    }
    fit.scatter = mad_to_sigma * median(size);
    const double reach = tukey_c * fit.scatter;
    Eigen::MatrixXd normal = Eigen::MatrixXd::Zero(p, p);
    VectorXd right = VectorXd::Zero(p);
    double kept = 0.0;
    for (std::size_t i = 0; i < used.size(); ++i) {
      const double u = reach > 0.0 ? off[i] / reach : 0.0;
      if (std::abs(u) >= 1.0) continue;
      const double weight = (1.0 - u * u) * (1.0 - u * u);
      kept += weight > 0.1 ? 1.0 : 0.0;
      VectorXd slope(p);
      for (Eigen::Index k = 0; k < p; ++k) {
        constexpr double step = 1e-6;
        VectorXd moved = fit.at;
        moved(k) += step;
        slope(k) = (residual(moved, *used[i]) - off[i]) / step;
      }
      normal.noalias() += weight * slope * slope.transpose();
      right.noalias() -= weight * off[i] * slope;
    }
    fit.kept = kept / static_cast<double>(std::max<std::size_t>(used.size(), 1));
    const VectorXd change = normal.ldlt().solve(right);
    if (!change.allFinite()) break;
    fit.at += change;
    if (change.norm() < 1e-9) break;
  }
  return fit;
}

/// Unknowns of the plane: p0 (2), S (3), q (2 where it is free), radii of the circles after the first.
struct PlaneModel {
  bool perspective{};
  std::size_t circles{};
  [[nodiscard]] Eigen::Index unknowns() const {
    return 5 + (perspective ? 2 : 0) + static_cast<Eigen::Index>(circles) - 1;
  }
  [[nodiscard]] Vector2d q(const VectorXd& at) const {
    return perspective ? Vector2d{at(5), at(6)} : Vector2d{0.0, 0.0};
  }
  [[nodiscard]] double radius(const VectorXd& at, std::size_t circle) const {
    return circle == 0 ? 1.0 : at((perspective ? 7 : 5) + static_cast<Eigen::Index>(circle) - 1);
  }
  [[nodiscard]] Matrix2d shape(const VectorXd& at) const {
    return Matrix2d{{at(2), at(3)}, {at(3), at(4)}};
  }
  [[nodiscard]] Vector2d on_plate(const VectorXd& at, const Vector2d& image) const {
    const Vector2d d = image - Vector2d{at(0), at(1)};
    return shape(at) * d / (1.0 + q(at).dot(d));
  }
  [[nodiscard]] Vector2d on_image(const VectorXd& at, const Vector2d& plate) const {
    const Vector2d w = shape(at).inverse() * plate;
    return Vector2d{at(0), at(1)} + w / (1.0 - q(at).dot(w));
  }
};

class Finder {
 public:
  explicit Finder(const PhotographQuestion& question) : question_{question} {}

  Result<FoundCircles> run() {
    if (const auto checked = check(); !checked) return checked.error();
    normalise();
    model_ = {.perspective = !question_.flat_scan, .circles = question_.edges.grooves.size()};
    plane_ = fit_plane(-1, first_plane(), 30);
    hole_ = fit_hole(plane_.at, -1, first_hole(), 30);
    if (const auto good = check_fit(); !good) return good.error();
    return answer();
  }

 private:
  Outcome check() const {
    const auto& edges = question_.edges;
    if (edges.grooves.empty()) return Error{Fault::bad_input, "no groove circle was asked for"};
    if (edges.grooves.size() < 2 && !question_.flat_scan) {
      const double radius_mm = 500.0 * edges.grooves.front().diameter_m;
      const double wide_mm =
          2.0 * radius_mm * edges.picture.width_px / reach_px(edges.grooves.front());
      return Error{
          Fault::bad_input,
          fmt::format("one groove circle cannot tell a tilted camera from a shifted centre (1° "
                      "moves it by some {:.0f} "
                      "µm here); name a second one with --groove-diameter, or --scan where the "
                      "plate lay on a scanner",
                      1e3 * radius_mm * radius_mm * std::sin(pi / 180.0) / std::max(wide_mm, 1.0))};
    }
    for (const auto* circle : all())
      if (circle->share < least_share || circle->points.size() < least_points)
        return Error{Fault::bad_input,
                     fmt::format("the edge of the {} ({:.4g} mm) shows on {:.0f} % of the turn "
                                 "alone; light it evenly "
                                 "and photograph it whole",
                                 circle->name,
                                 circle->diameter_m * 1e3,
                                 circle->share * 100.0)};
    return Done{};
  }
  [[nodiscard]] std::vector<const works::CircleEdge*> all() const {
    std::vector<const works::CircleEdge*> circles{&question_.edges.hole};
    for (const auto& one : question_.edges.grooves) circles.push_back(&one);
    return circles;
  }
  /// Greatest width of an edge.
  static double reach_px(const works::CircleEdge& circle) {
    double low = 1e300, high = -1e300;
    for (const auto& one : circle.points)
      low = std::min(low, one.x_px), high = std::max(high, one.x_px);
    return std::max(high - low, 1.0);
  }

  static Vector2d middle_of(const works::CircleEdge& circle) {
    Vector2d low{1e300, 1e300}, high{-1e300, -1e300};
    for (const auto& one : circle.points) {
      const Vector2d at{one.x_px, one.y_px};
      low = low.cwiseMin(at);
      high = high.cwiseMax(at);
    }
    return 0.5 * (low + high);
  }

  void normalise() {
    const auto& first = question_.edges.grooves.front();
    origin_ = middle_of(first);
    unit_px_ = 0.5 * reach_px(first);
    const auto take = [&](const works::CircleEdge& circle,
                          std::size_t number,
                          std::vector<Point>& into) {
      const Vector2d middle = middle_of(circle);
      for (const auto& one : circle.points) {
        const Vector2d at{one.x_px, one.y_px};
        const double turn = std::atan2(at.y() - middle.y(), at.x() - middle.x()) / (2.0 * pi) + 0.5;
        into.push_back({(at - origin_) / unit_px_,
                        one.sigma_px,
                        number,
                        std::min(static_cast<int>(turn * sectors), sectors - 1)});
      }
    };
    for (std::size_t j = 0; j < question_.edges.grooves.size(); ++j)
      take(question_.edges.grooves[j], j, groove_points_);
    take(question_.edges.hole, 0, hole_points_);
  }

  [[nodiscard]] VectorXd first_plane() const {
    VectorXd at = VectorXd::Zero(model_.unknowns());
    EXPECTS(at.data() != nullptr);
    at(2) = at(4) = 1.0;
    for (std::size_t j = 1; j < model_.circles; ++j)
      at((model_.perspective ? 7 : 5) + static_cast<Eigen::Index>(j) - 1) =
          question_.edges.grooves[j].diameter_m / question_.edges.grooves[0].diameter_m;
    return at;
  }
  /// Residual in pixels of the image, near enough: the plate's unit is the groove's radius there.
  [[nodiscard]] RobustFit fit_plane(int left_out, const VectorXd& from, int rounds) const {
    return fit_robust(
        groove_points_,
        from,
        [this](const VectorXd& at, const Point& one) {
          return on_groove_px(at, one) / one.sigma_px;
        },
        left_out,
        rounds);
  }
  [[nodiscard]] VectorXd first_hole() const {
    const Vector2d middle =
        model_.on_plate(plane_.at, (middle_of(question_.edges.hole) - origin_) / unit_px_);
    VectorXd at(3);
    at << middle.x(), middle.y(),
        question_.edges.hole.diameter_m / question_.edges.grooves.front().diameter_m;
    return at;
  }
  [[nodiscard]] RobustFit fit_hole(const VectorXd& plane,
                                   int left_out,
                                   const VectorXd& from,
                                   int rounds) const {
    return fit_robust(
        hole_points_,
        from,
        [&](const VectorXd& at, const Point& one) {
          return on_hole_px(plane, at, one) / one.sigma_px;
        },
        left_out,
        rounds);
  }

  /// The first groove's radius as read, in metres: what was read is a flank, and the diameter that of the line's middle.
  [[nodiscard]] double unit_m() const {
    const auto& first = question_.edges.grooves.front();
    return 0.5 * first.diameter_m / (1.0 + first.to_middle_px / unit_px_);
  }
  [[nodiscard]] double squeeze() const {
    const Eigen::SelfAdjointEigenSolver<Matrix2d> solver{model_.shape(plane_.at)};
    return solver.eigenvalues()(0) / solver.eigenvalues()(1);
  }

  [[nodiscard]] double on_groove_px(const VectorXd& at, const Point& one) const {
    return (model_.on_plate(at, one.at).norm() - model_.radius(at, one.circle)) * unit_px_;
  }
  [[nodiscard]] double on_hole_px(const VectorXd& plane,
                                  const VectorXd& at,
                                  const Point& one) const {
    return ((model_.on_plate(plane, one.at) - Vector2d{at(0), at(1)}).norm() - at(2)) * unit_px_;
  }
  /// By how much one circle's points lie off it.
  [[nodiscard]] double groove_scatter_px(std::size_t circle) const {
    std::vector<double> off;
    for (const Point& one : groove_points_)
      if (one.circle == circle) off.push_back(std::abs(on_groove_px(plane_.at, one)));
    return mad_to_sigma * median(std::move(off));
  }
  [[nodiscard]] double hole_scatter_px() const {
    std::vector<double> off;
    for (const Point& one : hole_points_)
      off.push_back(std::abs(on_hole_px(plane_.at, hole_.at, one)));
    return mad_to_sigma * median(std::move(off));
  }

  Outcome check_fit() const {
    if (!plane_.at.allFinite() || !hole_.at.allFinite() || !(plane_.at(2) > 0.0) ||
        !(plane_.at(4) > 0.0))
      return Error{Fault::bad_input,
                   "the circles found do not lie in one plane; photograph the plate squarer"};
    const auto unclean = [](const std::string& name, double scatter_px) {
      return Error{Fault::bad_input,
                   fmt::format("what shows as the {} is no clean circle (its edge scatters by "
                               "{:.2f} pixel)",
                               name,
                               scatter_px)};
    };
    if (hole_scatter_px() > most_scatter_px || hole_.kept < least_share)
      return unclean("hole", hole_scatter_px());
    for (std::size_t j = 0; j < model_.circles; ++j)
      if (groove_scatter_px(j) > most_scatter_px || plane_.kept < least_share)
        return unclean("groove", groove_scatter_px(j));
    for (std::size_t j = 1; j < model_.circles; ++j) {
      const double asked = question_.edges.grooves[j].diameter_m;
      const double found = 2.0 * model_.radius(plane_.at, j) * unit_m();
      if (std::abs(found / asked - 1.0) > groove_tolerance)
        return Error{Fault::bad_input,
                     fmt::format("the circle asked for as {:.4g} mm measures {:.4g}: another edge "
                                 "was taken; give its own diameter",
                                 asked * 1e3,
                                 found * 1e3)};
    }
    if (question_.flat_scan && squeeze() < 1.0 - most_scan_squeeze)
      return Error{Fault::bad_input,
                   fmt::format("the circles are squeezed by {:.1f} %: no flat scan; leave --scan "
                               "out and name two groove "
                               "circles",
                               100.0 * (1.0 - squeeze()))};
    return Done{};
  }

  /// The jackknife over sectors: what the answer does when one of them is not believed.
  [[nodiscard]] Matrix2d covariance(bool of_groove) const {
    Matrix2d sum = Matrix2d::Zero();
    {
      std::vector<Vector2d> centres;
      for (int s = 0; s < sectors; ++s) {
        const VectorXd plane = of_groove ? fit_plane(s, plane_.at, 6).at : plane_.at;
        const VectorXd hole = fit_hole(plane, of_groove ? -1 : s, hole_.at, 6).at;
        centres.emplace_back(hole(0), hole(1));
      }
      Vector2d mean = Vector2d::Zero();
      for (const auto& one : centres) mean += one / sectors;
      for (const auto& one : centres)
        sum += (one - mean) * (one - mean).transpose() * (sectors - 1.0) / sectors;
    }
    const double floor = floor_px / unit_px_;
    return sum + 0.5 * floor * floor * Matrix2d::Identity();
  }

  [[nodiscard]] works::PhotographFound::Circle circle(const works::CircleEdge& edge,
                                                      const Vector2d& centre,
                                                      double radius,
                                                      const RobustFit& fit,
                                                      double scatter_px) const {
    works::PhotographFound::Circle one{.name = edge.name,
                                       .diameter_m = 2.0 * radius * unit_m(),
                                       .share = edge.share * fit.kept,
                                       .scatter_px = scatter_px,
                                       .outline_px = {}};
    constexpr int corners = 180;
    for (int k = 0; k < corners; ++k) {
      const double t = 2.0 * pi * k / corners;
      const Vector2d at =
          origin_ + unit_px_ * model_.on_image(
                                   plane_.at, centre + radius * Vector2d{std::cos(t), std::sin(t)});
      one.outline_px.insert(one.outline_px.end(), {at.x(), at.y()});
    }
    const Vector2d middle = origin_ + unit_px_ * model_.on_image(plane_.at, centre);
    one.centre_x_px = middle.x();
    one.centre_y_px = middle.y();
    return one;
  }

  /// What of the picture holds the answer back, and what would mend it.
  [[nodiscard]] std::string too_uncertain(double sigma_px,
                                          const Matrix2d& groove,
                                          const Matrix2d& hole) const {
    const double groove_px = unit_px_ * std::sqrt(groove.diagonal().maxCoeff());
    const double hole_px = unit_px_ * std::sqrt(hole.diagonal().maxCoeff());
    std::string faint = "hole";
    if (groove_px > hole_px) {
      std::size_t worst = 0;
      for (std::size_t j = 1; j < model_.circles; ++j)
        if (groove_scatter_px(j) > groove_scatter_px(worst)) worst = j;
      faint = fmt::format("groove of {:.4g} mm", question_.edges.grooves[worst].diameter_m * 1e3);
    }
    return fmt::format(
        "the edges settle the centre to {:.3f} pixel alone (groove {:.3f}, hole {:.3f}), and {:g} "
        "is asked for: the {} shows too faint or too rough; light it so that it stands out, or "
        "photograph it larger and sharper",
        sigma_px,
        groove_px,
        hole_px,
        most_sigma_px,
        faint);
  }

  Result<FoundCircles> answer() const {
    const double metres = unit_m();
    const Matrix2d groove = covariance(true), hole = covariance(false), spread = groove + hole;
    const double sigma_px = unit_px_ * std::sqrt(spread.diagonal().maxCoeff());
    if (!(sigma_px <= most_sigma_px))
      return Error{Fault::bad_input, too_uncertain(sigma_px, groove, hole)};
    FoundCircles found;
    auto& offset = found.offset;
    offset.confidence = question_.confidence;
    // From the hole to the groove's centre, y upwards.
    offset.x_m = -hole_.at(0) * metres;
    offset.y_m = hole_.at(1) * metres;
    put_uncertainty(offset,
                    {.xx = spread(0, 0) * metres * metres,
                     .xy = -spread(0, 1) * metres * metres,
                     .yy = spread(1, 1) * metres * metres,
                     .degrees_of_freedom = sectors - 1.0});
    offset.degrees_of_freedom = sectors - 1.0;
    offset.scatter_from = "the edges, by leaving out a sixteenth of the turn at a time";
    auto& photo = found.photograph;
    photo.width_px = question_.edges.picture.width_px;
    photo.height_px = question_.edges.picture.height_px;
    photo.scale_px_per_m = unit_px_ / metres / std::sqrt(model_.shape(plane_.at).determinant());
    photo.tilt_measured = model_.perspective;
    photo.tilt_deg = model_.perspective ? std::acos(std::min(squeeze(), 1.0)) * 180.0 / pi : 0.0;
    photo.offset_sigma_px = sigma_px;
    photo.circles.push_back(circle(
        question_.edges.hole, {hole_.at(0), hole_.at(1)}, hole_.at(2), hole_, hole_scatter_px()));
    for (std::size_t j = 0; j < model_.circles; ++j)
      photo.circles.push_back(circle(question_.edges.grooves[j],
                                     {0.0, 0.0},
                                     model_.radius(plane_.at, j),
                                     plane_,
                                     groove_scatter_px(j)));
    offset.remarks.push_back("on a photograph out-of-round cannot be told from the camera's tilt");
    return found;
  }

  const PhotographQuestion& question_;
  PlaneModel model_;
  Vector2d origin_{0.0, 0.0};
  double unit_px_{1.0};
  std::vector<Point> groove_points_, hole_points_;
  RobustFit plane_, hole_;
};

}  // namespace

Result<FoundCircles> find_offset(const PhotographQuestion& question) {
  return Finder{question}.run();
}

}  // namespace goodside::metal
