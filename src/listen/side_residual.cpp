#include "listen/side_residual.hpp"

#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <complex>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <span>

#include "listen/audibility.hpp"
#include "listen/echo_cut.hpp"
#include "listen/fit_reading.hpp"
#include "listen/lay_cut.hpp"
#include "listen/masking.hpp"
#include "listen/match.hpp"
#include "listen/piece_reader.hpp"
#include "listen/pieces.hpp"
#include "signal/fft.hpp"
#include "signal/fir.hpp"
#include "signal/warp.hpp"
#include "signal/window.hpp"

namespace goodside::listen {
namespace {

constexpr double core_s = 6.0;
constexpr double margin_s = 0.5;
constexpr double least_s = 3.0;  // of samples, to know the surface by
constexpr double seam_guard_s = 15e-3;
// The programme's bends are worth fitting where leftovers raise the floor so far and so many bursts would be
// heard, or where so many bursts were the programme's own.
constexpr double bent_lift = 3.0;
constexpr std::ptrdiff_t many_bursts = 5;
constexpr int many_explained = 3;
// Where the cut was limited, as measured, what is left is worth having out also if true faults come to light by it.
constexpr double cleared_lift = 0.9;
constexpr double trial_s = 1.5;  // windows in which readings of the groove are tried
constexpr std::size_t trial_windows = 6;
constexpr double frame_s = 0.02;
constexpr double echo_rate_Hz = 8000.0;

/// What brings a rate to about 8 kHz: an echo is looked for under 3 kHz.
std::size_t echo_factor(double rate_Hz) {
  return static_cast<std::size_t>(std::max(1.0, std::round(rate_Hz / echo_rate_Hz)));
}

/// From the echo's rate to about 1 kHz, for rumble and hum.
constexpr std::size_t low_factor = 8;

/// From the echo's rate to about 100 Hz, for what a warp leaves; the low-pass has 50 ms on each side.
constexpr std::size_t infrasound_factor = 80;
constexpr std::size_t infrasound_half = 5 * infrasound_factor;

struct Measures {
  LevelMeter levels;
  NoiseMap map;
  NoiseLevels noise;
  LowNoise low;
  EchoFit echo;
  Infrasound infrasound;
};

struct PieceResult {
  std::vector<ResidualEvent> events;
  std::vector<GroundBlock> ground;
  std::unique_ptr<Measures> measures;
};

/// Bursts that would be heard, leftovers among them.
std::ptrdiff_t audible(const Residual& found) {
  return found.explained_away + std::ranges::count_if(found.events, [](const ResidualEvent& event) {
           return audibility({event.fault_energy, event.noise_energy, event.programme_energy}) !=
                  works::Audibility::masked;
         });
}

/// One worker: its readers and its storage, used again for every piece.
class PieceListener {
 public:
  PieceListener(std::unique_ptr<PieceReader> capture,
                std::unique_ptr<PieceReader> reference,
                std::unique_ptr<PieceReader> echo_reference,
                EchoCut& echo_cut,
                const SideTrack& track,
                const ResidualSetting& setting)
      : layer_{std::move(capture), std::move(reference), track, setting.mono},
        echo_reader_{std::move(echo_reference)},
        echo_cut_{echo_cut},
        track_{track},
        setting_{setting} {}

  void read_with(const GrooveReading& reading) { layer_.read_with(reading); }

  Outcome try_readings(double from_s,
                       std::span<const GrooveReading> readings,
                       std::span<Leftover> left) {
    const auto first = static_cast<std::int64_t>(std::llround(from_s * layer_.rate_Hz()));
    const auto count = static_cast<std::size_t>(trial_s * layer_.rate_Hz());
    return layer_.try_readings(first, count, readings, left);
  }

