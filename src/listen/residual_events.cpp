#include "listen/residual_events.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <span>

#include "base/expects.hpp"
#include "listen/audibility.hpp"
#include "listen/programme_floor.hpp"
#include "listen/whitening.hpp"
#include "signal/clones.hpp"
#include "signal/fir.hpp"
#include "signal/half_band.hpp"
#include "signal/rank.hpp"

namespace goodside::listen {
namespace {

constexpr double bass_Hz = 200.0;  // rumble and hum lie under it
constexpr double rumble_Hz = 100.0;
constexpr double audible_Hz = 1000.0;
constexpr double low_band_Hz = 5000.0;
constexpr std::size_t low_band_factor = 4;
constexpr double gap_s = 3e-3;         // events closer than this are one
constexpr double part_gap_s = 0.5e-3;  // and so are parts of one closer than this
constexpr double long_event_s = 10e-3;
constexpr double refit_s = 12e-3;  // leftovers are explained in pieces no longer
constexpr double explained_share = 0.35;
// What a groove does to its programme is less than the programme: more than 6 dB over it is no bend, however well a few
// cycles of a pure tone fit it.
constexpr double loudest_explained = 4.0;
constexpr double pop_share =
    0.7;  // of an event's energy that lies low: more is a pop's, not a leftover's
constexpr std::size_t weighed_ms = 5;  // audibility's window

struct Scale {
  double window_s, line;
  bool quick;  // measured against the 27-ms median
};
constexpr Scale scales[] = {
    {0.0, 5.0, true}, {1.2e-3, 2.6, true}, {6e-3, 1.8, false}, {30e-3, 1.6, false}};

GOODSIDE_CLONES void subtract(const float* a, const float* b, float* out, std::size_t count) {
#pragma omp simd
  for (std::size_t j = 0; j < count; ++j) out[j] = a[j] - b[j];
}

template <std::size_t width>
[[gnu::always_inline]] inline void square_cells(const float* samples,
                                                float* out,
                                                std::size_t cells) {
  constexpr float scale = 1.0F / static_cast<float>(width);
#pragma omp simd
  for (std::size_t c = 0; c < cells; ++c) {
    float sum = 0.0F;
    for (std::size_t j = 0; j < width; ++j) sum += samples[c * width + j] * samples[c * width + j];
    out[c] = sum * scale;
  }
}

/// Mean square of cells of 2, 4, 8 or 16 samples.
GOODSIDE_CLONES void cell_energies(const float* samples,
                                   std::size_t width,
                                   float* out,
                                   std::size_t cells) {
  if (width == 2) square_cells<2>(samples, out, cells);
  if (width == 4) square_cells<4>(samples, out, cells);
  if (width == 8) square_cells<8>(samples, out, cells);
  if (width == 16) square_cells<16>(samples, out, cells);
}

/// sums[c] = values[0] + .. + values[c - 1], in four parts at once that do not wait on each other.
std::vector<double> running_sums(const std::vector<float>& values) {
  constexpr std::size_t parts = 4;
  const std::size_t part = values.size() / parts;
  std::vector<double> sums(values.size() + 1);
  double own[parts] = {};
  for (std::size_t c = 0; c < part; ++c)
    for (std::size_t p = 0; p < parts; ++p) {
      own[p] += static_cast<double>(values[p * part + c]);
      sums[p * part + c + 1] = own[p];
    }
  double before = 0.0;
  for (std::size_t p = 1; p < parts; ++p) {
    before += own[p - 1];
    for (std::size_t c = 1; c <= part; ++c) sums[p * part + c] += before;
  }
  for (std::size_t c = parts * part; c < values.size(); ++c)
    sums[c + 1] = sums[c] + static_cast<double>(values[c]);
  return sums;
}

GOODSIDE_CLONES void mean_inside(
    const double* sums, std::size_t reach, std::size_t from, std::size_t to, float* means) {
  const std::size_t width = 2 * reach + 1;
  const double scale = 1.0 / static_cast<double>(static_cast<std::int32_t>(width));
  for (std::size_t c = from; c < to; ++c)
    means[c] = static_cast<float>((sums[c + reach + 1] - sums[c - reach]) * scale);
}

/// Mean over c - reach .. c + reach.
std::vector<float> running_mean(const std::vector<float>& values, std::size_t reach) {
  if (reach == 0) return values;
  const std::vector<double> sums = running_sums(values);
  std::vector<float> means(values.size());
  const std::size_t inside = std::min(reach, values.size());
  const std::size_t outside = std::max(inside, values.size() - inside);
  mean_inside(sums.data(), reach, inside, outside, means.data());
  for (std::size_t c = 0; c < values.size(); ++c) {
    if (c == inside) c = outside;
    if (c == values.size()) break;
    const std::size_t from = c > reach ? c - reach : 0;
    const std::size_t to = std::min(values.size(), c + reach + 1);
    means[c] = static_cast<float>((sums[to] - sums[from]) / static_cast<double>(to - from));
  }
  return means;
}

/// Median over windows of `width` cells every `hop`, held between, of some four hundred cells of the long ones: enough
/// for 2 %.
std::vector<float> running_median(const std::vector<float>& values,
                                  std::size_t width,
                                  std::size_t hop) {
  constexpr std::size_t enough = 400;
  const std::size_t stride = std::max<std::size_t>(1, width / enough);
  std::vector<float> medians(values.size(), 1.0F);
  std::vector<float> window;
  for (std::size_t at = 0; at < values.size(); at += hop) {
    const std::size_t middle = at + hop / 2;
    const std::size_t from = middle > width / 2 ? middle - width / 2 : 0;
    const std::size_t to = std::min(values.size(), from + width);
    window.clear();
    if (stride > 1)
      for (std::size_t c = from; c < to; c += stride) window.push_back(values[c]);
    const float middle_value = signal::median_of(
        stride > 1 ? std::span<const float>{window} : std::span{values}.subspan(from, to - from));
    std::fill(medians.begin() + static_cast<std::ptrdiff_t>(at),
              medians.begin() + static_cast<std::ptrdiff_t>(std::min(values.size(), at + hop)),
              middle_value);
  }
  return medians;
}

/// The first of `count` cells that stands over `line` times the usual, `count` where none does.
GOODSIDE_CLONES std::size_t first_over(const float* mean,
                                       const float* usual,
                                       float line,
                                       std::size_t count) {
  constexpr std::size_t block = 64;
  std::size_t c = 0;
  for (; c + block <= count; c += block) {
    int over = 0;
#pragma omp simd reduction(| : over)
    for (std::size_t j = 0; j < block; ++j) over |= mean[c + j] >= line * usual[c + j] ? 1 : 0;
    if (over != 0) break;
  }
  while (c < count && mean[c] < line * usual[c]) ++c;
  return c;
}

struct Span {
  std::size_t from{}, to{};  // cells
  double over_line{};        // highest ratio to the detector's line
};

class EventFinder {
 public:
  EventFinder(const StereoSamples& capture,
              const StereoSamples& prediction,
              const BendEnergy& bend,
              double rate_Hz,
              double gain,
              EventBuffers& buffers)
      : capture_{capture},
        prediction_{prediction},
        bend_{bend},
        rate_Hz_{rate_Hz},
        gain_{gain},
        width_{rate_Hz > 80000.0 ? std::size_t{16} : std::size_t{8}},
        samples_{capture[0].size()},
        cells_{samples_ / width_},
        cell_s_{static_cast<double>(width_) / rate_Hz},
        buffers_{buffers},
        residual_{buffers.residual},
        white_{buffers.white},
        white_prediction_{buffers.white_prediction} {
    const auto half = static_cast<std::size_t>(rate_Hz / audible_Hz);
    low_taps_ = signal::low_pass_taps(audible_Hz / rate_Hz, half, 5.0);
  }

