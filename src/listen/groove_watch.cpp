#include "listen/groove_watch.hpp"

#include <algorithm>
#include <cmath>

#include "base/expects.hpp"

namespace goodside::listen {
namespace {

constexpr double block_s = 5e-3, low_Hz = 500.0, high_Hz = 8000.0;
// Butterworth's: of second order above the band; of fourth below it, where hum may be 40 dB louder.
constexpr double second_order = 0.7071, fourth_order_a = 0.5412, fourth_order_b = 1.3066;
constexpr double deepest_dB = -100.0;  // a floor of digital silence is none
constexpr double above_dB = 5.0, down_s = 1.0, down_share = 0.8;
constexpr double lifted_s = 10.0, lifted_after_the_cut_s = 3.0, lifted_share = 0.1;
constexpr double tail_s = 1.0, least_groove_s = 8.0;
constexpr double floor_memory_s = 30.0;
constexpr double lock_turns = 3.0, lock_slack = 0.03, lock_r = 0.6, lock_look_s = 0.5;
constexpr double lock_quieter_dB = 12.0, lock_hold_turns = 2.0, lock_hold_unknown_turns = 10.0;
constexpr double slow_side = 1.02, unknown_least_s = 30.0;
constexpr double longest_share = 1.1, longest_more_s = 60.0, longest_unknown_s = 3600.0;

template <class Range>
double median(const Range& values) {
  std::vector<double> sorted(values.begin(), values.end());
  const auto middle = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2);
  std::nth_element(sorted.begin(), middle, sorted.end());
  return *middle;
}

/// Less its own mean over `half` values before and behind: a fade is no turn that comes again.
std::vector<double> without_trend(const std::deque<float>& x, std::size_t half) {
  std::vector<double> sums{0.0}, rest;
  for (const float value : x) sums.push_back(sums.back() + static_cast<double>(value));
  for (std::size_t k = 0; k < x.size(); ++k) {
    const std::size_t from = k < half ? 0 : k - half, to = std::min(x.size(), k + half + 1);
    rest.push_back(static_cast<double>(x[k]) -
                   (sums[to] - sums[from]) / static_cast<double>(to - from));
  }
  return rest;
}

/// Of x(t) with x(t - lag), over the last `count`; 0 where one of them does not vary.
double correlation(std::span<const double> x, std::size_t count, std::size_t lag) {
  const auto now = x.last(count), then = x.first(x.size() - lag).last(count);
  double both = 0.0, of_now = 0.0, of_then = 0.0;
  for (std::size_t k = 0; k < count; ++k) {
    both += now[k] * then[k];
    of_now += now[k] * now[k];
    of_then += then[k] * then[k];
  }
  return of_now > 0.0 && of_then > 0.0 ? both / std::sqrt(of_now * of_then) : 0.0;
}

}  // namespace

GrooveWatch::GrooveWatch(const Setting& setting)
    : setting_{setting},
      block_frames_{static_cast<std::size_t>(std::lround(block_s * setting.sample_rate_Hz))} {
  EXPECTS(setting.sample_rate_Hz >= 22050.0 && setting.channels >= 1 && setting.turn_s > 0.1);
  for (int c = 0; c < setting.channels; ++c) {
    band_.push_back({disc::low_pass({high_Hz, second_order}, setting.sample_rate_Hz),
                     disc::high_pass({low_Hz, fourth_order_a}, setting.sample_rate_Hz),
                     disc::high_pass({low_Hz, fourth_order_b}, setting.sample_rate_Hz)});
  }
}

std::size_t GrooveWatch::blocks(double seconds) const {
  return static_cast<std::size_t>(
      std::lround(seconds * setting_.sample_rate_Hz / static_cast<double>(block_frames_)));
}

double GrooveWatch::played_s() const {
  return static_cast<double>(closed_ - from_frame_) / setting_.sample_rate_Hz;
}

double GrooveWatch::silent_s() const {
  return state_ == State::playing && floor_dB_
             ? static_cast<double>(closed_ - heard_frame_) / setting_.sample_rate_Hz
             : 0.0;
}

void GrooveWatch::take(std::span<const float> interleaved) {
  const auto width = static_cast<std::size_t>(setting_.channels);
  EXPECTS(interleaved.size() % width == 0);
  for (std::size_t at = 0; at < interleaved.size() && state_ != State::ended; at += width) {
    for (std::size_t c = 0; c < width; ++c) {
      double x = static_cast<double>(interleaved[at + c]);
      for (disc::Biquad& filter : band_[c]) x = filter(x);
      energy_ += x * x;
    }
    ++frames_;
    if (++in_block_ == block_frames_) close_block();
  }
}

void GrooveWatch::close_block() {
  const double mean = energy_ / (static_cast<double>(block_frames_) * setting_.channels);
  levels_dB_.push_back(static_cast<float>(10.0 * std::log10(std::max(mean, 1e-12))));
  // Four turns for the lock, and the longest wait for a lift.
  const std::size_t kept = std::max(blocks((lock_turns + 1.2) * setting_.turn_s), blocks(lifted_s));
  if (levels_dB_.size() > kept) levels_dB_.pop_front();
  energy_ = 0.0;
  in_block_ = 0;
  closed_ = frames_;
  if (state_ == State::playing) {
    look_for_end();
  } else {
    follow_floor();
    look_for_down();
  }
}

