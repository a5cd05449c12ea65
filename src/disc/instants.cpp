#include "disc/instants.hpp"

#include <cmath>
#include <vector>

namespace goodside::disc {
namespace {

constexpr double knots_per_s = 4000.0;

/// Lagrange's cubic through values at -1, 0, 1, 2.
double through_four(const double* at, double x) {
  const double before = x + 1.0;
  const double after = x - 1.0;
  const double beyond = x - 2.0;
  return -at[0] * x * after * beyond / 6.0 + at[1] * before * after * beyond / 2.0 -
         at[2] * before * x * beyond / 2.0 + at[3] * before * x * after / 6.0;
}

}  // namespace

void lay_instants(const PlayedPath& path,
                  double true_rate_Hz,
                  std::int64_t from_frame,
                  std::span<double> programme_s) {
  const std::span<const PlayedStretch> stretches = path.stretches();
  std::size_t stretch = 0;
  double first_knot = 0.0;
  std::vector<double> knots_s;
  for (std::size_t k = 0; k < programme_s.size(); ++k) {
    const double time_s =
        static_cast<double>(from_frame + static_cast<std::int64_t>(k)) / true_rate_Hz;
    while (stretch + 1 < stretches.size() && time_s >= stretches[stretch + 1].from_s) {
      ++stretch;
      knots_s.clear();
    }
    const double knot = std::floor(time_s * knots_per_s);
    if (knots_s.empty()) first_knot = knot - 1.0;
    const auto index = static_cast<std::size_t>(knot - first_knot);
    while (knots_s.size() < index + 3)
      knots_s.push_back(path.programme_s(
          (first_knot + static_cast<double>(knots_s.size())) / knots_per_s, stretches[stretch]));
    programme_s[k] = through_four(&knots_s[index - 1], time_s * knots_per_s - knot);
  }
}

}  // namespace goodside::disc
