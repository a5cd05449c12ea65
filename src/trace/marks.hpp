#pragma once
#include <array>
#include <optional>
#include <span>
#include <vector>

#include "trace/fault_rate.hpp"
#include "works/heard_play.hpp"

namespace goodside::trace {

/// How alike one fault sounds on several discs: its excess over the noise, and its kind.
class Marks {
 public:
  /// What stray faults are like: `left_out[i]` keeps event i out.
  Marks(std::span<const works::HeardPlay> plays,
        std::span<const Event> events,
        std::span<const char> left_out);

  /// Learns from a place that is plainly no chance.
  void take(std::span<const works::HeardPlay> plays,
            std::span<const Event> events,
            std::span<const int> place);

  /// How far the middle one of a place's finds stands above what the reports still list, which is
  /// taken from the weakest twentieth of all; nothing where no report tells an excess.
  [[nodiscard]] std::optional<double> above_floor_dB(std::span<const works::HeardPlay> plays,
                                                     std::span<const Event> events,
                                                     std::span<const int> place) const;

  /// For each find of a place, the log of its likelihood as one more of the others against that of
  /// a stray fault: normal about the others' median, one time in ten anything; the kind of most of
  /// the others, or not. Scaled by (n - 1)/n, since the first of n tells nothing of likeness. The
  /// spread and the share of kinds that stay are drawn towards 4 dB and 0.75 (judgement) for 12 and
  /// 8 finds.
  [[nodiscard]] std::vector<double> gains(std::span<const works::HeardPlay> plays,
                                          std::span<const Event> events,
                                          std::span<const int> place) const;

 private:
  static constexpr std::size_t kinds = 7, bins = 64;
  static std::size_t bin(double excess_dB);
  std::array<double, bins> stray_{};  ///< density a dB
  std::array<double, kinds> kind_{};  ///< share
  double floor_dB_{};
  double squares_{12.0 * 16.0}, count_{12.0}, same_{6.0}, of_{8.0};
};

}  // namespace goodside::trace
