#include "listen/groove_ground.hpp"

#include <algorithm>
#include <cmath>

#include "base/expects.hpp"
#include "listen/residual_events.hpp"
#include "signal/rank.hpp"

namespace goodside::listen {
namespace {

constexpr std::size_t joined_blocks = 3;  // 15 ms
constexpr std::size_t joined_cells = 4;   // of the lower band
constexpr double turns_around = 2.5;
constexpr double turns_left_out = 0.125;
constexpr std::size_t enough_around = 100;
constexpr float least_sigma_dB = 0.2F;

float decibels(float ratio) {
  return 10.0F * std::log10(std::max(ratio, 1e-6F));
}

float part_of(const std::vector<float>& values, double share) {
  return signal::at_rank(values,
                         static_cast<std::size_t>(share * static_cast<double>(values.size() - 1)));
}

}  // namespace

float lower_quartile(std::vector<float>& values) {
  EXPECTS(!values.empty());
  return part_of(values, 0.25);
}

std::optional<GroundLevels_dB> ground_levels(const ExcessCells& cells, double from_s) {
  const auto first = static_cast<std::ptrdiff_t>(std::ceil(from_s / cells.cell_s));
  const auto count = static_cast<std::ptrdiff_t>(ground_block_s / cells.cell_s);
  if (first < 0 || first + count > std::ssize(cells.energy[0]) || count < 8) return {};
  GroundLevels_dB levels{};
  std::vector<float> values;
  for (std::size_t s = 0; s < ground_streams; ++s) {
    const std::size_t join = s < 2 ? 1 : joined_cells;
    const auto begin = cells.energy[s].begin() + first;
    values.clear();
    for (std::ptrdiff_t c = 0; c + static_cast<std::ptrdiff_t>(join) <= count;
         c += static_cast<std::ptrdiff_t>(join)) {
      float sum = 0.0F;
      for (std::size_t j = 0; j < join; ++j) sum += begin[c + static_cast<std::ptrdiff_t>(j)];
      values.push_back(sum / static_cast<float>(join));
    }
    levels[s] = decibels(lower_quartile(values));
  }
  return levels;
}

GrooveGround::GrooveGround(double rpm, double programme_duration_s) : turn_s_{60.0 / rpm} {
  EXPECTS(rpm > 0.0 && programme_duration_s > 0.0);
  const auto blocks = static_cast<std::size_t>(programme_duration_s / ground_block_s) + 1;
  levels_.resize(blocks);
  known_.assign(blocks, 0);
  aside_.assign(blocks, 0);
}

void GrooveGround::take(const GroundBlock& block) {
  const double place = std::floor(block.programme_s / ground_block_s);
  if (!(place >= 0.0) || place >= static_cast<double>(levels_.size())) return;
  const auto at = static_cast<std::size_t>(place);
  levels_[at] = block.level_dB;
  known_[at] = 1;
}

void GrooveGround::set_aside(double from_s, double to_s) {
  const auto last = static_cast<double>(levels_.size());
  const auto from =
      static_cast<std::size_t>(std::clamp(std::floor(from_s / ground_block_s), 0.0, last));
  const auto to = static_cast<std::size_t>(std::clamp(std::ceil(to_s / ground_block_s), 0.0, last));
  for (std::size_t b = from; b < to; ++b) aside_[b] = 1;
}

std::optional<GroundAround> GrooveGround::around(double programme_s) const {
  std::array<std::vector<float>, ground_streams> means;
  const auto last = static_cast<double>(levels_.size());
  const double reach = turns_around * turn_s_;
  const auto from =
      static_cast<std::size_t>(std::clamp((programme_s - reach) / ground_block_s, 0.0, last));
  const auto to =
      static_cast<std::size_t>(std::clamp((programme_s + reach) / ground_block_s, 0.0, last));
  for (std::size_t b = from; b + joined_blocks <= to; b += joined_blocks) {
    const double away = ((static_cast<double>(b) + 1.5) * ground_block_s - programme_s) / turn_s_;
    if (std::abs(away - std::round(away)) < turns_left_out) continue;
    if (known_[b] == 0 || known_[b + 1] == 0 || known_[b + 2] == 0) continue;
    for (std::size_t s = 0; s < ground_streams; ++s)
      means[s].push_back((levels_[b][s] + levels_[b + 1][s] + levels_[b + 2][s]) / 3.0F);
  }
  if (means[0].size() * joined_blocks < enough_around) return {};
  GroundAround result;
  for (std::size_t s = 0; s < ground_streams; ++s) {
    result.median_dB[s] = part_of(means[s], 0.5);
    result.sigma_dB[s] = std::max(least_sigma_dB, part_of(means[s], 0.84) - result.median_dB[s]);
  }
  return result;
}

std::optional<Raised> GrooveGround::raised(const Window& window, const GroundAround& around) const {
  const auto last = static_cast<double>(levels_.size());
  // Only blocks that lie inside whole.
  const auto block = [&](double at_s) {
    return static_cast<std::size_t>(std::clamp(std::ceil(at_s / ground_block_s), 0.0, last));
  };
  const std::size_t from = block(window.from_s), to = block(window.to_s - ground_block_s) + 1;
  std::array<double, ground_streams> sum{};
  std::size_t count = 0;
  for (std::size_t b = from; b < std::min(to, levels_.size()); ++b) {
    const double from_s = static_cast<double>(b) * ground_block_s;
    const bool out = from_s < window.but_to_s && from_s + ground_block_s > window.but_from_s;
    if (known_[b] == 0 || aside_[b] != 0 || out) continue;
    for (std::size_t s = 0; s < ground_streams; ++s) sum[s] += static_cast<double>(levels_[b][s]);
    ++count;
  }
  if (count == 0) return {};
  // What programme leaves behind wanders slowly: length does not average it out.
  const auto widening = static_cast<float>(
      std::max(0.8, std::sqrt(static_cast<double>(joined_blocks) / static_cast<double>(count))));
  Raised result;
  for (std::size_t s = 0; s < ground_streams; ++s) {
    result.by_dB[s] = static_cast<float>(sum[s] / static_cast<double>(count)) - around.median_dB[s];
    result.sigma_dB[s] = around.sigma_dB[s] * widening;
  }
  return result;
}

}  // namespace goodside::listen
