#pragma once
#include <cstddef>
#include <functional>
#include <vector>

#include "base/result.hpp"
#include "listen/classify.hpp"
#include "signal/sample_source.hpp"

namespace goodside::listen {

struct PredictionSetting {
  /// Events of programme and surface that may pass for faults, a minute: sets the line.
  double false_alarms_per_min{0.5};
  /// A filled, coarse-groove surface: what stands in line with the tail of all bursts is noise, however high. Else
  /// bursts of 13 dB and more count, be they as many as they will: a disc full of ticks is no clean one.
  bool crackle_is_noise{};
  int jobs{};  ///< 0: all cores
};

/// A burst that its own past does not predict.
struct PredictionFault {
  double at_s{};           ///< its sharpest sample, in the recording's time
  double duration_s{};     ///< between 3 and 95 % of its energy
  double energy_ratio{};   ///< whitened energy of its loudest 0.35 ms over what is usual around it
  double severity_dB{};    ///< how far it stands out from its neighbourhood, within 50 ms
  EventFeatures features;  ///< levels re full scale of this recording; nothing of a prediction
  FaultClass named;        ///< kind (tick, pop, burst or clip), channel, plane
  double fault_energy{}, noise_energy{}, programme_energy{};  ///< as listen::audibility weighs them
};

struct PredictionFindings {
  std::vector<PredictionFault> faults;  ///< over the line, in order of time
  std::size_t candidates{};             ///< bursts that were weighed against the line
  double line_dB{};                     ///< of severity
  double expected_false{};  ///< events that the tail of the candidates puts over the line
};

/// Ticks and pops of a recording without its reference, by what is left of an autoregressive
/// prediction.
///     x[n] = sum_i a_i x[n - i] + e[n],  i = 1 .. 48,  fitted to blocks of 45 ms of lateral and vertical,
///     again with the outliers of the last fit replaced by their prediction (robust_prediction.hpp)
/// Source:   S. V. Vaseghi and P. J. W. Rayner; S. J. Godsill and P. J. W. Rayner, Digital Audio
///           Restoration (1998). Order, block and refit: docs/listening_alone.md.
/// A burst counts by how far it stands out from both sides of its neighbourhood, since a consonant, a
/// drum or the next period of a voice goes on where a tick does not. The line is set from the tail of
/// all bursts of the recording (crackle_line.hpp): music is heavier-tailed than noise, so no multiple
/// of sigma keeps a false-alarm rate.
/// Valid:    8 .. 192 kHz, one or two channels, listened to at 22 .. 48 kHz. It cannot see programme
///           that is missing, nor noise that lasts over some 10 ms, and takes percussion for faults.
/// Accuracy: docs/listening_alone.md, as measured. The same for any number of jobs; memory is bounded.
/// Errors:   Fault::bad_input under 1 s; Fault::io of the source; Fault::conflict when `go_on` says
///           false.
Result<PredictionFindings> find_prediction_faults(const signal::SampleSource& recording,
                                                  const PredictionSetting& setting,
                                                  const std::function<bool(double)>& go_on);

}  // namespace goodside::listen
