#include "serve/recording.hpp"

#include <algorithm>
#include <cmath>

namespace goodside::serve {
namespace {

using State = listen::GrooveWatch::State;

constexpr double before_s = 2.0, certain_s = 1.0;  // pre-roll, and what the watch needs to be sure
constexpr double piece_s = 0.05, shown_s = 0.3, kept_each_s = 1.0, waiting_s = 20.0;
constexpr double deepest_dB = -120.0;

double decibel(double peak) {
  return std::max(deepest_dB, 20.0 * std::log10(std::max(peak, 1e-9)));
}

}  // namespace

/// Peaks as a person watches them.
class Recording::Meter {
 public:
  explicit Meter(std::size_t channels) : highest_(channels), run_(channels) {}

  void take(std::span<const float> interleaved) {
    const std::size_t width = highest_.size();
    std::vector<double> peak(width);
    for (std::size_t k = 0; k < interleaved.size(); ++k) {
      const double x = std::abs(static_cast<double>(interleaved[k]));
      const std::size_t c = k % width;
      peak[c] = std::max(peak[c], x);
      constexpr double full = 1.0 - 0x1p-15;
      run_[c] = x >= full ? run_[c] + 1 : 0;
      if (run_[c] == 3)
        clipped_ += 3;
      else if (run_[c] > 3)
        ++clipped_;
    }
    for (std::size_t c = 0; c < width; ++c) highest_[c] = std::max(highest_[c], peak[c]);
    last_.push_back(std::move(peak));
    if (static_cast<double>(last_.size()) > shown_s / piece_s) last_.pop_front();
  }
  void begin_again() {
    std::ranges::fill(highest_, 0.0);
    clipped_ = 0;
  }
  void show(Now& now) const {
    now.clipped = clipped_;
    now.peak_dB.clear();
    now.highest_dB.clear();
    for (std::size_t c = 0; c < highest_.size(); ++c) {
      double peak = 0.0;
      for (const auto& one : last_) peak = std::max(peak, one[c]);
      now.peak_dB.push_back(decibel(peak));
      now.highest_dB.push_back(decibel(highest_[c]));
    }
  }

