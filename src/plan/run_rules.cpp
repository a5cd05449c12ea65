#include "plan/run_rules.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "stats/interval.hpp"

namespace goodside::plan {
namespace {

using enum RunRule;
constexpr std::array limits_alone{beyond_limits};
constexpr std::array western{beyond_limits, two_of_three, four_of_five, eight_aside};
constexpr std::array nelson{beyond_limits,
                            nine_aside,
                            six_trending,
                            fourteen_alternating,
                            two_of_three,
                            four_of_five,
                            fifteen_within,
                            eight_outside};

using Values = std::span<const double>;

/// The last `count` of the values; empty where there are not so many.
Values last(Values values, std::size_t count) {
  return values.size() < count ? Values{} : values.last(count);
}

/// At least `wanted` of the last `count` beyond `edge` on the side of the newest, which is one of them.
bool beyond(Values values, std::size_t count, std::ptrdiff_t wanted, double edge) {
  const double side = values.back() > 0.0 ? 1.0 : -1.0;
  if (side * values.back() <= edge) return false;
  const Values looked = values.last(std::min(count, values.size()));
  return std::ranges::count_if(looked, [&](double z) { return side * z > edge; }) >= wanted;
}

bool aside(Values values, std::size_t count) {
  const Values looked = last(values, count);
  return !looked.empty() && (std::ranges::all_of(looked, [](double z) { return z > 0.0; }) ||
                             std::ranges::all_of(looked, [](double z) { return z < 0.0; }));
}

bool trending(Values values, std::size_t count) {
  const Values looked = last(values, count);
  return !looked.empty() &&
         (std::ranges::adjacent_find(looked, std::greater_equal{}) == looked.end() ||
          std::ranges::adjacent_find(looked, std::less_equal{}) == looked.end());
}

bool alternating(Values values, std::size_t count) {
  const Values looked = last(values, count);
  if (looked.empty()) return false;
  for (std::size_t i = 2; i < looked.size(); ++i)
    if ((looked[i] - looked[i - 1]) * (looked[i - 1] - looked[i - 2]) >= 0.0) return false;
  return true;
}

bool all_beyond(Values values, std::size_t count, bool outside) {
  const Values looked = last(values, count);
  return !looked.empty() && std::ranges::all_of(looked, [outside](double z) {
    return outside ? std::abs(z) > 1.0 : std::abs(z) < 1.0;
  });
}

bool breaks(RunRule rule, Values values) {
  switch (rule) {
    case beyond_limits:
      return std::abs(values.back()) > 3.0;
    case two_of_three:
      return beyond(values, 3, 2, 2.0);
    case four_of_five:
      return beyond(values, 5, 4, 1.0);
    case eight_aside:
      return aside(values, 8);
    case nine_aside:
      return aside(values, 9);
    case six_trending:
      return trending(values, 6);
    case fourteen_alternating:
      return alternating(values, 14);
    case fifteen_within:
      return all_beyond(values, 15, false);
    case eight_outside:
      return all_beyond(values, 8, true);
  }
  return false;
}

/// The zones of a chart, and a value that stands for each.
constexpr std::array zone_values{-3.5, -2.5, -1.5, -0.5, 0.5, 1.5, 2.5, 3.5};

/// What the rules remember of the past: the last four zones, and how many in a row on one side, within
/// or beyond one sigma.
struct Memory {
  std::array<int, 4> zones{-1, -1, -1, -1};  ///< the newest first; -1: none yet
  int aside{}, within{}, outside{};
  auto operator<=>(const Memory&) const = default;
};

class Chain {
 public:
  explicit Chain(std::span<const RunRule> rules) : rules_{rules} {
    for (const RunRule rule : rules) {
      if (rule == eight_aside || rule == nine_aside)
        most_aside_ = std::max(most_aside_, rule == nine_aside ? 8 : 7);
      if (rule == fifteen_within) most_within_ = 14;
      if (rule == eight_outside) most_outside_ = 7;
      if (rule == two_of_three) kept_ = std::max(kept_, 2);
      if (rule == four_of_five) kept_ = 4;
    }
    find(Memory{});
    for (std::size_t i = 0; i < states_.size(); ++i) follow(i);
  }

