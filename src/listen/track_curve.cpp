#include "listen/track_curve.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "base/expects.hpp"

namespace goodside::listen {

double TrackCurve::programme_at(double capture_s) const {
  return programme_s_.at(capture_s / track_hop_s - static_cast<double>(first_));
}

double TrackCurve::from_s() const {
  return static_cast<double>(first_) * track_hop_s;
}

double TrackCurve::capture_at(double programme_s) const {
  double capture_s = from_s() + (programme_s - programme_at(from_s()));
  for (int step = 0; step < 60; ++step) {
    const double gap = programme_s - programme_at(capture_s);
    capture_s += gap;
    if (std::abs(gap) < 1e-9) break;
  }
  return capture_s;
}

void TrackCurve::warp(const signal::WarpReader& reader,
                      std::span<const std::span<const float>> reference,
                      double reference_first,
                      double reference_rate_Hz,
                      std::int64_t first_sample,
                      double capture_rate_Hz,
                      std::span<const std::span<float>> out) const {
  EXPECTS(out.size() == reference.size() && !out.empty() && out.size() <= 2);
  const std::size_t count = out[0].size();
  const double step = 1.0 / (capture_rate_Hz * track_hop_s);  // of u, a sample
  const auto last = static_cast<double>(programme_s_.size() - 1);
  std::array<std::span<float>, 2> part{};
  for (std::size_t n = 0; n < count;) {
    const double u = (static_cast<double>(first_sample) + static_cast<double>(n)) * step -
                     static_cast<double>(first_);
    signal::WarpReader::Cubic position{};
    double end = 0.0;  // of this cubic, in u
    if (u < 0.0 || u >= last) {
      position = {programme_s_.at(u), programme_s_.slope_at(u) * step, 0.0, 0.0};
      end = u < 0.0 ? 0.0 : u + 1.0;
    } else {
      const double below = std::floor(u);
      const auto c = programme_s_.piece(static_cast<std::size_t>(below));
      const double x = u - below;
      position = {c.value + x * (c.slope + x * (c.bend + x * c.twist)),
                  step * (c.slope + x * (2.0 * c.bend + 3.0 * x * c.twist)),
                  step * step * (c.bend + 3.0 * x * c.twist),
                  step * step * step * c.twist};
      end = below + 1.0;
    }
    const double samples = std::max(1.0, std::ceil((end - u) / step - 1e-6));
    const std::size_t width = std::min(count - n, static_cast<std::size_t>(samples));
    position.first = position.first * reference_rate_Hz - reference_first;
    position.rate *= reference_rate_Hz;
    position.bend *= reference_rate_Hz;
    position.twist *= reference_rate_Hz;
    for (std::size_t i = 0; i < out.size(); ++i) part[i] = out[i].subspan(n, width);
    reader.read(reference, position, {part.data(), out.size()});
    n += width;
  }
}

}  // namespace goodside::listen
