#include "listen/fine_track.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <span>

#include "base/expects.hpp"
#include "listen/correlator.hpp"
#include "listen/track_curve.hpp"
#include "maths/median.hpp"
#include "maths/uniform_spline.hpp"
#include "maths/whittaker.hpp"
#include "signal/clones.hpp"
#include "signal/fft.hpp"
#include "signal/fir.hpp"
#include "signal/rank.hpp"
#include "signal/warp.hpp"
#include "signal/window.hpp"

namespace goodside::listen {
namespace {

using Spectrum = signal::Aligned<Complex>;
using Samples = signal::Aligned<float>;
constexpr double pi = std::numbers::pi;
constexpr double infinite = std::numeric_limits<double>::infinity();
constexpr double margin_s = 0.2;  // of samples beyond the piece's points
constexpr double lowest_Hz = 120.0;
constexpr double tops_Hz[] = {3500.0, 11500.0, 11500.0, 11500.0};  // of each round
constexpr double doubtful_s = 3e-6;
constexpr double blind_s = 5e-5;  // a frame that knows its delay no better knows nothing
constexpr double penalties[] = {0.03, 0.1, 0.3, 1.0, 3.0, 10.0, 30.0, 100.0, 1e3, 1e4, 1e5};

/// The piece's samples: what was captured, and the reference around it, warped to a track.
class PieceAudio {
 public:
  PieceAudio(PieceReader& heard, PieceReader& known, bool mono)
      : capture_reader_{heard},
        reference_reader_{known},
        mono_{mono},
        warp_{std::min(0.5, 0.5 * heard.rate_Hz() / known.rate_Hz()), 12},
        rough_warp_{std::min(0.5, 0.5 * heard.rate_Hz() / known.rate_Hz()), 4} {}

  Outcome load(std::int64_t first_sample, std::size_t count, double from_s, double to_s) {
    first_sample_ = first_sample;
    for (auto& channel : capture) channel.assign(count, 0.0F);
    if (auto read = capture_reader_.read(first_sample, capture[0], capture[1]); !read) return read;
    const double rate = reference_reader_.rate_Hz();
    reference_first_ = static_cast<std::int64_t>(std::floor(from_s * rate)) - 64;
    const auto known =
        static_cast<std::size_t>(std::max(0.0, std::ceil((to_s - from_s) * rate)) + 128.0);
    for (auto& channel : reference_) channel.assign(known, 0.0F);
    if (auto read = reference_reader_.read(reference_first_, reference_[0], reference_[1]); !read)
      return read;
    if (mono_)
      for (std::size_t j = 0; j < known; ++j)
        reference_[0][j] = 0.5F * (reference_[0][j] + reference_[1][j]);
    warped[0].assign(count, 0.0F);
    warped[1].assign(mono_ ? 0 : count, 0.0F);
    return Done{};
  }

  /// `roughly`: with half the taps, -60 dB to a quarter of the rate: enough to find the place by.
  void warp(const TrackCurve& curve, bool roughly = false) {
    const std::array<std::span<const float>, 2> sources{reference_[0], reference_[1]};
    const std::array<std::span<float>, 2> targets{warped[0], warped[1]};
    const std::size_t channels = mono_ ? 1 : 2;
    curve.warp(roughly ? rough_warp_ : warp_,
               {sources.data(), channels},
               static_cast<double>(reference_first_),
               reference_reader_.rate_Hz(),
               first_sample_,
               capture_reader_.rate_Hz(),
               {targets.data(), channels});
  }

  std::array<Samples, 2> capture, warped;

 private:
  PieceReader& capture_reader_;
  PieceReader& reference_reader_;
  bool mono_;
  signal::WarpReader warp_, rough_warp_;
  std::int64_t first_sample_{}, reference_first_{};
  std::array<Samples, 2> reference_;
};

/// Spectra of the Hann frames round every track point.
class Frames {
 public:
  Frames(std::size_t length, std::size_t count)
      : fft_{signal::shared_fft(length)},
        window_{signal::hann(length)},
        frame_(length),
        stride_{(fft_.bins() + 7) / 8 * 8},
        spectra_(stride_ * count) {}

  void take(const Samples& samples, std::span<const std::size_t> starts) {
    for (std::size_t k = 0; k < starts.size(); ++k) {
      signal::apply_window(std::span{samples}.subspan(starts[k], frame_.size()), window_, frame_);
      fft_.forward(frame_, at(k));
    }
  }
  [[nodiscard]] std::span<Complex> at(std::size_t k) {
    return std::span{spectra_}.subspan(k * stride_, fft_.bins());
  }

