#include "listen/place.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "listen/feature_matcher.hpp"
#include "maths/median.hpp"

namespace goodside::listen {
namespace {

using Index = FeatureMatcher::Index;
constexpr double frame_s = 1.0 / Features::rate_Hz;

constexpr Index anchor_length = 480;  // frames: 4.8 s tell one place of a side from all others
constexpr Index most_anchors = 20;
constexpr std::size_t peaks_an_anchor = 6;
constexpr double good_anchor = 0.35;
constexpr double sure_anchor =
    0.7;  // of a few seconds of a side, one such is enough: the rest may be lead-in
constexpr std::size_t few_anchors = 3;
constexpr double steepest = 0.06;    // change of offset a frame: speed error
constexpr Index chunk_length = 120;  // short enough to sit between the seams of a locked groove
constexpr Index chunk_hop = 20;
constexpr Index line_reach = 15;  // frames sought on each side of a known line
constexpr Index path_reach = 4;   // and of where the last chunk lay
constexpr double far_reach_s = 45.0;
constexpr int most_searches = 400;
constexpr double least_confidence = 0.25;
constexpr double jump_s = 0.1;  // a larger step of the offset begins a new stretch

/// The liveliest anchor of each part of the capture.
std::vector<Index> anchor_places(const FeatureMatcher& matcher, Index length) {
  std::vector<Index> places;
  const Index room = matcher.capture_frames() - length;
  if (room < 0) return places;
  const Index parts = std::clamp<Index>(room / 120 + 1, 1, most_anchors);
  for (Index part = 0; part < parts; ++part) {
    const Index from = room * part / parts;
    const Index to = room * (part + 1) / parts;
    Index best = from;
    for (Index at = from; at <= to; at += chunk_hop)
      if (matcher.capture_energy(at, length) > matcher.capture_energy(best, length)) best = at;
    if (places.empty() || best - places.back() >= length / 4) places.push_back(best);
  }
  return places;
}

/// One peak of each anchor at most, chosen so that they lie on one almost straight line.
class Chain {
 public:
  explicit Chain(const std::vector<std::vector<FeaturePeak>>& anchors) {
    for (std::size_t i = 0; i < anchors.size(); ++i)
      for (const FeaturePeak& a : anchors[i]) {
        try_line(anchors, a, 0.0);
        for (std::size_t j = i + 1; j < anchors.size(); ++j)
          for (const FeaturePeak& b : anchors[j]) {
            const double slope = (b.offset - a.offset) / (b.capture_frame - a.capture_frame);
            if (std::abs(slope) < steepest) try_line(anchors, a, slope);
          }
      }
    std::erase_if(peaks_, [](const FeaturePeak& peak) { return peak.score < 0.5 * good_anchor; });
  }

  [[nodiscard]] bool good(std::size_t anchors) const {
    const auto strong = std::ranges::count_if(
        peaks_, [](const FeaturePeak& peak) { return peak.score > good_anchor; });
    const bool sure = anchors <= few_anchors && std::ranges::any_of(peaks_, [](const auto& peak) {
                        return peak.score > sure_anchor;
                      });
    const bool enough =
        strong >= std::min<std::ptrdiff_t>(2, static_cast<std::ptrdiff_t>(anchors)) && strong > 0;
    return sure || enough;
  }

  [[nodiscard]] double typical_score() const {
    std::vector<double> scores;
    for (const FeaturePeak& peak : peaks_) scores.push_back(peak.score);
    return maths::median(scores);
  }

  /// Offset at a capture frame; the whole chain's slope is carried past both ends.
  [[nodiscard]] double at(double frame) const {
    const FeaturePeak& first = peaks_.front();
    const FeaturePeak& last = peaks_.back();
    if (peaks_.size() == 1) return first.offset;
    const double slope = (last.offset - first.offset) / (last.capture_frame - first.capture_frame);
    if (frame <= first.capture_frame) return first.offset + slope * (frame - first.capture_frame);
    if (frame >= last.capture_frame) return last.offset + slope * (frame - last.capture_frame);
    const auto next = std::ranges::upper_bound(peaks_, frame, {}, &FeaturePeak::capture_frame);
    const FeaturePeak& b = *next;
    const FeaturePeak& a = *(next - 1);
    const double share = (frame - a.capture_frame) / (b.capture_frame - a.capture_frame);
    return a.offset + share * (b.offset - a.offset);
  }

 private:
  void try_line(const std::vector<std::vector<FeaturePeak>>& anchors,
                const FeaturePeak& a,
                double slope) {
    std::vector<FeaturePeak> near;
    double sum = 0.0;
    for (const auto& peaks : anchors) {
      const FeaturePeak* nearest = nullptr;
      double nearest_gap = std::numeric_limits<double>::infinity();
      for (const FeaturePeak& peak : peaks) {
        const double along = peak.capture_frame - a.capture_frame;
        const double gap = std::abs(peak.offset - a.offset - slope * along);
        // The speed may wander by 0.15 % over a side.
        if (gap < nearest_gap && gap < 5.0 + 0.0015 * std::abs(along)) {
          nearest = &peak;
          nearest_gap = gap;
        }
      }
      if (nearest == nullptr) continue;
      near.push_back(*nearest);
      sum += nearest->score * (1.0 - 0.02 * std::min(nearest_gap, 10.0));
    }
    if (sum <= best_sum_) return;
    best_sum_ = sum;
    peaks_ = std::move(near);
  }

