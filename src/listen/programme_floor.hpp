#pragma once
#include <span>
#include <vector>

namespace goodside::listen {

struct FloorRule {
  double vote;
  float steepest;
};
/// Of a programme's power: bends of the second order rise by 6 dB a step, and no faster.
inline constexpr FloorRule by_programme{.vote = 0.66, .steepest = 4.0F};
/// Of a bend's energy: where a groove is too sharp for the ball is rare, and what it leaves jumps.
inline constexpr FloorRule by_bend{.vote = 0.8, .steepest = 16.0F};

/// Expected residual energy of each cell of a piece, from the programme's power there: between bursts, as the cells of
/// like power show it, in steps of 3 dB; louder programme never leaves less. Where the programme is over the surface
/// the 95 % point counts, not the median, for it leaves heavier tails than noise.
///
/// Faults have no say in it, be they one dropout or bursts once a turn: a step's median and 95 % point are those that
/// a share `vote` of the piece's sixteenths do not exceed, by their weight; and a step that fewer than three of these
/// know rises by no more than `steepest` over the one before.
///
/// `residual`, `programme`: mean squares by cell, in time order, of signals whose noise has unit power, of one size.
/// `freedom`: degrees of freedom of a cell. `usual_lift` is raised to how much heavier than noise's the tails are, as
/// a mean over all cells.
[[nodiscard]] std::vector<float> programme_floor(std::span<const float> residual,
                                                 std::span<const float> programme,
                                                 double freedom,
                                                 const FloorRule& rule,
                                                 double& usual_lift);

}  // namespace goodside::listen