 private:
  const signal::RealFft& fft_;
  std::vector<float> window_;
  Samples frame_;
  std::size_t stride_;  // keeps each spectrum on its cache line
  Spectrum spectra_;
};

/// What one channel of one frame says of its delay, summed over bins [lowest, highest).
struct DelaySums {
  float slope{}, strength{}, gap{}, heard{};
};

GOODSIDE_CLONES DelaySums sum_delay(const Complex* predicted,
                                    const Complex* captured,
                                    const float* noise,
                                    std::size_t lowest,
                                    std::size_t highest) {
  float slope = 0.0F;
  float strength = 0.0F;
  float gap_sum = 0.0F;
  float heard = 0.0F;
#pragma omp simd reduction(+ : slope, strength, gap_sum, heard)
  for (std::size_t b = lowest; b < highest; ++b) {
    const float w = static_cast<float>(static_cast<int>(b));
    const float yr = predicted[b].real();
    const float yi = predicted[b].imag();
    const float cr = captured[b].real();
    const float ci = captured[b].imag();
    const float power = yr * yr + yi * yi;
    const float v = 1.0F / (noise[b] + 1e-3F * power);
    slope -= w * (yr * ci - yi * cr) * v;  // Im(conj(Y) C)
    strength += w * w * power * v;
    gap_sum += ((cr - yr) * (cr - yr) + (ci - yi) * (ci - yi)) * v;
    heard += (cr * cr + ci * ci) * v;
  }
  return {slope, strength, gap_sum, heard};
}

GOODSIDE_CLONES void gap_power(const Complex* a, const Complex* b, float* out, std::size_t count) {
  for (std::size_t k = 0; k < count; ++k) {
    const float re = a[k].real() - b[k].real();
    const float im = a[k].imag() - b[k].imag();
    out[k] = re * re + im * im;
  }
}

/// The whole work on one piece, from the rough path to the fine track.
class PieceFollower {
 public:
  PieceFollower(PieceReader& capture, PieceReader& reference, bool mono, double revolution_s)
      : rate_Hz_{capture.rate_Hz()},
        mono_{mono},
        revolution_s_{revolution_s},
        audio_{capture, reference, mono} {
    while (static_cast<double>(length_) < 0.03 * rate_Hz_) length_ *= 2;
    bins_ = length_ / 2 + 1;
  }

  Result<PieceTrack> follow(const PlacedStretch& placed, double from_s, double to_s) {
    piece_.first = static_cast<std::int64_t>(std::floor(from_s / track_hop_s));
    const auto last = static_cast<std::int64_t>(std::ceil(to_s / track_hop_s));
    points_ = static_cast<std::size_t>(std::max<std::int64_t>(8, last - piece_.first + 1));
    track_.resize(points_);
    for (std::size_t k = 0; k < points_; ++k) track_[k] = placed.programme_at(time_s(k));

    first_sample_ = std::llround((time_s(0) - margin_s) * rate_Hz_);
    const auto samples = static_cast<std::size_t>(
        std::llround((time_s(points_ - 1) + margin_s) * rate_Hz_) - first_sample_);
    if (auto loaded = audio_.load(first_sample_,
                                  samples,
                                  track_.front() - margin_s - 0.1,
                                  track_.back() + margin_s + 0.1);
        !loaded)
      return loaded.error();

    acquire(0.34, 0.170, 0.030, true);
    acquire(0.17, 0.080, 0.012);
    acquire(0.085, 0.060, 0.004);
    refine();
    return std::move(piece_);
  }

 private:
  [[nodiscard]] double time_s(std::size_t k) const {
    return static_cast<double>(piece_.first + static_cast<std::int64_t>(k)) * track_hop_s;
  }
  [[nodiscard]] TrackCurve curve() const {
    return TrackCurve{piece_.first, maths::UniformSpline{track_}};
  }

