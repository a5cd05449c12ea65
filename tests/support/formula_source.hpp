#pragma once
#include <cmath>
#include <functional>
#include <memory>
#include <span>
#include <utility>

#include "signal/sample_source.hpp"

namespace goodside::testing {

/// A recording that is a formula: channel c at time t is `wave(t, c)`.
class FormulaSource final : public signal::SampleSource {
 public:
  using Wave = std::function<double(double time_s, int channel)>;
  struct Shape {
    double sample_rate_Hz{48000.0};
    int channels{2};
    double duration_s{10.0};
  };

  FormulaSource(Shape shape, Wave wave) : shape_{shape}, wave_{std::move(wave)} {}

  [[nodiscard]] double sample_rate_Hz() const override { return shape_.sample_rate_Hz; }
  [[nodiscard]] int channels() const override { return shape_.channels; }
  [[nodiscard]] std::int64_t frames() const override {
    return std::llround(shape_.duration_s * shape_.sample_rate_Hz);
  }

  Outcome read(std::int64_t from, std::span<float> interleaved) override {
    const auto width = static_cast<std::size_t>(shape_.channels);
    for (std::size_t k = 0; k < interleaved.size(); ++k) {
      const std::int64_t frame = from + static_cast<std::int64_t>(k / width);
      const bool inside = frame >= 0 && frame < frames();
      const double time_s = static_cast<double>(frame) / shape_.sample_rate_Hz;
      interleaved[k] =
          inside ? static_cast<float>(wave_(time_s, static_cast<int>(k % width))) : 0.0f;
    }
    return Done{};
  }

  [[nodiscard]] Result<std::unique_ptr<SampleSource>> again() const override {
    return std::unique_ptr<SampleSource>{std::make_unique<FormulaSource>(shape_, wave_)};
  }

 private:
  Shape shape_;
  Wave wave_;
};

}  // namespace goodside::testing
