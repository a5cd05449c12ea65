#include "listen/side_track.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <limits>
#include <memory>
#include <numbers>

#include "listen/fine_track.hpp"
#include "listen/match.hpp"
#include "listen/pieces.hpp"
#include "listen/whitening.hpp"
#include "signal/warp.hpp"

namespace goodside::listen {
namespace {

constexpr double piece_s = 16.0;
constexpr double overlap_s = 0.6;     // on each side of a piece
constexpr double seam_reach_s = 0.6;  // a chunk's half: the rough seam is no better known
constexpr double sure_s = 0.2;        // beyond a stretch's outer chunks' middles it still plays
constexpr double least_explained = 0.08;
constexpr double infinite = std::numeric_limits<double>::infinity();

struct Readers {
  std::unique_ptr<PieceReader> capture, reference;
};

Result<std::unique_ptr<PieceReader>> open_reader(const signal::SampleSource& source) {
  auto again = source.again();
  if (!again) return again.error();
  return std::make_unique<PieceReader>(
      std::move(*again), timing_factor(source.sample_rate_Hz()), 12);
}

struct PlannedPiece {
  std::size_t stretch{};
  double from_s{}, to_s{};
};

struct Reach {
  double from_s{}, to_s{};  // of a stretch, with what is needed about its seams
  double core_from_s{}, core_to_s{};
};

/// How many pieces a stretch is followed in: of longer ones an even number, so that two cores end together.
double pieces_of(double length_s) {
  const double count = std::max(1.0, std::round(length_s / piece_s));
  return count < 4.0 ? count : 2.0 * std::round(0.5 * length_s / piece_s);
}

/// How far each stretch reaches: to the middle between neighbours, to the programme's ends at the
/// outside.
std::vector<Reach> reaches(const Placement& placement,
                           double capture_duration_s,
                           double programme_duration_s) {
  std::vector<Reach> all;
  const auto& stretches = placement.stretches;
  for (std::size_t s = 0; s < stretches.size(); ++s) {
    const PlacedStretch& stretch = stretches[s];
    Reach reach;
    if (s == 0) {
      const double start_s =
          stretch.points.front().capture_s - stretch.programme_at(stretch.points.front().capture_s);
      reach.core_from_s = std::max(0.0, std::min(start_s, stretch.capture_from_s));
      reach.from_s = reach.core_from_s;
    } else {
      reach.core_from_s = 0.5 * (stretches[s - 1].capture_to_s + stretch.capture_from_s);
      reach.from_s = std::max(0.0, reach.core_from_s - seam_reach_s);
    }
    if (s + 1 == stretches.size()) {
      const PlacePoint& last = stretch.points.back();
      const double end_s =
          last.capture_s + programme_duration_s - stretch.programme_at(last.capture_s);
      reach.core_to_s = std::min(capture_duration_s, std::max(end_s, stretch.capture_to_s));
      reach.to_s = reach.core_to_s;
    } else {
      reach.core_to_s = 0.5 * (stretch.capture_to_s + stretches[s + 1].capture_from_s);
      reach.to_s = std::min(capture_duration_s, reach.core_to_s + seam_reach_s);
    }
    all.push_back(reach);
  }
  return all;
}

/// The track beside one of its ends as a line and one sway a turn, for carrying it on:
///     p(x) = b x + c sin w x + d (1 - cos w x),   x the time from the end, w the turn's angular rate.
/// Least squares over up to ten seconds of trusted points; with less than 1.2 turns of them, the line alone.
class EndModel {
 public:
  /// `end`: the outermost trusted point; `inwards` +1 at the start, -1 at the end.
  EndModel(const std::vector<double>& programme_s,
           const std::vector<double>& sigma_s,
           std::size_t end,
           int inwards,
           double revolution_s)
      : omega_{2.0 * std::numbers::pi / revolution_s} {
    constexpr std::ptrdiff_t reach = 500;
    Eigen::Matrix4d normal = Eigen::Matrix4d::Zero();
    Eigen::Vector4d right = Eigen::Vector4d::Zero();
    double span_s = 0.0;
    for (std::ptrdiff_t k = 0; k <= reach; ++k) {
      const auto at = static_cast<std::ptrdiff_t>(end) + inwards * k;
      if (at < 0 || at >= std::ssize(programme_s)) break;
      if (!std::isfinite(sigma_s[static_cast<std::size_t>(at)])) continue;
      span_s = static_cast<double>(k) * track_hop_s;
      const double x = static_cast<double>(inwards) * span_s;
      const Eigen::Vector4d row{1.0, x, std::sin(omega_ * x), 1.0 - std::cos(omega_ * x)};
      normal += row * row.transpose();
      right += (programme_s[static_cast<std::size_t>(at)] - programme_s[end]) * row;
    }
    if (span_s >= 1.2 * revolution_s) {
      shape_ = normal.ldlt().solve(right);
    } else if (normal(0, 0) >= 2.0) {
      const Eigen::Vector2d line = normal.topLeftCorner<2, 2>().ldlt().solve(right.head<2>());
      shape_ = {line[0], line[1], 0.0, 0.0};
    }
  }

