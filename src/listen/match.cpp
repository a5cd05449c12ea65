#include "listen/match.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>
#include <vector>

#include "disc/filter.hpp"
#include "listen/trace_cut.hpp"
#include "listen/transfer.hpp"
#include "signal/clones.hpp"
#include "signal/fft.hpp"
#include "signal/half_band.hpp"

namespace goodside::listen {
namespace {

using Spectrum = signal::Aligned<Complex>;
constexpr double frame_s = 0.085;
constexpr double part_s = 1.0;  // sums are kept by the second
constexpr double knot_s = 2.0;  // a transfer is solved so often
constexpr std::size_t smoothing = 2;

/// The Hann window as three bins of the rectangular spectrum: 1/2, -1/4 on either side.
GOODSIDE_CLONES void hann_bins(const Complex* in, Complex* out, std::size_t bins) {
  for (std::size_t k = 1; k + 1 < bins; ++k)
    out[k] = 0.5F * in[k] - 0.25F * (in[k - 1] + in[k + 1]);
  out[0] = 0.5F * in[0] - 0.5F * Complex{in[1].real(), 0.0F};
  out[bins - 1] = 0.5F * in[bins - 1] - 0.5F * Complex{in[bins - 2].real(), 0.0F};
}

GOODSIDE_CLONES void blend(
    const Complex* a, const Complex* b, float share, Complex* out, std::size_t bins) {
  for (std::size_t k = 0; k < bins; ++k) out[k] = a[k] + share * (b[k] - a[k]);
}

GOODSIDE_CLONES void add_to(float* sum, const float* more, float scale, std::size_t count) {
#pragma omp simd
  for (std::size_t j = 0; j < count; ++j) sum[j] += scale * more[j];
}

class Matcher {
 public:
  Matcher(double rate_Hz, bool mono) : rate_Hz_{rate_Hz}, mono_{mono} {
    while (static_cast<double>(length_) < frame_s * rate_Hz) length_ *= 2;
    fft_ = &signal::shared_fft(length_);
    frame_.resize(length_);
    for (auto& spectrum : cut_) spectrum.resize(fft_->bins());
    for (auto& spectrum : hann_) spectrum.resize(fft_->bins());
    raw_.resize(fft_->bins());
    for (auto& one : now_) one.resize(fft_->bins());
  }

  void fit(const StereoSamples& capture,
           const StereoSamples& warped,
           const std::function<double(double)>& trust) {
    const std::size_t samples = capture[0].size();
    const std::size_t hop = length_ / 2;
    const std::size_t frames = samples / hop + 1;
    const double duration_s = static_cast<double>(samples) / rate_Hz_;
    const auto parts = static_cast<std::size_t>(std::ceil(duration_s / part_s)) + 1;
    std::vector<TransferFit> sums(parts, TransferFit{fft_->bins(), mono_});
    for (std::size_t f = 0; f < frames; ++f) {
      const double middle_s = static_cast<double>(f * hop) / rate_Hz_;
      const auto weight = static_cast<float>(trust(middle_s));
      if (!(weight > 1e-3F)) continue;
      transform(warped[0], f, hann_[0]);
      if (!mono_) transform(warped[1], f, hann_[1]);
      transform(capture[0], f, hann_[2]);
      transform(capture[1], f, hann_[3]);
      const auto part = std::min(parts - 1, static_cast<std::size_t>(middle_s / part_s));
      sums[part].add(weight, hann_[0], mono_ ? hann_[0] : hann_[1], hann_[2], hann_[3]);
    }
    solve_knots(sums, duration_s);
  }

  void render(const StereoSamples& warped, StereoSamples& prediction) {
    const std::size_t samples = warped[0].size();
    const std::size_t hop = length_ / 2;
    const std::size_t frames = samples / hop + 1;
    for (auto& channel : prediction) {
      channel.resize(samples);
      // The last quarter of a frame has no frame of its own.
      std::fill(
          channel.end() - static_cast<std::ptrdiff_t>(std::min(samples, hop)), channel.end(), 0.0F);
    }
    for (std::size_t f = 0; f < frames; ++f) {
      const double u = static_cast<double>(f * hop) / rate_Hz_ / knot_s;
      const auto before = std::min(static_cast<std::size_t>(u), knots_.size() - 1);
      const std::size_t after = std::min(before + 1, knots_.size() - 1);
      const auto share = static_cast<float>(std::clamp(u - static_cast<double>(before), 0.0, 1.0));
      fft_->forward(framed(warped[0], f), cut_[0]);
      if (!mono_) fft_->forward(framed(warped[1], f), cut_[1]);
      for (std::size_t i = 0; i < 4; ++i)
        if (!mono_ || i % 2 == 0)
          blend(knots_[before][i].data(),
                knots_[after][i].data(),
                share,
                now_[i].data(),
                now_[i].size());
      for (std::size_t i = 0; i < 2; ++i) {
        predict(now_, i, mono_, cut_[0], mono_ ? cut_[0] : cut_[1], raw_);
        fft_->inverse(raw_, frame_);
        // The middle half is free of the circular wrap of taps up to a quarter either way.
        const auto first =
            static_cast<std::ptrdiff_t>(f * hop) - static_cast<std::ptrdiff_t>(length_ / 4);
        const auto from = static_cast<std::size_t>(std::max<std::ptrdiff_t>(0, -first));
        const auto left = static_cast<std::ptrdiff_t>(samples) - first;
        const auto to = std::min(hop, static_cast<std::size_t>(std::max<std::ptrdiff_t>(0, left)));
        if (from < to)
          std::copy_n(frame_.begin() + static_cast<std::ptrdiff_t>(length_ / 4 + from),
                      to - from,
                      prediction[i].begin() + first + static_cast<std::ptrdiff_t>(from));
      }
    }
  }

