#pragma once
#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>

#include "base/result.hpp"
#include "listen/match.hpp"
#include "listen/piece_reader.hpp"
#include "listen/side_track.hpp"
#include "listen/trace_cut.hpp"
#include "signal/warp.hpp"

namespace goodside::listen {

/// The stretch playing at a moment; null between stretches.
const FollowedStretch* stretch_at(const SideTrack& track, double capture_s);
/// How far the frame about a moment looks like the programme, 0 to 1; 0 where nothing was followed.
double calm_at(const SideTrack& track, double capture_s);

/// The factor that a reference is thinned by to what the capture can hold; the warp's own cutoff does the rest.
std::size_t reference_factor(double reference_rate_Hz, double listening_rate_Hz);

/// A piece of capture with the cut laid over it, all of one length and at the capture reader's rate.
struct LaidPiece {
  std::int64_t first{};      ///< sample of the capture that [0] is
  StereoSamples capture;     ///< in the cut's polarity and channel order
  StereoSamples warped;      ///< the cut as the stylus met it; [1] unused when mono
  StereoSamples prediction;  ///< that, as this player plays it
  BendEnergy bend;           ///< by limiter and stylus
};

/// Lays the cut over one piece of a capture after another. One instance serves one thread.
class CutLayer {
 public:
  /// `track` is only referred to. `mono`: the reference carries one signal.
  CutLayer(std::unique_ptr<PieceReader> capture,
           std::unique_ptr<PieceReader> reference,
           const SideTrack& track,
           bool mono);

  [[nodiscard]] double rate_Hz() const { return capture_->rate_Hz(); }
  [[nodiscard]] std::int64_t frames() const { return capture_->frames(); }
  [[nodiscard]] const GrooveReading& reading() const { return reading_; }

  /// How a stereo cut is read from now on; without, the groove is heard as it was cut.
  void read_with(const GrooveReading& reading) { reading_ = reading; }

  /// Reads `count` samples from sample `first`, turns them to the cut's polarity and channel order, warps the cut
  /// onto them and matches the player. `storage` holds the cut's own samples meanwhile. Silence is laid where no
  /// stretch plays. Errors: the sources'.
  Outcome lay(std::int64_t first, std::size_t count, LaidPiece& piece, StereoSamples& storage);
  /// What each reading would leave of the `count` samples from `first`, added to `left`, one for one. Only for a
  /// stereo cut.
  Outcome try_readings(std::int64_t first,
                       std::size_t count,
                       std::span<const GrooveReading> readings,
                       std::span<Leftover> left);
  /// The matching alone, over what `lay` has laid.
  void match(LaidPiece& piece) const;
  /// How far the frame about t s from the piece's first sample may shape the player's transfer.
  [[nodiscard]] double trust(const LaidPiece& piece, double t_s) const;

 private:
  Outcome read_capture(std::int64_t first, std::size_t count, LaidPiece& piece);
  void read_groove(const GrooveReading& reading, LaidPiece& piece);
  void trace_groove(const GrooveReading& reading, LaidPiece& piece);
  Outcome warp_cut(LaidPiece& piece, StereoSamples& storage);

  std::unique_ptr<PieceReader> capture_, reference_;
  const SideTrack& track_;
  bool mono_;
  signal::WarpReader warp_;
  GrooveReading reading_;
  StereoSamples groove_, storage_;  // at the groove's rate
};

}  // namespace goodside::listen
