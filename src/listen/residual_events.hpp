#pragma once
#include <array>
#include <optional>
#include <vector>

#include "listen/classify.hpp"
#include "listen/fault_holder.hpp"
#include "listen/groove_ground.hpp"
#include "listen/match.hpp"
#include "works/listening_report.hpp"

namespace goodside::listen {

/// One audible or masked event in a piece, times in seconds from the piece's first sample.
struct ResidualEvent {
  double at_s{};  ///< tick: its sharpest sample; longer than 10 ms: its onset
  EventFeatures features;
  double fault_energy{}, noise_energy{}, programme_energy{};  ///< over >= 5 ms, above 1 kHz
  double severity_dB{};                                       ///< over the detector's own line
  bool of_reference{};              ///< the prediction holds it, not the capture
  std::optional<double> margin_dB;  ///< over what programme and surface hide, by the masking model
};

/// The samples that an event takes up in a piece of `count` samples, with `guard_s` before and after.
[[nodiscard]] SampleSpan samples_of(const ResidualEvent& event,
                                    double guard_s,
                                    double rate_Hz,
                                    std::size_t count);

/// Energy of the whitened residual over what programme and surface let expect, cell by cell:
/// left, right over the whole band, then left, right under 5 kHz.
struct ExcessCells {
  double cell_s{};
  std::array<std::vector<float>, ground_streams> energy;
};

struct Residual {
  std::vector<ResidualEvent> events;
  ExcessCells excess;
  std::array<double, 2> noise_power{};  ///< above 1 kHz, by channel
  double tail_lift{1.0};  ///< greatest by which leftovers of loud programme raised the floor
  int explained_away{};   ///< audible bursts that were the programme's own
};

/// Storage that one piece after another works in.
struct EventBuffers {
  StereoSamples residual;  ///< afterwards: capture less prediction
  StereoSamples white, white_prediction, clear, clear_prediction;
};

/// What is left when the prediction is taken from the capture, whitened against the surface noise, and the
/// events that stand out of it.
///   floor     variance of the whitened residual as a monotone function of the local (1.5-ms) power of the
///             equally whitened prediction: medians in 3-dB steps over the piece, by channel, raised where
///             the programme's leftovers have a heavier tail than noise; where a bend is known, so of its energy too
///   scale     running medians of 27 ms (windows up to 1.2 ms) and 0.45 s (6 and 30 ms)
///   bands     the whole, and under 5 kHz for faults of little treble
///   lines     energy over its expectation above 5, 2.6, 1.8, 1.6 in 0.17, 1.2, 6, 30 ms; far past what
///             Gaussian noise reaches, under what audibility asks for
///   leftovers a burst that seven lags of the whitened prediction, its tracing (d/dt y^2) and its cube explain
///             to two thirds is the programme's, unless programme is missing there
/// `capture` and `prediction` of one size, at least a second. Pure; deterministic.
Residual find_events(const StereoSamples& capture,
                     const StereoSamples& prediction,
                     const BendEnergy& bend,
                     double rate_Hz,
                     double gain,
                     EventBuffers& buffers);

}  // namespace goodside::listen
