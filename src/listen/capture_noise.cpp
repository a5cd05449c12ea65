#include "listen/capture_noise.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <limits>
#include <memory>
#include <mutex>
#include <numbers>
#include <span>

#include "listen/bands.hpp"
#include "listen/density.hpp"
#include "listen/low_noise.hpp"
#include "listen/piece_reader.hpp"
#include "listen/pieces.hpp"
#include "listen/weighting.hpp"
#include "signal/aligned.hpp"
#include "signal/fft.hpp"
#include "signal/fir.hpp"
#include "signal/window.hpp"

namespace goodside::listen {
namespace {

constexpr std::size_t columns = 24;
constexpr double core_s = 24.0;
constexpr double frame_s = 0.02;
constexpr double quiet_run_s = 1.0;
constexpr double as_quiet = 2.0;       // in power
constexpr double least_power = 1e-13;  // A-weighted: under it is digital silence
constexpr double least_turns = 4.0;
constexpr std::size_t most_rows = 40;
constexpr double sure_sigmas = 4.0;
constexpr std::size_t low_sharpness = 10;
constexpr double cell_s = 5e-3;
constexpr double cell_high_pass_Hz = 300.0;
constexpr double tonal_from_Hz = 300.0, tonal_to_Hz = 5000.0;
constexpr std::size_t slow_factor = 20;
constexpr std::size_t slow_half = 5 * slow_factor;

/// Sum of A-weighted frame powers that fall into one slot, a twenty-fourth of a turn.
struct Slot {
  double power{};
  std::uint32_t frames{};
};

struct PieceFound {
  std::size_t first_slot{};
  std::vector<Slot> slots;
  std::unique_ptr<LowNoise> low;
  TurnHeard turn;
};

std::size_t noise_factor(double rate_Hz) {
  return std::max<std::size_t>(1, static_cast<std::size_t>(std::ceil(rate_Hz / 48001.0)));
}

std::size_t low_factor(double rate_Hz) {
  return std::max<std::size_t>(1, static_cast<std::size_t>(std::lround(rate_Hz / 1000.0)));
}

/// Mean over 300 to 5000 Hz of ln(mean of nine bins) - ln(bin).
float tonality(std::span<const float> powers, double bin_Hz) {
  constexpr std::size_t beside = 4;
  constexpr float least = 1e-16F;
  const auto first = std::max(beside, static_cast<std::size_t>(tonal_from_Hz / bin_Hz));
  const auto last =
      std::min(powers.size() - beside, static_cast<std::size_t>(tonal_to_Hz / bin_Hz));
  if (first >= last) return 0.0F;
  float sum = 0.0F;
  for (std::size_t k = first; k < last; ++k) {
    float around = 0.0F;
    for (std::size_t j = k - beside; j <= k + beside; ++j) around += powers[j];
    sum += std::log((around / (9.0F) + least) / (powers[k] + least));
  }
  return sum / static_cast<float>(last - first);
}

/// Two first-order high-passes in a row; begins as if `start` had lasted for ever.
class HighPass {
 public:
  HighPass(double rate_Hz, float start)
      : keep_{static_cast<float>(std::exp(-2.0 * std::numbers::pi * cell_high_pass_Hz / rate_Hz))},
        in_{start} {}

  float next(float sample) {
    const float once = keep_ * (once_ + sample - in_);
    twice_ = keep_ * (twice_ + once - once_);
    in_ = sample;
    once_ = once;
    return twice_;
  }

 private:
  float keep_, in_, once_{}, twice_{};
};

/// One worker.
class NoiseHearer {
 public:
  NoiseHearer(std::unique_ptr<PieceReader> reader, std::unique_ptr<PieceReader> low, double rpm)
      : reader_{std::move(reader)}, low_reader_{std::move(low)}, slot_s_{60.0 / rpm / columns} {
    std::size_t length = 128;
    while (static_cast<double>(length) < frame_s * reader_->rate_Hz()) length *= 2;
    window_ = signal::hann(length);
    double window_power = 0.0;
    for (const float w : window_) window_power += static_cast<double>(w) * static_cast<double>(w);
    const double bin_Hz = reader_->rate_Hz() / static_cast<double>(length);
    // Mean of both channels, A-weighted, as a mean square.
    const double scale = 0.5 * mean_square_factor(length / 2 + 1, window_power);
    for (std::size_t k = 0; k < length / 2 + 1; ++k)
      weights_.push_back(
          static_cast<float>(scale * a_weighting_power(static_cast<double>(k) * bin_Hz)));
  }

