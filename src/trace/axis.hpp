#pragma once
#include <array>
#include <cstdint>
#include <vector>

#include "trace/beliefs.hpp"
#include "trace/family_index.hpp"

namespace goodside::trace {

/// Impressions `low` to `high`, over which `mass` of probability is spread evenly.
struct Piece {
  std::int64_t low{}, high{};
  double mass{};
};

/// How a fault may end: of itself; or at something that was done to the part, each of which it may
/// survive, and else not at all.
struct Ends {
  double share{1.0};                     ///< prior that it is of this kind
  std::vector<std::vector<Piece>> cell;  ///< K + 1; prior masses
  std::vector<double> mass;              ///< sums of each cell
  double never{};                        ///< as Range has it
  bool survived{};
};

/// Where in one unit's own closings a fault can begin and end, cut into cells in which every heard
/// disc is touched or is not. Cell k holds the onsets x with edge[k-1] < x <= edge[k]: those touch
/// what was pressed from edge[k] on. An end, the first impression without the fault, has the same
/// cells and one more behind the last heard disc.
struct Axis {
  std::vector<std::int64_t> edge;         ///< K, rising
  std::vector<std::vector<Piece>> onset;  ///< K cells; prior masses
  std::vector<double> onset_mass;         ///< sums of each cell
  std::array<Ends, 2> ends;               ///< of itself; else at a step or never
  double birth{};                         ///< of onset_mass[0], what is birth
  bool uncertain{};                       ///< some disc is known by an interval alone
};

/// Cells at the impressions of the heard discs; an interval that a disc is known by is cut into at
/// most eight. The prior puts the level's share `birth` on the first impression (where a mounting
/// was noted to begin, 85 % there; the rest spread over what it may have been), `at_step` of the rest on the unit's steps, and what is left evenly over its
/// closings. It ends of itself with `ceases`, evenly over what is left of them; else at each of the steps
/// behind its onset with `mended`, or a third of that where nobody noted more than that a stamper was taken off
/// and put on again. Onsets behind the last heard disc have left no
/// evidence and are kept out: the masses sum to less than 1 by as much.
[[nodiscard]] Axis axis_of(const Unit& unit, const Beliefs& beliefs);

}  // namespace goodside::trace
