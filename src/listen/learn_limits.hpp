#pragma once
#include <span>
#include <string>

#include "listen/judged_measures.hpp"
#include "works/learned_limits.hpp"

namespace goodside::listen {

/// A disc that listeners passed or failed, and what the bench measured on it.
struct ListenedDisc {
  std::string path;
  bool passed{};
  JudgedValues measured;
};

struct LearnOptions {
  std::string format;
  works::Limits from;         ///< where learning begins, and what stays where there is no evidence
  double missed_weighs{1.0};  ///< a failed disc let through, in passed discs held; > 0
};

/// Fewest discs of either verdict to learn from, and fewest that must speak for a limit's move.
inline constexpr int least_discs = 5, least_votes = 3;

/// Learns for each measure the limit by which the verdict best agrees with the listeners: a disc is
/// held where any measure is over its limit, and the cost is
///   missed_weighs * (failed discs let through) + (passed discs held).
/// Candidates lie between neighbouring figures of the discs (the roundest number there), at most 48
/// a measure, and at the limit learning began from. Every single limit and every pair of limits is
/// moved to its best place until none gets better; of equals the one nearest the old limit wins.
/// Then a move is taken back unless at least `least_votes` discs come right by it and the cost
/// falls by as much. All of it is taken back unless discs left out, judged by limits learned from
/// the others, come right more often than by the old limits beyond luck (stats::sign_test_chance <=
/// 0.05). They are left out in at most 100 groups; the share's interval is Clopper and Pearson's. A
/// measure without a limit to begin with stays unjudged, as do jumps. Discs whose cut was not found
/// are passed over. Deterministic.
[[nodiscard]] works::LearnedLimits learn_limits(std::span<const ListenedDisc>, const LearnOptions&);

}  // namespace goodside::listen