  Outcome listen(double core_from_s, double core_to_s, PieceResult& result) {
    const double rate_Hz = layer_.rate_Hz();
    // No further than the recording: what is not there would pass for a silent surface.
    const auto sample_at = [rate_Hz](double time_s) {
      return static_cast<std::int64_t>(std::llround(time_s * rate_Hz));
    };
    const std::int64_t end = std::min(layer_.frames(), sample_at(core_to_s + margin_s));
    const std::int64_t first =
        std::min(sample_at(core_from_s - margin_s), end - sample_at(least_s));
    first_ = std::max<std::int64_t>(0, first);
    const auto count = static_cast<std::size_t>(end - first_);
    if (auto laid = layer_.lay(first_, count, piece_, cut_); !laid) return laid;
    Residual found =
        find_events(capture_, prediction_, piece_.bend, rate_Hz, track_.gain, buffers_);
    const bool limited = layer_.reading().limiting != 0.0 || found.explained_away > many_explained;
    const bool read = layer_.reading().strength_m2 != 0.0;
    const bool traced = found.tail_lift > bent_lift && audible(found) > many_bursts;
    if (limited || traced) fit_bends({.played = !read, .cut = read, .limited = limited}, found);
    if (setting_.captured_reference)
      for (ResidualEvent& event : found.events) event.of_reference = is_of_reference(event);
    const double start_s = static_cast<double>(first_) / rate_Hz;
    for (ResidualEvent& event : found.events) {
      event.at_s += start_s;
      // Where the track is a guess, the programme itself is left over: an event must rise above all
      // of it.
      if (!timed(event.at_s))
        event.fault_energy = std::max(0.0, event.fault_energy - 3.0 * event.programme_energy);
    }
    for (ResidualEvent& event : found.events)
      if (audibility({event.fault_energy, event.noise_energy, event.programme_energy}) !=
          works::Audibility::masked)
        event.margin_dB = margin_dB(event.at_s);
    measure(core_from_s, core_to_s, found.events, *result.measures);
    if (auto slow = measure_slowly(core_from_s, core_to_s, *result.measures); !slow) return slow;
    ground_blocks(core_from_s, core_to_s, found.excess, result.ground);
    for (const ResidualEvent& event : found.events)
      if (event.at_s >= core_from_s && event.at_s < core_to_s && in_programme(event.at_s))
        result.events.push_back(event);
    return Done{};
  }

 private:
  /// Loud programme leaves more than noise: its own bends are fitted too, which also tells where the floor must be
  /// raised, and kept where they leave less to hear. Most pieces do without.
  void fit_bends(const Bends& bends, Residual& found) {
    const double rate_Hz = layer_.rate_Hz();
    match_bends(
        warped_,
        bends,
        setting_.mono,
        rate_Hz,
        [&](double t_s) { return layer_.trust(piece_, t_s); },
        buffers_.residual,
        prediction_,
        piece_.bend,
        buffers_.white,
        buffers_.white_prediction);
    Residual bent = find_events(capture_, prediction_, piece_.bend, rate_Hz, track_.gain, buffers_);
    const bool limiter = layer_.reading().limiting != 0.0;
    if (audible(bent) <= audible(found) ||
        (limiter && bent.tail_lift < cleared_lift * found.tail_lift)) {
      found = std::move(bent);
      return;
    }
    layer_.match(piece_);
    for (std::size_t i = 0; i < 2; ++i)
      for (std::size_t j = 0; j < prediction_[i].size(); ++j)
        buffers_.residual[i][j] = capture_[i][j] - prediction_[i][j];
  }

  /// Whether the reference holds an event that would be heard; its time still counts from the piece.
  [[nodiscard]] bool is_of_reference(const ResidualEvent& event) const {
    if (audibility({event.fault_energy, event.noise_energy, event.programme_energy}) ==
        works::Audibility::masked)
      return false;
    const double rate_Hz = layer_.rate_Hz();
    const SampleSpan span = samples_of(event, 0.0, rate_Hz, capture_[0].size());
    // The cut as it came: the match would take from it what rises out of noise alone.
    const StereoSamples& cut = setting_.mono ? prediction_ : warped_;
    return fault_holder(capture_, cut, span, event.features.low_share > 0.5, rate_Hz) !=
           Holder::first;
  }

  /// The noise between bursts, along the programme. Blocks lie on one grid for the whole capture.
  void ground_blocks(double core_from_s,
                     double core_to_s,
                     const ExcessCells& cells,
                     std::vector<GroundBlock>& blocks) const {
    const double start_s = static_cast<double>(first_) / layer_.rate_Hz();
    const auto first = static_cast<std::int64_t>(std::ceil(core_from_s / ground_block_s));
    const auto end = static_cast<std::int64_t>(std::ceil(core_to_s / ground_block_s));
    for (std::int64_t k = first; k < end; ++k) {
      const double from_s = static_cast<double>(k) * ground_block_s;
      const double middle_s = from_s + 0.5 * ground_block_s;
      if (!in_programme(middle_s)) continue;
      if (const auto levels = ground_levels(cells, from_s - start_s))
        blocks.push_back({stretch_at(middle_s)->curve.programme_at(middle_s), *levels});
    }
  }

