#include "listen/consensus.hpp"

#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <complex>
#include <memory>
#include <utility>

#include "base/expects.hpp"
#include "listen/fault_holder.hpp"
#include "listen/lay_cut.hpp"
#include "listen/match.hpp"
#include "listen/piece_reader.hpp"
#include "listen/pieces.hpp"
#include "listen/residual_events.hpp"
#include "signal/fft.hpp"
#include "signal/fir.hpp"
#include "signal/warp.hpp"
#include "signal/window.hpp"

namespace goodside::listen {
namespace {

constexpr double core_s = 4.0;
constexpr double margin_s = 0.5;
constexpr double fade_s = 0.05;   // on each side of a border between pieces
constexpr double least_s = 3.0;   // of samples, to know a surface by
constexpr double guard_s = 2e-3;  // about an event, without a vote
constexpr double longest_guard_s = 30e-3;
constexpr double ramp_s = 1e-3;  // from no vote to a whole one
constexpr double cover_ramp_s = 5e-3;
constexpr float no_vote = 1e-4F;  // share of a capture where it is outvoted
constexpr float left_out_vote =
    1e-2F;  // of the capture to be heard: it stands in where all others are outvoted
constexpr double widest_weights = 8.0;  // of noise powers: no capture decides alone
constexpr double memory_bytes = 70e6;
constexpr double most_restored = 3.0;

struct Ready {
  std::unique_ptr<PieceReader> reader;
  std::unique_ptr<signal::WarpReader> warp;
};

std::size_t half_width(double rate_Hz) {
  return rate_Hz > 80000.0 ? 12 : 16;
}

/// A least-squares match takes from a capture whatever rises little out of its noise, and with it the treble of
/// faults that all share. This gives the spectrum of `like` back to it, by at most three times, in zero phase.
void restore_power(const signal::Aligned<float>& like,
                   double rate_Hz,
                   signal::Aligned<float>& samples) {
  const std::size_t length = rate_Hz > 64000.0 ? 512 : 256;
  const signal::RealFft& fft = signal::shared_fft(length);
  const std::vector<float> window = signal::hann(length);
  signal::Aligned<float> frame(length);
  signal::Aligned<std::complex<float>> spectrum(fft.bins());
  const auto power = [&](const signal::Aligned<float>& of) {
    std::vector<double> sum(fft.bins(), 1e-20);
    for (std::size_t at = 0; at + length <= of.size(); at += 4 * length) {
      signal::apply_window(std::span{of}.subspan(at, length), window, frame);
      fft.forward(frame, spectrum);
      for (std::size_t k = 0; k < sum.size(); ++k)
        sum[k] += static_cast<double>(std::norm(spectrum[k]));
    }
    return sum;
  };
  const std::vector<double> wanted = power(like);
  const std::vector<double> have = power(samples);
  for (std::size_t k = 0; k < wanted.size(); ++k)
    spectrum[k] =
        static_cast<float>(std::clamp(std::sqrt(wanted[k] / have[k]), 1.0, most_restored));
  fft.inverse(spectrum, frame);
  constexpr std::size_t half = 32;
  const std::vector<float> taper = signal::hann(2 * half + 2);
  std::vector<float> taps(2 * half + 1);
  for (std::size_t j = 0; j < taps.size(); ++j)
    taps[j] = taper[j + 1] * frame[(j + length - half) % length] / static_cast<float>(length);
  std::vector<float> padded(samples.size() + 2 * half, 0.0F);
  std::ranges::copy(samples, padded.begin() + static_cast<std::ptrdiff_t>(half));
  signal::slide_filter(padded, 0, 1, taps, samples);
}

struct Piece {
  std::int64_t core_from{}, core_to{};  // samples of the consensus
  std::int64_t from{}, to{};            // with what lies about them
};

/// What a piece gives: each rendering's samples from core_from - fade to core_to + fade.
struct PieceOut {
  std::vector<StereoSamples> made;
  std::int64_t from{};
  std::vector<VoteCount> counts;
};

/// One worker: its readers and its storage.
class Voters {
 public:
  Voters(std::vector<Ready> ready,
         const PeerGroup& group,
         const CommonTime& time,
         double rate_Hz,
         std::span<const Rendering> renderings)
      : ready_{std::move(ready)},
        group_{group},
        time_{time},
        rate_Hz_{rate_Hz},
        renderings_{renderings},
        heard_(ready_.size()),
        weight_(ready_.size()),
        cover_(ready_.size()),
        noise_(ready_.size()) {}

