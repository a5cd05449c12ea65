#include "listen/tone_track.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <limits>
#include <memory>
#include <numbers>
#include <utility>

#include "listen/bands.hpp"
#include "listen/piece_reader.hpp"
#include "listen/wow.hpp"
#include "maths/median.hpp"
#include "signal/aligned.hpp"
#include "signal/fft.hpp"
#include "signal/fir.hpp"
#include "signal/window.hpp"

namespace goodside::listen {
namespace {

using std::numbers::pi;

constexpr std::array usual_tones_Hz{3150.0, 3000.0};
constexpr double furthest_off = 0.08;
constexpr Band tone_band{.centre_Hz = 3075.0, .low_Hz = 2600.0, .high_Hz = 3600.0};
constexpr Band wide_band{.centre_Hz = 1000.0, .low_Hz = 300.0, .high_Hz = 8000.0};
constexpr double tone_share = 0.5;
constexpr double least_tone_s = 5.0, most_tone_s = 300.0;
constexpr double frame_s = 0.1;
constexpr std::size_t forgiven_frames = 3;  // a tick may spoil some
constexpr double phase_rate_Hz = 3000.0;    // +-1 kHz about the tone
constexpr std::size_t rate_factor = 3;      // from there to the track's thousand points a second
constexpr double envelope_s = 0.1;
// Of a ten-to-one tone the noise reaches this once in a thousand samples; of noise alone, the
// Rayleigh law puts a third of all beyond it.
constexpr double tick_deviation = 0.35;
constexpr double spoilt_share = 0.1;
constexpr std::size_t tick_guard = 6;  // points of the phase rate beside a tick
constexpr double least_drift_s = 20.0;
constexpr double unknown_s = std::numeric_limits<double>::infinity();

/// How the two channels are put together, for the tone to stand out best.
struct Mix {
  float left, right;
};
constexpr std::array mixes{Mix{0.5F, 0.5F}, Mix{1.0F, 0.0F}, Mix{0.0F, 1.0F}, Mix{0.5F, -0.5F}};

/// The tone's share of the band and its frequency, frame by frame, of one mix.
struct Scan {
  std::vector<float> share, centre_Hz;
};

struct Run {
  std::size_t mix{}, first_frame{}, end_frame{};
  double share{};
  [[nodiscard]] std::size_t frames() const { return end_frame - first_frame; }
};

class ToneHearer {
 public:
  ToneHearer(std::unique_ptr<signal::SampleSource> source, std::size_t factor)
      : reader_{std::move(source), factor}, rate_Hz_{reader_.rate_Hz()} {}

  Outcome scan();
  [[nodiscard]] std::optional<Run> longest_run() const;
  [[nodiscard]] double frame_step_s() const { return static_cast<double>(step_) / rate_Hz_; }
  [[nodiscard]] double centre_Hz(const Run& run) const;
  /// The analytic tone about `centre_Hz`, points of `baseband_Hz()`; the first lies at the run's
  /// start.
  Outcome demodulate(const Run& run, double centre_Hz, std::vector<std::complex<double>>& out);
  [[nodiscard]] std::size_t baseband_factor() const {
    return static_cast<std::size_t>(std::max(1.0, std::round(rate_Hz_ / phase_rate_Hz)));
  }
  [[nodiscard]] double baseband_Hz() const {
    return rate_Hz_ / static_cast<double>(baseband_factor());
  }

 private:
  [[nodiscard]] std::optional<Run> longest_run(std::size_t mix) const;

