#include "listen/common_time.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/expects.hpp"
#include "maths/median.hpp"

namespace goodside::listen {
namespace {

constexpr double kept_s = 0.5;        // of the groove before and after what the captures agree on
constexpr double rising_s = 2.0;      // over which a capture's share in the mean grows
constexpr double widest_sway = 0.01;  // e/r of 0.6 mm at 60 mm; more is no seating but a lost track
constexpr double shortest_s = 0.5;    // of a part: less is not worth a seam
constexpr std::size_t trusted_run = 12, trusted_least = 8;  // track points

/// A stretch's cover of the base's time, on the grid of track_hop_s.
struct Cover {
  const FollowedStretch* stretch{};
  std::int64_t first{}, last{};   // grid points of the base's time, both covered
  std::vector<double> capture_s;  // at each of them
};

Cover cover_of(const FollowedStretch& stretch, double base_duration_s) {
  const auto bounded = [&](double base_s) { return std::clamp(base_s, 0.0, base_duration_s); };
  const double from_s = bounded(stretch.curve.programme_at(stretch.capture_from_s));
  const double to_s = bounded(stretch.curve.programme_at(stretch.capture_to_s));
  Cover cover{&stretch,
              static_cast<std::int64_t>(std::ceil(from_s / track_hop_s)),
              static_cast<std::int64_t>(std::floor(to_s / track_hop_s)),
              {}};
  for (std::int64_t k = cover.first; k <= cover.last; ++k)
    cover.capture_s.push_back(stretch.curve.capture_at(static_cast<double>(k) * track_hop_s));
  return cover;
}

/// The stretches of one capture, the longest first; each gives way where a longer one has been.
std::vector<Cover> covers_of(const SideTrack& track, double base_duration_s) {
  std::vector<Cover> all;
  for (const FollowedStretch& stretch : track.stretches)
    all.push_back(cover_of(stretch, base_duration_s));
  std::ranges::stable_sort(
      all, std::ranges::greater{}, [](const Cover& cover) { return cover.last - cover.first; });
  std::vector<Cover> kept;
  for (Cover& cover : all) {
    std::int64_t from = cover.first;
    std::int64_t to = cover.last;
    for (const Cover& longer : kept) {
      if (from >= longer.first && from <= longer.last) from = longer.last + 1;
      if (to >= longer.first && to <= longer.last) to = longer.first - 1;
    }
    if (static_cast<double>(to - from) * track_hop_s < shortest_s) continue;
    const auto begin = cover.capture_s.begin() + (from - cover.first);
    std::vector<double> part(begin, begin + (to - from + 1));
    kept.push_back({cover.stretch, from, to, std::move(part)});
  }
  std::ranges::sort(kept, {}, &Cover::first);
  return kept;
}

double mean_slope(const std::vector<Cover>& covers) {
  double capture_s = 0.0;
  double base_s = 0.0;
  for (const Cover& cover : covers) {
    capture_s += cover.capture_s.back() - cover.capture_s.front();
    base_s += static_cast<double>(cover.last - cover.first) * track_hop_s;
  }
  return base_s > 0.0 ? capture_s / base_s : 1.0;
}

/// Base times of the first and the last point that a track trusts.
void widen(const FollowedStretch& stretch, double& from_s, double& to_s) {
  const std::vector<double>& sigma = stretch.track.sigma_s;
  const auto trusted = [&](std::size_t from) {
    return std::count_if(sigma.begin() + static_cast<std::ptrdiff_t>(from),
                         sigma.begin() + static_cast<std::ptrdiff_t>(from + trusted_run),
                         [](double value) { return std::isfinite(value); }) >=
           static_cast<std::ptrdiff_t>(trusted_least);
  };
  if (sigma.size() < trusted_run) return;
  const std::size_t last = sigma.size() - trusted_run;
  for (std::size_t k = 0; k <= last; ++k)
    if (trusted(k)) {
      from_s = std::min(from_s, stretch.track.programme_s[k]);
      break;
    }
  for (std::size_t k = last + 1; k-- > 0;)
    if (trusted(k)) {
      to_s = std::max(to_s, stretch.track.programme_s[k + trusted_run - 1]);
      break;
    }
}

/// ds/dt from grid point k to k + 1.
double common_slope(const std::vector<std::vector<Cover>>& covers,
                    const std::vector<double>& speeds,
                    std::int64_t k) {
  std::vector<double> slopes;
  std::vector<double> weights;
  for (std::size_t i = 0; i < covers.size(); ++i)
    for (const Cover& cover : covers[i]) {
      if (k < cover.first || k + 1 > cover.last) continue;
      const auto at = static_cast<std::size_t>(k - cover.first);
      slopes.push_back((cover.capture_s[at + 1] - cover.capture_s[at]) / (track_hop_s * speeds[i]));
      const double to_end_s =
          static_cast<double>(std::min(k - cover.first, cover.last - k)) * track_hop_s;
      weights.push_back(std::clamp(to_end_s / rising_s, 1e-3, 1.0));
    }
  const double middle = maths::median_or(slopes, 1.0);
  double sum = 0.0;
  double weight = 0.0;
  for (std::size_t j = 0; j < slopes.size(); ++j) {
    sum += weights[j] * std::clamp(slopes[j], middle - widest_sway, middle + widest_sway);
    weight += weights[j];
  }
  return weight > 0.0 ? sum / weight : 1.0;
}

double middle_of(std::vector<double> values) {
  std::ranges::sort(values);
  const std::size_t half = values.size() / 2;
  return values.size() % 2 == 1 ? values[half] : 0.5 * (values[half - 1] + values[half]);
}

}  // namespace

const Voice::Part* Voice::at(double common_s) const {
  for (const Part& part : parts)
    if (common_s >= part.from_s && common_s < part.to_s) return &part;
  return nullptr;
}

CommonTime common_time(std::span<const SideTrack> tracks,
                       std::size_t base,
                       double base_duration_s) {
  EXPECTS(base < tracks.size() && base_duration_s > 1.0);
  const auto points = static_cast<std::int64_t>(std::floor(base_duration_s / track_hop_s)) + 1;
  std::vector<std::vector<Cover>> covers(tracks.size());
  std::vector<double> speeds(tracks.size());
  double agreed_from_s = base_duration_s;
  double agreed_to_s = 0.0;
  for (std::size_t i = 0; i < tracks.size(); ++i) {
    if (i == base) {
      Cover whole{nullptr, 0, points - 1, {}};
      for (std::int64_t k = 0; k < points; ++k)
        whole.capture_s.push_back(static_cast<double>(k) * track_hop_s);
      covers[i].push_back(std::move(whole));
    } else {
      covers[i] = covers_of(tracks[i], base_duration_s);
      for (const FollowedStretch& stretch : tracks[i].stretches)
        widen(stretch, agreed_from_s, agreed_to_s);
    }
    speeds[i] = mean_slope(covers[i]);
  }
  if (agreed_to_s <= agreed_from_s) {
    agreed_from_s = 0.0;
    agreed_to_s = base_duration_s;
  }
  const double from_s = std::max(0.0, agreed_from_s - kept_s);
  const double to_s = std::min(static_cast<double>(points - 1) * track_hop_s, agreed_to_s + kept_s);

  const double speed = middle_of(speeds);
  std::vector<double> common(static_cast<std::size_t>(points));
  for (std::int64_t k = 0; k + 1 < points; ++k)
    common[static_cast<std::size_t>(k + 1)] =
        common[static_cast<std::size_t>(k)] + speed * common_slope(covers, speeds, k) * track_hop_s;
  double start_s = 0.0;
  {
    const TrackCurve curve{0, maths::UniformSpline{common}};
    start_s = curve.programme_at(from_s);
  }
  for (double& value : common) value -= start_s;
  const TrackCurve curve{0, maths::UniformSpline{std::move(common)}};

  CommonTime all;
  all.duration_s = curve.programme_at(to_s);
  all.programme_from_s = curve.programme_at(agreed_from_s);
  all.programme_to_s = curve.programme_at(agreed_to_s);
  for (std::size_t i = 0; i < tracks.size(); ++i) {
    Voice voice;
    voice.speed = speeds[i];
    for (const Cover& cover : covers[i]) {
      const double part_from_s =
          std::max(0.0, curve.programme_at(static_cast<double>(cover.first) * track_hop_s));
      const double part_to_s = std::min(
          all.duration_s, curve.programme_at(static_cast<double>(cover.last) * track_hop_s));
      if (part_to_s - part_from_s < shortest_s) continue;
      const auto first = static_cast<std::int64_t>(std::floor(part_from_s / track_hop_s));
      const auto last = static_cast<std::int64_t>(std::ceil(part_to_s / track_hop_s));
      std::vector<double> capture_s;
      for (std::int64_t m = first; m <= last; ++m) {
        const double base_s = curve.capture_at(static_cast<double>(m) * track_hop_s);
        capture_s.push_back(cover.stretch == nullptr ? base_s
                                                     : cover.stretch->curve.capture_at(base_s));
      }
      voice.parts.push_back({part_from_s,
                             part_to_s,
                             TrackCurve{first, maths::UniformSpline{std::move(capture_s)}},
                             cover.stretch});
    }
    all.voices.push_back(std::move(voice));
  }
  return all;
}

}  // namespace goodside::listen