  Outcome work(const Piece& piece, PieceOut& out) {
    from_ = piece.from;
    count_ = static_cast<std::size_t>(piece.to - piece.from);
    out.counts.resize(heard_.size());
    if (auto read = read_all(); !read) return read;
    median_of_all();
    for (std::size_t i = 0; i < heard_.size(); ++i) vote_on(i, piece, out.counts[i]);
    weigh();
    const auto fade = static_cast<std::int64_t>(fade_s * rate_Hz_);
    out.from = std::max(piece.from, piece.core_from - fade);
    const std::int64_t to = std::min(piece.to, piece.core_to + fade);
    for (const Rendering& rendering : renderings_)
      out.made.push_back(mix(rendering,
                             static_cast<std::size_t>(out.from - from_),
                             static_cast<std::size_t>(to - from_)));
    return Done{};
  }

 private:
  [[nodiscard]] double time_of(double sample) const {
    return (static_cast<double>(from_) + sample) / rate_Hz_;
  }

  Outcome read_all() {
    const std::size_t base = group_.base;
    if (auto read = read_voice(base, heard_[base]); !read) return read;
    for (std::size_t i = 0; i < heard_.size(); ++i) {
      if (i == base) continue;
      if (auto read = read_voice(i, raw_); !read) return read;
      if (!covers(i)) {
        for (auto& channel : heard_[i]) channel.assign(count_, 0.0F);
        continue;
      }
      match_player(
          heard_[base],
          raw_,
          group_.mono[i],
          rate_Hz_,
          [&](double t) { return calm(i, time_of(t * rate_Hz_)); },
          heard_[i]);
      for (std::size_t c = 0; c < 2; ++c) restore_power(heard_[base][c], rate_Hz_, heard_[i][c]);
    }
    return Done{};
  }

  /// Enough of the piece to match and to vote.
  [[nodiscard]] bool covers(std::size_t i) const {
    const auto covered = std::ranges::count_if(cover_[i], [](float share) { return share > 0.0F; });
    return static_cast<double>(covered) > rate_Hz_;
  }

  /// How far a capture may shape its transfer about a moment.
  [[nodiscard]] double calm(std::size_t i, double common_s) const {
    constexpr double reach_s = 0.05;
    const Voice& voice = time_.voices[i];
    const Voice::Part* part = voice.at(common_s);
    if (part == nullptr || voice.at(common_s - reach_s) != part ||
        voice.at(common_s + reach_s) != part)
      return 0.0;
    return calm_at(group_.tracks[i], part->capture_s.programme_at(common_s));
  }