  Outcome hear(double from_s, double to_s, PieceFound& found) {
    const double rate_Hz = reader_->rate_Hz();
    const std::size_t length = window_.size();
    const auto hop = static_cast<std::int64_t>(length / 2);
    const auto first =
        static_cast<std::int64_t>(std::ceil(from_s * rate_Hz / static_cast<double>(hop)));
    const auto last =
        static_cast<std::int64_t>(std::ceil(to_s * rate_Hz / static_cast<double>(hop)));
    found.first_slot = slot_of(first, hop);
    const auto count = static_cast<std::size_t>((last - first) * hop) + length;
    for (auto& channel : samples_) channel.resize(count);
    // Frame k has its middle at sample k hop.
    if (auto read = reader_->read(first * hop - hop, samples_[0], samples_[1]); !read) return read;
    const signal::RealFft& fft = signal::shared_fft(length);
    frame_.resize(length);
    spectrum_.resize(fft.bins());
    found.turn.frame_s = static_cast<double>(hop) / rate_Hz;
    found.turn.tonal.assign(static_cast<std::size_t>(last - first), 0.0F);
    powers_.resize(fft.bins());
    for (std::int64_t k = first; k < last; ++k) {
      if ((k + 1) * hop > reader_->frames() || k < 1) continue;  // half of it lies outside
      const auto at = static_cast<std::size_t>((k - first) * hop);
      double power = 0.0;
      std::ranges::fill(powers_, 0.0F);
      for (const auto& channel : samples_) {
        signal::apply_window(std::span{channel}.subspan(at, length), window_, frame_);
        fft.forward(frame_, spectrum_);
        for (std::size_t bin = 0; bin < weights_.size(); ++bin)
          power += static_cast<double>(weights_[bin] * std::norm(spectrum_[bin]));
        for (std::size_t bin = 0; bin < powers_.size(); ++bin)
          powers_[bin] += std::norm(spectrum_[bin]);
      }
      found.turn.tonal[static_cast<std::size_t>(k - first)] =
          tonality(powers_, rate_Hz / static_cast<double>(length));
      const std::size_t slot = slot_of(k, hop) - found.first_slot;
      if (slot >= found.slots.size()) found.slots.resize(slot + 1);
      found.slots[slot].power += power;
      ++found.slots[slot].frames;
    }
    hear_cells(from_s, to_s, first * hop - hop, found.turn);
    return hear_low(from_s, to_s, found);
  }

 private:
  [[nodiscard]] std::size_t slot_of(std::int64_t frame, std::int64_t hop) const {
    return static_cast<std::size_t>(static_cast<double>(frame * hop) / reader_->rate_Hz() /
                                    slot_s_);
  }

  /// Energies by cell of what `samples_` holds from sample `begin` on.
  void hear_cells(double from_s, double to_s, std::int64_t begin, TurnHeard& turn) const {
    const double rate_Hz = reader_->rate_Hz();
    const auto cell = static_cast<std::int64_t>(std::lround(cell_s * rate_Hz));
    turn.cell_s = static_cast<double>(cell) / rate_Hz;
    const auto first = static_cast<std::int64_t>(std::ceil(from_s / turn.cell_s));
    const auto last = std::min(static_cast<std::int64_t>(std::ceil(to_s / turn.cell_s)),
                               reader_->frames() / cell);
    if (last <= first) return;
    const auto count = static_cast<std::size_t>(last - first);
    for (auto* energies : {&turn.left, &turn.right, &turn.vertical}) energies->assign(count, 0.0F);
    HighPass left{rate_Hz, samples_[0].front()};
    HighPass right{rate_Hz, samples_[1].front()};
    const auto end = std::min(last * cell - begin, std::ssize(samples_[0]));
    for (std::int64_t j = 0; j < end; ++j) {
      const float l = left.next(samples_[0][static_cast<std::size_t>(j)]);
      const float r = right.next(samples_[1][static_cast<std::size_t>(j)]);
      if (begin + j < first * cell) continue;
      const auto at = static_cast<std::size_t>((begin + j) / cell - first);
      turn.left[at] += l * l;
      turn.right[at] += r * r;
      turn.vertical[at] += 0.25F * (l - r) * (l - r);
    }
  }

