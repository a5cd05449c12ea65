#include "listen/groove_index.hpp"

#include <algorithm>
#include <cmath>

#include "base/expects.hpp"

namespace goodside::listen {

GrooveIndex::GrooveIndex(std::vector<GrooveEvent> events) : events_{std::move(events)} {
  for (const auto& event : events_) EXPECTS(std::isfinite(event.turn));
  std::sort(events_.begin(), events_.end(), [](const GrooveEvent& a, const GrooveEvent& b) {
    return a.turn != b.turn ? a.turn < b.turn : a.fault < b.fault;
  });
  if (events_.empty()) return;
  const double length = events_.back().turn - events_.front().turn;
  const std::size_t buckets = events_.size();
  buckets_per_turn_ = length > 0.0 ? static_cast<double>(buckets) / length : 0.0;
  bucket_first_.assign(buckets + 2, events_.size());
  for (std::size_t i = events_.size(); i-- > 0;) {
    const double along = (events_[i].turn - events_.front().turn) * buckets_per_turn_;
    bucket_first_[std::min(static_cast<std::size_t>(along), buckets)] = i;
  }
  for (std::size_t b = buckets + 1; b-- > 0;)
    bucket_first_[b] = std::min(bucket_first_[b], bucket_first_[b + 1]);
}

std::size_t GrooveIndex::first_at(double turn) const {
  if (events_.empty() || turn <= events_.front().turn) return 0;
  if (turn > events_.back().turn) return events_.size();
  const double along = (turn - events_.front().turn) * buckets_per_turn_;
  const std::size_t bucket = std::min(static_cast<std::size_t>(along), bucket_first_.size() - 2);
  const auto at = [this](std::size_t i) {
    return events_.begin() + static_cast<std::ptrdiff_t>(i);
  };
  const auto found =
      std::lower_bound(at(bucket_first_[bucket]),
                       at(bucket_first_[bucket + 1]),
                       turn,
                       [](const GrooveEvent& event, double t) { return event.turn < t; });
  return static_cast<std::size_t>(found - events_.begin());
}

int GrooveIndex::count(double from_turn, double to_turn) const {
  if (to_turn <= from_turn) return 0;
  return static_cast<int>(first_at(to_turn) - first_at(from_turn));
}

HeardTurns::HeardTurns(std::span<const works::Interval_s> heard,
                       double turns_per_s,
                       works::Interval_s otherwise_s) {
  std::vector<Span> given;
  for (const auto& interval : heard)
    if (interval.to_s > interval.from_s)
      given.push_back({interval.from_s * turns_per_s, interval.to_s * turns_per_s});
  if (given.empty())
    given.push_back({otherwise_s.from_s * turns_per_s, otherwise_s.to_s * turns_per_s});
  std::sort(
      given.begin(), given.end(), [](const Span& a, const Span& b) { return a.from < b.from; });
  for (const auto& span : given) {
    if (!spans_.empty() && span.from <= spans_.back().to)
      spans_.back().to = std::max(spans_.back().to, span.to);
    else
      spans_.push_back(span);
  }
  for (const auto& span : spans_) total_ += span.to - span.from;
}

bool HeardTurns::covers(double turn) const {
  const auto after = std::upper_bound(
      spans_.begin(), spans_.end(), turn, [](double t, const Span& s) { return t < s.from; });
  return after != spans_.begin() && turn <= std::prev(after)->to;
}

double HeardTurns::within(double from_turn, double to_turn) const {
  double length = 0.0;
  for (const auto& span : spans_)
    length += std::max(0.0, std::min(to_turn, span.to) - std::max(from_turn, span.from));
  return length;
}

}  // namespace goodside::listen