  /// One pass of correlation of both channels' sums.
  void acquire(double window_s, double hop_s, double reach_s, bool first_pass = false) {
    std::size_t length = 256;
    while (static_cast<double>(length) < 0.75 * window_s * rate_Hz_) length *= 2;
    const std::size_t samples = audio_.capture[0].size();
    if (samples < length) return;
    audio_.warp(curve(), true);
    Samples heard(samples);
    Samples expected(samples);
    for (std::size_t j = 0; j < samples; ++j) {
      heard[j] = audio_.capture[0][j] + audio_.capture[1][j];
      expected[j] = mono_ ? audio_.warped[0][j] : audio_.warped[0][j] + audio_.warped[1][j];
    }
    Correlator correlator{length, rate_Hz_, reach_s};
    const auto hop = static_cast<std::size_t>(std::llround(hop_s * rate_Hz_));
    std::vector<double> delays;
    std::vector<double> weights;
    std::vector<int> signs;
    double votes = 0.0;
    for (std::size_t at = 0; at + length <= samples; at += hop) {
      const DelayFix fix = correlator.fix(std::span{heard}.subspan(at, length),
                                          std::span{expected}.subspan(at, length));
      delays.push_back(fix.delay_s);
      weights.push_back(fix.sharpness);
      signs.push_back(fix.sign);
      votes += fix.sharpness * fix.sharpness * fix.sign;
    }
    for (std::size_t k = 0; k < weights.size(); ++k)
      if (votes * signs[k] < 0.0) weights[k] = 0.0;  // the polarity does not change within a side
    if (delays.size() < 3) return;
    piece_.sign_votes = votes;
    drop_strays(delays, weights, 0.1 * reach_s);
    if (std::ranges::count_if(weights, [](double w) { return w > 0.0; }) < 2) return;
    // Of the sharp ones: half a piece may be silent.
    std::vector<double> sorted = weights;
    std::ranges::sort(sorted);
    const double typical = std::max(sorted[sorted.size() * 9 / 10], 1e-9);
    for (double& weight : weights) weight = std::pow(std::min(1.0, weight / typical), 2.0) + 1e-9;
    const double first_s =
        (static_cast<double>(first_sample_) + 0.5 * static_cast<double>(length)) / rate_Hz_;
    const double step_s = static_cast<double>(hop) / rate_Hz_;
    if (first_pass && lay_turning_line(delays, weights, first_s, step_s)) return;
    const std::vector<double> smooth = maths::whittaker(delays, weights, 0.3);
    const maths::UniformSpline spline{smooth};
    // The capture runs late by d: what is heard at t was in the groove at track(t - d).
    for (std::size_t k = 0; k < points_; ++k) {
      const double u = (time_s(k) - first_s) / step_s;
      track_[k] -= spline.at(std::clamp(u, 0.0, static_cast<double>(smooth.size() - 1)));
    }
  }

  /// Replaces the rough path by a cubic and one sway a turn, fitted to what the first correlation found: the sway of a
  /// hole far off centre smears wide windows, and a pause teaches nothing. Robust: weights fall as 2 ms over the gap.
  /// False where there are not two and a half turns to fit it to, or where it does not fit.
  bool lay_turning_line(const std::vector<double>& delays,
                        const std::vector<double>& weights,
                        double first_s,
                        double step_s) {
    constexpr int terms = 6;
    using Row = Eigen::Matrix<double, terms, 1>;
    const double middle_s = 0.5 * (time_s(0) + time_s(points_ - 1));
    const double half_s = 0.5 * (time_s(points_ - 1) - time_s(0));
    const auto row_at = [&](double t) {
      const double x = (t - middle_s) / half_s;
      const double turn = 2.0 * pi * (t - middle_s) / revolution_s_;
      return Row{1.0, x, x * x, x * x * x, std::cos(turn), std::sin(turn)};
    };
    const TrackCurve rough = curve();
    std::vector<double> times;
    std::vector<double> found;
    std::vector<double> sharp;
    for (std::size_t k = 0; k < delays.size(); ++k) {
      if (weights[k] < 0.01) continue;
      const double t = first_s + step_s * static_cast<double>(k);
      times.push_back(t);
      found.push_back(rough.programme_at(t) - delays[k] - t);
      sharp.push_back(weights[k]);
    }
    if (times.size() < 20 || times.back() - times.front() < 2.5 * revolution_s_ ||
        times.back() - times.front() < 1.2 * half_s)
      return false;
    Row shape = Row::Zero();
    std::vector<double> trust(times.size(), 1.0);
    double usual = 0.0;
    for (int round = 0; round < 6; ++round) {
      Eigen::Matrix<double, terms, terms> normal = Eigen::Matrix<double, terms, terms>::Zero();
      Row right = Row::Zero();
      for (std::size_t k = 0; k < times.size(); ++k) {
        const Row row = row_at(times[k]);
        normal += sharp[k] * trust[k] * row * row.transpose();
        right += sharp[k] * trust[k] * found[k] * row;
      }
      normal.diagonal().array() += 1e-9;
      shape = normal.ldlt().solve(right);
      std::vector<double> gaps;
      for (std::size_t k = 0; k < times.size(); ++k) {
        const double gap = std::abs(found[k] - row_at(times[k]).dot(shape));
        gaps.push_back(gap);
        trust[k] = std::min(1.0, 2e-3 / std::max(gap, 1e-6));
      }
      usual = maths::median(gaps);
    }
    constexpr double fits_s = 1.5e-3;
    if (!(usual < fits_s)) return false;
    for (std::size_t k = 0; k < points_; ++k) track_[k] = time_s(k) + row_at(time_s(k)).dot(shape);
    return true;
  }

