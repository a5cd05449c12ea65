#include "intake/audio_survey.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <span>

#include "signal/channel_sums.hpp"

namespace goodside::intake {
namespace {

constexpr float full_scale = 1.0F - 0x1p-15F;  // the largest positive 16-bit sample
constexpr std::int64_t shortest_run = 3;
constexpr double dead_power_ratio = 1e-4;  // 40 dB; no pickup separates its channels so well
constexpr double programme_power = 1e-6;   // -60 dB re full scale: below it a second says nothing

/// Running sums of one channel.
class ChannelCount {
 public:
  void take(float sample) {
    const float magnitude = std::abs(sample);
    peak_ = std::max(peak_, magnitude);
    run_ = magnitude >= full_scale ? run_ + 1 : 0;
    if (run_ == shortest_run) clipped_ += shortest_run;
    if (run_ > shortest_run) ++clipped_;
    longest_run_ = std::max(longest_run_, run_);
    const double x = static_cast<double>(sample);
    second_sum_ += x;
    second_squares_ += x * x;
  }

  /// Samples of which none reaches full scale.
  void take_all(const signal::ChannelSums& sums) {
    peak_ = std::max(peak_, sums.peak);
    run_ = 0;
    second_sum_ += sums.sum;
    second_squares_ += sums.squares;
  }

  /// Ends a second of `frames`; gives its power without the direct component.
  double close_second(std::int64_t frames) {
    const double n = static_cast<double>(frames);
    const double mean = second_sum_ / n;
    const double power = second_squares_ / n - mean * mean;
    sum_ += second_sum_;
    squares_ += second_squares_;
    second_sum_ = second_squares_ = 0.0;
    return power;
  }

  [[nodiscard]] ChannelSurvey result(std::int64_t frames, double dead_share) const {
    const double n = static_cast<double>(std::max<std::int64_t>(frames, 1));
    return {.peak = static_cast<double>(peak_),
            .rms = std::sqrt(squares_ / n),
            .mean = sum_ / n,
            .clipped_frames = clipped_,
            .longest_clipped_run = longest_run_ >= shortest_run ? longest_run_ : 0,
            .dead_share = dead_share};
  }

 private:
  float peak_{};
  std::int64_t run_{}, clipped_{}, longest_run_{};
  double second_sum_{}, second_squares_{}, sum_{}, squares_{};
};

std::string channel_name(std::size_t channel, std::size_t channels) {
  if (channels == 1) return "only";
  return channel == 0 ? "left" : "right";
}

}  // namespace

bool AudioSurvey::silent() const {
  return std::all_of(
      channels.begin(), channels.end(), [](const auto& channel) { return channel.peak == 0.0; });
}

double AudioSurvey::clipped_share() const {
  std::int64_t clipped = 0;
  for (const auto& channel : channels) clipped += channel.clipped_frames;
  const double all = static_cast<double>(frames) * static_cast<double>(channels.size());
  return all > 0.0 ? static_cast<double>(clipped) / all : 0.0;
}

Result<AudioSurvey> survey(const signal::SampleSource& source) {
  auto reader = source.again();
  if (!reader) return reader.error();
  const std::int64_t frames = source.frames();
  const auto width = static_cast<std::size_t>(source.channels());
  const auto second = std::max<std::int64_t>(std::llround(source.sample_rate_Hz()), 1);

  std::vector<ChannelCount> counts(width);
  std::vector<std::int64_t> dead_seconds(width);
  std::int64_t programme_seconds = 0;
  std::vector<double> power(width);
  std::vector<float> block(static_cast<std::size_t>(second) * width);
  for (std::int64_t from = 0; from < frames; from += second) {
    const std::int64_t n = std::min(second, frames - from);
    const auto samples = std::span{block}.first(static_cast<std::size_t>(n) * width);
    if (auto outcome = (*reader)->read(from, samples); !outcome) return outcome.error();
    const auto sums = signal::sums_of_channels(samples, width);
    const bool plain = std::isfinite(sums[0].squares + sums[1].squares) &&
                       std::max(sums[0].peak, sums[1].peak) < full_scale;
    if (plain)
      for (std::size_t c = 0; c < width; ++c) counts[c].take_all(sums[c]);
    for (std::size_t i = plain ? samples.size() : 0; i < samples.size(); ++i) {
      if (!std::isfinite(samples[i])) {
        const auto frame = from + static_cast<std::int64_t>(i / width);
        return Error{
            Fault::bad_input,
            fmt::format("the sample at {:.6f} s is not a finite number; save the recording again "
                        "from its source",
                        static_cast<double>(frame) / source.sample_rate_Hz())};
      }
      counts[i % width].take(samples[i]);
    }
    double loudest = 0.0;
    for (std::size_t c = 0; c < width; ++c) {
      power[c] = counts[c].close_second(n);
      loudest = std::max(loudest, power[c]);
    }
    if (loudest < programme_power) continue;
    ++programme_seconds;
    for (std::size_t c = 0; c < width; ++c)
      dead_seconds[c] += power[c] < dead_power_ratio * loudest ? 1 : 0;
  }

  AudioSurvey result{.frames = frames, .channels = {}};
  for (std::size_t c = 0; c < width; ++c) {
    const double dead_share = programme_seconds == 0 ? 0.0
                                                     : static_cast<double>(dead_seconds[c]) /
                                                           static_cast<double>(programme_seconds);
    result.channels.push_back(counts[c].result(frames, dead_share));
  }
  return result;
}

Outcome require_sound(const AudioSurvey& survey, const std::string& name) {
  if (!survey.silent()) return Done{};
  return Error{
      Fault::bad_input,
      name + ": silent from beginning to end; check the recorder's input and record again"};
}

std::vector<std::string> remarks(const AudioSurvey& survey, const std::string& name) {
  // A converter's own offset lies far below 1 %.
  constexpr double notable_offset = 0.01, mostly = 0.5;
  std::vector<std::string> all;
  std::int64_t longest = 0;
  for (const auto& channel : survey.channels)
    longest = std::max(longest, channel.longest_clipped_run);
  if (longest > 0)
    all.push_back(
        fmt::format("{} is clipped: {:.2g} % of its samples stand at full scale, in runs of up to "
                    "{}; lower the "
                    "recording level",
                    name,
                    100.0 * survey.clipped_share(),
                    longest));
  for (std::size_t c = 0; c < survey.channels.size(); ++c) {
    const auto& channel = survey.channels[c];
    const auto which = channel_name(c, survey.channels.size());
    if (channel.dead_share > mostly)
      all.push_back(fmt::format(
          "{}: the {} channel is dead in {:.0f} % of the programme; check the pickup's leads",
          name,
          which,
          100.0 * channel.dead_share));
    if (std::abs(channel.mean) > notable_offset)
      all.push_back(fmt::format(
          "{}: the {} channel stands {:.1f} % of full scale off zero; check the recorder's input",
          name,
          which,
          100.0 * channel.mean));
  }
  return all;
}

}  // namespace goodside::intake