 private:
  /// The frame whose middle is sample f length/2.
  std::span<const float> framed(const signal::Aligned<float>& samples, std::size_t f) {
    const auto first =
        static_cast<std::ptrdiff_t>(f * length_ / 2) - static_cast<std::ptrdiff_t>(length_ / 2);
    const auto end = static_cast<std::ptrdiff_t>(samples.size());
    if (first >= 0 && first + static_cast<std::ptrdiff_t>(length_) <= end)
      return std::span{samples}.subspan(static_cast<std::size_t>(first), length_);
    for (std::size_t j = 0; j < length_; ++j) {
      const std::ptrdiff_t at = first + static_cast<std::ptrdiff_t>(j);
      frame_[j] = at >= 0 && at < end ? samples[static_cast<std::size_t>(at)] : 0.0F;
    }
    return frame_;
  }

  void transform(const signal::Aligned<float>& samples, std::size_t f, Spectrum& out) {
    fft_->forward(framed(samples, f), raw_);
    hann_bins(raw_.data(), out.data(), out.size());
  }

  void solve_knots(const std::vector<TransferFit>& parts, double duration_s) {
    const auto count = static_cast<std::size_t>(std::ceil(duration_s / knot_s)) + 1;
    knots_.clear();
    TransferFit fit{fft_->bins(), mono_};
    for (std::size_t k = 0; k < count; ++k) {
      fit.clear();
      for (std::size_t p = 0; p < parts.size(); ++p) {
        const double away_s =
            std::abs((static_cast<double>(p) + 0.5) * part_s - static_cast<double>(k) * knot_s);
        // A trace of everything keeps a transfer where the neighbourhood is silent.
        const double weight = std::max(1e-4, 1.0 - away_s / (1.25 * knot_s));
        fit.add(parts[p], static_cast<float>(weight));
      }
      knots_.push_back(fit.solve(smoothing));
      for (std::size_t i = 0; i < 4; ++i)
        if (!mono_ || i % 2 == 0) shorten(knots_.back()[i]);
    }
  }

  /// Cuts the impulse response to a quarter of the frame either way, with cosine ends; scales for
  /// the inverse.
  void shorten(std::vector<Complex>& transfer) {
    std::ranges::copy(transfer, raw_.begin());
    fft_->inverse(raw_, frame_);
    const std::size_t reach = length_ / 4;
    const std::size_t taper = length_ / 16;
    const float scale = 1.0F / static_cast<float>(length_);
    for (std::size_t j = 0; j < length_; ++j) {
      const std::size_t away = std::min(j, length_ - j);
      float gain = 0.0F;
      if (away + taper <= reach)
        gain = 1.0F;
      else if (away < reach)
        gain = static_cast<float>(
            0.5 - 0.5 * std::cos(std::numbers::pi * static_cast<double>(reach - away) /
                                 static_cast<double>(taper)));
      frame_[j] *= gain * scale;
    }
    fft_->forward(frame_, raw_);
    for (std::size_t k = 0; k < transfer.size(); ++k) transfer[k] = raw_[k] * scale;
  }

  double rate_Hz_;
  bool mono_;
  std::size_t length_{512};
  const signal::RealFft* fft_{};
  signal::Aligned<float> frame_;
  std::array<Spectrum, 2> cut_;
  std::array<Spectrum, 4> hann_;
  Spectrum raw_;
  Transfer now_;
  std::vector<Transfer> knots_;
};

enum class Kind { played, cut, limited };

/// One power of a signal, worked out at the groove's rate; a slope is the difference to the sample before.
class Bender {
 public:
  explicit Bender(double rate_Hz)
      : cutting_{recording_curve(rate_Hz * static_cast<double>(groove_oversampling)).cutting} {}

  void bend(Kind kind, const signal::Aligned<float>& samples, signal::Aligned<float>& out) {
    signal::double_rate(samples, fine_);
    if (kind == Kind::cut) {
      disc::Biquad cutting = cutting_;
      for (float& sample : fine_) sample = static_cast<float>(cutting(static_cast<double>(sample)));
    }
    raise_to(kind == Kind::limited ? Power::cube : Power::square_slope, fine_);
    out.resize(samples.size());
    signal::halve_rate(fine_, out);
  }