  /// Takes the weight of whatever lies far from the median of its neighbours.
  static void drop_strays(const std::vector<double>& delays,
                          std::vector<double>& weights,
                          double most) {
    constexpr std::size_t reach = 3;
    const std::vector<double> given = weights;
    for (std::size_t k = 0; k < delays.size(); ++k) {
      std::vector<double> near;
      const std::size_t from = k > reach ? k - reach : 0;
      for (std::size_t j = from; j < std::min(delays.size(), k + reach + 1); ++j)
        if (given[j] > 0.0) near.push_back(delays[j]);
      if (near.size() >= 3 && std::abs(delays[k] - maths::median(near)) > most) weights[k] = 0.0;
    }
  }

  void refine() {
    std::vector<std::size_t> starts(points_);
    for (std::size_t k = 0; k < points_; ++k)
      starts[k] = static_cast<std::size_t>(std::llround(time_s(k) * rate_Hz_) - first_sample_) -
                  length_ / 2;
    std::array<Frames, 2> heard{Frames{length_, points_}, Frames{length_, points_}};
    for (std::size_t i = 0; i < 2; ++i) heard[i].take(audio_.capture[i], starts);
    std::array<Frames, 2> cut{Frames{length_, points_}, Frames{length_, mono_ ? 1 : points_}};
    piece_.calm.assign(points_, 1.0F);
    for (const double top_Hz : tops_Hz) {
      audio_.warp(curve(), top_Hz < 5000.0);
      cut[0].take(audio_.warped[0], starts);
      if (!mono_) cut[1].take(audio_.warped[1], starts);
      TransferFit fit{bins_, mono_};
      for (std::size_t k = 0; k < points_; ++k)
        fit.add(piece_.calm[k], cut[0].at(k), second(cut, k), heard[0].at(k), heard[1].at(k));
      piece_.transfer = fit.solve(1);
      piece_.weight = fit.power();
      measure_noise(heard, cut);
      measure_delays(heard, cut, top_Hz);
      smooth_track();
    }
    set_sigma();
    piece_.programme_s = track_;
  }

  [[nodiscard]] std::span<const Complex> second(std::array<Frames, 2>& cut, std::size_t k) const {
    return mono_ ? cut[0].at(k) : cut[1].at(k);
  }

  /// Median over frames of each bin's residual power, per channel.
  void measure_noise(std::array<Frames, 2>& heard, std::array<Frames, 2>& cut) {
    constexpr std::size_t most = 100;  // frames looked at
    const std::size_t stride = points_ / most + 1;
    const std::size_t used = (points_ + stride - 1) / stride;
    Spectrum predicted(bins_);
    std::vector<float> powers(used * bins_);
    std::vector<float> column(used);
    noise_.resize(2 * bins_);
    for (std::size_t i = 0; i < 2; ++i) {
      for (std::size_t u = 0; u < used; ++u) {
        const std::size_t k = u * stride;
        predict(piece_.transfer, i, mono_, cut[0].at(k), second(cut, k), predicted);
        gap_power(heard[i].at(k).data(), predicted.data(), powers.data() + u * bins_, bins_);
      }
      for (std::size_t b = 0; b < bins_; ++b) {
        for (std::size_t u = 0; u < used; ++u) column[u] = powers[u * bins_ + b];
        // Mean of an exponential from its median.
        noise_[i * bins_ + b] = signal::median_of(column) * 1.4427F + 1e-20F;
      }
    }
  }

