#pragma once
#include <memory>
#include <vector>

#include "base/result.hpp"
#include "listen/match.hpp"
#include "listen/piece_reader.hpp"
#include "listen/prediction_faults.hpp"
#include "listen/robust_prediction.hpp"

namespace goodside::listen {

inline constexpr double audible_from_Hz = 1000.0;

/// Weighs a burst by what is left when its samples are interpolated from both sides (ar_model.hpp):
///     fault      energy above 1 kHz of recording less interpolation
///     programme  energy above 1 kHz of the 5 ms before and the 5 ms after, their mean
///     noise      of the quietest quarter second of the recording: an upper bound of the surface's
/// The three over one length: 5 ms, or the burst's own where it is longer.
class GapWeigher {
 public:
  /// `noise_power`: mean square above 1 kHz, both channels together.
  GapWeigher(std::unique_ptr<PieceReader> reader, double noise_power);

  /// Fills in everything but time, ratio and severity. from_s < to_s, at most 15 ms apart.
  Outcome weigh(double from_s, double to_s, PredictionFault& fault);

 private:
  void interpolate_gap(std::size_t channel, std::size_t from, std::size_t to);
  void measure_shape(std::size_t from, std::size_t to, PredictionFault& fault) const;
  void weigh_audibly(std::size_t from, std::size_t to, PredictionFault& fault);

  std::unique_ptr<PieceReader> reader_;
  double noise_power_;
  RobustPredictor predictor_;
  StereoSamples raw_, samples_, fault_;
};

}  // namespace goodside::listen
