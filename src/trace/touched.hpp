#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

#include "trace/attribute.hpp"
#include "works/family.hpp"
#include "works/trace_report.hpp"

namespace goodside::trace {

/// A disc, or one of a range of discs, as its makers know it.
struct WhichDisc {
  std::vector<int> units;  ///< stamper, mounting, press, batch
  std::optional<works::Impressions> impression;
};

/// Units of one side by name.
class UnitNames {
 public:
  explicit UnitNames(const FamilyIndex& index);
  [[nodiscard]] int find(Level level, const std::string& id) const;
  [[nodiscard]] WhichDisc which(const works::FamilyDisc& disc, works::DiscSide side) const;
  /// One disc of a range of stock: of the stampers that were on a press then.
  [[nodiscard]] WhichDisc which(const works::Impressions& range) const;

 private:
  const FamilyIndex& index_;
  std::unordered_map<std::string, int> by_name_[level_count];
};

/// Closings of the likeliest cause's stampers, in the mean: what 1 % is of.
[[nodiscard]] double closings_of(const FamilyIndex& index, const Attribution& why);

/// Which discs one recurring fault has touched, over all its causes.
class Touched {
 public:
  Touched(const FamilyIndex& index, const Attribution& why);

  /// Probability that the disc has the fault; over its interval, evenly.
  [[nodiscard]] double probability(const WhichDisc& disc) const;
  /// The same as far as causes of one unit go, at one impression of it.
  [[nodiscard]] double of_unit(int unit, std::int64_t impression) const;
  /// That all the stamper's discs are touched through its parents.
  [[nodiscard]] double through_parents(int stamper) const {
    return parents_[static_cast<std::size_t>(stamper)];
  }
  /// Posterior of the first impression touched, over all causes, as pieces that sum to 1.
  [[nodiscard]] const std::vector<Piece>& onset() const { return onset_; }
  [[nodiscard]] std::vector<Piece> onset_of(const Weighed& cause) const;

 private:
  struct Steps {
    double posterior{};
    std::vector<Piece> pieces;  ///< in order, apart
    std::vector<double> below;  ///< mass before each
    [[nodiscard]] double upto(double impression) const;
    [[nodiscard]] double mean_upto(double low, double high) const;
  };
  struct UnitCause {
    Steps onset, end;
  };
  void go_down(int grower, double probability);
  static Steps steps_of(std::vector<Piece> pieces, double posterior);
  [[nodiscard]] Piece first_of(int child) const;

  const FamilyIndex& index_;
  std::vector<double> parents_;
  std::unordered_map<int, UnitCause> units_;
  std::vector<Piece> onset_;
};

/// Impressions from the (1 - share)/2 to the (1 + share)/2 quantile of the pieces' mass, and the median
/// of the window of +-1 % of `scale` that holds most.
[[nodiscard]] works::CredibleImpressions credible(const std::vector<Piece>& pieces,
                                                  double share,
                                                  double scale);

}  // namespace goodside::trace