 private:
  std::vector<double> highest_;
  std::vector<std::int64_t> run_;
  std::deque<std::vector<double>> last_;
  std::int64_t clipped_{};
};

Result<std::unique_ptr<Recording>> Recording::start(std::unique_ptr<SoundCard> card,
                                                    const Setting& setting,
                                                    std::function<void()> ended) {
  const SoundCard::Format format = card->format();
  auto wav = intake::GrowingWav::create(setting.path, format.sample_rate_Hz, format.channels);
  if (!wav) return wav.error();
  std::unique_ptr<Recording> made{
      new Recording{std::move(card), setting, std::move(*wav), std::move(ended)}};
  Recording* const one = made.get();
  one->writer_ = std::thread{[one] { one->write(); }};
  one->listener_ = std::thread{[one] { one->listen(); }};
  return made;
}

Recording::Recording(std::unique_ptr<SoundCard> card,
                     const Setting& setting,
                     std::unique_ptr<intake::GrowingWav> wav,
                     std::function<void()> ended)
    : card_{std::move(card)},
      format_{card_->format()},
      wav_{std::move(wav)},
      ended_{std::move(ended)},
      watch_{{.sample_rate_Hz = static_cast<double>(format_.sample_rate_Hz),
              .channels = format_.channels,
              .turn_s = setting.turn_s,
              .programme_s = setting.programme_s}} {
  now_.format = format_;
}

Recording::~Recording() {
  stopping_ = true;
  moved_.notify_all();
  if (listener_.joinable()) listener_.join();
  if (writer_.joinable()) writer_.join();
}

void Recording::begin() {
  begin_asked_ = true;
}

void Recording::end() {
  end_asked_ = true;
}

Recording::Now Recording::now() const {
  const std::lock_guard lock{guard_};
  return now_;
}

double Recording::seconds(std::int64_t frames) const {
  return static_cast<double>(frames) / format_.sample_rate_Hz;
}

void Recording::fail(const std::string& why) {
  const std::lock_guard lock{guard_};
  if (now_.error.empty()) now_.error = why;
  stopping_ = true;
  moved_.notify_all();
}

void Recording::listen() {
  Meter meter{width()};
  std::vector<float> block(width() *
                           static_cast<std::size_t>(std::lround(piece_s * format_.sample_rate_Hz)));
  while (!stopping_) {
    const auto taken = card_->take(block);
    if (!taken) {
      fail(taken.error().text);
      break;
    }
    if (taken->overrun) {
      // What lies on the two sides of a gap is no one piece.
      before_.clear();
      const std::lock_guard lock{guard_};
      if (was_playing_) now_.overruns_s.push_back(seconds(frames_ - first_frame_));
    }
    if (!take_in(std::span{block}.first(taken->frames * width()), meter)) break;
  }
  {
    const std::lock_guard lock{guard_};
    no_more_ = true;
  }
  moved_.notify_all();
  writer_.join();
  finish();
  ended_();
}

/// False where the recording is at its end.
bool Recording::take_in(std::span<const float> interleaved, Meter& meter) {
  if (begin_asked_.exchange(false)) watch_.begin();
  if (end_asked_.exchange(false)) {
    if (watch_.state() != State::playing) return false;
    watch_.end();
  }
  watch_.take(interleaved);
  frames_ += static_cast<std::int64_t>(interleaved.size() / width());
  meter.take(interleaved);
  const bool playing = watch_.state() == State::playing || watch_.state() == State::ended;
  if (playing && !was_playing_) {
    meter.begin_again();
    const auto held = static_cast<std::int64_t>(before_.size() / width());
    const std::int64_t now_from = frames_ - static_cast<std::int64_t>(interleaved.size() / width());
    const std::int64_t from = std::max(
        {watch_.from_frame() - std::int64_t{std::lround(before_s * format_.sample_rate_Hz)},
         now_from - held,
         std::int64_t{0}});
    first_frame_ = from;
    const auto skipped = static_cast<std::ptrdiff_t>(from - (now_from - held)) * format_.channels;
    hand_on({before_.begin() + skipped, before_.end()});
  }
  if (!playing && was_playing_) {
    hand_on({});
    const std::lock_guard lock{guard_};
    now_.overruns_s.clear();
  }
  was_playing_ = playing;
  if (playing && !interleaved.empty()) hand_on({interleaved.begin(), interleaved.end()});
  before_.insert(before_.end(), interleaved.begin(), interleaved.end());
  const auto most = width() * static_cast<std::size_t>(
                                  std::lround((before_s + certain_s) * format_.sample_rate_Hz));
  if (before_.size() > most)
    before_.erase(before_.begin(), before_.end() - static_cast<std::ptrdiff_t>(most));
  const std::lock_guard lock{guard_};
  now_.state = watch_.state();
  now_.end = watch_.how_ended();
  now_.floor_dB = watch_.floor_dB();
  now_.silent_s = watch_.silent_s();
  now_.false_starts = watch_.false_starts();
  now_.recorded_s = playing ? seconds(frames_ - first_frame_) : 0.0;
  meter.show(now_);
  return watch_.state() != State::ended;
}

/// Waits where the disk does not keep up: the interface then loses sound, and says so.
void Recording::hand_on(std::vector<float> samples) {
  std::unique_lock lock{guard_};
  const auto most = static_cast<std::int64_t>(waiting_s * format_.sample_rate_Hz);
  moved_.wait(lock, [&] { return stopping_ || queued_frames_ < most; });
  queued_frames_ += static_cast<std::int64_t>(samples.size() / width());
  queue_.push_back(std::move(samples));
  moved_.notify_all();
}

void Recording::write() {
  const auto step = static_cast<std::int64_t>(kept_each_s * format_.sample_rate_Hz);
  while (true) {
    std::vector<float> samples;
    {
      std::unique_lock lock{guard_};
      moved_.wait(lock, [&] { return no_more_ || !queue_.empty(); });
      if (queue_.empty()) return;
      samples = std::move(queue_.front());
      queue_.pop_front();
      queued_frames_ -= static_cast<std::int64_t>(samples.size() / width());
    }
    moved_.notify_all();
    Outcome written = samples.empty() ? wav_->cut(0) : wav_->write(samples);
    if (written && wav_->frames() - wav_->kept_frames() >= step) written = wav_->keep();
    if (!written) return fail(written.error().text);
    const std::lock_guard lock{guard_};
    now_.kept_s = seconds(wav_->kept_frames());
  }
}

/// All is written that will be: what lies behind the groove's end is cut off.
void Recording::finish() {
  const std::int64_t wanted =
      watch_.state() == State::ended ? watch_.to_frame() - first_frame_ : wav_->frames();
  const auto kept = wav_->cut(std::clamp<std::int64_t>(wanted, 0, wav_->frames()));
  const std::lock_guard lock{guard_};
  if (!kept && now_.error.empty()) now_.error = kept.error().text;
  now_.kept_s = now_.recorded_s = seconds(wav_->kept_frames());
  now_.state = State::ended;
}

}  // namespace goodside::serve