  std::vector<FeaturePeak> peaks_;
  double best_sum_{};
};

/// One hypothesis about a chunk, and the best way to it.
struct State {
  double offset{}, score{};
  double total{};
  std::size_t from{};
};

struct Chunk {
  Index from{};
  double middle{};  // frames
  std::vector<State> states;
};

void add_state(std::vector<State>& states, double offset, double score) {
  for (State& known : states)
    if (std::abs(known.offset - offset) < 3.0) {
      if (score > known.score) known = {offset, score};
      return;
    }
  states.push_back({offset, score});
}

/// Whatever offsets a chunk may have: near the known lines, near the last chunk's, and anywhere
/// when lost.
class Hypotheses {
 public:
  Hypotheses(FeatureMatcher& matcher,
             const Chain& chain,
             const std::vector<std::vector<FeaturePeak>>& anchors)
      : matcher_{matcher}, chain_{chain}, typical_{chain.typical_score()} {
    for (const auto& peaks : anchors) {
      if (peaks.empty()) continue;
      const double shift = peaks[0].offset - chain.at(peaks[0].capture_frame);
      const bool new_line =
          std::ranges::all_of(shifts_, [&](double known) { return std::abs(known - shift) > 6.0; });
      if (std::abs(shift) > 8.0 && peaks[0].score > 0.6 * typical_ && new_line)
        shifts_.push_back(shift);
    }
    mean_energy_ = matcher.capture_energy(0, matcher.capture_frames()) /
                   static_cast<double>(matcher.capture_frames());
  }

  [[nodiscard]] std::vector<State> of(Index from, double middle, const std::vector<State>& before) {
    std::vector<State> states;
    const double base = chain_.at(middle);
    for (const double shift : shifts_) try_near(states, from, base + shift, line_reach);
    std::vector<State> last = before;
    std::ranges::sort(last, std::ranges::greater{}, &State::score);
    for (std::size_t k = 0; k < std::min<std::size_t>(3, last.size()); ++k) {
      const bool known = std::ranges::any_of(states, [&](const State& state) {
        return std::abs(state.offset - last[k].offset) < path_reach;
      });
      if (!known && last[k].score > 0.0) try_near(states, from, last[k].offset, path_reach);
    }
    double best = 0.0;
    for (const State& state : states) best = std::max(best, state.score);
    const bool lively = matcher_.capture_energy(from, chunk_length) >
                        0.3 * mean_energy_ * static_cast<double>(chunk_length);
    if (best < 0.6 * typical_ && lively && searches_ < most_searches) {
      ++searches_;
      for (const FeaturePeak& peak : matcher_.search(from, chunk_length, 5))
        if (std::abs(peak.offset - base) * frame_s < far_reach_s)
          add_state(states, peak.offset, peak.score);
    }
    states.push_back({base, 0.0});  // nothing heard here: silence, or not the programme
    return states;
  }

 private:
  void try_near(std::vector<State>& states, Index from, double centre, Index reach) const {
    const auto around = static_cast<Index>(std::llround(centre));
    Index best = around;
    double best_score = 0.0;
    for (Index offset = around - reach; offset <= around + reach; ++offset) {
      const double score = matcher_.score(from, chunk_length, offset);
      if (score > best_score) {
        best_score = score;
        best = offset;
      }
    }
    if (best_score <= 0.0) return;
    const double top = parabola_top(matcher_.score(from, chunk_length, best - 1),
                                    best_score,
                                    matcher_.score(from, chunk_length, best + 1));
    add_state(states, static_cast<double>(best) + top, best_score);
  }