  /// The vertical channel's infrasound from `wide`, left and right, of which `ahead` samples lie before `first`.
  void hear_slow(std::int64_t first, std::int64_t last, std::size_t ahead, TurnHeard& turn) {
    constexpr auto step = static_cast<std::int64_t>(slow_factor);
    turn.slow_rate_Hz = low_reader_->rate_Hz() / static_cast<double>(slow_factor);
    const std::int64_t from = (first + step - 1) / step * step;
    if (from >= last) return;
    turn.slow.resize(static_cast<std::size_t>((last - from + step - 1) / step));
    std::vector<float> vertical(samples_[0].size());
    for (std::size_t j = 0; j < vertical.size(); ++j)
      vertical[j] = 0.5F * (samples_[0][j] - samples_[1][j]);
    const auto taps = signal::low_pass_taps(0.42 / slow_factor, slow_half, 5.0);
    signal::slide_filter(vertical,
                         static_cast<std::size_t>(from - first) + ahead - slow_half,
                         slow_factor,
                         taps,
                         turn.slow);
  }

  Outcome hear_low(double from_s, double to_s, PieceFound& found) {
    const double rate_Hz = low_reader_->rate_Hz();
    found.low = std::make_unique<LowNoise>(rate_Hz);
    const auto first = static_cast<std::int64_t>(from_s * rate_Hz);
    const auto last = std::min(static_cast<std::int64_t>(to_s * rate_Hz), low_reader_->frames());
    if (last <= first) return Done{};
    const auto count = static_cast<std::size_t>(last - first);
    for (auto& channel : samples_) channel.resize(count + 2 * slow_half);
    const auto ahead = static_cast<std::int64_t>(slow_half);
    if (auto read = low_reader_->read(first - ahead, samples_[0], samples_[1]); !read) return read;
    const auto left = std::span<const float>{samples_[0]}.subspan(slow_half, count);
    const auto right = std::span<const float>{samples_[1]}.subspan(slow_half, count);
    found.low->take({left, right}, {left, right});
    hear_slow(first, last, slow_half, found.turn);
    return Done{};
  }

  std::unique_ptr<PieceReader> reader_, low_reader_;
  double slot_s_;
  std::vector<float> window_, weights_;
  std::array<signal::Aligned<float>, 2> samples_;
  std::vector<float> powers_;  // of both channels, by bin
  signal::Aligned<float> frame_;
  signal::Aligned<std::complex<float>> spectrum_;
};

std::string clock(double time_s) {
  const auto whole = static_cast<int>(time_s);
  return fmt::format("{}:{:04.1f}", whole / 60, time_s - 60.0 * (whole / 60));
}

/// What the slots of a whole capture tell.
class QuietGroove {
 public:
  QuietGroove(const std::vector<Slot>& slots, const CaptureNoiseSetting& setting, double slot_s)
      : slot_s_{slot_s}, power_(slots.size()), usable_(slots.size()), quiet_(slots.size()) {
    std::size_t next = 0;
    for (std::size_t s = 0; s < slots.size(); ++s) {
      if (slots[s].frames > 0) power_[s] = slots[s].power / slots[s].frames;
      const double from_s = static_cast<double>(s) * slot_s - frame_s;
      const double to_s = static_cast<double>(s + 1) * slot_s + frame_s;
      while (next < setting.disturbed.size() && setting.disturbed[next].to_s < from_s) ++next;
      const bool struck = next < setting.disturbed.size() && setting.disturbed[next].from_s < to_s;
      usable_[s] = power_[s] > least_power && !struck ? 1 : 0;
    }
    seek();
  }

  void fill(CaptureNoiseFound& found) const {
    if (!known_) {
      found.undetermined.push_back({.field = "noise.weighted_dB",
                                    .why = "no second of the capture is free of digital silence"});
      found.undetermined.push_back(
          {.field = "noise.polar", .why = "no second of the capture is free of digital silence"});
      return;
    }
    std::size_t count = 0;
    double sum = 0.0;
    for (std::size_t s = 0; s < power_.size(); ++s)
      if (quiet_[s] != 0) {
        sum += power_[s];
        ++count;
      }
    found.quietest = {static_cast<double>(quietest_) * slot_s_,
                      static_cast<double>(quietest_ + run_) * slot_s_};
    found.quiet_s = static_cast<double>(count) * slot_s_;
    found.noise.weighted_dB = re_full_scale_dB(sum / static_cast<double>(count), 0.0);
    found.noise.weighted_reference = fmt::format(
        "A-weighted, in the quietest {:.1f} s of the capture, about {}, mean of both channels, re "
        "a "
        "full-scale sine of the capture; programme that plays there counts as noise",
        found.quiet_s,
        clock(found.quietest.from_s));
    fill_map(found);
    fill_swing(found);
  }