  Residual find() {
    StereoSamples& clear = buffers_.clear;  // of rumble and hum
    StereoSamples& clear_prediction = buffers_.clear_prediction;
    for (std::size_t i = 0; i < 2; ++i) {
      residual_[i].resize(samples_);
      subtract(capture_[i].data(), prediction_[i].data(), residual_[i].data(), samples_);
      clear[i].resize(samples_);
      clear_prediction[i].resize(samples_);
    }
    high_pass({residual_[0], residual_[1], prediction_[0], prediction_[1]},
              bass_Hz,
              rate_Hz_,
              {clear[0], clear[1], clear_prediction[0], clear_prediction[1]});
    for (std::size_t i = 0; i < 2; ++i) {
      whiteners_[i] = fit_whitener(clear[i], rate_Hz_);
      found_.noise_power[i] = whiteners_[i].noise_power;
      whiten(whiteners_[i], clear[i], white_[i]);
      whiten(whiteners_[i], clear_prediction[i], white_prediction_[i]);
    }
    // Faults of little treble drown in the noise of the whole band: they are sought under 5 kHz as
    // well, first, so that what the whole band says of a cell stands for the weighing.
    for (std::size_t i = 0; i < 2; ++i) {
      thin(white_[i], clear[i]);
      thin(white_prediction_[i], clear_prediction[i]);
    }
    const double whole = static_cast<double>(width_);
    const double low = whole * 2.0 * low_band_Hz / rate_Hz_;
    found_.excess.cell_s = cell_s_;
    measure_cells(clear, clear_prediction, width_ / low_band_factor, low, 2);
    std::vector<Span> spans;
    std::vector<Span> parts;
    find_spans(low, spans, parts);
    measure_cells(white_, white_prediction_, width_, whole, 0);
    find_spans(whole, spans, parts);
    parts = merged(std::move(parts), part_gap_s);
    for (const Span& span : merged(std::move(spans), gap_s))
      if (!weigh(span)) weigh_parts(span, parts);
    return std::move(found_);
  }

