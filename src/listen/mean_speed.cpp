#include "listen/mean_speed.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <vector>

#include "base/expects.hpp"

namespace goodside::listen {
namespace {

constexpr std::size_t end_points = 20;

struct End {
  double capture_s{}, programme_s{}, variance_s2{};
};

/// Where the track stands at row `at`: a weighted cubic through `rows`, so that flutter and the
/// points' own errors average out and the bend of an off-centre hole does not.
End end_of(const TrackPoints& points,
           std::span<const double> also_s,
           std::span<const std::size_t> rows,
           std::size_t at,
           double typical_sigma_s) {
  Eigen::Matrix4d normal = Eigen::Matrix4d::Zero();
  Eigen::Vector4d right = Eigen::Vector4d::Zero();
  double weight = 0.0, squares = 0.0;
  for (const std::size_t k : rows) {
    const double sigma2 = points.sigma_s[k] * points.sigma_s[k];
    const double w = 1.0 / (sigma2 + typical_sigma_s * typical_sigma_s);
    const double from_s = points.capture_s[k] - points.capture_s[at];
    const Eigen::Vector4d powers{1.0, from_s, from_s * from_s, from_s * from_s * from_s};
    const double value_s =
        points.programme_s[k] - points.programme_s[at] + (also_s.empty() ? 0.0 : also_s[k]);
    normal += w * powers * powers.transpose();
    right += w * value_s * powers;
    squares += w * value_s * value_s;
    weight += w;
  }
  const Eigen::Vector4d cubic = normal.ldlt().solve(right);
  // Flutter faster than the cubic is motion at the very end, so its whole spread counts as error.
  const double scatter_s2 = std::max(0.0, squares - cubic.dot(right)) / weight;
  return {points.capture_s[at],
          points.programme_s[at] + cubic(0),
          scatter_s2 + typical_sigma_s * typical_sigma_s};
}

}  // namespace

std::optional<MeanSpeed> mean_speed(const TrackPoints& points, std::span<const double> also_s) {
  EXPECTS(also_s.empty() || also_s.size() == points.size());
  if (points.size() < 2 * end_points) return std::nullopt;
  std::vector<double> sigmas_s = points.sigma_s;
  const auto middle = sigmas_s.begin() + static_cast<std::ptrdiff_t>(sigmas_s.size() / 2);
  std::nth_element(sigmas_s.begin(), middle, sigmas_s.end());
  const double typical_s = std::max(*middle, 1e-7);
  const double limit_s = std::max(5.0 * typical_s, 5e-6);

  double programme_s = 0.0, capture_s = 0.0, variance_s2 = 0.0;
  for (std::size_t from = 0; from < points.size();) {
    std::vector<std::size_t> rows;
    std::size_t k = from;
    for (; k < points.size() && points.stretch[k] == points.stretch[from]; ++k)
      if (points.sigma_s[k] <= limit_s) rows.push_back(k);
    from = k;
    if (rows.size() < 2 * end_points) continue;
    const std::span<const std::size_t> all{rows};
    const End begin = end_of(points, also_s, all.first(end_points), rows.front(), typical_s);
    const End end = end_of(points, also_s, all.last(end_points), rows.back(), typical_s);
    if (end.capture_s - begin.capture_s < 1.0) continue;
    programme_s += end.programme_s - begin.programme_s;
    capture_s += end.capture_s - begin.capture_s;
    variance_s2 += begin.variance_s2 + end.variance_s2;
  }
  if (capture_s < 1.0) return std::nullopt;
  return MeanSpeed{programme_s / capture_s, std::sqrt(variance_s2) / capture_s, capture_s};
}

}  // namespace goodside::listen