 private:
  void seek() {
    run_ = std::max<std::size_t>(1, static_cast<std::size_t>(std::ceil(quiet_run_s / slot_s_)));
    std::vector<double> means(power_.size() >= run_ ? power_.size() - run_ + 1 : 0,
                              std::numeric_limits<double>::infinity());
    for (std::size_t from = 0; from < means.size(); ++from) {
      double sum = 0.0;
      std::size_t count = 0;
      bool silent = false;
      for (std::size_t s = from; s < from + run_; ++s) {
        silent = silent || power_[s] <= least_power;
        if (usable_[s] == 0) continue;
        sum += power_[s];
        ++count;
      }
      if (!silent && 2 * count >= run_) means[from] = sum / static_cast<double>(count);
    }
    const auto least = std::ranges::min_element(means);
    known_ = least != means.end() && std::isfinite(*least);
    if (!known_) return;
    quietest_ = static_cast<std::size_t>(least - means.begin());
    for (std::size_t from = 0; from < means.size(); ++from)
      if (means[from] <= as_quiet * *least)
        for (std::size_t s = from; s < from + run_; ++s) quiet_[s] = usable_[s];
  }

  void fill_map(CaptureNoiseFound& found) const {
    const double turns = static_cast<double>(power_.size()) / columns;
    const auto per_row = static_cast<std::size_t>(
        std::max(least_turns, std::ceil(turns / static_cast<double>(most_rows))));
    const std::size_t rows = (power_.size() + per_row * columns - 1) / (per_row * columns);
    works::PolarMap map;
    map.revolutions_per_row = static_cast<double>(per_row);
    map.columns = static_cast<int>(columns);
    map.rows = static_cast<int>(rows);
    std::vector<double> sum(rows * columns);
    std::vector<std::size_t> quiet(rows * columns);
    std::vector<std::size_t> all(rows * columns);
    for (std::size_t s = 0; s < power_.size(); ++s) {
      const std::size_t place = s / (per_row * columns) * columns + s % columns;
      ++all[place];
      if (quiet_[s] == 0) continue;
      ++quiet[place];
      sum[place] += power_[s];
    }
    std::size_t known = 0;
    for (std::size_t place = 0; place < sum.size(); ++place) {
      map.coverage.push_back(all[place] == 0 ? 0.0
                                             : static_cast<double>(quiet[place]) /
                                                   static_cast<double>(all[place]));
      std::optional<double> level_dB;
      if (2 * quiet[place] >= per_row) {
        level_dB = re_full_scale_dB(sum[place] / static_cast<double>(quiet[place]), 0.0);
        ++known;
      }
      map.dB.push_back(level_dB);
    }
    if (known < columns) {
      found.undetermined.push_back(
          {.field = "noise.polar",
           .why = "without the cut only quiet groove shows the surface, and there is less than a "
                  "few turns of it"});
      return;
    }
    map.reference =
        "A-weighted, quiet stretches only, mean of both channels, re a full-scale sine of the "
        "capture; turns and angles count from the capture's first sample";
    found.noise.polar = std::move(map);
  }

  void fill_swing(CaptureNoiseFound& found) const {
    std::complex<double> first;
    double sum = 0.0;
    double count = 0.0;
    const auto direction = [](std::size_t s) {
      const double turn = (static_cast<double>(s % columns) + 0.5) / columns;
      return std::polar(1.0, 2.0 * std::numbers::pi * turn);
    };
    // Quiet slots must lie evenly round the turn, or their own level would pass for a swing.
    std::array<double, columns> level{};
    std::array<double, columns> slots{};
    for (std::size_t s = 0; s < power_.size(); ++s)
      if (quiet_[s] != 0) {
        level[s % columns] += power_[s];
        slots[s % columns] += 1.0;
        count += 1.0;
      }
    if (*std::ranges::min_element(slots) < least_turns) return;
    for (std::size_t c = 0; c < columns; ++c) {
      level[c] /= slots[c];
      first += level[c] * direction(c);
      sum += level[c];
    }
    const double m = std::abs(first) / sum;
    double scatter = 0.0;
    for (std::size_t s = 0; s < power_.size(); ++s)
      if (quiet_[s] != 0) scatter += std::pow(power_[s] / (sum / columns) - 1.0, 2.0);
    // Neighbouring slots of a noise that wanders slowly are not independent: a turn counts as one.
    const double turns = count / columns;
    const double sigma = std::sqrt(scatter / count / (2.0 * turns));
    NoiseSwing swing;
    swing.sigmas = sigma > 0.0 ? m / sigma : 0.0;
    if (swing.sigmas < sure_sigmas || m >= 0.5) return;
    swing.swing_dB = 10.0 * std::log10((1.0 + 2.0 * m) / (1.0 - 2.0 * m));
    const double angle_deg = std::arg(first) * 180.0 / std::numbers::pi;
    swing.loudest_deg = angle_deg < 0.0 ? angle_deg + 360.0 : angle_deg;
    found.swing = swing;
  }