 private:
  /// Under 5 kHz, every fourth sample, white noise of unit power again; sample k of it lies at
  /// sample 4 k.
  void thin(const signal::Aligned<float>& in, signal::Aligned<float>& out) const {
    const auto half = static_cast<std::size_t>(1.5 * rate_Hz_ / low_band_Hz);
    std::vector<float> taps = signal::low_pass_taps(low_band_Hz / rate_Hz_, half, 5.0);
    for (float& tap : taps) tap *= static_cast<float>(std::sqrt(0.5 * rate_Hz_ / low_band_Hz));
    out.assign(samples_ / low_band_factor, 0.0F);
    const std::size_t first = half / low_band_factor + 1;
    if (samples_ < 2 * taps.size()) return;
    const std::size_t last = (samples_ - half - 1) / low_band_factor;
    signal::slide_filter(in,
                         first * low_band_factor - half,
                         low_band_factor,
                         taps,
                         std::span{out}.subspan(first, last - first));
  }

  void measure_cells(const StereoSamples& white,
                     const StereoSamples& white_prediction,
                     std::size_t width,
                     double freedom,
                     std::size_t first_stream) {
    const auto reach = static_cast<std::size_t>(std::lround(0.75e-3 / cell_s_));
    std::vector<float> energy(cells_);
    std::vector<float> programme(cells_);
    excess_.assign(cells_, 0.0F);
    expected_.assign(cells_, 0.0F);
    for (std::size_t i = 0; i < 2; ++i) {
      cell_energies(white[i].data(), width, energy.data(), cells_);
      cell_energies(white_prediction[i].data(), width, programme.data(), cells_);
      std::vector<float> floor = programme_floor(
          energy, running_mean(programme, reach), freedom, by_programme, found_.tail_lift);
      if (!bend_[i].empty()) raise_by_bend(i, energy, reach, freedom, floor);
      std::vector<float>& over = found_.excess.energy[first_stream + i];
      over.resize(cells_);
      for (std::size_t c = 0; c < cells_; ++c) {
        over[c] = energy[c] / floor[c];
        excess_[c] += 0.5F * over[c];
        expected_[c] += 0.5F * floor[c];
      }
    }
    const auto count = [&](double time_s) {
      return static_cast<std::size_t>(std::lround(time_s / cell_s_));
    };
    quick_ = running_median(excess_, count(27e-3), count(9e-3));
    slow_ = running_median(excess_, count(0.45), count(0.15));
    for (float& value : quick_) value = std::clamp(value, 0.8F, 2.5F);
    for (float& value : slow_) value = std::clamp(value, 0.8F, 1.7F);
  }

  /// The floor where the programme is bent: what is left over it, as a function of the bend's energy.
  void raise_by_bend(std::size_t channel,
                     const std::vector<float>& energy,
                     std::size_t reach,
                     double freedom,
                     std::vector<float>& floor) {
    std::vector<float> bend(cells_);
    std::vector<float> over(cells_);
    const std::size_t share = width_ / bend_cell;
    for (std::size_t c = 0; c < cells_; ++c) {
      for (std::size_t k = c * share; k < (c + 1) * share; ++k) bend[c] += bend_[channel][k];
      over[c] = energy[c] / floor[c];
    }
    bend = running_mean(bend, reach);
    std::vector<float> sorted = bend;
    const auto high = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() * 9 / 10);
    std::ranges::nth_element(sorted, high);
    const float scale = 1.0F / std::max(*high, 1e-30F);
    for (float& value : bend) value *= scale;
    double lift = 1.0;
    const std::vector<float> rise = programme_floor(over, bend, freedom, by_bend, lift);
    for (std::size_t c = 0; c < cells_; ++c) floor[c] *= rise[c];
  }