  /// How far an event stands over the programme under it and the surface just before it.
  [[nodiscard]] std::optional<double> margin_dB(double at_s) {
    const double rate_Hz = layer_.rate_Hz();
    const signal::RealFft& fft = prepare_frames();
    const auto length = static_cast<std::int64_t>(fft.length());
    const std::int64_t middle = std::llround(at_s * rate_Hz) - first_;
    const std::int64_t from = middle - length / 2;
    if (from < length || from + length > static_cast<std::int64_t>(capture_[0].size())) return {};
    std::vector<double> masker(fft.bins());
    std::vector<double> fault(fft.bins());
    // A full-scale sine of the reference at the capture's gain is the model's full scale.
    const double scale = 32.0 / (3.0 * std::pow(static_cast<double>(length) * track_.gain, 2.0));
    const auto add =
        [&](const signal::Aligned<float>& samples, std::int64_t first, std::vector<double>& power) {
          signal::apply_window(
              std::span{samples}.subspan(static_cast<std::size_t>(first), fft.length()),
              window_,
              frame_);
          fft.forward(frame_, spectra_[0]);
          for (std::size_t k = 0; k < power.size(); ++k)
            power[k] += scale * static_cast<double>(std::norm(spectra_[0][k]));
        };
    for (std::size_t i = 0; i < 2; ++i) {
      add(prediction_[i], from, masker);
      add(buffers_.residual[i], from - length, masker);
      add(buffers_.residual[i], from, fault);
    }
    if (!masking_) masking_.emplace(rate_Hz / static_cast<double>(length), fft.bins());
    return masking_->margin_dB(masker, fault);
  }

  /// Window and storage of the spectral frames.
  const signal::RealFft& prepare_frames() {
    std::size_t length = 256;
    while (static_cast<double>(length) < frame_s * layer_.rate_Hz()) length *= 2;
    const signal::RealFft& fft = signal::shared_fft(length);
    if (window_.size() != length) {
      window_ = signal::hann(length);
      frame_.resize(length);
      for (auto& spectrum : spectra_) spectrum.resize(fft.bins());
    }
    return fft;
  }

  [[nodiscard]] const FollowedStretch* stretch_at(double capture_s) const {
    return listen::stretch_at(track_, capture_s);
  }

  [[nodiscard]] bool in_programme(double capture_s) const {
    const FollowedStretch* stretch = stretch_at(capture_s);
    if (stretch == nullptr) return false;
    const double programme_s = stretch->curve.programme_at(capture_s);
    if (programme_s < 0.0 || programme_s >= setting_.programme_duration_s) return false;
    for (std::size_t s = 0; s + 1 < track_.stretches.size(); ++s)
      if (std::abs(capture_s - track_.stretches[s].capture_to_s) < seam_guard_s) return false;
    return true;
  }

  /// Whether the track's points within a quarter of a second of a moment hold on to something: faults and loud
  /// programme disturb some, a wrong place all.
  [[nodiscard]] bool timed(double capture_s) const {
    const FollowedStretch* stretch = stretch_at(capture_s);
    if (stretch == nullptr) return false;
    const auto middle =
        static_cast<std::ptrdiff_t>((capture_s - stretch->track.capture_from_s) / track_hop_s);
    constexpr std::ptrdiff_t reach = 12;
    constexpr int least_held = 8;
    int held = 0;
    for (std::ptrdiff_t k = middle - reach; k <= middle + reach; ++k)
      if (k >= 0 && k < std::ssize(stretch->track.sigma_s) &&
          std::isfinite(stretch->track.sigma_s[static_cast<std::size_t>(k)]))
        ++held;
    return held >= least_held;
  }

