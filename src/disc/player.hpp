#pragma once
#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "base/result.hpp"
#include "signal/sample_source.hpp"
#include "works/player.hpp"
#include "works/truth.hpp"

namespace goodside::disc {

/// Plays a pressed side that nobody pressed: programme in, capture out, every fault known.
///
/// In order: the place under the stylus (played_path.hpp) -> programme there, echo of the turns
/// beside it -> dropouts
/// -> recording curve -> tracing (tracing.hpp) -> playback curve -> surface noise, ticks, bursts ->
/// crosstalk and resonances (pickup.hpp) -> warp, thumps of the needle, hum -> level -> clip ->
/// polarity, channels. The recording curve is IEC 60098's for microgroove, BS 1928's coarse one for
/// shellac-type, undone exactly by playback.
///
/// Streams: memory does not grow with the side, save the truth, 0.5 MB in ten minutes. The same
/// inputs and seed give the same samples whatever the size of the blocks that are asked for.
/// Accuracy: programme time under the stylus within 1e-10 s of the exact geometry (instants.hpp),
/// reading within -95 dB (signal/sinc_reader.hpp).
class Player {
 public:
  /// Errors: Fault::bad_input or out_of_range, naming the figure: rates outside 44.1 to 192 kHz, no
  /// programme, faults outside the groove, an arm that does not reach, and what Groove::of refuses.
  /// Fault::io from the programme.
  static Result<Player> put_on(const signal::SampleSource& programme,
                               const works::PlayedSide& played);

  Player(Player&&) noexcept;
  Player& operator=(Player&&) noexcept;
  ~Player();

  [[nodiscard]] int channels() const;
  [[nodiscard]] double sample_rate_Hz() const;
  [[nodiscard]] std::int64_t frames() const;
  [[nodiscard]] const works::Truth& truth() const;

  /// Writes the next whole frames and returns how many; fewer than asked only at the end, 0 when
  /// done.
  Result<std::int64_t> render(std::span<float> interleaved);

 private:
  class Chain;
  explicit Player(std::unique_ptr<Chain> chain);
  std::unique_ptr<Chain> chain_;
};

}  // namespace goodside::disc