  /// Adds what stands out of the cells just measured: its parts as the scales found them, and those nearer than the gap
  /// as one. `freedom`: degrees of freedom of a channel's cell. No line lies nearer than eight standard deviations to
  /// the mean of noise.
  void find_spans(double freedom, std::vector<Span>& spans, std::vector<Span>& parts) const {
    std::vector<float> left = excess_;  // what earlier, shorter scales have taken is levelled
    std::vector<Span> found;
    for (const Scale& scale : scales) {
      const auto width =
          std::max<std::size_t>(1, static_cast<std::size_t>(std::lround(scale.window_s / cell_s_)));
      const double line = std::max(
          scale.line, 1.0 + 8.0 / std::sqrt(freedom * static_cast<double>(width / 2 * 2 + 1)));
      const std::vector<float> mean = running_mean(left, width / 2);
      const std::vector<float>& usual = scale.quick ? quick_ : slow_;
      std::vector<Span> here;
      // Nearly all cells lie under the line: looked through a little under it, whole registers at a time.
      const auto near_line = static_cast<float>(0.99999 * line);
      for (std::size_t c = 0; c < cells_; ++c) {
        c += first_over(mean.data() + c, usual.data() + c, near_line, cells_ - c);
        if (c == cells_) break;
        const double ratio = static_cast<double>(mean[c] / usual[c]) / line;
        if (ratio < 1.0) continue;
        const std::size_t from = c > width / 2 ? c - width / 2 : 0;
        const std::size_t to = std::min(cells_, c + width / 2 + 1);
        if (!here.empty() && from <= here.back().to) {
          here.back().to = to;
          here.back().over_line = std::max(here.back().over_line, ratio);
        } else {
          here.push_back({from, to, ratio});
        }
      }
      for (const Span& span : here) {
        for (std::size_t c = span.from; c < span.to; ++c) left[c] = std::min(left[c], usual[c]);
        found.push_back(span);
        parts.push_back(trimmed(span));
      }
    }
    for (const Span& span : merged(std::move(found), gap_s)) spans.push_back(trimmed(span));
  }

  /// Spans nearer to each other than the gap become one.
  [[nodiscard]] std::vector<Span> merged(std::vector<Span> spans, double longest_gap_s) const {
    std::ranges::sort(spans, {}, &Span::from);
    const auto gap = static_cast<std::size_t>(std::lround(longest_gap_s / cell_s_));
    std::vector<Span> joined;
    for (const Span& span : spans) {
      if (!joined.empty() && span.from <= joined.back().to + gap) {
        joined.back().to = std::max(joined.back().to, span.to);
        joined.back().over_line = std::max(joined.back().over_line, span.over_line);
      } else {
        joined.push_back(span);
      }
    }
    return joined;
  }

  /// From 3 to 95 % of the excess energy.
  [[nodiscard]] Span trimmed(const Span& span) const {
    double total = 0.0;
    const auto over = [&](std::size_t c) {
      return std::max(0.0, static_cast<double>(excess_[c]) - static_cast<double>(slow_[c])) *
             static_cast<double>(expected_[c]);
    };
    for (std::size_t c = span.from; c < span.to; ++c) total += over(c);
    if (!(total > 0.0)) return span;
    Span trimmed = span;
    double sum = 0.0;
    bool begun = false;
    for (std::size_t c = span.from; c < span.to; ++c) {
      sum += over(c);
      if (!begun && sum >= 0.03 * total) {
        trimmed.from = c;
        begun = true;
      }
      if (sum >= 0.95 * total) {
        trimmed.to = c + 1;
        break;
      }
    }
    return trimmed;
  }

  /// Of a span that the programme explains, some part may be a fault that lay too near to the programme's own.
  void weigh_parts(const Span& span, const std::vector<Span>& parts) {
    const auto own = [&](const Span& part) { return part.from >= span.from && part.to <= span.to; };
    if (std::ranges::count_if(parts, own) < 2) return;
    for (const Span& part : parts)
      if (own(part)) weigh(part);
  }