  void measure_delays(std::array<Frames, 2>& heard, std::array<Frames, 2>& cut, double top_Hz) {
    const double bin_Hz = rate_Hz_ / static_cast<double>(length_);
    const auto lowest = static_cast<std::size_t>(std::ceil(lowest_Hz / bin_Hz));
    const auto highest = std::min(bins_ - 1, static_cast<std::size_t>(top_Hz / bin_Hz));
    Spectrum predicted(bins_);
    delays_.assign(points_, 0.0);
    piece_.sigma_s.assign(points_, infinite);
    piece_.heard.assign(points_, 0.0F);
    piece_.explained.assign(points_, 0.0F);
    std::vector<double> misfit(points_);
    for (std::size_t k = 0; k < points_; ++k) {
      double slope = 0.0;
      double strength = 0.0;
      double gap = 0.0;
      double energy = 0.0;
      for (std::size_t i = 0; i < 2; ++i) {
        predict(piece_.transfer, i, mono_, cut[0].at(k), second(cut, k), predicted);
        const DelaySums sums = sum_delay(
            predicted.data(), heard[i].at(k).data(), noise_.data() + i * bins_, lowest, highest);
        slope += static_cast<double>(sums.slope);
        strength += static_cast<double>(sums.strength);
        gap += static_cast<double>(sums.gap);
        energy += static_cast<double>(sums.heard);
      }
      piece_.heard[k] = static_cast<float>(energy);
      piece_.explained[k] = static_cast<float>(energy - gap);
      misfit[k] = gap / static_cast<double>(2 * (highest - lowest));
      // heard - gap = (2 c - 1) expected, c the regression of capture on prediction: under a half
      // the frame is either noise or in the wrong place, and says nothing of a delay.
      if (strength > 0.0 && energy > gap) {
        const double per_bin = 2.0 * pi * bin_Hz;
        delays_[k] = slope / strength / per_bin;
        // Hann neighbours share their noise: 1.5 bins carry one bin's news.
        piece_.sigma_s[k] = 1.22 / (std::sqrt(2.0 * strength) * per_bin);
      }
    }
    // Against what is usual within half a second: loud programme misfits more than quiet, and is no fault. But not
    // without bound: a whole second in the wrong place is.
    constexpr std::size_t reach = 25;
    constexpr double most = 3.0;
    const double overall = std::max(maths::median(misfit), 1e-9);
    for (std::size_t k = 0; k < points_; ++k) {
      const auto from = static_cast<std::ptrdiff_t>(k > reach ? k - reach : 0);
      const auto to = static_cast<std::ptrdiff_t>(std::min(points_, k + reach + 1));
      const double usual =
          std::clamp(maths::median(std::vector<double>{misfit.begin() + from, misfit.begin() + to}),
                     overall,
                     most * overall);
      piece_.calm[k] = static_cast<float>(1.0 / (1.0 + std::pow(misfit[k] / usual / 3.0, 4.0)));
    }
  }

  void smooth_track() {
    // capture(t) = prediction(t - d): the groove place under the stylus is track(t - d).
    line_.resize(points_);
    values_.resize(points_);
    std::vector<double> weights(points_);
    const double rate = (track_.back() - track_.front()) / static_cast<double>(points_ - 1);
    for (std::size_t k = 0; k < points_; ++k) {
      line_[k] = track_.front() + rate * static_cast<double>(k);
      values_[k] = track_[k] - delays_[k] - line_[k];
      // The square root of the usual weight: frames' own errors span too many decades to be taken
      // at their word. Past a few microseconds the frame hears little but noise, and the usual
      // square holds.
      const double sigma_s = std::max(piece_.sigma_s[k], 2e-8);
      weights[k] = std::isfinite(sigma_s) ? std::min(1.0, doubtful_s / sigma_s) / sigma_s : 0.0;
    }
    const double typical = std::max(maths::median(weights), 1e-3);
    for (std::size_t k = 0; k < points_; ++k) {
      weights[k] = std::min(weights[k] / typical, 4.0) * static_cast<double>(piece_.calm[k]);
      const bool blind = !(piece_.sigma_s[k] < blind_s) || std::abs(delays_[k]) > 1.5e-3;
      if (blind || weights[k] < 1e-7) {
        values_[k] = track_[k] - line_[k];
        weights[k] = 1e-7;
      }
    }
    std::vector<double> trusted = weights;
    for (int round = 0; round < 3; ++round) {
      const double penalty = maths::foretelling_penalty(values_, trusted, penalties, 2);
      smooth_ = maths::whittaker(values_, trusted, penalty);
      std::vector<double> gaps;
      for (std::size_t k = 0; k < points_; ++k)
        if (weights[k] > 0.1) gaps.push_back(std::abs(values_[k] - smooth_[k]));
      const double usual = std::max(1.4826 * maths::median_or(gaps, 0.0), 1e-8);
      for (std::size_t k = 0; k < points_; ++k) {
        const double gap = std::max(std::abs(values_[k] - smooth_[k]), 1e-12);
        trusted[k] = weights[k] * std::min(1.0, 3.5 * usual / gap);
      }
    }
    for (std::size_t k = 0; k < points_; ++k) track_[k] = line_[k] + smooth_[k];
  }

