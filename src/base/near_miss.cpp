#include "base/near_miss.hpp"

#include <algorithm>
#include <climits>

namespace goodside {

int edits(std::string_view from, std::string_view to) {
  const std::size_t rows = from.size() + 1, columns = to.size() + 1;
  std::vector<int> cost(rows * columns);
  const auto at = [&](std::size_t i, std::size_t j) -> int& { return cost[i * columns + j]; };
  for (std::size_t i = 0; i < rows; ++i) at(i, 0) = static_cast<int>(i);
  for (std::size_t j = 0; j < columns; ++j) at(0, j) = static_cast<int>(j);
  for (std::size_t i = 1; i < rows; ++i)
    for (std::size_t j = 1; j < columns; ++j) {
      const int differs = from[i - 1] == to[j - 1] ? 0 : 1;
      at(i, j) = std::min({at(i - 1, j) + 1, at(i, j - 1) + 1, at(i - 1, j - 1) + differs});
      if (i > 1 && j > 1 && from[i - 1] == to[j - 2] && from[i - 2] == to[j - 1])
        at(i, j) = std::min(at(i, j), at(i - 2, j - 2) + 1);
    }
  return cost.back();
}

std::optional<std::string> suggestion(std::string_view word,
                                      const std::vector<std::string>& names) {
  const std::string* best = nullptr;
  int fewest = INT_MAX;
  for (const std::string& name : names) {
    const bool beginning = word.size() > 3 && name.starts_with(word);
    const int cost = beginning ? 1 : edits(word, name);
    const int most = std::max(1, static_cast<int>(name.size()) / 3);
    if (cost > most || cost >= fewest) continue;
    fewest = cost;
    best = &name;
  }
  if (best == nullptr) return std::nullopt;
  return "did you mean `" + *best + "`?";
}

}  // namespace goodside
