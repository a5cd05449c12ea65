#pragma once
#include <cstdint>
#include <vector>

#include "base/result.hpp"
#include "listen/piece_reader.hpp"
#include "listen/place.hpp"
#include "listen/transfer.hpp"

namespace goodside::listen {

/// The fine track over one piece of capture time.
struct PieceTrack {
  std::int64_t first{};             ///< its first point on the grid of track_hop_s
  std::vector<double> programme_s;  ///< programme time at each point
  std::vector<double> sigma_s;      ///< standard error; infinity where nothing holds
  std::vector<float>
      calm;           ///< 1 where the frame looks like the programme, towards 0 where disturbed
  Transfer transfer;  ///< as heard in this piece, tied to this piece's track
  std::vector<float> weight;  ///< programme power in each of its bins
  std::vector<float> heard,
      explained;        ///< whitened energy by point; their ratio tells the right title
  double sign_votes{};  ///< negative: the sum of both channels is inverted
};

/// Follows the programme through capture time [from_s, to_s] along one placed stretch.
/// Three passes of generalised cross-correlation bring the track to microseconds; the first lays a cubic with one
/// sway a turn (`revolution_s`) through the piece where it is long enough. Then the linearised maximum-likelihood
/// delay of each 43-ms frame against the filtered 2x2 prediction,
///     d = - sum_f w Im(conj(Y) C)/V / sum_f w^2 |Y|^2/V,
/// Y the prediction, C the capture, V the median power of their difference + 1e-3 |Y|^2, is smoothed with the
/// penalty that foretells left-out 40-ms blocks best (maths/whittaker). Four rounds, the band opened after the
/// first.
/// Source:   [KnappCarter1976] for the delay estimators.
/// Accuracy: docs/listening.md. The constant is arbitrary and tied to `transfer`: see tie_pieces.
/// Errors:   the sources'.
Result<PieceTrack> follow_piece(PieceReader& capture,
                                PieceReader& reference,
                                const PlacedStretch& placed,
                                double from_s,
                                double to_s,
                                bool mono,
                                double revolution_s);

/// Gives all pieces of a side one common transfer: for each the seconds to add to its programme
/// times, from the phase slope of its transfer against the sum of all.
std::vector<double> tie_pieces(const std::vector<PieceTrack>& pieces, double timing_rate_Hz);

}  // namespace goodside::listen
