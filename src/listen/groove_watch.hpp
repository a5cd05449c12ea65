#pragma once
#include <array>
#include <cstdint>
#include <deque>
#include <optional>
#include <span>
#include <vector>

#include "disc/filter.hpp"

namespace goodside::listen {

/// Whether the stylus is in the groove, from what the bench hears while it happens.
///
/// Method:  the level L [dB re full scale, both channels together] in blocks of 5 ms between 0.5 and
///          8 kHz, where a groove is heard and neither hum nor a converter's shaped noise. The floor
///          F is the least median of L over one second, of the last 30 s with the stylus up.
///          Down:   L > F + 5 dB in four fifths of a second: longer than any knock of the arm.
///          Lifted: not so in nine tenths of the last 10 s, or of 3 s where the cut is over by then.
///          Locked: over three turns L(t) and L(t - T), each less its mean over a quarter turn,
///          correlate with r >= 0.6 for some T within 3 % of a turn, and do so for two turns (ten
///          where the cut's length is not known, and at least 12 dB under the loudest second): the
///          stylus runs in one turn of the groove for ever.
///          A cut whose length is known is never ended as locked before 1.02 of it, since music
///          may repeat at a turn's pace.
/// Source:  none for the figures (common practice); 5 ms of 7.5 kHz have L within 0.5 dB (chi-square
///          of 2 B t degrees of freedom a channel), so that 5 dB is no accident. Neighbouring turns
///          of real grooves correlate with r <= 0.35 (tests/published/record_noise).
/// Valid:   where the groove is 5 dB above the bench's own noise; else the person says when.
/// Cost:    O(1) a frame, memory of some 30 s of levels.
class GrooveWatch {
 public:
  struct Setting {
    double sample_rate_Hz{96000.0};  ///< >= 22050
    int channels{2};
    double turn_s{1.8};
    std::optional<double> programme_s{};  ///< of the cut, where it is known
  };
  /// settling: the floor is not known yet, which takes one second with the stylus up.
  enum class State { settling, waiting, playing, ended };
  enum class End { none, lifted, locked_groove, too_long, by_hand };

  explicit GrooveWatch(const Setting& setting);

  /// Whole frames, full scale 1. After the end nothing is taken any more.
  void take(std::span<const float> interleaved);
  /// What a person says who sees more; from settling or waiting, and from playing.
  void begin();
  void end();

  [[nodiscard]] State state() const { return state_; }
  [[nodiscard]] End how_ended() const { return end_; }
  [[nodiscard]] std::optional<double> floor_dB() const { return floor_dB_; }
  /// From the last second before the stylus was certainly down; what lies before is pre-roll.
  [[nodiscard]] std::int64_t from_frame() const { return from_frame_; }
  /// Behind the last groove that was heard and one second more.
  [[nodiscard]] std::int64_t to_frame() const { return to_frame_; }
  /// How long nothing has been heard of the groove while playing.
  [[nodiscard]] double silent_s() const;
  /// Noise that was taken for a groove and ended at once: the stylus was brushed, say.
  [[nodiscard]] int false_starts() const { return false_starts_; }

 private:
  void close_block();
  void follow_floor();
  void look_for_down();
  void look_for_end();
  void stop(End how, std::int64_t at_frame);
  [[nodiscard]] bool locked() const;
  [[nodiscard]] double heard_share(double last_s) const;
  [[nodiscard]] std::size_t blocks(double seconds) const;
  [[nodiscard]] double played_s() const;

  Setting setting_;
  std::vector<std::array<disc::Biquad, 3>> band_;  ///< a channel
  std::size_t block_frames_;
  double energy_{};
  std::size_t in_block_{};
  std::int64_t frames_{}, closed_{};
  std::deque<float> levels_dB_;    ///< newest last
  std::deque<double> medians_dB_;  ///< of whole seconds with the stylus up
  State state_{State::settling};
  End end_{End::none};
  std::optional<double> floor_dB_{};
  double loudest_dB_{};
  std::int64_t from_frame_{}, to_frame_{}, heard_frame_{};
  int locked_blocks_{}, false_starts_{};
};

}  // namespace goodside::listen
