#include "disc/tracing.hpp"

#include <algorithm>

namespace goodside::disc {

double Tracing::next(double velocity, double strength_s) {
  std::copy_backward(past_.begin(), past_.end() - 1, past_.end());
  past_[0] = velocity;
  constexpr std::array weights{4.0 / 5.0, -1.0 / 5.0, 4.0 / 105.0, -1.0 / 280.0};
  double slope = 0.0;
  for (std::size_t k = 0; k < weights.size(); ++k) {
    const double later = past_[delay_frames - 1 - k];
    const double earlier = past_[delay_frames + 1 + k];
    slope += weights[k] * (later * later - earlier * earlier);
  }
  return past_[delay_frames] + strength_s * rate_Hz_ * slope;
}

}  // namespace goodside::disc
