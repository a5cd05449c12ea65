#include "listen/programme_floor.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>

#include "base/expects.hpp"
#include "signal/clones.hpp"
#include "signal/quick_powers.hpp"
#include "signal/rank.hpp"
#include "stats/interval.hpp"

namespace goodside::listen {
namespace {

constexpr std::size_t steps = 28;
constexpr double step_dB = 3.0;
constexpr double lowest_dB = -30.0;
constexpr std::size_t parts =
    16;  // of the piece: bursts once a turn lie in fewer than a third of them
constexpr std::size_t least_cells = 40;  // of a step, to know it by
constexpr std::size_t least_part = 20;   // of those in one part, for it to have a say
constexpr std::size_t least_parts = 3;
constexpr double tail_share = 0.95;
constexpr double tail_power =
    1.3;  // of the tail's excess over noise's: what lies beyond it is heavier still; judgement

/// Where each power lies on the scale of steps, from 0 to the last.
GOODSIDE_CLONES void place_on_steps(const float* power, float* place, std::size_t count) {
  constexpr auto a_step = static_cast<float>(3.0102999566398120 / step_dB);
  constexpr auto first = static_cast<float>(-lowest_dB / step_dB);
  constexpr auto last = static_cast<float>(steps - 1);
#pragma omp simd
  for (std::size_t c = 0; c < count; ++c) {
    const float at = a_step * signal::quick_log2(power[c] + 1e-9F) + first;
    place[c] = std::min(last, std::max(0.0F, at));
  }
}

struct Said {
  float middle{}, high{};
  float weight{};
};

/// Median and 95 % point.
Said say(std::span<const float> cells) {
  const auto high = static_cast<std::size_t>(tail_share * static_cast<double>(cells.size()));
  return {signal::median_of(cells), signal::at_rank(cells, high), static_cast<float>(cells.size())};
}

/// The value that parts with a share `vote` of the weight do not exceed.
float voted(std::span<Said> parts_said, float Said::*value, double vote) {
  std::ranges::sort(parts_said, {}, value);
  float all = 0.0F;
  for (const Said& one : parts_said) all += one.weight;
  float sum = 0.0F;
  for (const Said& one : parts_said) {
    sum += one.weight;
    if (sum >= static_cast<float>(vote) * all) return one.*value;
  }
  return parts_said.back().*value;
}

/// Cells sorted by step and, within it, by part of the piece.
class Steps {
 public:
  Steps(std::span<const float> residual, std::span<const float> place) : cells_(residual.size()) {
    const auto slot = [&](std::size_t c, std::size_t p) {
      return static_cast<std::size_t>(static_cast<std::int32_t>(place[c] + 0.5F)) * parts + p;
    };
    const std::size_t count = residual.size();
    const auto end_of = [count](std::size_t p) { return ((p + 1) * count + parts - 1) / parts; };
    for (std::size_t p = 0, c = 0; p < parts; ++p)
      for (; c < end_of(p); ++c) ++first_[slot(c, p) + 1];
    for (std::size_t k = 0; k + 1 < first_.size(); ++k) first_[k + 1] += first_[k];
    std::array<std::size_t, steps* parts + 1> next = first_;
    for (std::size_t p = 0, c = 0; p < parts; ++p)
      for (; c < end_of(p); ++c) cells_[next[slot(c, p)]++] = residual[c];
  }

  [[nodiscard]] std::size_t size(std::size_t step) const {
    return first_[(step + 1) * parts] - first_[step * parts];
  }

  /// What the parts say of a step; where none has enough cells of it, all together.
  [[nodiscard]] std::vector<Said> ask(std::size_t step) const {
    std::vector<Said> said;
    for (std::size_t p = 0; p < parts; ++p) {
      const std::size_t from = first_[step * parts + p];
      const std::size_t to = first_[step * parts + p + 1];
      if (to - from >= least_part) said.push_back(say(std::span{cells_}.subspan(from, to - from)));
    }
    if (said.empty())
      said.push_back(say(std::span{cells_}.subspan(first_[step * parts], size(step))));
    return said;
  }

 private:
  std::array<std::size_t, steps * parts + 1> first_{};
  std::vector<float> cells_;
};

}  // namespace

std::vector<float> programme_floor(std::span<const float> residual,
                                   std::span<const float> programme,
                                   double freedom,
                                   const FloorRule& rule,
                                   double& usual_lift) {
  EXPECTS(residual.size() == programme.size() && !residual.empty());
  std::vector<float> place(residual.size());
  place_on_steps(programme.data(), place.data(), place.size());
  Steps by_step{residual, place};
  const double median = stats::chi_squared_quantile(0.5, freedom) / freedom;
  const double tail = stats::chi_squared_quantile(tail_share, freedom) / freedom / median;
  std::array<float, steps> level{};
  float known = 0.0F;
  double lifted = 0.0;
  for (std::size_t s = 0; s < steps; ++s) {
    if (by_step.size(s) >= least_cells) {
      std::vector<Said> said = by_step.ask(s);
      const bool sure = said.size() >= least_parts;
      const float high = voted(said, &Said::high, rule.vote);
      const float middle = voted(said, &Said::middle, rule.vote);
      const double ratio = static_cast<double>(high / std::max(middle, 1e-20F)) / tail;
      const bool loud = lowest_dB + step_dB * static_cast<double>(s) > 0.0;
      const double lift = loud && ratio > 1.0 ? std::pow(ratio, tail_power) : 1.0;
      lifted += std::log(lift) * static_cast<double>(by_step.size(s));
      auto own = static_cast<float>(static_cast<double>(middle) / median * lift);
      if (!sure && known > 0.0F) own = std::min(own, rule.steepest * known);
      known = std::max(known, own);
    }
    level[s] = known;
  }
  usual_lift = std::max(usual_lift, std::exp(lifted / static_cast<double>(residual.size())));
  const auto first = std::ranges::find_if(level, [](float value) { return value > 0.0F; });
  const float least = first == level.end() ? 1.0F : *first;
  for (float& value : level) value = std::max(value, least);
  std::vector<float> expected(residual.size());
  for (std::size_t c = 0; c < residual.size(); ++c) {
    const auto below =
        std::min(static_cast<std::int32_t>(place[c]), static_cast<std::int32_t>(steps) - 2);
    const float share = place[c] - static_cast<float>(below);
    const float* at = level.data() + below;
    expected[c] = at[0] + share * (at[1] - at[0]);
  }
  return expected;
}

}  // namespace goodside::listen
