#include "listen/prediction_faults.hpp"

#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <iterator>
#include <limits>
#include <memory>
#include <mutex>
#include <optional>
#include <span>

#include "listen/crackle_line.hpp"
#include "listen/gap_weighing.hpp"
#include "listen/piece_reader.hpp"
#include "listen/pieces.hpp"
#include "listen/robust_prediction.hpp"
#include "listen/whitening.hpp"

namespace goodside::listen {
namespace {

constexpr double core_s = 6.0;
constexpr double margin_s = 0.25;
constexpr double block_s = 45e-3;
constexpr double cell_s = 0.17e-3;
constexpr double bin_s = 2e-3;
constexpr double reach_s = 50e-3;    // of the neighbourhood, either side
constexpr std::size_t rank = 2;      // its third highest bin speaks for a side
constexpr double least_ratio = 5.0;  // of a candidate's loudest cell
constexpr double bass_Hz = 200.0;
constexpr double emphasis = 0.9;
constexpr double quiet_s = 0.25;
constexpr double least_noise = 1e-13;          // mean square: 0.1 LSB of 24 bits
constexpr std::size_t most_candidates = 1000;  // a piece
constexpr double least_line_dB = 10.0;
constexpr double highest_line_dB =
    13.0;  // where no more than so many stand over it that they are no tail
// What speaks against a tick takes from its severity: see `doubt_dB`.
constexpr double usual_step_dB = 1.5;
constexpr double usual_slope_dB = 5.0;
constexpr double usual_tick_s = 1.3e-3;
constexpr double doubt_per_s = 8e3;
constexpr double lasting_share = 0.03;
constexpr double lasting_ramp_dB = 6.0;
constexpr std::size_t lasting_reach = 24;  // cells, 4 ms either side
constexpr double first_share = 0.9;        // of the work, for the progress told

struct Candidate {
  double at_s{}, from_s{}, to_s{}, ratio{}, severity_dB{};
};

struct PieceFound {
  std::vector<Candidate> candidates;
  double noise_power{std::numeric_limits<double>::infinity()};
};

std::size_t prediction_factor(double rate_Hz) {
  return std::max<std::size_t>(1, static_cast<std::size_t>(std::ceil(rate_Hz / 48001.0)));
}

/// Lateral and vertical: a fault of one wall lies in both, a centred voice in the first alone.
void to_planes(StereoSamples& samples) {
  for (std::size_t j = 0; j < samples[0].size(); ++j) {
    const float l = samples[0][j];
    const float r = samples[1][j];
    samples[0][j] = 0.5F * (l + r);
    samples[1][j] = 0.5F * (l - r);
  }
}

/// First difference but for a tenth: the models need less range.
void emphasise(signal::Aligned<float>& samples) {
  float before = 0.0F;
  for (float& sample : samples) {
    const float now = sample;
    sample = now - static_cast<float>(emphasis) * before;
    before = now;
  }
}

/// What one plane shows: energy of whitened cells, and the highest cell of each bin.
struct PlaneCells {
  signal::Aligned<float> white;
  std::vector<float> cells, bins;
};

class PieceHearer {
 public:
  explicit PieceHearer(std::unique_ptr<PieceReader> reader) : reader_{std::move(reader)} {
    const double rate_Hz = reader_->rate_Hz();
    width_ = std::max<std::size_t>(2, static_cast<std::size_t>(std::lround(cell_s * rate_Hz)));
    per_bin_ = static_cast<std::size_t>(std::lround(bin_s * rate_Hz / static_cast<double>(width_)));
    hop_ = static_cast<std::size_t>(0.5 * block_s * rate_Hz);
  }