  double slot_s_;
  std::vector<double> power_;
  std::vector<char> usable_, quiet_;
  std::size_t run_{}, quietest_{};
  bool known_{};
};

/// Lays a piece's cells behind those of the pieces before it.
void join(const TurnHeard& piece, TurnHeard& whole) {
  whole.cell_s = piece.cell_s;
  whole.slow_rate_Hz = std::max(whole.slow_rate_Hz, piece.slow_rate_Hz);
  const auto append = [](const std::vector<float>& more, std::vector<float>& all) {
    all.insert(all.end(), more.begin(), more.end());
  };
  append(piece.left, whole.left);
  append(piece.right, whole.right);
  append(piece.vertical, whole.vertical);
  append(piece.slow, whole.slow);
  append(piece.tonal, whole.tonal);
  whole.frame_s = piece.frame_s;
}

void fill_low(const LowNoise& low, CaptureNoiseFound& found) {
  const LowNoiseFound heard = low.finish(0.0);
  found.noise.rumble_dB = heard.rumble_dB;
  found.noise.rumble_unweighted_dB = heard.rumble_unweighted_dB;
  found.noise.hum_dB = heard.hum_dB;
  found.noise.rumble_reference =
      "weighted as curve B of IEC 60098 up to 315 Hz (from memory), each third octave where it is "
      "weakest, mean of both channels, re a full-scale sine of the capture; bass that never rests "
      "counts as rumble";
  found.noise.rumble_unweighted_reference = "10 to 315 Hz unweighted, else as the weighted figure";
  found.noise.hum_reference =
      "lines at 50 or 60 Hz and their multiples to 300 Hz, unweighted, mean of both channels, re a "
      "full-scale sine of the capture; a steady note there reads the same";
  for (works::Undetermined one : heard.undetermined) {
    if (one.field == "noise.rumble_dB") one.why = "fewer than 10 s of capture were heard";
    found.undetermined.push_back(std::move(one));
  }
}

}  // namespace

Result<CaptureNoiseFound> measure_noise(const signal::SampleSource& capture,
                                        const CaptureNoiseSetting& setting,
                                        const std::function<bool(double)>& go_on) {
  const double rate_Hz = capture.sample_rate_Hz();
  const double duration_s = static_cast<double>(capture.frames()) / rate_Hz;
  const auto count = static_cast<std::size_t>(std::max(1.0, std::ceil(duration_s / core_s)));
  std::vector<std::unique_ptr<NoiseHearer>> hearers;
  for (std::size_t w = 0; w < workers_for(setting.jobs, count); ++w) {
    auto one = capture.again();
    if (!one) return one.error();
    auto low = capture.again();
    if (!low) return low.error();
    hearers.push_back(std::make_unique<NoiseHearer>(
        std::make_unique<PieceReader>(std::move(*one), noise_factor(rate_Hz)),
        std::make_unique<PieceReader>(std::move(*low), low_factor(rate_Hz), low_sharpness),
        setting.rpm));
  }
  std::vector<PieceFound> pieces(count);
  std::mutex lock;
  std::size_t done = 0;
  auto heard = run_pieces(count, setting.jobs, [&](std::size_t worker, std::size_t k) -> Outcome {
    const double from_s = static_cast<double>(k) * core_s;
    const double to_s = std::min(duration_s, from_s + core_s);
    if (auto piece = hearers[worker]->hear(from_s, to_s, pieces[k]); !piece) return piece;
    const std::lock_guard guard{lock};
    if (go_on && !go_on(static_cast<double>(++done) / static_cast<double>(count)))
      return Error{Fault::conflict, "stopped"};
    return Done{};
  });
  if (!heard) return heard.error();

  CaptureNoiseFound found;
  for (PieceFound& piece : pieces) join(piece.turn, found.turn);
  std::vector<Slot> slots;
  for (const PieceFound& piece : pieces)
    for (std::size_t s = 0; s < piece.slots.size(); ++s) {
      const std::size_t at = piece.first_slot + s;
      if (at >= slots.size()) slots.resize(at + 1);
      slots[at].power += piece.slots[s].power;
      slots[at].frames += piece.slots[s].frames;
    }
  for (std::size_t k = 1; k < pieces.size(); ++k) pieces[0].low->merge(*pieces[k].low);
  QuietGroove{slots, setting, 60.0 / setting.rpm / columns}.fill(found);
  fill_low(*pieces[0].low, found);
  return found;
}

}  // namespace goodside::listen