  void measure(double core_from_s,
               double core_to_s,
               const std::vector<ResidualEvent>& events,
               Measures& measures) {
    const double rate_Hz = layer_.rate_Hz();
    const signal::RealFft& fft = prepare_frames();
    const std::size_t length = fft.length();
    double window_power = 0.0;
    for (const float w : window_) window_power += static_cast<double>(w) * static_cast<double>(w);
    const auto hop = static_cast<std::int64_t>(length / 2);
    // Frames lie on one grid for the whole capture; a frame belongs to the piece that its middle
    // lies in.
    const auto core_first =
        static_cast<std::int64_t>(std::ceil(core_from_s * rate_Hz / static_cast<double>(hop)));
    const auto core_last =
        static_cast<std::int64_t>(std::ceil(core_to_s * rate_Hz / static_cast<double>(hop)));
    std::size_t next = 0;
    for (std::int64_t k = core_first; k < core_last; ++k) {
      const double middle_s = static_cast<double>(k * hop) / rate_Hz;
      const FollowedStretch* stretch = stretch_at(middle_s);
      if (stretch == nullptr) continue;
      const double programme_s = stretch->curve.programme_at(middle_s);
      if (programme_s < 0.0 || programme_s >= setting_.programme_duration_s) continue;
      const std::int64_t at = k * hop - hop - first_;
      if (at < 0 ||
          at + static_cast<std::int64_t>(length) > static_cast<std::int64_t>(capture_[0].size()))
        continue;
      const auto from = static_cast<std::size_t>(at);
      const auto take = [&](const signal::Aligned<float>& samples, std::size_t slot) {
        signal::apply_window(std::span{samples}.subspan(from, length), window_, frame_);
        fft.forward(frame_, spectra_[slot]);
      };
      for (std::size_t i = 0; i < 2; ++i) {
        take(capture_[i], i);
        if (i == 0 || !setting_.mono) take(warped_[i], 2 + i);
        take(prediction_[i], 4 + i);
        for (std::size_t b = 0; b < fft.bins(); ++b)
          spectra_[6 + i][b] = spectra_[i][b] - spectra_[4 + i][b];
      }
      SpectralFrame frame;
      frame.capture_s = middle_s;
      frame.programme_s = programme_s;
      frame.bin_Hz = rate_Hz / static_cast<double>(length);
      frame.hop_s = static_cast<double>(hop) / rate_Hz;
      frame.window_power = window_power;
      const double reach_s = frame.hop_s + 3e-3;
      while (next < events.size() &&
             events[next].at_s + events[next].features.duration_s + 0.5 < middle_s)
        ++next;
      for (std::size_t e = next; e < events.size() && events[e].at_s < middle_s + reach_s; ++e)
        frame.disturbed =
            frame.disturbed || events[e].at_s + events[e].features.duration_s > middle_s - reach_s;
      const std::size_t second = setting_.mono ? 2 : 3;
      frame.capture = {spectra_[0], spectra_[1]};
      frame.reference = {spectra_[2], spectra_[second]};
      frame.prediction = {spectra_[4], spectra_[5]};
      frame.residual = {spectra_[6], spectra_[7]};
      measures.levels.take(frame, setting_.radius_m(programme_s));
      measures.map.take(frame);
      measures.noise.take(frame);
    }
  }