  /// Adds the event of a span; false where it was the programme's own.
  bool weigh(const Span& span) {
    const std::size_t from = span.from * width_;
    const std::size_t to = std::min(samples_, span.to * width_);
    ResidualEvent event;
    event.severity_dB = 10.0 * std::log10(span.over_line);
    EventFeatures& features = event.features;
    features.duration_s = static_cast<double>(to - from) / rate_Hz_;

    std::size_t sharpest = from;
    float sharpness = 0.0F;
    const std::size_t guard = width_;
    for (std::size_t j = from > guard ? from - guard : 0; j < std::min(samples_, to + guard); ++j) {
      const float u = white_[0][j] * white_[0][j] + white_[1][j] * white_[1][j];
      if (u > sharpness) {
        sharpness = u;
        sharpest = j;
      }
    }
    event.at_s =
        static_cast<double>(features.duration_s > long_event_s ? from : sharpest) / rate_Hz_;

    measure_fill(span, features);
    weigh_audibly(from, to, event);
    // Nothing that the programme masks anyway needs a shape or an explanation.
    const FaultEnergies energies{event.fault_energy, event.noise_energy, event.programme_energy};
    if (audibility(energies) != works::Audibility::masked) {
      measure_shape(from, to, features);
      const double kept = unexplained(from, to, features);
      const bool may_be_own = event.fault_energy < loudest_explained * event.programme_energy;
      if (may_be_own && kept < explained_share) {
        ++found_.explained_away;
        return false;
      }
      // Bass has few degrees of freedom: chance explains a part of any pop.
      if (may_be_own && features.low_share < pop_share) event.fault_energy *= kept;
    }
    features.excess_dB =
        10.0 * std::log10(std::max(event.fault_energy, 1e-20) / event.noise_energy);
    found_.events.push_back(event);
    return true;
  }

  /// A torn groove is noisy all through; specks of dirt leave quiet between them.
  void measure_fill(const Span& span, EventFeatures& features) const {
    std::vector<float> cells{excess_.begin() + static_cast<std::ptrdiff_t>(span.from),
                             excess_.begin() + static_cast<std::ptrdiff_t>(span.to)};
    const auto usual = static_cast<double>(slow_[std::min(cells_ - 1, span.from)]);
    double sum = 1e-9;
    for (const float cell : cells) sum += static_cast<double>(cell);
    features.mean_dB = 10.0 * std::log10(sum / static_cast<double>(cells.size()) / usual);
    features.ground_dB =
        10.0 * std::log10((static_cast<double>(lower_quartile(cells)) + 1e-9) / usual);
  }

  /// The residual of samples [from, to) above 100 Hz.
  [[nodiscard]] StereoSamples without_rumble(std::size_t from, std::size_t to) const {
    const auto settling = std::min(from, static_cast<std::size_t>(20e-3 * rate_Hz_));
    StereoSamples clear;
    for (std::size_t i = 0; i < 2; ++i) {
      const auto begin = residual_[i].begin();
      clear[i].assign(begin + static_cast<std::ptrdiff_t>(from - settling),
                      begin + static_cast<std::ptrdiff_t>(to));
      high_pass(clear[i], rumble_Hz, rate_Hz_);
      clear[i].erase(clear[i].begin(), clear[i].begin() + static_cast<std::ptrdiff_t>(settling));
    }
    return clear;
  }

