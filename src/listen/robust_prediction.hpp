#pragma once
#include <cstddef>
#include <span>
#include <vector>

#include "listen/ar_model.hpp"
#include "signal/aligned.hpp"

namespace goodside::listen {

inline constexpr std::size_t prediction_order = 48;

/// Fits autoregressive models to short blocks so that clicks in a block do not shape its model, and filters
/// with them. Holds only storage: one for each thread.
class RobustPredictor {
 public:
  /// Model and scale of one block: Hann-windowed lags, then again with the outliers of the last fit (over 4 sigma,
  /// sigma = 1.4826 median |e|) replaced by their prediction, at most 3 ms on end; up to four times while sigma
  /// falls by a tenth, since a click of 1000 sigma spoils more than the first fit.
  /// `samples`: more than 2 P of them. Digital silence gives the filter 1 and the least scale.
  struct Fit {
    ArModel model;
    double sigma{};  ///< robust scale of e, at least 1e-7
  };
  Fit fit(std::span<const float> samples, double rate_Hz);

  /// out[n] = e[n]/sigma for samples from .. from + out.size()-1; `from` >= P.
  void whiten(const Fit& fit,
              std::span<const float> samples,
              std::size_t from,
              std::span<float> out);

 private:
  ArModel plain_fit(std::span<const float> samples);
  double predict(const ArModel& model, std::span<const float> samples);
  void clean(const ArModel& model, double line, std::size_t longest);

  std::vector<float> window_, windowed_, cleaned_, error_, sorted_, taps_;
};

}  // namespace goodside::listen
