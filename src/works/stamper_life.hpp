#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "works/listening_report.hpp"

namespace goodside::works {

/// What ended a stamper's use. Wear shows as a trend of its noise, damage comes of a hand or a
/// press, loss is a stamper that cannot be found or used for a reason of its own.
enum class LifeCause { wear, crack, damage, loss };
inline constexpr int life_causes = 4;
[[nodiscard]] std::string_view word(LifeCause);

/// One stamper's life as far as it is known, in its own closings added up over its mountings.
struct StamperLife {
  std::string stamper;
  std::string material{}, press{}, facing{};  ///< empty: not known
  double good_to_closings{};                  ///< it was good so far
  std::optional<double> ended_by_closings{};  ///< its end lies above the one and not above the
                                              ///< other; none: still good, or withdrawn good
  std::optional<LifeCause> cause{};           ///< of its end; none: not known, or not ended
};

/// A figure with its confidence bounds; a bound that the evidence leaves open is absent.
struct BoundedFigure {
  double value{};
  std::optional<double> low{}, high{};
};

/// The lives that end by one cause, as if no other ended them: Weibull,
///   S(t) = exp(-(t / scale)^shape),  t in closings.
struct CauseLife {
  std::optional<LifeCause> cause{};  ///< none: any cause, where none is known
  int ends{};                        ///< stampers known to have ended by it
  bool shape_assumed{};   ///< too few ends to tell the shape: 1, an even risk at every age
  BoundedFigure shape{};  ///< above 1: the risk grows with age
  BoundedFigure scale_closings{};
  BoundedFigure tenth_closings{};  ///< age by which one in ten has ended by it
};

/// A stretch of ages in which ends happen, without a law: which part of all stampers ends there.
struct LifeStep {
  double above_closings{}, to_closings{};  ///< equal: at that age; `to` is infinite at the far end
  double share{};
};

/// A point of the law of ends by any cause: the age by which `share` of all stampers have ended.
struct LifeLawPoint {
  double share{};
  BoundedFigure closings{};
};

/// The cheapest age at which to pull a stamper that is still good.
struct PullLimit {
  std::optional<double> closings{};  ///< none: pulling early never pays
  double cost_per_disc{};            ///< of changes and scrap, pulled at the limit
  double cost_per_disc_unpulled{};   ///< the same, each stamper used until it fails
  /// Limits that cost at most 1 % more than the cheapest; `high` is absent where none is too late.
  std::optional<double> low_closings{}, high_closings{};
};

/// The stampers of one group: all, or those alike in material, press or facing.
struct LifeGroup {
  std::string by;     ///< "all", "material", "press", "facing"
  std::string value;  ///< which; empty for all
  int stampers{}, ended{};
  std::vector<CauseLife> causes{};
  std::optional<double> log_likelihood{};  ///< of the fit; none: not fitted
  std::vector<LifeStep> curve{};           ///< of ends by any cause
  std::vector<LifeLawPoint> law{};  ///< one Weibull for ends by any cause; of all stampers alone
  double curve_gap{};  ///< the curve's log likelihood lies at most this far under the best one
  std::optional<PullLimit> pull{};
};

/// Whether lives differ between the groups of one kind: one law for all against one for each.
struct GroupTest {
  std::string by;
  double
      chance{};  ///< of so large a gain where the groups are alike (likelihood ratio, chi squared)
};

struct LifeReport {
  double confidence{};
  std::vector<LifeGroup> groups{};
  std::vector<GroupTest> tests{};
  std::vector<Undetermined> undetermined{};
  std::vector<std::string> remarks{};  ///< of what was left out or assumed
};

}  // namespace goodside::works