  /// The frames' own errors, scaled to what the smoothing saw of them.
  void set_sigma() {
    std::vector<double> ratios;
    for (std::size_t k = 0; k < points_; ++k)
      if (std::isfinite(piece_.sigma_s[k]))
        ratios.push_back(std::abs(values_[k] - smooth_[k]) / piece_.sigma_s[k]);
    const double scale = std::max(0.5, 1.4826 * maths::median_or(ratios, 0.0));
    for (std::size_t k = 0; k < points_; ++k) {
      double& sigma = piece_.sigma_s[k];
      sigma *= scale;
      if (piece_.calm[k] < 0.2F || sigma > blind_s) sigma = infinite;
    }
  }

  double rate_Hz_;
  bool mono_;
  double revolution_s_;
  PieceAudio audio_;
  std::size_t length_{256}, bins_{};
  PieceTrack piece_;
  std::size_t points_{};
  std::int64_t first_sample_{};
  std::vector<double> track_, delays_, line_, values_, smooth_;
  std::vector<float> noise_;
};

double total(const std::vector<float>& values) {
  double sum = 0.0;
  for (const float value : values) sum += static_cast<double>(value);
  return sum;
}

/// The lead of one transfer over another: the phase slope, weighted by power, by Newton steps.
double lead_of(const PieceTrack& piece, const Transfer& common, double per_bin, double lead) {
  const std::size_t bins = common[0].size();
  for (int step = 0; step < 4; ++step) {
    double slope = 0.0;
    double bend = 0.0;
    for (std::size_t i = 0; i < 4; ++i)
      for (std::size_t k = 2; k + 2 < bins; ++k) {
        const double w = per_bin * static_cast<double>(k);
        const std::complex<double> product = std::complex<double>{piece.transfer[i][k]} *
                                             std::conj(std::complex<double>{common[i][k]}) *
                                             std::polar(1.0, -w * lead);
        const auto share = static_cast<double>(piece.weight[k]);
        slope += share * w * product.imag();
        bend += share * w * w * std::abs(product);
      }
    if (!(bend > 0.0)) break;
    lead += slope / bend;
  }
  return lead;
}

}  // namespace

Result<PieceTrack> follow_piece(PieceReader& capture,
                                PieceReader& reference,
                                const PlacedStretch& placed,
                                double from_s,
                                double to_s,
                                bool mono,
                                double revolution_s) {
  EXPECTS(to_s > from_s && placed.points.size() >= 2);
  return PieceFollower{capture, reference, mono, revolution_s}.follow(placed, from_s, to_s);
}

std::vector<double> tie_pieces(const std::vector<PieceTrack>& pieces, double timing_rate_Hz) {
  std::vector<double> leads(pieces.size());
  if (pieces.empty()) return leads;
  const auto strongest = std::ranges::max_element(
      pieces, {}, [](const PieceTrack& piece) { return total(piece.explained); });
  Transfer common = strongest->transfer;
  const std::size_t bins = common[0].size();
  if (bins == 0) return leads;
  // A track that is late by e has a transfer that leads by e, for capture = transfer *
  // programme(track).
  const double per_bin = pi * timing_rate_Hz / static_cast<double>(bins - 1);
  for (int round = 0; round < 3; ++round) {
    Transfer sum;
    for (auto& one : sum) one.assign(bins, {});
    for (std::size_t p = 0; p < pieces.size(); ++p) {
      const PieceTrack& piece = pieces[p];
      leads[p] = lead_of(piece, common, per_bin, leads[p]);
      const auto trust = static_cast<float>(
          std::clamp(total(piece.explained) / std::max(total(piece.heard), 1e-30), 0.0, 1.0));
      for (std::size_t k = 0; k < bins; ++k) {
        const Complex turn{
            std::polar(trust, static_cast<float>(-per_bin * static_cast<double>(k) * leads[p]))};
        for (std::size_t i = 0; i < 4; ++i) sum[i][k] += piece.transfer[i][k] * turn;
      }
    }
    common = std::move(sum);
  }
  return leads;
}

}  // namespace goodside::listen
