#pragma once
#include <span>
#include <vector>

#include "trace/family_index.hpp"
#include "works/heard_play.hpp"

namespace goodside::trace {

/// One fault of one play, on the side's time axis.
struct Event {
  double programme_s{};
  int heard{};  ///< number of the heard disc
  int play{};
  int fault{};  ///< of the play
};

/// Faults a second that belong to no part: how many a disc has, times where on the side they lie.
///   lambda_d(t) = disc[d] local(t)
/// Both are shrunk towards the mean of all as a gamma prior does: (count + a) / (expected + a),
/// a = 4 faults a disc, 2 a stretch of the side.
class FaultRate {
 public:
  /// `left_out[i]` keeps event i out: it belongs to a recurring fault.
  FaultRate(const FamilyIndex& index,
            std::span<const works::HeardPlay> plays,
            std::span<const Event> events,
            std::span<const char> left_out);

  [[nodiscard]] double per_s(int heard, double programme_s) const;
  [[nodiscard]] double local(double programme_s) const;
  [[nodiscard]] double disc(int heard) const { return disc_[static_cast<std::size_t>(heard)]; }

 private:
  [[nodiscard]] std::size_t bin(double programme_s) const;
  double length_s_{}, bin_s_{};
  std::vector<double> local_;  ///< faults a second of a disc of average quality
  std::vector<double> disc_;   ///< relative to the average
};

}  // namespace goodside::trace
