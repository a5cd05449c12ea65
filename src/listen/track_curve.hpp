#pragma once
#include <cstdint>
#include <span>

#include "maths/uniform_spline.hpp"
#include "signal/warp.hpp"

namespace goodside::listen {

/// Points of every time track lie at whole multiples of this in capture time.
inline constexpr double track_hop_s = 0.02;

/// A time track as a smooth curve: programme time at any capture time; straight past its ends.
class TrackCurve {
 public:
  /// `first`: grid point of the spline's first value.
  TrackCurve(std::int64_t first, maths::UniformSpline programme_s)
      : first_{first}, programme_s_{std::move(programme_s)} {}

  [[nodiscard]] double programme_at(double capture_s) const;
  [[nodiscard]] double from_s() const;
  // What it was made of.
  [[nodiscard]] std::int64_t first() const { return first_; }
  [[nodiscard]] std::span<const double> points() const { return programme_s_.values(); }
  /// The inverse, by fixed-point steps: the curve runs within a few per cent of 1:1. Error below 1
  /// ns.
  [[nodiscard]] double capture_at(double programme_s) const;

  /// out[i][n] = reference i at the programme time of capture sample first_sample + n.
  /// reference[i][0] is sample `reference_first` of a recording at `reference_rate_Hz`.
  void warp(const signal::WarpReader& reader,
            std::span<const std::span<const float>> reference,
            double reference_first,
            double reference_rate_Hz,
            std::int64_t first_sample,
            double capture_rate_Hz,
            std::span<const std::span<float>> out) const;

 private:
  std::int64_t first_;
  maths::UniformSpline programme_s_;
};

}  // namespace goodside::listen