  /// Capture i on the common time, zero where it holds nothing, and its cover.
  Outcome read_voice(std::size_t i, StereoSamples& out) {
    PieceReader& reader = *ready_[i].reader;
    const signal::WarpReader& warp = *ready_[i].warp;
    const double source_rate_Hz = reader.rate_Hz();
    for (auto& channel : out) channel.assign(count_, 0.0F);
    cover_[i].assign(count_, 0.0F);
    for (const Voice::Part& part : time_.voices[i].parts) {
      const auto from =
          std::max(from_, static_cast<std::int64_t>(std::ceil(part.from_s * rate_Hz_)));
      const auto to = std::min(from_ + static_cast<std::int64_t>(count_),
                               static_cast<std::int64_t>(std::floor(part.to_s * rate_Hz_)));
      if (to <= from) continue;
      const double source_from_s =
          part.capture_s.programme_at(static_cast<double>(from) / rate_Hz_);
      const double source_to_s = part.capture_s.programme_at(static_cast<double>(to) / rate_Hz_);
      const auto half = static_cast<std::int64_t>(warp.half()) + 8;
      const auto first =
          static_cast<std::int64_t>(std::floor(source_from_s * source_rate_Hz)) - half;
      const auto known = static_cast<std::size_t>((source_to_s - source_from_s) * source_rate_Hz +
                                                  static_cast<double>(2 * half + 8));
      for (auto& channel : source_) channel.resize(known);
      if (auto read = reader.read(first, source_[0], source_[1]); !read) return read;
      const auto offset = static_cast<std::size_t>(from - from_);
      const auto width = static_cast<std::size_t>(to - from);
      const std::array<std::span<const float>, 2> sources{source_[0], source_[1]};
      const std::array<std::span<float>, 2> targets{std::span{out[0]}.subspan(offset, width),
                                                    std::span{out[1]}.subspan(offset, width)};
      part.capture_s.warp(
          warp, sources, static_cast<double>(first), source_rate_Hz, from, rate_Hz_, targets);
      // A share in the mean begins softly: one capture more or less is no step.
      const auto part_from = static_cast<std::int64_t>(std::ceil(part.from_s * rate_Hz_));
      const auto part_to = static_cast<std::int64_t>(std::floor(part.to_s * rate_Hz_));
      const auto ramp = static_cast<float>(cover_ramp_s * rate_Hz_);
      for (std::int64_t j = from; j < to; ++j)
        cover_[i][static_cast<std::size_t>(j - from_)] = std::clamp(
            static_cast<float>(std::min(j - part_from + 1, part_to - j)) / ramp, 0.0F, 1.0F);
    }
    return Done{};
  }

  void median_of_all() {
    for (auto& channel : median_) channel.resize(count_);
    voting_.assign(count_, 0);
    std::array<float, most_peers> values{};
    for (std::size_t c = 0; c < 2; ++c)
      for (std::size_t j = 0; j < count_; ++j) {
        std::size_t n = 0;
        for (std::size_t i = 0; i < heard_.size(); ++i) {
          if (!(cover_[i][j] > 0.0F)) continue;
          std::size_t at = n++;
          const float value = heard_[i][c][j];
          for (; at > 0 && values[at - 1] > value; --at) values[at] = values[at - 1];
          values[at] = value;
        }
        voting_[j] = static_cast<unsigned char>(n);
        median_[c][j] = n == 0       ? 0.0F
                        : n % 2 == 1 ? values[n / 2]
                                     : 0.5F * (values[n / 2 - 1] + values[n / 2]);
      }
  }

  /// Gives capture i its weights: a whole vote but where it stands out.
  void vote_on(std::size_t i, const Piece& piece, VoteCount& votes) {
    weight_[i] = cover_[i];
    noise_[i] = 0.0;
    if (!covers(i)) {
      weight_[i].assign(count_, 0.0F);
      return;
    }
    // Where it holds nothing it agrees: silence there would pass for a fault.
    for (std::size_t c = 0; c < 2; ++c)
      for (std::size_t j = 0; j < count_; ++j)
        if (!(cover_[i][j] > 0.0F)) heard_[i][c][j] = median_[c][j];
    const Residual found = find_events(heard_[i], median_, BendEnergy{}, rate_Hz_, 1.0, buffers_);
    noise_[i] = found.noise_power[0] + found.noise_power[1];
    for (const ResidualEvent& event : found.events) {
      // A lasting fault begins and ends under the lines that find it.
      const double about_s = std::min(guard_s + 0.5 * event.features.duration_s, longest_guard_s);
      const SampleSpan span = samples_of(event, about_s, rate_Hz_, count_);
      const unsigned char voting = voting_[(span.from + span.to) / 2];
      if (voting < 2 || (voting == 2 && !holds(i, span, event.features.low_share > 0.5))) continue;
      leave_out(span, weight_[i]);
      const auto at = from_ + static_cast<std::int64_t>(span.from);
      if (at < piece.core_from || at >= piece.core_to) continue;
      ++votes.events;
      votes.seconds += static_cast<double>(span.to - span.from) / rate_Hz_;
    }
  }