  void measure_shape(std::size_t from, std::size_t to, EventFeatures& features) const {
    double energy = 0.0;
    double fourth = 0.0;
    std::array<double, 2> heard{};
    std::array<double, 2> expected{};
    std::array<double, 2> cross{};
    std::array<double, 2> left_energy{};
    double peak = 0.0;
    double capture_peak = 0.0;
    std::size_t full = 0;
    std::array<float, 2> slow{};
    double low = 0.0;
    const StereoSamples clear = without_rumble(from, to);
    // A one-pole low-pass at 500 Hz is enough to tell a thump from a tick.
    const auto share =
        static_cast<float>(1.0 - std::exp(-2.0 * 3.141592653589793 * 500.0 / rate_Hz_));
    for (std::size_t j = from; j < to; ++j) {
      const float l = clear[0][j - from];
      const float r = clear[1][j - from];
      const auto lateral = 0.5 * static_cast<double>((l + r) * (l + r));
      const auto vertical = 0.5 * static_cast<double>((l - r) * (l - r));
      features.lateral_energy += lateral;
      features.vertical_energy += vertical;
      for (std::size_t i = 0; i < 2; ++i) {
        const float left_over = clear[i][j - from];
        const auto e = static_cast<double>(left_over);
        const auto c = static_cast<double>(capture_[i][j]);
        const auto y = static_cast<double>(prediction_[i][j]);
        features.channel_energy[i] += e * e;
        fourth += e * e * e * e;
        heard[i] += c * c;
        expected[i] += y * y;
        const auto whole = static_cast<double>(residual_[i][j]);
        cross[i] -= whole * y;
        left_energy[i] += whole * whole;
        peak = std::max(peak, std::abs(e));
        capture_peak = std::max(capture_peak, std::abs(c));
        if (std::abs(c) >= 0.999) ++full;
        slow[i] += share * (left_over - slow[i]);
        low += static_cast<double>(slow[i] * slow[i]);
      }
    }
    energy = features.channel_energy[0] + features.channel_energy[1];
    const double count = 2.0 * static_cast<double>(to - from);
    features.energy_dB = 10.0 * std::log10(std::max(energy / rate_Hz_, 1e-20));
    features.peak_dB = 20.0 * std::log10(std::max(peak / gain_, 1e-10));
    features.low_share = energy > 0.0 ? std::min(1.0, low / energy) : 0.0;
    features.burst_kurtosis = energy > 0.0 ? fourth * count / (energy * energy) : 3.0;
    // Programme may be missing in one channel alone: the one that opposes the prediction more
    // speaks.
    for (std::size_t i = 0; i < 2; ++i) {
      const double opposes = cross[i] / std::sqrt(left_energy[i] * expected[i] + 1e-24);
      const double change_dB = 10.0 * std::log10((heard[i] + 1e-14) / (expected[i] + 1e-14));
      if (i == 0 || (opposes > features.prediction_correlation && change_dB < 0.0)) {
        features.prediction_correlation = opposes;
        features.level_change_dB = change_dB;
      }
    }
    features.capture_peak_fs = capture_peak;
    features.share_at_full_scale = static_cast<double>(full) / count;
  }

  /// Energy above 1 kHz of samples [from, to), summed over both channels by the millisecond.
  [[nodiscard]] std::vector<double> audible_by_ms(const StereoSamples& samples,
                                                  std::size_t from,
                                                  std::size_t count) const {
    const std::size_t half = low_taps_.size() / 2;
    const std::size_t step = millisecond();
    std::vector<double> energy(count);
    std::vector<float> near(count * step + 2 * half);
    std::vector<float> low(count * step);
    for (const auto& channel : samples) {
      for (std::size_t j = 0; j < near.size(); ++j)
        near[j] = from + j >= half && from + j - half < samples_ ? channel[from + j - half] : 0.0F;
      signal::slide_filter(near, 0, 1, low_taps_, low);
      for (std::size_t j = 0; j < low.size(); ++j) {
        const auto high = static_cast<double>(near[j + half] - low[j]);
        energy[j / step] += high * high;
      }
    }
    return energy;
  }

  /// Weighs the event where it is strongest: in the loudest 5 ms of it.
  void weigh_audibly(std::size_t from, std::size_t to, ResidualEvent& event) const {
    const std::size_t step = millisecond();
    const std::size_t before = from > 2 * step ? from - 2 * step : 0;
    const std::size_t last =
        std::min({samples_, to + 2 * step, from + static_cast<std::size_t>(rate_Hz_ * 0.5)});
    Milliseconds around;
    const std::size_t count = std::max(weighed_ms, (last - before) / step);
    around.residual = audible_by_ms(residual_, before, count);
    around.programme = audible_by_ms(prediction_, before, count);
    around.expected = expected_by_ms(before, count);
    weigh_loudest(around, 1.0, event);
    if (audibility({event.fault_energy, event.noise_energy, event.programme_energy}) !=
        works::Audibility::masked)
      return;
    // What is expected is the usual of the whole piece at such loudness: here it may be far less.
    ResidualEvent clear = event;
    weigh_loudest(around, 0.0, clear);
    if (audibility({clear.fault_energy, clear.noise_energy, clear.programme_energy}) ==
        works::Audibility::masked)
      return;
    measure_shape(from, to, clear.features);
    if (clear.features.low_share < pop_share) return;
    const double share = left_around(before, before + count * step);
    if (share < 1.0) weigh_loudest(around, share, event);
  }

