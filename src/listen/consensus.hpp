#pragma once
#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "base/result.hpp"
#include "listen/common_time.hpp"
#include "listen/peer_group.hpp"
#include "works/listening_report.hpp"

namespace goodside::listen {

/// One recording to be made of the captures.
struct Rendering {
  /// A capture that votes but has no share in what comes out, so that it can be heard against the others alone.
  std::optional<std::size_t> without;
  std::function<Outcome(std::span<const float> interleaved)> sink;  ///< stereo, in order
};

/// What the vote did with one capture.
struct VoteCount {
  int events{};      ///< in which the others outvoted it
  double seconds{};  ///< of it left out for them
};

/// Several captures of one cut as one recording in which each disc's own faults are voted out.
///
/// Each capture is read on the common time (common_time.hpp), matched 2x2 to the base (match.hpp), and held against
/// the sample-by-sample median of all that cover the place; what stands out of that by the lines of
/// residual_events.hpp is that capture's own, and it has no vote from 2 ms before to 2 ms after. Where only two
/// cover a place, fault_holder says which of them it is. What comes out is
///     y = sum_i w_i x_i / sum_i w_i,   w_i = 1 / its noise power where it votes, 1e-4 of that where it does not,
/// so that a place where all are outvoted is still their mean. Faults that all share (cut, father, mother, stamper)
/// stay. Works in pieces of four seconds on all cores; the number of jobs changes nothing. Memory: at most about
/// 80 MB, by fewer cores where many captures vote.
class Consensus {
 public:
  /// The sources of `peers` must outlive it. Errors: those of follow_peers.
  static Result<Consensus> follow(std::vector<Peer> peers,
                                  const PeerSetting& setting,
                                  const std::function<bool(double)>& go_on);

  [[nodiscard]] double sample_rate_Hz() const { return rate_Hz_; }
  [[nodiscard]] std::int64_t frames() const;
  [[nodiscard]] const CommonTime& time() const { return time_; }
  /// Programme that capture `i` covers.
  [[nodiscard]] std::vector<works::Interval_s> covered(std::size_t i) const;
  /// Programme that no capture but `i` covers.
  [[nodiscard]] std::vector<works::Interval_s> covered_by_none_but(std::size_t i) const;

  /// Makes all renderings in one pass; the counts are of the captures in order. Errors: the sources' and the sinks';
  /// Fault::conflict when `go_on` says no.
  Result<std::vector<VoteCount>> render(std::span<const Rendering> renderings,
                                        const std::function<bool(double)>& go_on) const;

 private:
  Consensus() = default;

  std::vector<Peer> peers_;
  PeerGroup group_;
  CommonTime time_;
  double rate_Hz_{};
  int jobs_{};
};

}  // namespace goodside::listen