  /// Rumble, hum and echo ask for the residual at 1 and 8 kHz. Only pieces that play one stretch
  /// without a jump.
  Outcome measure_slowly(double core_from_s, double core_to_s, Measures& measures) {
    const double rate_Hz = layer_.rate_Hz();
    const FollowedStretch* stretch = stretch_at(0.5 * (core_from_s + core_to_s));
    if (stretch == nullptr) return Done{};
    const std::size_t thinning = echo_factor(rate_Hz);
    const double grid_Hz = rate_Hz / static_cast<double>(thinning);
    const std::vector<float> taps =
        signal::low_pass_taps(0.42 / static_cast<double>(thinning), 5 * thinning, 5.0);
    // As far as the filter has samples on both sides: a capture may begin and end in the programme.
    const auto half = static_cast<std::int64_t>(taps.size() / 2);
    const double first_s = static_cast<double>(first_ + half) / rate_Hz;
    const double last_s =
        static_cast<double>(first_ + std::ssize(capture_[0]) - 1 - half) / rate_Hz;
    const double from_s =
        std::ceil(std::max({core_from_s, stretch->curve.capture_at(0.0), first_s}) * grid_Hz) /
        grid_Hz;
    const double to_s =
        std::min({core_to_s, stretch->curve.capture_at(setting_.programme_duration_s), last_s});
    if (to_s - from_s < 2.5 || stretch_at(from_s + 1e-6) != stretch ||
        stretch_at(to_s - 1e-6) != stretch)
      return Done{};

    // To 8 kHz for the echo, and from there to 1 kHz for rumble and hum.
    const auto begin = static_cast<std::size_t>(std::llround(from_s * rate_Hz) - first_);
    const auto count = static_cast<std::size_t>((to_s - from_s) * grid_Hz) - 1;
    const std::vector<float> low_taps =
        signal::low_pass_taps(0.42 / static_cast<double>(low_factor), 5 * low_factor, 5.0);
    const std::array<const signal::Aligned<float>*, 4> sources{
        &buffers_.residual[0], &buffers_.residual[1], &prediction_[0], &prediction_[1]};
    // The slowest filter reaches over the borders of the piece, so that nothing is missing between
    // two.
    const std::size_t before = std::min(infrasound_half, (begin - taps.size() / 2) / thinning);
    const std::size_t last = begin + (count - 1) * thinning + taps.size() / 2;
    const std::size_t after = std::min(infrasound_half, (capture_[0].size() - 1 - last) / thinning);
    std::array<std::vector<float>, 2> wide;
    std::array<std::vector<float>, 4> thinned;
    std::array<std::vector<float>, 4> low;
    for (std::size_t s = 0; s < sources.size(); ++s) {
      if (s < wide.size()) {
        wide[s].resize(before + count + after);
        signal::slide_filter(
            *sources[s], begin - taps.size() / 2 - before * thinning, thinning, taps, wide[s]);
        thinned[s].assign(wide[s].begin() + static_cast<std::ptrdiff_t>(before),
                          wide[s].end() - static_cast<std::ptrdiff_t>(after));
      } else {
        thinned[s].resize(count);
        signal::slide_filter(*sources[s], begin - taps.size() / 2, thinning, taps, thinned[s]);
      }
      low[s].resize((count - low_taps.size()) / low_factor);
      signal::slide_filter(thinned[s], 0, low_factor, low_taps, low[s]);
    }
    measures.low.take({low[0], low[1]}, {low[2], low[3]});
    const auto grid_at = [&](double time_s) {
      return static_cast<std::int64_t>(std::ceil(time_s * grid_Hz - 1e-6));
    };
    take_infrasound(wide,
                    grid_at(from_s) - static_cast<std::int64_t>(before),
                    {grid_at(from_s), grid_at(core_to_s)},
                    measures.infrasound);
    for (std::size_t j = 0; j < count; ++j) {
      thinned[0][j] = 0.5F * (thinned[0][j] + thinned[1][j]);
      thinned[2][j] = 0.5F * (thinned[2][j] + thinned[3][j]);
    }
    return fit_echo(*stretch, from_s, grid_Hz, thinned[0], thinned[2], measures.echo);
  }

  struct GridRange {
    std::int64_t from, to;
  };

  /// The vertical channel at about 100 Hz, as far as `wide` (which begins at `first` on its own
  /// grid) reaches and `core` goes.
  static void take_infrasound(const std::array<std::vector<float>, 2>& wide,
                              std::int64_t first,
                              const GridRange& core,
                              Infrasound& infrasound) {
    constexpr auto step = static_cast<std::int64_t>(infrasound_factor);
    constexpr auto half = static_cast<std::int64_t>(infrasound_half);
    const auto up = [](std::int64_t at) { return (at + step - 1) / step; };
    const std::int64_t from = up(std::max(core.from, first + half));
    const std::int64_t to = up(std::min(core.to, first + std::ssize(wide[0]) - half));
    if (to <= from) return;
    std::vector<float> vertical(wide[0].size());
    for (std::size_t j = 0; j < vertical.size(); ++j)
      vertical[j] = 0.5F * (wide[0][j] - wide[1][j]);
    static const std::vector<float> taps =
        signal::low_pass_taps(0.42 / infrasound_factor, infrasound_half, 5.0);
    std::vector<float> slow(static_cast<std::size_t>(to - from));
    signal::slide_filter(vertical,
                         static_cast<std::size_t>(from * step - half - first),
                         infrasound_factor,
                         taps,
                         slow);
    infrasound.take(from, slow);
  }

