#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace goodside::works {

enum class ChartKind {
  individuals,
  mean_range,
  mean_deviation,
  share,
  number,
  rate,
  count,
  cusum,
  ewma
};
/// "individuals", "xbar-r", "xbar-s", "p", "np", "u", "c", "cusum", "ewma".
[[nodiscard]] std::string_view word(ChartKind);
/// What the trade calls it: "X̄ and R", "share flawed (p)" …
[[nodiscard]] std::string_view title(ChartKind);

/// What makes a point of a chart a signal, by the tests of Western Electric (1956) and Nelson (1984).
enum class RunRule {
  beyond_limits,
  two_of_three,  ///< beyond 2 sigma, one side
  four_of_five,  ///< beyond 1 sigma, one side
  eight_aside,   ///< in a row on one side of the centre
  nine_aside,
  six_trending,  ///< in a row rising, or falling
  fourteen_alternating,
  fifteen_within,  ///< in a row within 1 sigma
  eight_outside    ///< in a row beyond 1 sigma, either side
};
[[nodiscard]] std::string_view word(RunRule);

struct ChartPoint {
  std::string label{};
  double value{};
  double centre{};
  std::optional<double> lower{}, upper{};  ///< none: there is no limit on that side
  double sigma{};                          ///< of the value, as the chart has it
  std::int64_t size{1};                    ///< values, discs or sides behind it
  std::vector<RunRule> rules{};            ///< that it breaks
};

/// One of a chart's strips: the values, their ranges, a sum.
struct ChartPanel {
  std::string name{};
  std::vector<ChartPoint> points{};
  bool zones{};  ///< one and two sigma are drawn: run rules look at them
};

/// A figure with its confidence interval.
struct CapabilityIndex {
  double value{}, low{}, high{};
};
/// How a process fits the limits set for it.
struct Capability {
  std::optional<double> low{}, high{};        ///< of the specification
  std::optional<CapabilityIndex> cp{}, pp{};  ///< spread alone; two limits are needed
  CapabilityIndex cpk{}, ppk{};          ///< with the mean; k by the chart's sigma, p by all values
  double outside_expected{};             ///< share, were the values normal
  std::int64_t outside{}, values{};      ///< as they are
  double outside_low{}, outside_high{};  ///< interval of that share
  double confidence{0.95};
};

struct ControlChart {
  ChartKind kind{ChartKind::individuals};
  std::string what{}, unit{};
  double centre{}, sigma{};  ///< of single values (of a share, a rate: the centre alone)
  std::int64_t baseline{};   ///< points that the limits rest on; 0: centre and sigma were given
  std::vector<ChartPanel> panels{};
  std::optional<double> run_length{};        ///< mean points to a false signal, process as it was
  std::optional<double> run_length_shift{};  ///< mean points to a signal after a shift of one sigma
  std::optional<Capability> capability{};
  std::vector<std::string> remarks{};
  [[nodiscard]] std::int64_t signals() const;  ///< points that break a rule, over all panels
};

/// A chart's figure to a hundredth of the sigma that it is read against.
[[nodiscard]] std::string chart_figure(double value, double sigma);

}  // namespace goodside::works