  PieceReader reader_;
  double rate_Hz_;
  std::size_t step_{};
  std::array<Scan, mixes.size()> scans_;
};

Outcome ToneHearer::scan() {
  step_ = 256;
  while (static_cast<double>(step_) < 0.75 * frame_s * rate_Hz_) step_ *= 2;
  const signal::RealFft& fft = signal::shared_fft(step_);
  const std::vector<float> window = signal::hann(step_);
  const double bin_Hz = rate_Hz_ / static_cast<double>(step_);
  const std::array bands{tone_band, wide_band};
  const BandPowers powers{bands, bin_Hz, fft.bins()};
  std::array<std::vector<float>, 2> samples{std::vector<float>(step_), std::vector<float>(step_)};
  signal::Aligned<float> shaped(step_);
  signal::Aligned<std::complex<float>> spectrum(fft.bins());
  const auto first_bin = static_cast<std::size_t>(std::ceil(tone_band.low_Hz / bin_Hz));
  const auto end_bin = std::min(fft.bins(), static_cast<std::size_t>(tone_band.high_Hz / bin_Hz));
  const auto frames =
      static_cast<std::int64_t>(reader_.frames() / static_cast<std::int64_t>(step_));
  for (std::int64_t f = 0; f < frames; ++f) {
    if (auto read = reader_.read(f * static_cast<std::int64_t>(step_), samples[0], samples[1]);
        !read)
      return read;
    for (std::size_t m = 0; m < mixes.size(); ++m) {
      for (std::size_t j = 0; j < step_; ++j)
        shaped[j] = window[j] * (mixes[m].left * samples[0][j] + mixes[m].right * samples[1][j]);
      fft.forward(shaped, spectrum);
      const float whole = powers.power(1, spectrum);
      constexpr float silence = 1e-12F;
      double weight = 0.0, moment = 0.0;
      for (std::size_t k = first_bin; k < end_bin; ++k) {
        const auto power = static_cast<double>(std::norm(spectrum[k]));
        weight += power;
        moment += power * static_cast<double>(k) * bin_Hz;
      }
      scans_[m].share.push_back(whole > silence ? powers.power(0, spectrum) / whole : 0.0F);
      scans_[m].centre_Hz.push_back(weight > 0.0 ? static_cast<float>(moment / weight) : 0.0F);
    }
  }
  return Done{};
}

std::optional<Run> ToneHearer::longest_run(std::size_t mix) const {
  const std::vector<float>& share = scans_[mix].share;
  std::optional<Run> longest;
  Run run{.mix = mix};
  std::size_t missed = 0;
  const auto close = [&] {
    if (run.frames() > 0 && (!longest || run.frames() > longest->frames())) longest = run;
    run = Run{.mix = mix};
    missed = 0;
  };
  for (std::size_t f = 0; f < share.size(); ++f) {
    if (static_cast<double>(share[f]) < tone_share) {
      if (++missed > forgiven_frames) close();
      continue;
    }
    if (run.frames() == 0) run.first_frame = f;
    run.end_frame = f + 1;
    run.share += static_cast<double>(share[f]);
    missed = 0;
  }
  close();
  if (longest) longest->share /= static_cast<double>(longest->frames());
  return longest;
}

std::optional<Run> ToneHearer::longest_run() const {
  // A mix wins by its share of the band only where none has clearly more of the tone's length.
  constexpr double as_long = 0.95;
  std::optional<Run> best;
  for (std::size_t m = 0; m < mixes.size(); ++m) {
    const auto run = longest_run(m);
    if (!run) continue;
    const auto length = static_cast<double>(run->frames());
    if (!best || as_long * length > static_cast<double>(best->frames()) ||
        (length > as_long * static_cast<double>(best->frames()) && run->share > best->share))
      best = run;
  }
  if (!best || best->frames() < 3) return {};
  // The tone begins and ends somewhere within the outermost frames.
  ++best->first_frame;
  --best->end_frame;
  if (static_cast<double>(best->frames()) * frame_step_s() < least_tone_s) return {};
  const auto most = static_cast<std::size_t>(most_tone_s / frame_step_s());
  if (best->frames() > most) best->end_frame = best->first_frame + most;
  return best;
}

double ToneHearer::centre_Hz(const Run& run) const {
  const auto& all = scans_[run.mix].centre_Hz;
  return static_cast<double>(
      maths::median(std::vector<float>{all.begin() + static_cast<std::ptrdiff_t>(run.first_frame),
                                       all.begin() + static_cast<std::ptrdiff_t>(run.end_frame)}));
}

Outcome ToneHearer::demodulate(const Run& run,
                               double centre_Hz,
                               std::vector<std::complex<double>>& out) {
  const std::size_t factor = baseband_factor();
  const std::vector<float> taps =
      signal::low_pass_taps(0.4 / static_cast<double>(factor), 8 * factor, 8.0);
  const auto half = static_cast<std::int64_t>(taps.size() / 2);
  const auto first = static_cast<std::int64_t>(run.first_frame * step_);
  const std::size_t count = run.frames() * step_ / factor;
  constexpr std::size_t block = 4096;  // points of the baseband
  std::array<std::vector<float>, 2> samples;
  std::array<std::vector<float>, 2> thinned;
  const Mix mix = mixes[run.mix];
  for (std::size_t done = 0; done < count; done += block) {
    const std::size_t width = std::min(block, count - done);
    const std::size_t needed = (width - 1) * factor + taps.size();
    const std::int64_t from = first + static_cast<std::int64_t>(done * factor) - half;
    for (auto& channel : samples) channel.resize(needed);
    for (auto& part : thinned) part.resize(width);
    if (auto read = reader_.read(from, samples[0], samples[1]); !read) return read;
    // One turn a sample, set anew in each block; its size keeps to 1 within a block to 1e-12.
    const double turns = centre_Hz * static_cast<double>(from - first) / rate_Hz_;
    std::complex<double> carrier = std::polar(1.0, -2.0 * pi * (turns - std::floor(turns)));
    const std::complex<double> step = std::polar(1.0, -2.0 * pi * centre_Hz / rate_Hz_);
    for (std::size_t j = 0; j < needed; ++j) {
      const auto sample = static_cast<double>(mix.left * samples[0][j] + mix.right * samples[1][j]);
      samples[0][j] = static_cast<float>(sample * carrier.real());
      samples[1][j] = static_cast<float>(sample * carrier.imag());
      carrier *= step;
    }
    for (std::size_t i = 0; i < 2; ++i)
      signal::slide_filter(samples[i], 0, factor, taps, thinned[i]);
    for (std::size_t k = 0; k < width; ++k)
      out.emplace_back(static_cast<double>(thinned[0][k]), static_cast<double>(thinned[1][k]));
  }
  return Done{};
}

/// Where the size of the tone leaves its neighbourhood's median, with what lies beside it.
std::vector<char> ticks(const std::vector<double>& size, double rate_Hz) {
  const auto span = static_cast<std::size_t>(envelope_s * rate_Hz);
  std::vector<char> spoilt(size.size(), 0);
  for (std::size_t from = 0; from < size.size(); from += span) {
    // The last part takes its samples from before, so that none is short.
    const std::size_t begin = std::min(from, size.size() > span ? size.size() - span : 0);
    const std::size_t end = std::min(size.size(), begin + span);
    const double middle =
        maths::median(std::vector<double>{size.begin() + static_cast<std::ptrdiff_t>(begin),
                                          size.begin() + static_cast<std::ptrdiff_t>(end)});
    for (std::size_t k = begin; k < end; ++k)
      if (!(std::abs(size[k] - middle) <= tick_deviation * middle))
        for (std::size_t j = k > tick_guard ? k - tick_guard : 0;
             j < std::min(size.size(), k + tick_guard + 1);
             ++j)
          spoilt[j] = 1;
  }
  return spoilt;
}

/// Phase without its jumps of a whole turn [rad].
std::vector<double> unwrapped(const std::vector<std::complex<double>>& tone) {
  std::vector<double> phase(tone.size(), 0.0);
  for (std::size_t k = 1; k < tone.size(); ++k)
    phase[k] = phase[k - 1] + std::arg(tone[k] * std::conj(tone[k - 1]));
  return phase;
}

/// Every `factor`-th value of a low-passed series, from the first to the last that the filter
/// covers; its straight lines pass unchanged.
std::vector<double> thinned(const std::vector<double>& values,
                            std::size_t factor,
                            const std::vector<float>& taps) {
  double sum = 0.0;
  for (const float tap : taps) sum += static_cast<double>(tap);
  std::vector<double> out;
  for (std::size_t from = 0; from + taps.size() <= values.size(); from += factor) {
    double total = 0.0;
    for (std::size_t j = 0; j < taps.size(); ++j)
      total += static_cast<double>(taps[j]) * values[from + j];
    out.push_back(total / sum);
  }
  return out;
}

struct Followed {
  Stretch track;    ///< a thousand points a second
  Stretch noise;    ///< what the surface noise alone would make of a steady tone
  double spoilt{};  ///< share of the samples that ticks spoil
};

Followed follow(const std::vector<std::complex<double>>& tone,
                double rate_Hz,
                double from_s,
                double centre_Hz,
                double nominal_Hz) {
  std::vector<double> size(tone.size());
  for (std::size_t k = 0; k < tone.size(); ++k) size[k] = std::abs(tone[k]);
  const std::vector<char> spoilt = ticks(size, rate_Hz);
  const std::vector<float> taps =
      signal::low_pass_taps(0.42 / static_cast<double>(rate_factor), 8 * rate_factor, 6.0);
  const std::vector<double> phase = thinned(unwrapped(tone), rate_factor, taps);
  const std::vector<double> envelope = thinned(size, rate_factor, taps);

  Followed found;
  found.spoilt = static_cast<double>(std::count(spoilt.begin(), spoilt.end(), 1)) /
                 static_cast<double>(std::max<std::size_t>(1, spoilt.size()));
  // Noise turns the vector as much as it stretches it: successive sizes differ by root two of it.
  std::vector<double> steps;
  for (std::size_t k = 1; k < envelope.size(); ++k)
    steps.push_back(std::abs(envelope[k] - envelope[k - 1]) /
                    std::max(envelope[k], std::numeric_limits<double>::min()));
  constexpr double rms_of_median = 1.4826;
  const double phase_sigma = rms_of_median * maths::median_or(steps, 0.0) / std::numbers::sqrt2;

  const double hop_s = static_cast<double>(rate_factor) / rate_Hz;
  const std::size_t half = taps.size() / 2;
  found.track.capture_from_s = from_s + static_cast<double>(half) / rate_Hz;
  found.track.hop_s = hop_s;
  const double start = phase.empty() ? 0.0 : phase.front();
  const double usual = maths::median_or(envelope, 1.0);
  for (std::size_t k = 0; k < phase.size(); ++k) {
    const double passed_s = static_cast<double>(k) * hop_s;
    found.track.programme_s.push_back((centre_Hz * passed_s + (phase[k] - start) / (2.0 * pi)) /
                                      nominal_Hz);
    const auto begin = spoilt.begin() + static_cast<std::ptrdiff_t>(k * rate_factor);
    const bool clear = std::find(begin, begin + static_cast<std::ptrdiff_t>(taps.size()), 1) ==
                       begin + static_cast<std::ptrdiff_t>(taps.size());
    found.track.sigma_s.push_back(clear ? phase_sigma / (2.0 * pi * nominal_Hz) : unknown_s);
    found.noise.programme_s.push_back(passed_s +
                                      (envelope[k] / usual - 1.0) / (2.0 * pi * nominal_Hz));
  }
  found.noise.capture_from_s = found.track.capture_from_s;
  found.noise.hop_s = hop_s;
  found.noise.sigma_s = found.track.sigma_s;
  return found;
}

/// Mean of the track over blocks of as many points as make a hop of 0.02 s: for the once-a-turn
/// measures.
Stretch coarse(const Stretch& fine) {
  const auto block = static_cast<std::size_t>(std::lround(0.02 / fine.hop_s));
  Stretch out;
  out.hop_s = static_cast<double>(block) * fine.hop_s;
  out.capture_from_s = fine.capture_from_s + 0.5 * static_cast<double>(block - 1) * fine.hop_s;
  for (std::size_t from = 0; from + block <= fine.programme_s.size(); from += block) {
    double sum_s = 0.0, sigma_s = 0.0;
    for (std::size_t k = from; k < from + block; ++k) {
      sum_s += fine.programme_s[k];
      sigma_s = std::max(sigma_s, fine.sigma_s[k]);
    }
    out.programme_s.push_back(sum_s / static_cast<double>(block));
    out.sigma_s.push_back(sigma_s / std::sqrt(static_cast<double>(block)));
  }
  return out;
}

struct Line {
  double mean{}, mean_sigma{}, slope{}, slope_sigma{};
};

/// Mean and slope over time of the speeds of successive seconds; errors from their scatter about
/// the line.
Line speed_line(const Stretch& track) {
  const auto block = static_cast<std::size_t>(std::lround(1.0 / track.hop_s));
  const double block_s = static_cast<double>(block) * track.hop_s;
  std::vector<double> speed;
  for (std::size_t from = 0; from + block < track.programme_s.size(); from += block)
    speed.push_back((track.programme_s[from + block] - track.programme_s[from]) / block_s);
  const auto n = static_cast<double>(speed.size());
  Line line;
  for (const double v : speed) line.mean += v / n;
  double xx = 0.0, xy = 0.0;
  const auto x = [&](std::size_t i) {
    return (static_cast<double>(i) - 0.5 * (n - 1.0)) * block_s;
  };
  for (std::size_t i = 0; i < speed.size(); ++i) {
    xx += x(i) * x(i);
    xy += x(i) * (speed[i] - line.mean);
  }
  line.slope = xy / xx;
  double left_over = 0.0;
  for (std::size_t i = 0; i < speed.size(); ++i)
    left_over += std::pow(speed[i] - line.mean - line.slope * x(i), 2);
  const double variance = left_over / (n - 2.0);
  line.mean_sigma = std::sqrt(variance / n);
  line.slope_sigma = std::sqrt(variance / xx);
  return line;
}

double nearest_tone_Hz(double measured_Hz) {
  return *std::ranges::min_element(usual_tones_Hz, {}, [&](double tone_Hz) {
    return std::abs(std::log(measured_Hz / tone_Hz));
  });
}

ToneFound refused(std::string why) {
  ToneFound found;
  found.why = std::move(why);
  return found;
}

void tell_flutter(ToneFound& found, const Followed& followed, double speed) {
  works::Tone& tone = *found.tone;
  const auto weighted = weighted_wow({followed.track}, speed);
  const auto plain = weighted_wow({followed.track}, speed, WowWeighting::none);
  const auto noise = weighted_wow({followed.noise}, 1.0);
  if (!weighted || !plain || !noise) {
    for (const char* field :
         {"weighted_2sigma", "weighted_peak", "unweighted_2sigma", "unweighted_peak"})
      found.undetermined.push_back(
          {fmt::format("tone.{}", field), "less than 5 s of tone without ticks and its own ends"});
    return;
  }
  tone.weighted_2sigma = weighted->two_sigma;
  tone.weighted_peak = weighted->peak;
  tone.noise_2sigma = noise->two_sigma;
  tone.unweighted_2sigma = plain->two_sigma;
  tone.unweighted_peak = plain->peak;
  constexpr double inaudible = 1e-5;
  if (weighted->two_sigma > inaudible && noise->two_sigma > 0.5 * weighted->two_sigma)
    found.remarks.emplace_back(
        "much of the tone's weighted wow and flutter is the surface noise on the tone: read it as "
        "an upper bound");
}

}  // namespace

Result<ToneFound> track_tone(const signal::SampleSource& capture, const ToneSetting& setting) {
  if (capture.sample_rate_Hz() < 2.1 * tone_band.high_Hz)
    return refused("the capture's sample rate is too low for a tone of 3150 Hz");
  auto source = capture.again();
  if (!source) return source.error();
  ToneHearer hearer{std::move(*source), timing_factor(capture.sample_rate_Hz())};
  if (auto scanned = hearer.scan(); !scanned) return scanned.error();
  const auto run = hearer.longest_run();
  if (!run)
    return refused(
        "no steady tone near 3150 Hz: nothing of 5 s holds half its power between 2.6 and 3.6 kHz");
  const double centre_Hz = hearer.centre_Hz(*run);
  const double nominal_Hz = setting.nominal_Hz.value_or(nearest_tone_Hz(centre_Hz));
  std::vector<std::complex<double>> baseband;
  if (auto heard = hearer.demodulate(*run, centre_Hz, baseband); !heard) return heard.error();
  const double from_s = static_cast<double>(run->first_frame) * hearer.frame_step_s();
  const Followed followed = follow(baseband, hearer.baseband_Hz(), from_s, centre_Hz, nominal_Hz);
  if (followed.spoilt > spoilt_share)
    return refused(fmt::format(
        "no steady tone near 3150 Hz: {:.0f} % of the time its level is not steady, as in noise or "
        "music",
        100.0 * followed.spoilt));
  const Line line = speed_line(followed.track);
  if (std::abs(line.mean - 1.0) > furthest_off)
    return refused(fmt::format("the steady tone of {:.1f} Hz lies more than {:.0f} % from {:g} Hz",
                               line.mean * nominal_Hz,
                               100.0 * furthest_off,
                               nominal_Hz));
  ToneFound found;
  found.tone = works::Tone{};
  works::Tone& tone = *found.tone;
  tone.nominal_Hz = nominal_Hz;
  tone.measured_Hz = line.mean * nominal_Hz;
  tone.from_s = followed.track.capture_from_s;
  tone.to_s = tone.from_s +
              static_cast<double>(followed.track.programme_s.size() - 1) * followed.track.hop_s;
  tone.speed_error_ppm = 1e6 * (line.mean - 1.0);
  tone.speed_sigma_ppm = 1e6 * line.mean_sigma;
  if (tone.to_s - tone.from_s >= least_drift_s)
    tone.drift_ppm_per_min = 60e6 * line.slope;
  else
    found.undetermined.push_back(
        {"tone.drift_ppm_per_min", "the tone lasts less than 20 s: wow would pass for drift"});
  if (!setting.nominal_Hz)
    found.remarks.push_back(fmt::format(
        "the tone of {:.1f} Hz is taken for one of {:g} Hz", tone.measured_Hz, nominal_Hz));
  tell_flutter(found, followed, line.mean);
  found.track = {coarse(followed.track)};
  found.curve = wow_curve(found.track, line.mean);
  return found;
}

}  // namespace goodside::listen
