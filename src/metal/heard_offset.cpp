#include "metal/heard_offset.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "stats/interval.hpp"

namespace goodside::metal {
namespace {

constexpr double confidence = 0.9;
constexpr double um = 1e6;

double root_or_nought(double square) {
  return square > 0.0 ? std::sqrt(square) : 0.0;
}

}  // namespace

std::optional<works::HeardBeside> heard_against_read(const std::vector<HeardOffset>& heard,
                                                     const works::OffsetEstimate& read,
                                                     double seating_m) {
  if (heard.empty() || !read.region) return std::nullopt;
  const double count = static_cast<double>(heard.size());
  double mean = 0.0, noise = 0.0;
  for (const auto& one : heard) {
    mean += one.eccentricity_m * one.eccentricity_m / count;
    noise += one.sigma_m * one.sigma_m / count;
  }
  const double each_way =
      seating_m * seating_m + noise;  // variance of a disc's offset, x and y each
  const double square = mean - 2.0 * each_way;
  // The square of a length about c: its variance is 4 c^2 v + 4 v^2; seen, where there are discs enough to see it.
  double variance = 4.0 * std::max(square, 0.0) * each_way + 4.0 * each_way * each_way;
  double freedom = 1e6;
  if (heard.size() >= 3) {
    double seen = 0.0;
    for (const auto& one : heard) {
      const double off = one.eccentricity_m * one.eccentricity_m - mean;
      seen += off * off / (count - 1.0);
    }
    if (seen > variance) variance = seen, freedom = count - 1.0;
  }
  const double reach =
      stats::student_t_quantile(0.5 * (1.0 + confidence), freedom) * std::sqrt(variance / count);
  works::HeardBeside told{.discs = static_cast<int>(heard.size()),
                          .heard_m = root_or_nought(square),
                          .low_m = root_or_nought(square - reach),
                          .high_m = root_or_nought(square + reach),
                          .read_low_m = read.region->nearest_m,
                          .read_high_m = read.region->farthest_m,
                          .seating_m = seating_m};
  told.agree = told.low_m <= read.region->farthest_m && read.region->nearest_m <= told.high_m;
  told.said = fmt::format(
      "{} disc{} heard {:.0f} µm off centre ({:.0f} to {:.0f}, 90 %), the plate read {:.0f} to "
      "{:.0f} µm ({:.0f} %): {}",
      told.discs,
      told.discs == 1 ? "" : "s",
      told.heard_m * um,
      told.low_m * um,
      told.high_m * um,
      read.region->nearest_m * um,
      read.region->farthest_m * um,
      read.confidence * 100.0,
      told.agree
          ? "they agree"
          : "they differ; look at the mould's pin and clamp, the plate's seat, and the reading");
  return told;
}

}  // namespace goodside::metal