  Outcome fit_echo(const FollowedStretch& stretch,
                   double from_s,
                   double rate_Hz,
                   const std::vector<float>& residual,
                   const std::vector<float>& prediction,
                   EchoFit& echo) {
    const auto shifts = EchoFit::shifts_s(setting_.rpm);
    const double reach_s = *std::ranges::max_element(shifts) + 0.1;
    const double cut_rate_Hz = echo_reader_->rate_Hz();
    const auto count = residual.size();
    const double programme_from_s = stretch.curve.programme_at(from_s) - reach_s;
    const double programme_to_s =
        stretch.curve.programme_at(from_s + static_cast<double>(count) / rate_Hz) + reach_s;
    const auto first = static_cast<std::int64_t>(std::floor(programme_from_s * cut_rate_Hz));
    const auto known = static_cast<std::size_t>((programme_to_s - programme_from_s) * cut_rate_Hz);
    cut_[0].resize(known);
    if (auto read = echo_cut_.read(*echo_reader_, first, cut_[0]); !read) return read;
    if (!echo_warp_) echo_warp_.emplace(std::min(0.5, 0.5 * rate_Hz / cut_rate_Hz), 12);
    std::array<std::vector<float>, EchoBlock::shifts + 1> streams;
    const std::array<std::span<const float>, 1> source{cut_[0]};
    const auto first_sample = static_cast<std::int64_t>(std::llround(from_s * rate_Hz));
    for (std::size_t i = 0; i < streams.size(); ++i) {
      streams[i].resize(count);
      const double shift_s = i == 0 ? 0.0 : shifts[i - 1];
      const std::array<std::span<float>, 1> target{streams[i]};
      stretch.curve.warp(*echo_warp_,
                         source,
                         static_cast<double>(first) - shift_s * cut_rate_Hz,
                         cut_rate_Hz,
                         first_sample,
                         rate_Hz,
                         target);
    }
    EchoBlock block;
    block.residual = residual;
    block.prediction = prediction;
    block.present = streams[0];
    for (std::size_t i = 0; i < EchoBlock::shifts; ++i) block.shifted[i] = streams[i + 1];
    echo.take(block, rate_Hz);
    return Done{};
  }

  CutLayer layer_;
  std::unique_ptr<PieceReader> echo_reader_;
  EchoCut& echo_cut_;
  std::optional<signal::WarpReader> echo_warp_;
  const SideTrack& track_;
  const ResidualSetting& setting_;
  LaidPiece piece_;
  std::int64_t& first_{piece_.first};
  StereoSamples &capture_{piece_.capture}, &warped_{piece_.warped}, &prediction_{piece_.prediction};
  EventBuffers buffers_;
  StereoSamples& cut_{buffers_.clear};  // never wanted at one time
  std::vector<float> window_;
  std::optional<MaskingModel> masking_;
  signal::Aligned<float> frame_;
  std::array<signal::Aligned<std::complex<float>>, 8> spectra_;
};

/// Merges the pieces' findings in the order of the side, whoever is done first: those that are early wait.
class InOrder {
 public:
  explicit InOrder(SideResidual& side) : side_{side} {}

  void take(std::size_t piece, PieceResult result) {
    const std::lock_guard guard{lock_};
    early_.emplace(piece, std::move(result));
    for (auto first = early_.begin(); first != early_.end() && first->first == next_;
         first = early_.erase(first), ++next_)
      merge(first->second);
  }

 private:
  void merge(const PieceResult& result) {
    side_.events.insert(side_.events.end(), result.events.begin(), result.events.end());
    for (const GroundBlock& block : result.ground) side_.ground.take(block);
    side_.levels.merge(result.measures->levels);
    side_.map.merge(result.measures->map);
    side_.noise.merge(result.measures->noise);
    side_.low.merge(result.measures->low);
    side_.echo.merge(result.measures->echo);
    side_.infrasound.merge(result.measures->infrasound);
  }

