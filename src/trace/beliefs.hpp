#pragma once
#include <array>
#include <cstddef>

namespace goodside::trace {

/// The kinds of cause that are weighed, from the top of the family down.
enum class Level { cut, father, mother, stamper, mounting, press, batch };
inline constexpr std::size_t level_count = 7;

/// Detection probabilities that are integrated over: that one play of an affected disc shows the
/// fault.
inline constexpr std::array<double, 9> detections{
    0.30, 0.45, 0.58, 0.70, 0.80, 0.88, 0.94, 0.975, 0.993};
inline constexpr std::size_t detection_count = detections.size();
using ByDetection = std::array<double, detection_count>;

/// Laws that say how detection goes with strength (detectability.hpp).
inline constexpr std::size_t law_count = 50;
using ByLaw = std::array<double, law_count>;

/// What is believed of recurring faults before one is looked at. The starting values are judgement
/// (common practice, no source); `learn` moves them towards what a record holds, as far as it holds
/// enough.
struct Beliefs {
  /// Share of recurring faults that each level puts there, spread evenly over its members.
  /// A press or a batch has no groove: what they do at one place shows through a mounting.
  std::array<double, level_count> share{0.07, 0.11, 0.22, 0.38, 0.21, 0.003, 0.001};
  /// Faults that the shares rest on: the start's weight and those learned from.
  double share_counts{30.0};
  /// That a fault of this level was there from the first: as likely as not, where nothing is known.
  std::array<double, level_count> birth{1.0, 0.5, 0.5, 0.5, 0.5, 0.5, 0.8};
  /// That one which was not began where something was done to the part, if anything was.
  double at_step{0.35};
  /// That it ceases of itself before its part does.
  std::array<double, level_count> ceases{0.0, 0.04, 0.05, 0.12, 0.12, 0.3, 0.05};
  /// That it ceases where something was done to its part, if anything was after it began: washing
  /// and repairing are done to end faults.
  std::array<double, level_count> mended{0.0, 0.1, 0.1, 0.3, 0.2, 0.1, 0.0};
  ByLaw log_hearing{};  ///< of the laws of hearing, up to a constant
  /// Recurring faults expected on one side of a title.
  double recurring{4.0};
};

}  // namespace goodside::trace
