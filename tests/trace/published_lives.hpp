#pragma once
#include <vector>

#include "published/lives/lives.hpp"
#include "trace/weibull_lives.hpp"

namespace goodside::trace {

template <class Counts>
std::vector<ObservedLife> lives_of_counts(const Counts& counts) {
  std::vector<ObservedLife> lives;
  for (const auto& [above, to, count] : counts)
    lives.insert(
        lives.end(), static_cast<std::size_t>(count), {.above = above, .to = to, .cause = 0});
  return lives;
}

template <class Rows>
std::vector<ObservedLife> lives_of_intervals(const Rows& rows) {
  std::vector<ObservedLife> lives;
  for (const auto& [above, to] : rows) lives.push_back({.above = above, .to = to, .cause = 0});
  return lives;
}

/// Each looked at once: what is cracked cracked before, what is not will crack after.
template <class Inspections>
std::vector<ObservedLife> lives_of_inspections(const Inspections& inspections) {
  std::vector<ObservedLife> lives;
  for (const auto& [age, inspected, cracked] : inspections)
    for (int i = 0; i < inspected; ++i)
      lives.push_back(i < cracked ? ObservedLife{.above = 0.0, .to = age, .cause = 0}
                                  : ObservedLife{.above = age});
  return lives;
}

template <class Rows>
std::vector<ObservedLife> lives_of_watched(const Rows& rows) {
  std::vector<ObservedLife> lives;
  for (const auto& [age, cause] : rows)
    lives.push_back(
        cause == 0
            ? ObservedLife{.above = age}
            : ObservedLife{.above = age, .to = age, .cause = static_cast<std::size_t>(cause - 1)});
  return lives;
}

}  // namespace goodside::trace