  Outcome hear(double from_s, double to_s, PieceFound& found) {
    const double rate_Hz = reader_->rate_Hz();
    first_ = std::llround((from_s - margin_s) * rate_Hz);
    const auto count = static_cast<std::size_t>((to_s - from_s + 2.0 * margin_s) * rate_Hz);
    for (auto& channel : samples_) channel.resize(count);
    if (auto read = reader_->read(first_, samples_[0], samples_[1]); !read) return read;
    found.noise_power = quietest(from_s, to_s);
    const bool one = samples_[0] == samples_[1];
    to_planes(samples_);
    for (std::size_t p = 0; p < (one ? 1U : 2U); ++p) {
      high_pass(samples_[p], bass_Hz, rate_Hz);
      emphasise(samples_[p]);
      whiten(samples_[p], planes_[p].white);
      measure(planes_[p]);
    }
    seek({planes_.data(), one ? 1U : 2U}, from_s, to_s, found.candidates);
    return Done{};
  }

 private:
  /// Power above 1 kHz of both channels in the quietest quarter second of the piece; infinite where all is
  /// digital silence.
  double quietest(double from_s, double to_s) {
    const double rate_Hz = reader_->rate_Hz();
    const auto length = static_cast<std::size_t>(quiet_s * rate_Hz);
    const auto core = static_cast<std::size_t>(margin_s * rate_Hz);
    const auto end = std::min<std::int64_t>(std::llround(to_s * rate_Hz), reader_->frames()) -
                     std::llround(from_s * rate_Hz);
    std::vector<double> power(static_cast<std::size_t>(std::max<std::int64_t>(0, end)) / length);
    for (const auto& channel : samples_) {
      high_ = channel;
      high_pass(high_, audible_from_Hz, rate_Hz);
      for (std::size_t k = 0; k < power.size(); ++k)
        for (std::size_t j = 0; j < length; ++j) {
          const auto h = static_cast<double>(high_[core + k * length + j]);
          power[k] += h * h / static_cast<double>(length);
        }
    }
    double least = std::numeric_limits<double>::infinity();
    for (const double one : power)
      if (one > least_noise) least = std::min(least, one);
    return least;
  }

  void whiten(const signal::Aligned<float>& samples, signal::Aligned<float>& white) {
    white.assign(samples.size(), 0.0F);
    const std::size_t half = hop_ / 2;
    const std::size_t from = std::max(half, prediction_order);
    for (std::size_t at = from; at + hop_ + half <= samples.size(); at += hop_) {
      const std::span<const float> block{samples.data() + at - half, hop_ + 2 * half};
      const auto fit = predictor_.fit(block, reader_->rate_Hz());
      predictor_.whiten(fit, samples, at, std::span{white}.subspan(at, hop_));
    }
  }

  void measure(PlaneCells& plane) const {
    plane.cells.assign(plane.white.size() / width_, 0.0F);
    for (std::size_t c = 0; c < plane.cells.size(); ++c) {
      float sum = 0.0F;
      for (std::size_t j = c * width_; j < (c + 1) * width_; ++j)
        sum += plane.white[j] * plane.white[j];
      plane.cells[c] = sum / static_cast<float>(width_);
    }
    plane.bins.assign(plane.cells.size() / per_bin_, 0.0F);
    for (std::size_t b = 0; b < plane.bins.size(); ++b)
      for (std::size_t c = b * per_bin_; c < (b + 1) * per_bin_; ++c)
        plane.bins[b] = std::max(plane.bins[b], plane.cells[c]);
  }

  /// The third highest bin from first to last-1.
  static float crest(std::span<const float> bins, std::size_t first, std::size_t last) {
    std::array<float, rank + 1> top{};
    for (std::size_t b = first; b < last; ++b) {
      float value = bins[b];
      for (float& place : top)
        if (value > place) std::swap(value, place);
    }
    return top[rank];
  }

  /// How far bin b of a plane stands out, as a ratio; 0 where it is no candidate.
  [[nodiscard]] double standing_out(const PlaneCells& plane, std::size_t b) const {
    const auto reach = static_cast<std::size_t>(reach_s / bin_s);
    const auto& bins = plane.bins;
    if (static_cast<double>(bins[b]) < least_ratio || b < reach + 2 || b + reach + 2 >= bins.size())
      return 0.0;
    if (bins[b - 1] > bins[b] || bins[b + 1] >= bins[b]) return 0.0;
    const float around =
        std::max({crest(bins, b - reach, b - 1), crest(bins, b + 2, b + reach + 1), 1.0F});
    return static_cast<double>(bins[b] / around);
  }