void GrooveWatch::follow_floor() {
  const std::size_t second = blocks(1.0);
  if (static_cast<std::size_t>(closed_) / block_frames_ % second != 0 || levels_dB_.size() < second)
    return;
  const std::vector<float> last(levels_dB_.end() - static_cast<std::ptrdiff_t>(second),
                                levels_dB_.end());
  medians_dB_.push_back(std::max(median(last), deepest_dB));
  if (medians_dB_.size() > static_cast<std::size_t>(floor_memory_s)) medians_dB_.pop_front();
  floor_dB_ = *std::ranges::min_element(medians_dB_);
  if (state_ == State::settling) state_ = State::waiting;
}

/// Of the blocks of the last seconds, how many are of a groove.
double GrooveWatch::heard_share(double last_s) const {
  const std::size_t count = std::min(blocks(last_s), levels_dB_.size());
  const auto heard = std::count_if(
      levels_dB_.end() - static_cast<std::ptrdiff_t>(count), levels_dB_.end(), [&](float level_dB) {
        return static_cast<double>(level_dB) > *floor_dB_ + above_dB;
      });
  return count == 0 ? 0.0 : static_cast<double>(heard) / static_cast<double>(count);
}

void GrooveWatch::look_for_down() {
  if (state_ == State::waiting && levels_dB_.size() >= blocks(down_s) &&
      heard_share(down_s) >= down_share)
    begin();
}

void GrooveWatch::begin() {
  if (state_ != State::settling && state_ != State::waiting) return;
  state_ = State::playing;
  from_frame_ = std::max<std::int64_t>(0, closed_ - std::lround(down_s * setting_.sample_rate_Hz));
  heard_frame_ = closed_;
  loudest_dB_ = deepest_dB;
  locked_blocks_ = 0;
}

void GrooveWatch::end() {
  if (state_ == State::playing) stop(End::by_hand, closed_);
}

void GrooveWatch::stop(End how, std::int64_t at_frame) {
  state_ = State::ended;
  end_ = how;
  to_frame_ = std::min(closed_, at_frame);
}

bool GrooveWatch::locked() const {
  const std::size_t turn = blocks(setting_.turn_s), window = blocks(lock_turns * setting_.turn_s);
  const auto slack = static_cast<std::size_t>(std::ceil(lock_slack * static_cast<double>(turn)));
  if (levels_dB_.size() < window + turn + slack) return false;
  if (!setting_.programme_s) {
    const std::vector<float> last(levels_dB_.end() - static_cast<std::ptrdiff_t>(window),
                                  levels_dB_.end());
    if (median(last) > loudest_dB_ - lock_quieter_dB) return false;
  }
  const auto levels = without_trend(levels_dB_, turn / 8);
  for (std::size_t lag = turn - slack; lag <= turn + slack; ++lag)
    if (correlation(levels, window, lag) >= lock_r) return true;
  return false;
}

void GrooveWatch::look_for_end() {
  const double played = played_s();
  const auto programme_s = setting_.programme_s;
  const bool over = programme_s && played >= *programme_s;
  const std::size_t second = blocks(1.0);
  if (floor_dB_) {
    if (static_cast<double>(levels_dB_.back()) > *floor_dB_ + above_dB) heard_frame_ = closed_;
    const double wait_s = over ? lifted_after_the_cut_s : lifted_s;
    if (played > wait_s && heard_share(wait_s) <= lifted_share) {
      const std::int64_t last_heard =
          closed_ - std::lround((wait_s - tail_s) * setting_.sample_rate_Hz);
      const double groove_s = played - wait_s;
      if (groove_s < std::min(least_groove_s, programme_s.value_or(least_groove_s) / 2.0)) {
        ++false_starts_;
        state_ = State::waiting;
        return;
      }
      return stop(End::lifted, last_heard);
    }
  }
  if (static_cast<std::size_t>(closed_) / block_frames_ % second == 0 &&
      levels_dB_.size() >= second) {
    const std::vector<float> last(levels_dB_.end() - static_cast<std::ptrdiff_t>(second),
                                  levels_dB_.end());
    loudest_dB_ = std::max(loudest_dB_, median(last));
  }
  const std::size_t look = blocks(lock_look_s);
  if (played >= (programme_s ? slow_side * *programme_s : unknown_least_s) &&
      static_cast<std::size_t>(closed_) / block_frames_ % look == 0) {
    locked_blocks_ = locked() ? locked_blocks_ + static_cast<int>(look) : 0;
    const double hold = programme_s ? lock_hold_turns : lock_hold_unknown_turns;
    if (static_cast<std::size_t>(locked_blocks_) >= blocks(hold * setting_.turn_s))
      return stop(End::locked_groove, closed_);
  }
  if (played >= (programme_s ? longest_share * *programme_s + longest_more_s : longest_unknown_s))
    stop(End::too_long, closed_);
}

}  // namespace goodside::listen