  /// Programme time gained from the end to `away_s` after it (negative: before).
  [[nodiscard]] double gained(double away_s) const {
    return shape_[1] * away_s + shape_[2] * std::sin(omega_ * away_s) +
           shape_[3] * (1.0 - std::cos(omega_ * away_s));
  }

 private:
  double omega_;
  Eigen::Vector4d shape_{0.0, 1.0, 0.0, 0.0};
};

/// How far a track was carried on beyond its first and last trusted points, and how its speed sways beside the
/// once-a-turn sway that was carried on with it.
struct Guessed {
  double before_s{}, after_s{}, sway{};
};

/// A fade teaches nothing of the speed: before the first and after the last trusted point the track runs on as it
/// did beside them.
Guessed straighten_ends(std::vector<double>& programme_s,
                        const std::vector<double>& sigma_s,
                        double revolution_s) {
  constexpr std::size_t run = 12;  // points of which most must be trusted
  constexpr std::size_t most = 8;
  constexpr std::size_t near = 20;
  const std::size_t points = programme_s.size();
  if (points < 4 * run) return {};
  const auto trusted = [&](std::size_t from) {
    std::size_t count = 0;
    for (std::size_t k = from; k < from + run; ++k) count += std::isfinite(sigma_s[k]) ? 1U : 0U;
    return count >= most;
  };
  std::size_t first = 0;
  while (first + run < points && !trusted(first)) ++first;
  while (first + 1 < points && !std::isfinite(sigma_s[first])) ++first;
  std::size_t last = points - run;
  while (last > first && !trusted(last)) --last;
  last += run - 1;
  while (last > first && !std::isfinite(sigma_s[last])) --last;
  if (last <= first + run) return {};
  const EndModel start{programme_s, sigma_s, first, 1, revolution_s};
  const EndModel end{programme_s, sigma_s, last, -1, revolution_s};
  const double mean = (programme_s[last] - programme_s[first]) / static_cast<double>(last - first);
  double sway = 0.0;
  std::size_t counted = 0;
  for (std::size_t k = first; k + near <= last; k += near, ++counted) {
    const double rate = (programme_s[k + near] - programme_s[k]) / static_cast<double>(near);
    sway += std::pow((rate - mean) / track_hop_s, 2.0);
  }
  for (std::size_t k = 0; k < first; ++k)
    programme_s[k] =
        programme_s[first] + start.gained(-track_hop_s * static_cast<double>(first - k));
  for (std::size_t k = last + 1; k < points; ++k)
    programme_s[k] = programme_s[last] + end.gained(track_hop_s * static_cast<double>(k - last));
  return {static_cast<double>(first) * track_hop_s,
          static_cast<double>(points - 1 - last) * track_hop_s,
          counted > 0 ? std::sqrt(sway / static_cast<double>(counted)) : 0.0};
}

/// The pieces of one stretch, blended where they overlap.
FollowedStretch join(const std::vector<const PieceTrack*>& pieces,
                     const std::vector<double>& leads,
                     const Reach& reach,
                     const PlacedStretch& placed,
                     double revolution_s) {
  const std::int64_t first = pieces.front()->first;
  std::int64_t end = first;
  for (const PieceTrack* piece : pieces)
    end = std::max(end, piece->first + static_cast<std::int64_t>(piece->programme_s.size()));
  const auto points = static_cast<std::size_t>(end - first);
  std::vector<double> sum(points);
  std::vector<double> weight(points);
  std::vector<double> sigma(points, infinite);
  std::vector<float> calm(points, 0.0F);
  for (std::size_t p = 0; p < pieces.size(); ++p) {
    const PieceTrack& piece = *pieces[p];
    const std::size_t count = piece.programme_s.size();
    for (std::size_t k = 0; k < count; ++k) {
      const auto at = static_cast<std::size_t>(piece.first - first) + k;
      // Trust grows from the piece's ends over the overlap; the outermost points are the least
      // known.
      const double edge = static_cast<double>(std::min(k, count - 1 - k)) * track_hop_s;
      const double trust = std::max(1e-3, std::min(1.0, (edge - 0.2) / (2.0 * overlap_s - 0.4)));
      sum[at] += trust * (piece.programme_s[k] + leads[p]);
      weight[at] += trust;
      sigma[at] = std::min(sigma[at], piece.sigma_s[k]);
      calm[at] = std::max(calm[at], piece.calm[k]);
    }
  }
  for (std::size_t k = 0; k < points; ++k) sum[k] /= weight[k];
  const Guessed guessed = straighten_ends(sum, sigma, revolution_s);
  Stretch track{static_cast<double>(first) * track_hop_s, track_hop_s, sum, sigma};
  return {reach.core_from_s,
          reach.core_to_s,
          placed.capture_from_s,
          placed.capture_to_s,
          std::move(track),
          std::move(calm),
          TrackCurve{first, maths::UniformSpline{std::move(sum)}},
          guessed.before_s * guessed.sway,
          guessed.after_s * guessed.sway};
}

/// Where the capture stops following one curve and begins to follow the next: the change point of
/// the cumulated difference of their squared errors, sums of both channels above 200 Hz.
Result<double> seam_between(PieceReader& capture,
                            PieceReader& reference,
                            const FollowedStretch& before,
                            const FollowedStretch& after,
                            double from_s,
                            double to_s) {
  const double rate_Hz = capture.rate_Hz();
  const auto first = std::llround(from_s * rate_Hz);
  const auto count = static_cast<std::size_t>(std::max(64LL, std::llround(to_s * rate_Hz) - first));
  StereoSamples heard{signal::Aligned<float>(count), signal::Aligned<float>(count)};
  if (auto read = capture.read(first, heard[0], heard[1]); !read) return read.error();
  for (std::size_t j = 0; j < count; ++j) heard[0][j] += heard[1][j];
  high_pass(heard[0], 200.0, rate_Hz);
  const signal::WarpReader warp{std::min(0.5, 0.5 * rate_Hz / reference.rate_Hz()), 12};
  std::array<signal::Aligned<float>, 2> expected;
  const FollowedStretch* sides[] = {&before, &after};
  for (std::size_t s = 0; s < 2; ++s) {
    const double programme_from_s = sides[s]->curve.programme_at(from_s) - 0.05;
    const double programme_to_s = sides[s]->curve.programme_at(to_s) + 0.05;
    const auto reference_first =
        static_cast<std::int64_t>(std::floor(programme_from_s * reference.rate_Hz()));
    const auto known =
        static_cast<std::size_t>((programme_to_s - programme_from_s) * reference.rate_Hz()) + 64;
    StereoSamples cut{signal::Aligned<float>(known), signal::Aligned<float>(known)};
    if (auto read = reference.read(reference_first, cut[0], cut[1]); !read) return read.error();
    for (std::size_t j = 0; j < known; ++j) cut[0][j] += cut[1][j];
    expected[s].assign(count, 0.0F);
    const std::span<const float> source[] = {cut[0]};
    const std::span<float> target[] = {expected[s]};
    sides[s]->curve.warp(warp,
                         source,
                         static_cast<double>(reference_first),
                         reference.rate_Hz(),
                         first,
                         rate_Hz,
                         target);
    high_pass(expected[s], 200.0, rate_Hz);
  }
  // Each side's gain from its own half, where it holds.
  std::array<double, 2> gain{};
  for (std::size_t s = 0; s < 2; ++s) {
    double cross = 0.0;
    double power = 1e-20;
    const std::size_t from = s == 0 ? 0 : count / 2;
    const std::size_t to = s == 0 ? count / 2 : count;
    for (std::size_t j = from; j < to; ++j) {
      cross += static_cast<double>(heard[0][j]) * static_cast<double>(expected[s][j]);
      power += static_cast<double>(expected[s][j]) * static_cast<double>(expected[s][j]);
    }
    gain[s] = cross / power;
  }
  const double common = 0.5 * (gain[0] + gain[1]);
  double sum = 0.0;
  double least = 0.0;
  std::size_t best = 0;
  for (std::size_t j = 0; j < count; ++j) {
    const double x = static_cast<double>(heard[0][j]);
    const double a = x - common * static_cast<double>(expected[0][j]);
    const double b = x - common * static_cast<double>(expected[1][j]);
    sum += a * a - b * b;
    if (sum < least) {
      least = sum;
      best = j + 1;
    }
  }
  return (static_cast<double>(first) + static_cast<double>(best)) / rate_Hz;
}

}  // namespace

Result<SideTrack> follow_side(const signal::SampleSource& capture,
                              const signal::SampleSource& reference,
                              const Placement& placement,
                              const TrackSetting& setting,
                              const std::function<bool(double)>& go_on) {
  const bool mono = setting.mono;
  const double revolution_s = setting.revolution_s;
  const int jobs = setting.jobs;
  const double capture_duration_s =
      static_cast<double>(capture.frames()) / capture.sample_rate_Hz();
  const double programme_duration_s =
      static_cast<double>(reference.frames()) / reference.sample_rate_Hz();
  const std::vector<Reach> reach = reaches(placement, capture_duration_s, programme_duration_s);
  std::vector<PlannedPiece> plan;
  for (std::size_t s = 0; s < reach.size(); ++s) {
    const double length_s = std::max(0.2, reach[s].to_s - reach[s].from_s);
    const double count = pieces_of(length_s);
    for (double p = 0.0; p < count; ++p) {
      const double from_s = reach[s].from_s + length_s * p / count;
      const double to_s = reach[s].from_s + length_s * (p + 1.0) / count;
      plan.push_back({s,
                      std::max(reach[s].from_s, from_s - overlap_s),
                      std::min(reach[s].from_s + length_s, to_s + overlap_s)});
    }
  }
  std::vector<PieceTrack> pieces(plan.size());
  std::vector<Readers> readers(workers_for(jobs, plan.size()));
  for (Readers& one : readers) {
    auto heard = open_reader(capture);
    if (!heard) return heard.error();
    auto cut = open_reader(reference);
    if (!cut) return cut.error();
    one = {std::move(*heard), std::move(*cut)};
  }
  std::atomic<std::size_t> done{0};
  const auto follow = [&](std::size_t worker, std::size_t p) -> Outcome {
    auto piece = follow_piece(*readers[worker].capture,
                              *readers[worker].reference,
                              placement.stretches[plan[p].stretch],
                              plan[p].from_s,
                              plan[p].to_s,
                              mono,
                              revolution_s);
    if (!piece) return piece.error();
    pieces[p] = std::move(*piece);
    if (!go_on(static_cast<double>(++done) / static_cast<double>(plan.size())))
      return Error{Fault::conflict, "stopped before the end"};
    return Done{};
  };
  if (auto ran = run_pieces(plan.size(), jobs, follow); !ran) return ran.error();
  const double timing_rate_Hz = readers[0].capture->rate_Hz();
  const std::vector<double> leads = tie_pieces(pieces, timing_rate_Hz);

  SideTrack side;
  std::vector<double> explained(reach.size());
  double straight = 0.0;
  double crossed = 0.0;
  double gain_sum = 0.0;
  double gain_weight = 0.0;
  double votes = 0.0;
  std::vector<double> sigmas;
  for (std::size_t s = 0; s < reach.size(); ++s) {
    double heard = 0.0;
    double matched = 0.0;
    for (std::size_t p = 0; p < plan.size(); ++p) {
      if (plan[p].stretch != s) continue;
      for (std::size_t k = 0; k < pieces[p].heard.size(); ++k) {
        const double capture_s =
            static_cast<double>(pieces[p].first + static_cast<std::int64_t>(k)) * track_hop_s;
        if (capture_s < placement.stretches[s].capture_from_s - sure_s ||
            capture_s > placement.stretches[s].capture_to_s + sure_s)
          continue;
        heard += static_cast<double>(pieces[p].heard[k]);
        matched += static_cast<double>(pieces[p].explained[k]);
      }
    }
    explained[s] = heard > 0.0 ? matched / heard : 0.0;
  }
  const double best = explained.empty() ? 0.0 : *std::ranges::max_element(explained);
  for (std::size_t s = 0; s < reach.size(); ++s) {
    if (explained[s] < least_explained || explained[s] < 0.25 * best) continue;
    std::vector<const PieceTrack*> own;
    std::vector<double> own_leads;
    for (std::size_t p = 0; p < plan.size(); ++p) {
      if (plan[p].stretch != s) continue;
      own.push_back(&pieces[p]);
      own_leads.push_back(leads[p]);
      votes += pieces[p].sign_votes;
      const double bin_Hz = 0.5 * timing_rate_Hz / static_cast<double>(pieces[p].weight.size() - 1);
      for (std::size_t k = 0; k < pieces[p].weight.size(); ++k) {
        const double f = static_cast<double>(k) * bin_Hz;
        if (f < 300.0 || f > 3000.0) continue;
        const auto w = static_cast<double>(pieces[p].weight[k]);
        const auto power = [&](std::size_t i) {
          return w * static_cast<double>(std::norm(pieces[p].transfer[i][k]));
        };
        straight += power(0) + power(3);
        crossed += power(1) + power(2);
        gain_sum += 0.5 * (power(0) + power(1) + power(2) + power(3));
        gain_weight += w;
      }
      for (const double sigma : pieces[p].sigma_s)
        if (std::isfinite(sigma)) sigmas.push_back(sigma);
    }
    side.stretches.push_back(join(own, own_leads, reach[s], placement.stretches[s], revolution_s));
  }
  side.swapped = !mono && crossed > straight;
  side.polarity = votes < 0.0 ? -1 : 1;
  if (gain_weight > 0.0) side.gain = std::sqrt(gain_sum / gain_weight);
  if (!sigmas.empty()) {
    const auto middle = sigmas.begin() + static_cast<std::ptrdiff_t>(sigmas.size() / 2);
    std::ranges::nth_element(sigmas, middle);
    side.typical_sigma_s = *middle;
  }
  if (!side.stretches.empty()) {
    // Whatever was dropped before the first or after the last stretch leaves its time to them.
    FollowedStretch& first = side.stretches.front();
    FollowedStretch& last = side.stretches.back();
    first.capture_from_s =
        std::max(0.0, std::min(first.capture_from_s, first.curve.capture_at(0.0)));
    last.capture_to_s =
        std::min(capture_duration_s,
                 std::max(last.capture_to_s, last.curve.capture_at(programme_duration_s)));
  }
  for (std::size_t s = 0; s + 1 < side.stretches.size(); ++s) {
    FollowedStretch& a = side.stretches[s];
    FollowedStretch& b = side.stretches[s + 1];
    const double from_s = std::max(a.capture_from_s, a.sure_to_s - seam_reach_s);
    const double to_s = std::min(b.capture_to_s, b.sure_from_s + seam_reach_s);
    auto seam = seam_between(*readers[0].capture, *readers[0].reference, a, b, from_s, to_s);
    if (!seam) return seam.error();
    a.capture_to_s = *seam;
    b.capture_from_s = *seam;
  }
  return side;
}

}  // namespace goodside::listen
