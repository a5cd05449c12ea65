#include "works/control_chart.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace goodside::works {

std::string_view word(ChartKind kind) {
  constexpr std::array<std::string_view, 9> words{
      "individuals", "xbar-r", "xbar-s", "p", "np", "u", "c", "cusum", "ewma"};
  return words[static_cast<std::size_t>(kind)];
}

std::string_view title(ChartKind kind) {
  constexpr std::array<std::string_view, 9> words{"single values",
                                                  "means and ranges",
                                                  "means and deviations",
                                                  "share flawed (p)",
                                                  "number flawed (np)",
                                                  "faults a side (u)",
                                                  "faults (c)",
                                                  "cumulative sums",
                                                  "weighted moving average"};
  return words[static_cast<std::size_t>(kind)];
}

std::string_view word(RunRule rule) {
  constexpr std::array<std::string_view, 9> words{"beyond the limits",
                                                  "2 of 3 beyond 2 sigma",
                                                  "4 of 5 beyond 1 sigma",
                                                  "8 in a row on one side",
                                                  "9 in a row on one side",
                                                  "6 in a row rising or falling",
                                                  "14 in a row up and down",
                                                  "15 in a row within 1 sigma",
                                                  "8 in a row beyond 1 sigma"};
  return words[static_cast<std::size_t>(rule)];
}

std::int64_t ControlChart::signals() const {
  std::int64_t count = 0;
  for (const ChartPanel& panel : panels)
    count += std::ranges::count_if(panel.points,
                                   [](const ChartPoint& one) { return !one.rules.empty(); });
  return count;
}

std::string chart_figure(double value, double sigma) {
  constexpr double most_decimals = 9.0;
  if (!(sigma > 0.0) || std::abs(value) >= 1e9) return fmt::format("{:.6g}", value);
  const double decimals = std::clamp(1.0 - std::floor(std::log10(sigma)), 0.0, most_decimals);
  return fmt::format("{:.{}f}", value, static_cast<int>(decimals));
}

}  // namespace goodside::works