  double mean_run(double shift) const {
    std::array<double, 8> chance{};
    double below = 0.0;
    for (std::size_t zone = 0; zone < chance.size(); ++zone) {
      const double edge = static_cast<double>(zone) - 3.0;
      const double up_to = zone == 7 ? 1.0 : stats::normal_below(edge - shift);
      chance[zone] = up_to - below;
      below = up_to;
    }
    // L = 1 + sum over zones of chance L(next), signals 0: the sweep settles as the run ends.
    std::vector<double> length(states_.size(), 1.0);
    constexpr int most_sweeps = 200'000;
    for (int sweep = 0; sweep < most_sweeps; ++sweep) {
      double moved = 0.0;
      for (std::size_t i = states_.size(); i-- > 0;) {
        double sum = 1.0;
        for (std::size_t zone = 0; zone < chance.size(); ++zone)
          if (next_[i][zone] != signal) sum += chance[zone] * length[next_[i][zone]];
        moved = std::max(moved, std::abs(sum - length[i]) / sum);
        length[i] = sum;
      }
      if (moved < 1e-12) break;
    }
    return length[0];
  }

 private:
  static constexpr std::size_t signal = static_cast<std::size_t>(-1);

  std::size_t find(const Memory& memory) {
    const auto [place, fresh] = index_.try_emplace(memory, states_.size());
    if (fresh) {
      states_.push_back(memory);
      next_.push_back({});
    }
    return place->second;
  }

  void follow(std::size_t i) {
    const Memory before = states_[i];
    for (int zone = 0; zone < 8; ++zone) {
      const double value = zone_values[static_cast<std::size_t>(zone)];
      const int side = value > 0.0 ? 1 : -1;
      Memory now;
      now.zones[0] = zone;
      for (std::size_t k = 1; k < 4; ++k) now.zones[k] = before.zones[k - 1];
      now.aside = before.aside * side > 0 ? before.aside + side : side;
      now.within = std::abs(value) < 1.0 ? before.within + 1 : 0;
      now.outside = std::abs(value) > 1.0 ? before.outside + 1 : 0;
      next_[i][static_cast<std::size_t>(zone)] =
          signals(before, value, now) ? signal : find(kept(now));
    }
  }

  [[nodiscard]] bool signals(const Memory& before, double value, const Memory& now) const {
    std::vector<double> values;
    for (std::size_t k = 4; k-- > 0;)
      if (before.zones[k] >= 0)
        values.push_back(zone_values[static_cast<std::size_t>(before.zones[k])]);
    values.push_back(value);
    return std::ranges::any_of(rules_, [&](RunRule rule) {
      switch (rule) {
        case eight_aside:
          return std::abs(now.aside) >= 8;
        case nine_aside:
          return std::abs(now.aside) >= 9;
        case fifteen_within:
          return now.within >= 15;
        case eight_outside:
          return now.outside >= 8;
        default:
          return breaks(rule, values);
      }
    });
  }

  /// Only what a rule can still ask for, so that the chain stays small.
  [[nodiscard]] Memory kept(Memory now) const {
    for (std::size_t k = 0; k < 4; ++k) {
      if (static_cast<int>(k) >= kept_) now.zones[k] = -1;
      // Within one sigma the zones are alike to the rules that count zones.
      if (now.zones[k] == 3 || now.zones[k] == 4) now.zones[k] = 3;
    }
    now.aside = std::clamp(now.aside, -most_aside_, most_aside_);
    now.within = std::min(now.within, most_within_);
    now.outside = std::min(now.outside, most_outside_);
    return now;
  }

  std::span<const RunRule> rules_;
  int kept_{}, most_aside_{}, most_within_{}, most_outside_{};
  std::vector<Memory> states_;
  std::vector<std::array<std::size_t, 8>> next_;
  std::map<Memory, std::size_t> index_;
};

}  // namespace

Result<std::vector<RunRule>> read_rules(std::string_view typed) {
  if (typed == "limits") return std::vector<RunRule>(limits_alone.begin(), limits_alone.end());
  if (typed == "western-electric") return std::vector<RunRule>(western.begin(), western.end());
  if (typed == "nelson") return std::vector<RunRule>(nelson.begin(), nelson.end());
  return Error{
      Fault::bad_input,
      fmt::format("\"{}\" is none of limits, western-electric, nelson", typed.substr(0, 40))};
}

std::vector<std::vector<RunRule>> broken_rules(std::span<const double> standardised,
                                               std::span<const RunRule> rules) {
  std::vector<std::vector<RunRule>> broken(standardised.size());
  for (std::size_t i = 0; i < standardised.size(); ++i)
    for (const RunRule rule : rules)
      if (breaks(rule, standardised.first(i + 1))) broken[i].push_back(rule);
  return broken;
}

std::optional<double> run_length(std::span<const RunRule> rules, double shift) {
  for (const RunRule rule : rules)
    if (rule == six_trending || rule == fourteen_alternating) return {};
  return Chain{rules}.mean_run(shift);
}

}  // namespace goodside::plan