  /// A tick leaves its neighbourhood as it was and lasts a millisecond; a drum, a consonant or a plucked string
  /// is louder after than before, falls off within milliseconds, or lasts.
  [[nodiscard]] static double doubt_dB(const PlaneCells& plane, std::size_t b, double duration_s) {
    const auto level_dB = [&](std::size_t first, std::size_t last) {
      std::vector<float> near{plane.bins.begin() + static_cast<std::ptrdiff_t>(first),
                              plane.bins.begin() + static_cast<std::ptrdiff_t>(last)};
      const auto middle = near.begin() + static_cast<std::ptrdiff_t>(near.size() / 2);
      std::ranges::nth_element(near, middle);
      return 10.0 * std::log10(static_cast<double>(*middle) + 1e-6);
    };
    const auto mean_dB = [&](std::size_t first) {
      return 10.0 *
             std::log10(static_cast<double>(plane.bins[first] + plane.bins[first + 1]) + 1e-6);
    };
    const double step_dB = std::abs(level_dB(b + 2, b + 13) - level_dB(b - 12, b - 1));
    const double slope_dB = std::abs(mean_dB(b + 2) - mean_dB(b - 3));
    return 2.0 * std::max(0.0, step_dB - usual_step_dB) + std::max(0.0, slope_dB - usual_slope_dB) +
           doubt_per_s * std::max(0.0, duration_s - usual_tick_s);
  }

  /// How long a burst about its loudest cell lasts: its cells, each counted by how far it stands over a share of that
  /// one, none by a little rounding more than before.
  [[nodiscard]] double lasting_s(std::span<const float> cells, std::size_t cell) const {
    const double level = std::max(3.0, lasting_share * static_cast<double>(cells[cell]));
    const std::size_t first = cell - std::min(cell, lasting_reach);
    const std::size_t last = std::min(cells.size(), cell + lasting_reach + 1);
    double sum = 0.0;
    for (std::size_t c = first; c < last; ++c) {
      const double over_dB = 10.0 * std::log10(static_cast<double>(cells[c]) / level + 1e-6);
      sum += std::clamp(0.5 + over_dB / lasting_ramp_dB, 0.0, 1.0);
    }
    return sum * static_cast<double>(width_) / reader_->rate_Hz();
  }

  void seek(std::span<const PlaneCells> planes,
            double from_s,
            double to_s,
            std::vector<Candidate>& found) const {
    const double rate_Hz = reader_->rate_Hz();
    const auto time_s = [&](std::size_t sample) {
      return static_cast<double>(first_ + static_cast<std::int64_t>(sample)) / rate_Hz;
    };
    std::size_t taken = 0;  // cells
    for (std::size_t b = 0; b < planes[0].bins.size(); ++b) {
      std::size_t best = 0;
      double out = 0.0;
      for (std::size_t p = 0; p < planes.size(); ++p)
        if (const double here = standing_out(planes[p], b); here > out) {
          out = here;
          best = p;
        }
      if (!(out > 0.0)) continue;
      const auto& cells = planes[best].cells;
      const auto begin = cells.begin() + static_cast<std::ptrdiff_t>(b * per_bin_);
      const auto peak = std::max_element(begin, begin + static_cast<std::ptrdiff_t>(per_bin_));
      const auto cell = static_cast<std::size_t>(peak - cells.begin());
      if (cell < taken) continue;
      const auto [from, to] = extent(planes, cell, std::max(3.0F, 0.03F * *peak));
      taken = to;
      std::size_t sharpest = cell * width_;
      for (std::size_t j = cell * width_; j < (cell + 1) * width_; ++j)
        if (std::abs(planes[best].white[j]) > std::abs(planes[best].white[sharpest])) sharpest = j;
      const double at_s = time_s(sharpest);
      if (at_s < from_s || at_s >= to_s) continue;
      found.push_back({at_s,
                       time_s(from * width_),
                       time_s(to * width_),
                       static_cast<double>(*peak),
                       10.0 * std::log10(out) - doubt_dB(planes[best], b, lasting_s(cells, cell))});
    }
    if (found.size() <= most_candidates) return;
    std::ranges::nth_element(found,
                             found.begin() + static_cast<std::ptrdiff_t>(most_candidates),
                             std::ranges::greater{},
                             &Candidate::severity_dB);
    found.resize(most_candidates);
    std::ranges::sort(found, {}, &Candidate::at_s);
  }

