#pragma once
#include <span>
#include <vector>

#include "trace/family_index.hpp"
#include "works/heard_play.hpp"

namespace goodside::trace {

/// How far programme times of one groove place lie apart in different reports.
struct Jitter {
  double factor{1.0};     ///< on what the reports say of themselves
  double added_s{};       ///< beside that
  double strangers{1.0};  ///< share of near pairs that only fell together
  int pairs{};            ///< that this rests on
  [[nodiscard]] double sigma_s(double said_s) const;
};

/// From pairs of plays of different discs: the distance of each fault in one to the nearest in the
/// other, as a mixture of a normal of variance factor^2 (s1^2 + s2^2) + 2 added^2 and of strangers
/// evenly spread; maximum likelihood over a grid, with a prior that the reports are right. At most
/// a few thousand pairs of plays are compared, chosen by number, not by chance.
[[nodiscard]] Jitter learn_jitter(const FamilyIndex& index,
                                  std::span<const works::HeardPlay> plays);

}  // namespace goodside::trace