  /// Of two captures: whether the event is this one's.
  [[nodiscard]] bool holds(std::size_t i, SampleSpan span, bool bass) const {
    for (std::size_t k = 0; k < heard_.size(); ++k)
      if (k != i && cover_[k][(span.from + span.to) / 2] > 0.0F)
        return fault_holder(heard_[i], heard_[k], span, bass, rate_Hz_) == Holder::first;
    return false;
  }

  void leave_out(SampleSpan span, std::vector<float>& weight) const {
    const auto ramp = static_cast<std::ptrdiff_t>(ramp_s * rate_Hz_);
    const auto from = static_cast<std::ptrdiff_t>(span.from);
    const auto to = static_cast<std::ptrdiff_t>(span.to);
    for (std::ptrdiff_t j = std::max<std::ptrdiff_t>(0, from - ramp);
         j < std::min(static_cast<std::ptrdiff_t>(count_), to + ramp);
         ++j) {
      const auto away = static_cast<float>(j < from ? from - j : j >= to ? j - to + 1 : 0);
      weight[static_cast<std::size_t>(j)] *= away / static_cast<float>(ramp);
    }
  }

  /// Turns votes into weights: quieter captures count more.
  void weigh() {
    double quietest = 0.0;
    for (const double noise : noise_)
      if (noise > 0.0) quietest = quietest > 0.0 ? std::min(quietest, noise) : noise;
    for (std::size_t i = 0; i < heard_.size(); ++i) {
      if (!(noise_[i] > 0.0)) continue;
      const double trust = 1.0 / std::clamp(noise_[i] / quietest, 1.0, widest_weights);
      for (std::size_t j = 0; j < count_; ++j)
        weight_[i][j] = static_cast<float>(trust) * (weight_[i][j] + no_vote * cover_[i][j]);
    }
  }

  [[nodiscard]] StereoSamples mix(const Rendering& rendering,
                                  std::size_t from,
                                  std::size_t to) const {
    StereoSamples made;
    for (std::size_t c = 0; c < 2; ++c) {
      made[c].assign(to - from, 0.0F);
      for (std::size_t j = from; j < to; ++j) {
        float sum = 0.0F;
        float weights = 1e-12F;
        for (std::size_t i = 0; i < heard_.size(); ++i) {
          const float share = rendering.without == i ? left_out_vote : 1.0F;
          const float w = share * weight_[i][j];
          sum += w * heard_[i][c][j];
          weights += w;
        }
        made[c][j - from] = sum / weights;
      }
    }
    return made;
  }

  std::vector<Ready> ready_;
  const PeerGroup& group_;
  const CommonTime& time_;
  double rate_Hz_;
  std::span<const Rendering> renderings_;
  std::int64_t from_{};
  std::size_t count_{};
  std::vector<StereoSamples> heard_;  // matched, by capture
  std::vector<std::vector<float>> weight_, cover_;
  std::vector<double> noise_;
  std::vector<unsigned char> voting_;
  StereoSamples median_;
  EventBuffers buffers_;
  StereoSamples& source_{buffers_.clear};  // never wanted at one time
  StereoSamples& raw_{buffers_.clear_prediction};
};

/// Workers whose storage stays within bounds.
int jobs_within_memory(int jobs, std::size_t captures, double rate_Hz) {
  const double samples = (core_s + 2.0 * margin_s) * rate_Hz;
  const double worker_bytes = samples * (16.0 * static_cast<double>(captures) + 6.0 * 8.0 + 1.0);
  const int most = std::max(1, static_cast<int>(memory_bytes / worker_bytes));
  const auto wanted = static_cast<int>(workers_for(jobs, 64));
  return std::min(wanted, most);
}

/// Lays pieces one after the other, crossfaded where they meet.
class Joiner {
 public:
  Joiner(const Rendering& rendering, std::int64_t fade) : rendering_{rendering}, fade_{fade} {}