  /// Cells about one that stay over a level in any plane, with gaps of four at most.
  [[nodiscard]] std::pair<std::size_t, std::size_t> extent(std::span<const PlaneCells> planes,
                                                           std::size_t cell,
                                                           float level) const {
    constexpr std::size_t gap = 4;
    constexpr std::size_t most = 36;
    const auto over = [&](std::size_t c) {
      return std::ranges::any_of(planes, [&](const PlaneCells& p) { return p.cells[c] > level; });
    };
    std::size_t from = cell;
    for (std::size_t c = cell, quiet = 0; c-- > 0 && quiet < gap && cell - c < most; ++quiet)
      if (over(c)) {
        from = c;
        quiet = 0;
      }
    std::size_t to = cell + 1;
    for (std::size_t c = to, quiet = 0;
         c < planes[0].cells.size() && quiet < gap && c - cell < most;
         ++c, ++quiet)
      if (over(c)) {
        to = c + 1;
        quiet = 0;
      }
    return {from, to};
  }

  std::unique_ptr<PieceReader> reader_;
  std::size_t width_{}, per_bin_{}, hop_{};
  std::int64_t first_{};
  StereoSamples samples_;
  signal::Aligned<float> high_;
  std::array<PlaneCells, 2> planes_;
  RobustPredictor predictor_;
};

Result<std::unique_ptr<PieceReader>> open(const signal::SampleSource& recording) {
  auto source = recording.again();
  if (!source) return source.error();
  return std::make_unique<PieceReader>(std::move(*source),
                                       prediction_factor(recording.sample_rate_Hz()));
}

/// The candidates over the line, and the line.
std::vector<Candidate> over_line(const std::vector<Candidate>& candidates,
                                 double duration_s,
                                 const PredictionSetting& setting,
                                 PredictionFindings& findings) {
  findings.candidates = candidates.size();
  findings.line_dB = least_line_dB;
  findings.expected_false = setting.false_alarms_per_min * duration_s / 60.0;
  std::vector<CrackleEvent> events;
  events.reserve(candidates.size());
  for (const Candidate& one : candidates) events.push_back({one.severity_dB, {}});
  CrackleSearch search;
  search.least_rate_per_min = 0.0;
  search.false_faults = findings.expected_false;
  constexpr double any_rpm = 1.0;  // no event has a turn: rhythm keeps time with some discs
  const CrackleLine line = crackle_line(events, duration_s, any_rpm, search);
  const double ceiling_dB =
      setting.crackle_is_noise ? std::numeric_limits<double>::infinity() : highest_line_dB;
  if (line.applied) {
    findings.line_dB = std::clamp(line.line_dB, least_line_dB, ceiling_dB);
    if (line.scale_dB > 0.0)
      findings.expected_false *= std::exp((line.line_dB - findings.line_dB) / line.scale_dB);
  }
  std::vector<Candidate> kept;
  std::ranges::copy_if(candidates, std::back_inserter(kept), [&](const Candidate& one) {
    return one.severity_dB >= findings.line_dB;
  });
  return kept;
}

/// One worker for each thread, made by `make` from a reader of its own.
template <class Worker, class Make>
Result<std::vector<std::unique_ptr<Worker>>> workers(const signal::SampleSource& recording,
                                                     std::size_t count,
                                                     const Make& make) {
  std::vector<std::unique_ptr<Worker>> all;
  for (std::size_t w = 0; w < count; ++w) {
    auto reader = open(recording);
    if (!reader) return reader.error();
    all.push_back(make(std::move(*reader)));
  }
  return all;
}

Result<std::vector<PieceFound>> hear_pieces(const signal::SampleSource& recording,
                                            double duration_s,
                                            int jobs,
                                            const std::function<bool(double)>& go_on) {
  const auto count = static_cast<std::size_t>(std::ceil(duration_s / core_s));
  auto hearers = workers<PieceHearer>(recording, workers_for(jobs, count), [](auto reader) {
    return std::make_unique<PieceHearer>(std::move(reader));
  });
  if (!hearers) return hearers.error();
  std::vector<PieceFound> pieces(count);
  std::mutex lock;
  std::size_t done = 0;
  auto heard = run_pieces(count, jobs, [&](std::size_t worker, std::size_t k) -> Outcome {
    const double from_s = static_cast<double>(k) * core_s;
    const double to_s = std::min(duration_s, from_s + core_s);
    if (auto piece = (*hearers)[worker]->hear(from_s, to_s, pieces[k]); !piece) return piece;
    const std::lock_guard guard{lock};
    const double share = first_share * static_cast<double>(++done) / static_cast<double>(count);
    if (go_on && !go_on(share)) return Error{Fault::conflict, "stopped"};
    return Done{};
  });
  if (!heard) return heard.error();
  return pieces;
}

/// Only what lies over the line is read again and weighed.
Outcome weigh(const signal::SampleSource& recording,
              const std::vector<Candidate>& kept,
              double noise_power,
              int jobs,
              std::vector<PredictionFault>& faults) {
  constexpr std::size_t batch = 32;
  faults.resize(kept.size());
  const std::size_t batches = (kept.size() + batch - 1) / batch;
  auto weighers =
      workers<GapWeigher>(recording, workers_for(jobs, batches), [noise_power](auto reader) {
        return std::make_unique<GapWeigher>(std::move(reader), noise_power);
      });
  if (!weighers) return weighers.error();
  return run_pieces(batches, jobs, [&](std::size_t worker, std::size_t k) -> Outcome {
    for (std::size_t i = k * batch; i < std::min(kept.size(), (k + 1) * batch); ++i) {
      faults[i].at_s = kept[i].at_s;
      faults[i].energy_ratio = kept[i].ratio;
      faults[i].severity_dB = kept[i].severity_dB;
      if (auto one = (*weighers)[worker]->weigh(kept[i].from_s, kept[i].to_s, faults[i]); !one)
        return one;
    }
    return Done{};
  });
}

}  // namespace

Result<PredictionFindings> find_prediction_faults(const signal::SampleSource& recording,
                                                  const PredictionSetting& setting,
                                                  const std::function<bool(double)>& go_on) {
  const double duration_s = static_cast<double>(recording.frames()) / recording.sample_rate_Hz();
  if (duration_s < 1.0)
    return Error{Fault::bad_input, "shorter than 1 s: too little to tell faults by"};
  const auto pieces = hear_pieces(recording, duration_s, setting.jobs, go_on);
  if (!pieces) return pieces.error();
  std::vector<Candidate> candidates;
  double noise_power = std::numeric_limits<double>::infinity();
  for (const PieceFound& piece : *pieces) {
    candidates.insert(candidates.end(), piece.candidates.begin(), piece.candidates.end());
    noise_power = std::min(noise_power, piece.noise_power);
  }
  if (!std::isfinite(noise_power)) noise_power = least_noise;
  PredictionFindings findings;
  const std::vector<Candidate> kept = over_line(candidates, duration_s, setting, findings);
  if (auto done = weigh(recording, kept, noise_power, setting.jobs, findings.faults); !done)
    return done.error();
  if (go_on && !go_on(1.0)) return Error{Fault::conflict, "stopped"};
  return findings;
}

}  // namespace goodside::listen
