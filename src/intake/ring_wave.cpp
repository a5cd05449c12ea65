#include "intake/ring_wave.hpp"

#include <algorithm>
#include <cmath>
#include <opencv2/core.hpp>

namespace goodside::intake {
namespace {

std::array<double, 5> row_at(double t) {
  return {1.0, std::cos(t), std::sin(t), std::cos(2.0 * t), std::sin(2.0 * t)};
}

}  // namespace

double Wave::at(double turn_rad) const {
  const auto row = row_at(turn_rad);
  double radius = 0.0;
  for (std::size_t a = 0; a < row.size(); ++a) radius += c[a] * row[a];
  return radius;
}

std::optional<Wave> fit_wave(const std::vector<WavePlace>& places, double reach_px) {
  std::vector<bool> kept(places.size(), true);
  Wave wave;
  for (int round = 0; round < 6; ++round) {
    cv::Matx<double, 5, 5> normal = cv::Matx<double, 5, 5>::zeros();
    cv::Vec<double, 5> right = cv::Vec<double, 5>::all(0.0);
    std::size_t count = 0;
    for (std::size_t i = 0; i < places.size(); ++i) {
      if (!kept[i]) continue;
      ++count;
      const auto row = row_at(places[i].turn_rad);
      for (int a = 0; a < 5; ++a) {
        const double weighted = places[i].weight * row[static_cast<std::size_t>(a)];
        right[a] += weighted * places[i].radius_px;
        for (int b = 0; b < 5; ++b) normal(a, b) += weighted * row[static_cast<std::size_t>(b)];
      }
    }
    if (count < 20) return std::nullopt;
    const cv::Vec<double, 5> at = normal.solve(right, cv::DECOMP_SVD);
    for (int a = 0; a < 5; ++a) wave.c[static_cast<std::size_t>(a)] = at[a];
    std::vector<double> off;
    for (const auto& one : places) off.push_back(std::abs(one.radius_px - wave.at(one.turn_rad)));
    std::vector<double> sorted = off;
    const auto middle = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2);
    std::ranges::nth_element(sorted, middle);
    const double bound = std::max(reach_px, 3.0 * *middle);
    for (std::size_t i = 0; i < places.size(); ++i) kept[i] = off[i] <= bound;
  }
  return wave;
}

}  // namespace goodside::intake
