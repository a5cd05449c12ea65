#include "listen/piece_reader.hpp"

#include <algorithm>
#include <cmath>

#include "base/expects.hpp"
#include "signal/fir.hpp"

namespace goodside::listen {
namespace {

constexpr std::size_t block = 8192;  // thinned samples to one read

}  // namespace

PieceReader::PieceReader(std::unique_ptr<signal::SampleSource> source,
                         std::size_t factor,
                         std::size_t sharpness)
    : source_{std::move(source)}, factor_{factor} {
  EXPECTS(source_ != nullptr && factor_ >= 1);
  rate_Hz_ = source_->sample_rate_Hz() / static_cast<double>(factor_);
  frames_ = (source_->frames() + static_cast<std::int64_t>(factor_) - 1) /
            static_cast<std::int64_t>(factor_);
  if (factor_ > 1)
    taps_ = signal::low_pass_taps(0.45 / static_cast<double>(factor_), sharpness * factor_, 7.0);
}

Outcome PieceReader::fetch(std::int64_t from, std::size_t count) {
  const std::size_t overhang = factor_ > 1 ? taps_.size() - 1 : 0;
  const std::size_t needed = (count - 1) * factor_ + 1 + overhang;
  interleaved_.resize(needed * static_cast<std::size_t>(source_->channels()));
  return source_->read(
      from * static_cast<std::int64_t>(factor_) - static_cast<std::int64_t>(overhang / 2),
      interleaved_);
}

Outcome PieceReader::read(std::int64_t from, std::span<float> left, std::span<float> right) {
  EXPECTS(left.size() == right.size());
  const bool two = source_->channels() == 2;
  for (std::size_t done = 0; done < left.size(); done += block) {
    const std::size_t count = std::min(block, left.size() - done);
    if (auto fetched = fetch(from + static_cast<std::int64_t>(done), count); !fetched)
      return fetched;
    const std::span<float> left_out = left.subspan(done, count);
    const std::span<float> right_out = right.subspan(done, count);
    if (factor_ == 1) {
      if (two) {
        signal::split_pairs(interleaved_, left_out, right_out);
      } else {
        std::ranges::copy(interleaved_, left_out.begin());
        std::ranges::copy(interleaved_, right_out.begin());
      }
      continue;
    }
    if (!two) {
      signal::slide_filter(interleaved_, 0, factor_, taps_, left_out);
      std::ranges::copy(left_out, right_out.begin());
      continue;
    }
    left_.resize(interleaved_.size() / 2);
    right_.resize(interleaved_.size() / 2);
    signal::split_pairs(interleaved_, left_, right_);
    signal::slide_filter(left_, 0, factor_, taps_, left_out);
    signal::slide_filter(right_, 0, factor_, taps_, right_out);
  }
  return Done{};
}

Outcome PieceReader::read_mean(std::int64_t from, std::span<float> mean) {
  for (std::size_t done = 0; done < mean.size(); done += block) {
    const std::size_t count = std::min(block, mean.size() - done);
    if (auto fetched = fetch(from + static_cast<std::int64_t>(done), count); !fetched)
      return fetched;
    if (source_->channels() == 2) {
      left_.resize(interleaved_.size() / 2);
      for (std::size_t j = 0; j < left_.size(); ++j)
        left_[j] = 0.5F * (interleaved_[2 * j] + interleaved_[2 * j + 1]);
    }
    const std::span<const float> one = source_->channels() == 2 ? left_ : interleaved_;
    const std::span<float> out = mean.subspan(done, count);
    if (factor_ == 1)
      std::ranges::copy(one, out.begin());
    else
      signal::slide_filter(one, 0, factor_, taps_, out);
  }
  return Done{};
}

std::size_t timing_factor(double rate_Hz) {
  return std::max<std::size_t>(1, static_cast<std::size_t>(std::floor(rate_Hz / 22049.0)));
}

std::size_t listening_factor(double rate_Hz) {
  return std::max<std::size_t>(1, static_cast<std::size_t>(std::ceil(rate_Hz / 48001.0)));
}

}  // namespace goodside::listen
