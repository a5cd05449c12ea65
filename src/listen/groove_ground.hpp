#pragma once
#include <array>
#include <cstddef>
#include <optional>
#include <vector>

namespace goodside::listen {

struct ExcessCells;

/// Left and right over the whole band, then left and right under 5 kHz.
inline constexpr std::size_t ground_streams = 4;
inline constexpr double ground_block_s = 5e-3;

using GroundLevels_dB = std::array<float, ground_streams>;

struct GroundBlock {
  double programme_s{};
  GroundLevels_dB level_dB{};
};

/// The value a quarter of the way up, at least one value; sorts in place.
[[nodiscard]] float lower_quartile(std::vector<float>& values);

/// The ground of one block from `from_s`, seconds from the cells' first: the lower quartile of its
/// cells' excess. A speck of dirt takes a millisecond or two and leaves it alone; torn groove,
/// rough all through, lifts it. Under 5 kHz four cells are joined first, as each holds little.
/// None where the cells do not reach.
[[nodiscard]] std::optional<GroundLevels_dB> ground_levels(const ExcessCells& cells, double from_s);

/// The ground of the groove around a place.
struct GroundAround {
  GroundLevels_dB median_dB{}, sigma_dB{};
};

/// How the ground of a place stands over the groove around, and what chance and leftover programme
/// make of a place as long.
struct Raised {
  GroundLevels_dB by_dB{}, sigma_dB{};
};

/// The noise between bursts along the whole groove, in blocks of 5 ms of programme.
/// Cost: 16 bytes a block, 5 MB for 25 minutes.
class GrooveGround {
 public:
  /// Both > 0.
  GrooveGround(double rpm, double programme_duration_s);

  void take(const GroundBlock& block);

  /// Blocks that touch [from_s, to_s) of programme say nothing of what lies between: an impulse is there.
  void set_aside(double from_s, double to_s);

  /// The two and a half turns to either side of a place, an eighth of a turn to either side of its
  /// angle left out: the median of means over 15 ms, and from there to their 84 % point, at least
  /// 0.2 dB. None where fewer than a hundred blocks are known.
  [[nodiscard]] std::optional<GroundAround> around(double programme_s) const;

  /// The groove in [from_s, to_s) of programme, less [but_from_s, but_to_s). The error is that of
  /// 15 ms, wider for less; only a fifth narrower for more, as leftover programme wanders slowly.
  /// None where no whole block is known and not set aside.
  struct Window {
    double from_s, to_s;
    double but_from_s{}, but_to_s{};
  };
  [[nodiscard]] std::optional<Raised> raised(const Window& window,
                                             const GroundAround& around) const;

 private:
  double turn_s_;
  std::vector<GroundLevels_dB> levels_;
  std::vector<char> known_, aside_;
};

}  // namespace goodside::listen