  /// Above 1 kHz, by the millisecond.
  struct Milliseconds {
    std::vector<double> residual, programme, expected;
  };

  [[nodiscard]] std::size_t millisecond() const {
    return static_cast<std::size_t>(rate_Hz_ * 1e-3);
  }
  [[nodiscard]] double noise_by_ms() const {
    return static_cast<double>(millisecond()) * (found_.noise_power[0] + found_.noise_power[1]);
  }

  [[nodiscard]] std::vector<double> expected_by_ms(std::size_t from, std::size_t count) const {
    const std::size_t step = millisecond();
    const std::size_t middle = (from + count * step / 2) / width_;
    const double slow = std::min(1.2, static_cast<double>(slow_[std::min(cells_ - 1, middle)]));
    std::vector<double> expected(count);
    for (std::size_t k = 0; k < count; ++k) {
      const std::size_t cell = std::min(cells_ - 1, (from + k * step + step / 2) / width_);
      expected[k] = noise_by_ms() * std::max(1.0, static_cast<double>(expected_[cell])) * slow;
    }
    return expected;
  }

  /// The loudest 5 ms over a share of what is expected.
  void weigh_loudest(const Milliseconds& around, double share, ResidualEvent& event) const {
    event.noise_energy = noise_by_ms() * static_cast<double>(weighed_ms);
    event.fault_energy = -1.0;
    for (std::size_t first = 0; first + weighed_ms <= around.residual.size(); ++first) {
      double heard = 0.0;
      double cut = 0.0;
      double expected = 0.0;
      for (std::size_t k = first; k < first + weighed_ms; ++k) {
        heard += around.residual[k];
        cut += around.programme[k];
        expected += share * around.expected[k];
      }
      const double fault = std::max(0.0, heard - expected);
      if (fault <= event.fault_energy) continue;
      event.fault_energy = fault;
      event.programme_energy = cut;
    }
  }

  /// What share of the expected is left just before and after an event: the higher of both sides' upper quartiles.
  [[nodiscard]] double left_around(std::size_t from, std::size_t to) const {
    constexpr std::size_t reach_ms = 25;
    const std::size_t reach = reach_ms * millisecond();
    const auto side = [&](std::size_t first) {
      const std::vector<double> residual = audible_by_ms(residual_, first, reach_ms);
      std::vector<double> shares = expected_by_ms(first, reach_ms);
      for (std::size_t k = 0; k < reach_ms; ++k) shares[k] = residual[k] / shares[k];
      const auto high = shares.begin() + 3 * reach_ms / 4;
      std::ranges::nth_element(shares, high);
      return *high;
    };
    if (from < reach || to + reach > samples_) return 1.0;
    return std::max(side(from - reach), side(to));
  }

  /// What tracing (d/dt y^2) or a limiter (y^3) would add to the prediction of samples [from, to),
  /// whitened and of unit mean square.
  [[nodiscard]] std::vector<float> whitened_power(std::size_t channel,
                                                  std::size_t from,
                                                  std::size_t to,
                                                  Power bend) const {
    constexpr std::size_t settling = 24;  // of the filters between the rates
    const std::vector<float>& taps = whiteners_[channel].taps;
    const std::size_t before = std::min(from, taps.size() - 1 + settling);
    const std::size_t after = std::min(samples_ - to, settling);
    signal::Aligned<float> fine;
    signal::double_rate(
        std::span{prediction_[channel]}.subspan(from - before, before + (to - from) + after), fine);
    raise_to(bend, fine);
    std::vector<float> bent(fine.size() / 2);
    signal::halve_rate(fine, bent);
    const std::vector<float> reversed{taps.rbegin(), taps.rend()};
    std::vector<float> out(to - from);
    if (before + 1 < taps.size()) return out;
    signal::slide_filter(bent, before + 1 - taps.size(), 1, reversed, out);
    double power = 1e-20;
    for (const float u : out) power += static_cast<double>(u * u);
    const auto scale = static_cast<float>(std::sqrt(static_cast<double>(out.size()) / power));
    for (float& u : out) u *= scale;
    return out;
  }

