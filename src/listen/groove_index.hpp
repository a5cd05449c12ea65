#pragma once
#include <cstddef>
#include <span>
#include <vector>

#include "works/listening_report.hpp"

namespace goodside::listen {

/// One event on the unrolled groove: turns from programme start, whose whole part is the revolution
/// and whose fraction the angle. The same angle one turn later is simply `turn + 1`, with no seam
/// at 360 degrees.
struct GrooveEvent {
  double turn{};
  double extent_turns{};  ///< how far along the groove the event lasts
  double sigma_turns{};   ///< standard error of the angle
  std::size_t fault{};    ///< where it stands in the caller's list
};

/// Events in order along the groove, found by place in O(1) where they are spread evenly, O(log n)
/// at worst.
class GrooveIndex {
 public:
  explicit GrooveIndex(std::vector<GrooveEvent> events);  ///< in any order; turns finite

  [[nodiscard]] std::size_t size() const { return events_.size(); }
  [[nodiscard]] const GrooveEvent& operator[](std::size_t i) const { return events_[i]; }

  /// The first event at or after `turn`; size() when there is none.
  [[nodiscard]] std::size_t first_at(double turn) const;

  /// Events in [from_turn, to_turn).
  [[nodiscard]] int count(double from_turn, double to_turn) const;

 private:
  std::vector<GrooveEvent> events_;
  std::vector<std::size_t> bucket_first_;
  double buckets_per_turn_{};
};

/// What part of the groove was heard, in turns.
class HeardTurns {
 public:
  /// `heard` in programme seconds, in any order, overlaps allowed; an empty list means
  /// `otherwise_s`.
  HeardTurns(std::span<const works::Interval_s> heard,
             double turns_per_s,
             works::Interval_s otherwise_s);

  [[nodiscard]] double total() const { return total_; }
  [[nodiscard]] bool covers(double turn) const;
  [[nodiscard]] double within(double from_turn, double to_turn) const;

 private:
  struct Span {
    double from, to;
  };
  std::vector<Span> spans_;
  double total_{};
};

}  // namespace goodside::listen