  /// `last`: no piece follows, so that all of it goes out.
  Outcome take(const StereoSamples& made, std::int64_t from, std::int64_t core_to, bool last) {
    const auto count = std::ssize(made[0]);
    const std::int64_t end = last ? from + count : core_to - fade_;
    interleaved_.clear();
    for (std::int64_t at = from; at < end; ++at) {
      const auto j = static_cast<std::size_t>(at - from);
      const auto kept = static_cast<std::size_t>(at - tail_from_);
      const bool meets = at >= tail_from_ && kept < tail_[0].size();
      const float share =
          meets ? (static_cast<float>(kept) + 0.5F) / static_cast<float>(tail_[0].size()) : 1.0F;
      for (std::size_t c = 0; c < 2; ++c)
        interleaved_.push_back(meets ? tail_[c][kept] + share * (made[c][j] - tail_[c][kept])
                                     : made[c][j]);
    }
    for (std::size_t c = 0; c < 2; ++c)
      tail_[c].assign(made[c].begin() + (end - from), made[c].end());
    tail_from_ = end;
    return rendering_.sink(interleaved_);
  }

 private:
  const Rendering& rendering_;
  std::int64_t fade_;
  std::int64_t tail_from_{};
  StereoSamples tail_;
  std::vector<float> interleaved_;
};

std::vector<works::Interval_s> without_gaps(std::vector<works::Interval_s> parts) {
  std::ranges::sort(parts, {}, &works::Interval_s::from_s);
  std::vector<works::Interval_s> merged;
  for (const works::Interval_s& part : parts) {
    if (!merged.empty() && part.from_s <= merged.back().to_s + 2.0 * track_hop_s)
      merged.back().to_s = std::max(merged.back().to_s, part.to_s);
    else
      merged.push_back(part);
  }
  return merged;
}

}  // namespace

Result<Consensus> Consensus::follow(std::vector<Peer> peers,
                                    const PeerSetting& setting,
                                    const std::function<bool(double)>& go_on) {
  auto group = follow_peers(peers, setting, go_on);
  if (!group) return group.error();
  Consensus consensus;
  consensus.peers_ = std::move(peers);
  consensus.group_ = std::move(*group);
  const signal::SampleSource& base = *consensus.peers_[consensus.group_.base].source;
  consensus.rate_Hz_ =
      base.sample_rate_Hz() / static_cast<double>(listening_factor(base.sample_rate_Hz()));
  consensus.time_ = common_time(consensus.group_.tracks,
                                consensus.group_.base,
                                static_cast<double>(base.frames()) / base.sample_rate_Hz());
  consensus.jobs_ = setting.jobs;
  return consensus;
}

std::int64_t Consensus::frames() const {
  return static_cast<std::int64_t>(std::floor(time_.duration_s * rate_Hz_));
}

std::vector<works::Interval_s> Consensus::covered(std::size_t i) const {
  std::vector<works::Interval_s> parts;
  for (const Voice::Part& part : time_.voices[i].parts) parts.push_back({part.from_s, part.to_s});
  return without_gaps(std::move(parts));
}

std::vector<works::Interval_s> Consensus::covered_by_none_but(std::size_t i) const {
  std::vector<works::Interval_s> others;
  for (std::size_t k = 0; k < peers_.size(); ++k) {
    if (k == i) continue;
    const auto parts = covered(k);
    others.insert(others.end(), parts.begin(), parts.end());
  }
  std::vector<works::Interval_s> bare;
  double at_s = 0.0;
  const auto leave = [&](double to_s) {
    if (to_s - at_s > 3.0 * track_hop_s) bare.push_back({at_s, to_s});
  };
  for (const works::Interval_s& part : without_gaps(std::move(others))) {
    leave(part.from_s);
    at_s = std::max(at_s, part.to_s);
  }
  leave(time_.duration_s);
  return bare;
}

Result<std::vector<VoteCount>> Consensus::render(std::span<const Rendering> renderings,
                                                 const std::function<bool(double)>& go_on) const {
  const auto at = [&](double time_s) {
    return static_cast<std::int64_t>(std::llround(time_s * rate_Hz_));
  };
  const std::int64_t total = frames();
  if (total < at(least_s))
    return Error{Fault::bad_input,
                 "the captures have less than 3 s in common: too little to vote on"};
  std::vector<Piece> plan;
  const std::int64_t count = std::max<std::int64_t>(1, total / at(core_s));
  for (std::int64_t p = 0; p < count; ++p) {
    Piece piece{p * at(core_s), p + 1 == count ? total : (p + 1) * at(core_s), 0, 0};
    piece.to = std::min(total, piece.core_to + at(margin_s));
    piece.from =
        std::max<std::int64_t>(0, std::min(piece.core_from - at(margin_s), piece.to - at(least_s)));
    plan.push_back(piece);
  }

  const int jobs = jobs_within_memory(jobs_, peers_.size(), rate_Hz_);
  std::vector<std::unique_ptr<Voters>> workers;
  for (std::size_t w = 0; w < workers_for(jobs, plan.size()); ++w) {
    std::vector<Ready> ready;
    for (const Peer& peer : peers_) {
      auto source = peer.source->again();
      if (!source) return source.error();
      const std::size_t factor = reference_factor((*source)->sample_rate_Hz(), rate_Hz_);
      auto reader = std::make_unique<PieceReader>(std::move(*source), factor);
      auto warp = std::make_unique<signal::WarpReader>(
          std::min(0.5, 0.495 * rate_Hz_ / reader->rate_Hz()), half_width(reader->rate_Hz()));
      ready.push_back({std::move(reader), std::move(warp)});
    }
    workers.push_back(
        std::make_unique<Voters>(std::move(ready), group_, time_, rate_Hz_, renderings));
  }
  std::vector<Joiner> joiners;
  for (const Rendering& rendering : renderings) joiners.emplace_back(rendering, at(fade_s));
  std::vector<VoteCount> counts(peers_.size());
  std::atomic<std::size_t> done{0};
  const std::size_t batch = std::max<std::size_t>(1, workers.size());
  for (std::size_t start = 0; start < plan.size(); start += batch) {
    const std::size_t width = std::min(batch, plan.size() - start);
    std::vector<PieceOut> outs(width);
    const auto work = [&](std::size_t worker, std::size_t p) -> Outcome {
      if (auto worked = workers[worker]->work(plan[start + p], outs[p]); !worked) return worked;
      if (!go_on(static_cast<double>(++done) / static_cast<double>(plan.size())))
        return Error{Fault::conflict, "stopped before the end"};
      return Done{};
    };
    if (auto ran = run_pieces(width, jobs, work); !ran) return ran.error();
    for (std::size_t p = 0; p < width; ++p) {
      const bool last = start + p + 1 == plan.size();
      for (std::size_t r = 0; r < renderings.size(); ++r)
        if (auto taken =
                joiners[r].take(outs[p].made[r], outs[p].from, plan[start + p].core_to, last);
            !taken)
          return taken.error();
      for (std::size_t i = 0; i < counts.size(); ++i) {
        counts[i].events += outs[p].counts[i].events;
        counts[i].seconds += outs[p].counts[i].seconds;
      }
    }
  }
  return counts;
}

}  // namespace goodside::listen
