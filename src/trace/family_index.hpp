#pragma once
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "trace/beliefs.hpp"
#include "works/family.hpp"
#include "works/heard_play.hpp"

namespace goodside::trace {

/// A stretch of impressions that a unit made without another between: what is known of it, and how
/// far it may reach.
struct Segment {
  std::int64_t earliest{}, first{}, last{}, latest{};
  bool told{};  ///< somebody noted that a mounting began at `first`
};

/// A disc as one unit's member: where in the unit it may lie, and how surely it is one.
struct Member {
  int heard{};  ///< number of the heard disc
  std::int64_t low{}, high{};
  double share{1.0};  ///< probability that it came from this unit
};

/// Where an onset or an end may lie: just before this impression.
struct Step {
  std::int64_t at{};
  bool noted{};  ///< else the stamper was only taken off and put on again
};

/// What a run of impressions has in common: a stamper, a mounting, a press or a batch.
struct Unit {
  Level level{Level::stamper};
  std::string id;
  int part{-1};                   ///< of a stamper
  std::vector<Segment> segments;  ///< in order
  std::vector<Step> steps;        ///< in order
  std::vector<Member> members;    ///< heard discs, by `low`
  [[nodiscard]] std::int64_t from() const { return segments.front().earliest; }
  [[nodiscard]] std::int64_t to() const { return segments.back().latest; }
};

/// A part that is no stamper, with what grew from it on this side, in growing order.
struct Grower {
  Level level{Level::mother};
  std::string id;
  int parent{-1};                   ///< among the growers
  std::vector<int> children;        ///< a grower's number, or -1 - the number of a stamper's unit
  std::vector<std::int64_t> steps;  ///< an onset or end may lie just before these children (from 0)
};

/// A disc of which at least one play of this side was heard.
struct HeardDisc {
  int disc{};  ///< of the family
  std::vector<int> plays;
  bool whole{};  ///< every play heard the whole side
};

/// One side of a family, numbered.
struct FamilyIndex {
  works::DiscSide side{};
  double length_s{};
  std::vector<Unit> units;  ///< stampers first
  int stampers{};
  std::vector<Grower> growers;  ///< a parent before its children
  std::vector<HeardDisc> heard;
  /// Units that each heard disc is a member of.
  std::vector<std::vector<int>> units_of;
  std::array<int, level_count> nodes{};  ///< members of each level
};

/// Cost: n log n in discs and parts.
[[nodiscard]] FamilyIndex index_side(const works::Family& family,
                                     std::span<const works::HeardPlay> plays,
                                     works::DiscSide side);

}  // namespace goodside::trace