  /// Share of the burst that a slightly misplaced or filtered programme does not explain.
  [[nodiscard]] double unexplained(std::size_t from,
                                   std::size_t to,
                                   const EventFeatures& features) const {
    const bool missing = features.prediction_correlation > 0.4 && features.level_change_dB < -1.5 &&
                         features.duration_s > 2e-3;
    if (missing) return 1.0;
    const auto piece = static_cast<std::size_t>(refit_s * rate_Hz_);
    const auto margin = static_cast<std::size_t>(1.5e-3 * rate_Hz_);
    double before = 0.0;
    double after = 0.0;
    std::size_t looked_at = 0;
    for (std::size_t at = from; at < to && looked_at < 8; at += piece, ++looked_at) {
      const std::size_t first = at > margin ? at - margin : 0;
      const std::size_t last = std::min({samples_, at + piece + margin, to + margin});
      constexpr int lags = 3;
      constexpr int linear = 2 * (2 * lags + 1);
      constexpr int terms = linear + 2;
      if (first < lags || last + lags >= samples_ || last <= first) return 1.0;
      for (std::size_t i = 0; i < 2; ++i) {
        Eigen::Matrix<double, terms, terms> normal = Eigen::Matrix<double, terms, terms>::Zero();
        Eigen::Matrix<double, terms, 1> right = Eigen::Matrix<double, terms, 1>::Zero();
        double total = 0.0;
        Eigen::Matrix<double, terms, 1> row;
        const std::vector<float> bent = whitened_power(i, first, last, Power::square_slope);
        const std::vector<float> limited = whitened_power(i, first, last, Power::cube);
        for (std::size_t j = first; j < last; ++j) {
          row[linear] = static_cast<double>(bent[j - first]);
          row[linear + 1] = static_cast<double>(limited[j - first]);
          for (int lag = -lags; lag <= lags; ++lag) {
            const auto index = static_cast<std::size_t>(static_cast<std::ptrdiff_t>(j) + lag);
            row[lag + lags] = static_cast<double>(white_prediction_[0][index]);
            row[lag + 3 * lags + 1] = static_cast<double>(white_prediction_[1][index]);
          }
          const auto value = static_cast<double>(white_[i][j]);
          normal.selfadjointView<Eigen::Lower>().rankUpdate(row);
          right += value * row;
          total += value * value;
        }
        normal.diagonal() += 1e-6 * normal.diagonal();
        normal.diagonal().array() += 1e-9;
        const Eigen::Matrix<double, terms, terms> full = normal.selfadjointView<Eigen::Lower>();
        const Eigen::Matrix<double, terms, 1> weights = full.ldlt().solve(right);
        before += total;
        // As many terms explain their share of any noise: what is left is taken a degree of freedom.
        const auto freedom = static_cast<double>(last - first);
        const double chance = std::max(0.5, 1.0 - static_cast<double>(terms) / freedom);
        after += std::min(total, std::max(0.0, total - right.dot(weights)) / chance);
      }
    }
    return before > 0.0 ? after / before : 1.0;
  }

  const StereoSamples& capture_;
  const StereoSamples& prediction_;
  const BendEnergy& bend_;
  double rate_Hz_, gain_;
  std::size_t width_, samples_, cells_;
  double cell_s_;
  std::vector<float> low_taps_;
  std::array<Whitener, 2> whiteners_;
  EventBuffers& buffers_;
  StereoSamples &residual_, &white_, &white_prediction_;
  std::vector<float> excess_, expected_, quick_, slow_;
  Residual found_;
};

}  // namespace

SampleSpan samples_of(const ResidualEvent& event,
                      double guard_s,
                      double rate_Hz,
                      std::size_t count) {
  const double duration_s = event.features.duration_s;
  const double before_s = (duration_s > long_event_s ? 0.0 : duration_s) + guard_s;
  const auto most = static_cast<double>(count);
  const double from = std::clamp((event.at_s - before_s) * rate_Hz, 0.0, most - 1.0);
  const double to = std::clamp((event.at_s + duration_s + guard_s) * rate_Hz, from + 1.0, most);
  return {static_cast<std::size_t>(from), static_cast<std::size_t>(to)};
}

Residual find_events(const StereoSamples& capture,
                     const StereoSamples& prediction,
                     const BendEnergy& bend,
                     double rate_Hz,
                     double gain,
                     EventBuffers& buffers) {
  EXPECTS(capture[0].size() == prediction[0].size() &&
          static_cast<double>(capture[0].size()) > rate_Hz);
  return EventFinder{capture, prediction, bend, rate_Hz, std::max(gain, 1e-6), buffers}.find();
}

}  // namespace goodside::listen