  SideResidual& side_;
  std::mutex lock_;
  std::map<std::size_t, PieceResult> early_;
  std::size_t next_{};
};

/// What readings would leave of a few windows spread over the side.
Outcome try_in_windows(const std::vector<std::unique_ptr<PieceListener>>& listeners,
                       double from_s,
                       double room_s,
                       std::span<const GrooveReading> readings,
                       std::span<Leftover> left) {
  std::vector<std::vector<Leftover>> windows(trial_windows, std::vector<Leftover>(readings.size()));
  const auto weigh = [&](std::size_t worker, std::size_t w) {
    const double share = (static_cast<double>(w) + 0.5) / static_cast<double>(trial_windows);
    return listeners[worker]->try_readings(from_s + share * room_s, readings, windows[w]);
  };
  if (auto ran = run_pieces(windows.size(), static_cast<int>(listeners.size()), weigh); !ran)
    return ran;
  for (const auto& window : windows)
    for (std::size_t k = 0; k < readings.size(); ++k) left[k].merge(window[k]);
  return Done{};
}

}  // namespace

Result<SideResidual> hear_residual(const signal::SampleSource& capture,
                                   const signal::SampleSource& reference,
                                   const SideTrack& track,
                                   const ResidualSetting& setting,
                                   const std::function<bool(double)>& go_on) {
  const double from_s = track.stretches.front().capture_from_s;
  const double to_s = track.stretches.back().capture_to_s;
  const auto first_piece = static_cast<std::size_t>(std::max(0.0, std::floor(from_s / core_s)));
  const auto end_piece = static_cast<std::size_t>(std::ceil(to_s / core_s));
  const std::size_t count = std::max<std::size_t>(1, end_piece - first_piece);
  const std::size_t factor = listening_factor(capture.sample_rate_Hz());
  const double rate_Hz = capture.sample_rate_Hz() / static_cast<double>(factor);
  EchoCut shared_echo_cut;
  std::vector<std::unique_ptr<PieceListener>> listeners;
  for (std::size_t w = 0; w < workers_for(setting.jobs, count); ++w) {
    auto heard = capture.again();
    if (!heard) return heard.error();
    auto cut = reference.again();
    if (!cut) return cut.error();
    auto echo_cut = reference.again();
    if (!echo_cut) return echo_cut.error();
    const std::size_t cut_factor = reference_factor(reference.sample_rate_Hz(), rate_Hz);
    listeners.push_back(std::make_unique<PieceListener>(
        std::make_unique<PieceReader>(std::move(*heard), factor),
        std::make_unique<PieceReader>(std::move(*cut), cut_factor),
        std::make_unique<PieceReader>(
            std::move(*echo_cut), echo_factor(reference.sample_rate_Hz()), 6),
        shared_echo_cut,
        track,
        setting));
  }
  GrooveReading reading{0.0, 0.0, setting.rpm, setting.radius_m};
  for (const auto& listener : listeners) listener->read_with(reading);
  if (const double room_s = to_s - from_s - trial_s; !setting.mono && room_s > 0.0) {
    const TryReadings try_readings = [&](std::span<const GrooveReading> readings,
                                         std::span<Leftover> left) -> Outcome {
      return try_in_windows(listeners, from_s, room_s, readings, left);
    };
    const auto fitted = fit_reading(reading, try_readings);
    if (!fitted) return fitted.error();
    reading = *fitted;
    for (const auto& listener : listeners) listener->read_with(reading);
  }
  const double echo_grid_Hz = rate_Hz / static_cast<double>(echo_factor(rate_Hz));
  const double low_rate_Hz = echo_grid_Hz / static_cast<double>(low_factor);
  const double infrasound_rate_Hz = echo_grid_Hz / static_cast<double>(infrasound_factor);
  SideResidual side{{},
                    LevelMeter{},
                    NoiseMap{setting.rpm, setting.programme_duration_s},
                    NoiseLevels{},
                    LowNoise{low_rate_Hz},
                    EchoFit{},
                    Infrasound{infrasound_rate_Hz},
                    GrooveGround{setting.rpm, setting.programme_duration_s},
                    {}};
  InOrder in_order{side};
  std::atomic<std::size_t> done{0};
  const auto listen_one = [&](std::size_t worker, std::size_t p) -> Outcome {
    PieceResult result;
    result.measures =
        std::make_unique<Measures>(Measures{LevelMeter{},
                                            NoiseMap{setting.rpm, setting.programme_duration_s},
                                            NoiseLevels{},
                                            LowNoise{low_rate_Hz},
                                            EchoFit{},
                                            Infrasound{infrasound_rate_Hz}});
    const double core_from_s = static_cast<double>(first_piece + p) * core_s;
    if (auto heard = listeners[worker]->listen(core_from_s, core_from_s + core_s, result); !heard)
      return heard;
    in_order.take(p, std::move(result));
    if (!go_on(static_cast<double>(++done) / static_cast<double>(count)))
      return Error{Fault::conflict, "stopped before the end"};
    return Done{};
  };
  if (auto ran = run_pieces(count, setting.jobs, listen_one); !ran) return ran.error();
  std::ranges::sort(side.events, {}, &ResidualEvent::at_s);
  side.reading = reading;
  return side;
}

}  // namespace goodside::listen