  FeatureMatcher& matcher_;
  const Chain& chain_;
  double typical_, mean_energy_{};
  std::vector<double> shifts_{0.0};
  int searches_{};
};

double jump_cost(double change, double revolution_frames) {
  const double gap = std::abs(change);
  if (gap <= 5.0) return 0.02 * gap;
  const double turns = std::round(change / revolution_frames);
  const bool whole = turns != 0.0 && std::abs(change - turns * revolution_frames) < 6.0;
  return whole && std::abs(turns) <= 40.0 ? 1.2 : 4.0;
}

/// The cheapest way through all chunks: which state of each.
std::vector<std::size_t> best_path(std::vector<Chunk>& chunks,
                                   const Chain& chain,
                                   double revolution_frames) {
  for (std::size_t k = 0; k < chunks.size(); ++k)
    for (State& state : chunks[k].states) {
      state.total = std::max(0.0, state.score - 0.15);
      if (k == 0) continue;
      const double drift = chain.at(chunks[k].middle) - chain.at(chunks[k - 1].middle);
      double best = -std::numeric_limits<double>::infinity();
      for (std::size_t j = 0; j < chunks[k - 1].states.size(); ++j) {
        const State& before = chunks[k - 1].states[j];
        const double total =
            before.total - jump_cost(state.offset - before.offset - drift, revolution_frames);
        if (total <= best) continue;
        best = total;
        state.from = j;
      }
      state.total += best;
    }
  std::vector<std::size_t> path(chunks.size());
  const auto& ends = chunks.back().states;
  path.back() =
      static_cast<std::size_t>(std::ranges::max_element(ends, {}, &State::total) - ends.begin());
  for (std::size_t k = chunks.size() - 1; k > 0; --k) path[k - 1] = chunks[k].states[path[k]].from;
  return path;
}

/// A running median over seven chunks takes the single strays out of a stretch.
void smooth(std::vector<PlacePoint>& points) {
  const std::vector<PlacePoint> raw = points;
  for (std::size_t k = 0; k < raw.size(); ++k) {
    const std::size_t reach = std::min({k, raw.size() - 1 - k, std::size_t{3}});
    std::vector<double> near;
    for (std::size_t j = k - reach; j <= k + reach; ++j) near.push_back(raw[j].offset_s);
    points[k].offset_s = maths::median(near);
  }
}

}  // namespace

double PlacedStretch::programme_at(double capture_s) const {
  const bool before = capture_s < points.front().capture_s;
  const bool after = capture_s > points.back().capture_s;
  if (before || after) {
    const std::size_t reach = std::min<std::size_t>(points.size() - 1, 25);
    const PlacePoint& end = before ? points.front() : points.back();
    const PlacePoint& inner = before ? points[reach] : points[points.size() - 1 - reach];
    const double slope = (inner.offset_s - end.offset_s) / (inner.capture_s - end.capture_s);
    return capture_s + end.offset_s + slope * (capture_s - end.capture_s);
  }
  auto next = std::ranges::lower_bound(points, capture_s, {}, &PlacePoint::capture_s);
  if (next == points.begin()) ++next;
  const PlacePoint& b = *next;
  const PlacePoint& a = *(next - 1);
  const double share = (capture_s - a.capture_s) / (b.capture_s - a.capture_s);
  return capture_s + a.offset_s + share * (b.offset_s - a.offset_s);
}

Placement place(const Features& capture, const Features& reference, double revolution_s) {
  Placement placement;
  FeatureMatcher matcher{capture, reference};
  const Index length = std::min<Index>(
      anchor_length, std::min(matcher.capture_frames(), matcher.reference_frames()) * 3 / 4);
  if (length < 100 || matcher.capture_frames() < chunk_length) return placement;

  std::vector<std::vector<FeaturePeak>> anchors;
  for (const Index at : anchor_places(matcher, length))
    anchors.push_back(matcher.search(at, length, peaks_an_anchor));
  const Chain chain{anchors};
  if (!chain.good(anchors.size())) return placement;
  const double typical = chain.typical_score();

  Hypotheses hypotheses{matcher, chain, anchors};
  std::vector<Chunk> chunks;
  for (Index from = 0; from + chunk_length <= matcher.capture_frames(); from += chunk_hop) {
    const double middle = static_cast<double>(from) + 0.5 * static_cast<double>(chunk_length);
    const std::vector<State> before = chunks.empty() ? std::vector<State>{} : chunks.back().states;
    chunks.push_back({from, middle, hypotheses.of(from, middle, before)});
  }
  const std::vector<std::size_t> path = best_path(chunks, chain, revolution_s / frame_s);

  auto& stretches = placement.stretches;
  std::vector<double> scores;
  for (std::size_t k = 0; k < chunks.size(); ++k) {
    const State& state = chunks[k].states[path[k]];
    const double capture_s = frame_s * chunks[k].middle;
    if (state.score < 0.45 * typical) continue;
    const double offset_s = state.offset * frame_s;
    const bool follows = !stretches.empty() &&
                         std::abs(offset_s - stretches.back().points.back().offset_s) <
                             jump_s + steepest * (capture_s - stretches.back().capture_to_s) * 0.3;
    if (!follows) stretches.push_back({capture_s, capture_s, {}});
    stretches.back().points.push_back({capture_s, offset_s, state.score});
    stretches.back().capture_to_s = capture_s;
    scores.push_back(state.score);
  }
  std::erase_if(stretches, [](const PlacedStretch& stretch) { return stretch.points.size() < 2; });
  if (stretches.empty()) return placement;
  for (PlacedStretch& stretch : stretches) smooth(stretch.points);
  placement.confidence = maths::median(scores);
  placement.found = placement.confidence > least_confidence;
  return placement;
}

}  // namespace goodside::listen
