#pragma once
#include <cstdint>
#include <limits>
#include <string>
#include <vector>

#include "works/disc_plays.hpp"
#include "works/family.hpp"
#include "works/listening_report.hpp"
#include "works/side_measures.hpp"

namespace goodside::works {

/// What tracing needs of one audible event: a title's side may have a million of them.
struct HeardFault {
  double programme_s{};
  float excess_dB{};
  float angle_deg{std::numeric_limits<float>::quiet_NaN()};
  float radius_m{std::numeric_limits<float>::quiet_NaN()};
  std::int32_t pattern{-1};  ///< of the same play; -1: none
  FaultKind kind{FaultKind::tick};
  Audibility audibility{Audibility::plain};
};

struct HeardPattern {
  std::int32_t id{};
  PatternKind kind{};
};

/// One listening report, reduced to what tracing needs.
struct HeardPlay {
  std::string disc, file;
  DiscSide side{};
  std::int64_t play{1};
  After after{After::as_found};
  double sigma_s{};               ///< of its programme times; 0: not told
  double length_s{};              ///< of the cut
  double rpm{};                   ///< of the cut
  std::vector<Interval_s> heard;  ///< empty: the whole side
  std::vector<HeardFault> faults;
  std::vector<HeardPattern> patterns;
  SideMeasures measures{};  ///< of the whole side
};

}  // namespace goodside::works