 private:
  disc::Biquad cutting_;
  signal::Aligned<float> fine_;
};

GOODSIDE_CLONES double power_of(const float* samples, std::size_t count) {
  double power = 0.0;
#pragma omp simd reduction(+ : power)
  for (std::size_t j = 0; j < count; ++j)
    power += static_cast<double>(samples[j]) * static_cast<double>(samples[j]);
  return power;
}

GOODSIDE_CLONES void scale_by(float scale, float* samples, std::size_t count) {
#pragma omp simd
  for (std::size_t j = 0; j < count; ++j) samples[j] *= scale;
}

void to_unit_power(signal::Aligned<float>& samples) {
  const std::size_t count = samples.size();
  const double power = power_of(samples.data(), count) + 1e-20;
  scale_by(
      static_cast<float>(std::sqrt(static_cast<double>(count) / power)), samples.data(), count);
}

/// Backwards, so that no sample is changed before the next one has read it.
GOODSIDE_CLONES void to_square_slope(float* samples, std::size_t count) {
  for (std::size_t j = count - 1; j > 0; --j)
    samples[j] = samples[j] * samples[j] - samples[j - 1] * samples[j - 1];
  samples[0] *= samples[0];
}

/// The steps' energy of cells of `width` samples, each step from the sample before.
GOODSIDE_CLONES void add_step_energies(
    const float* samples, std::size_t width, float scale, float* energy, std::size_t cells) {
  for (std::size_t c = 0; c < cells; ++c) {
    const float* at = samples + c * width;
    float sum = 0.0F;
#pragma omp simd reduction(+ : sum)
    for (std::size_t j = 0; j < width; ++j) {
      const float step = at[j] - *(at + j - 1);
      sum += step * step;
    }
    energy[c] += scale * sum;
  }
}

}  // namespace

void raise_to(Power power, signal::Aligned<float>& samples) {
  if (power == Power::cube) {
    for (float& sample : samples) sample *= sample * sample;
    return;
  }
  if (!samples.empty()) to_square_slope(samples.data(), samples.size());
}

void add_bend(const signal::Aligned<float>& change,
              std::size_t oversampling,
              std::vector<float>& bend) {
  const std::size_t width = bend_cell * oversampling;
  bend.resize(change.size() / width, 0.0F);
  // On the finer grid each step is so much smaller, and there are so many more of them.
  const auto scale = static_cast<float>(oversampling);
  if (bend.empty()) return;
  // The first cell is a step short.
  for (std::size_t j = 1; j < width; ++j)
    bend[0] += scale * (change[j] - change[j - 1]) * (change[j] - change[j - 1]);
  add_step_energies(change.data() + width, width, scale, bend.data() + 1, bend.size() - 1);
}

void match_player(const StereoSamples& capture,
                  const StereoSamples& warped,
                  bool mono,
                  double rate_Hz,
                  const std::function<double(double)>& trust,
                  StereoSamples& prediction) {
  Matcher matcher{rate_Hz, mono};
  matcher.fit(capture, warped, trust);
  matcher.render(warped, prediction);
}

void match_bends(const StereoSamples& warped,
                 const Bends& bends,
                 bool mono,
                 double rate_Hz,
                 const std::function<double(double)>& trust,
                 StereoSamples& residual,
                 StereoSamples& prediction,
                 BendEnergy& bend,
                 StereoSamples& bent,
                 StereoSamples& explained) {
  const std::size_t count = residual[0].size();
  const auto take_away = [&](StereoSamples& from) {
    for (std::size_t i = 0; i < 2; ++i) add_to(from[i].data(), explained[i].data(), -1.0F, count);
  };
  Bender bender{rate_Hz};
  for (const auto& [wanted, kind] : {std::pair{bends.played, Kind::played},
                                     std::pair{bends.cut, Kind::cut},
                                     std::pair{bends.limited, Kind::limited}}) {
    if (!wanted) continue;
    for (std::size_t i = 0; i < 2; ++i) {
      if (kind != Kind::played && mono && i == 1) {
        bent[1] = bent[0];
        continue;
      }
      bender.bend(kind, kind == Kind::played ? prediction[i] : warped[i], bent[i]);
      to_unit_power(bent[i]);
    }
    if (kind == Kind::limited) {
      match_player(bent, warped, mono, rate_Hz, trust, explained);
      take_away(bent);
    }
    match_player(residual, bent, mono, rate_Hz, trust, explained);
    take_away(residual);
    for (std::size_t i = 0; i < 2; ++i) {
      add_to(prediction[i].data(), explained[i].data(), 1.0F, count);
      add_bend(explained[i], 1, bend[i]);
    }
  }
}

}  // namespace goodside::listen
