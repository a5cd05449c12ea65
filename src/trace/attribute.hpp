#pragma once
#include <cstdint>
#include <map>
#include <span>
#include <vector>

#include "trace/axis.hpp"
#include "trace/beliefs.hpp"
#include "trace/coincide.hpp"
#include "trace/family_index.hpp"
#include "trace/unit_likelihood.hpp"
#include "works/family.hpp"
#include "works/heard_play.hpp"

namespace goodside::trace {

/// One cause as weighed: a unit or a part that grows others.
struct Weighed {
  Level level{};
  int number{};        ///< of a unit, or of a grower
  double posterior{};  ///< among the causes, chance apart; all sum to 1
  double since_birth{};
  std::vector<Piece> onset{},
      end{};  ///< of a unit: impressions; sum to 1, and to the chance of an end
  std::vector<double> first_child{};  ///< of a grower: that this child was the first touched
  std::vector<double> child{};        ///< that it was touched
  double ends{};                      ///< that it has ceased
  double mended{};                    ///< of that, where something was done
  bool may_be_mended{};               ///< something was done to it
};

struct Attribution {
  double log_odds{};             ///< of one recurring fault against strangers that fell together
  double chance{};               ///< the latter's probability
  ByDetection detection{};       ///< posterior of the detection probability
  ByLaw log_hearing{};           ///< log-likelihood of the laws of hearing
  std::vector<Weighed> causes;   ///< likeliest first
  std::vector<int> on;           ///< heard discs that have it, and kept it when they were cleaned
  int spoken_of{};               ///< others of which somebody said so
  int heard{};                   ///< heard discs whose place was heard
  std::vector<int> not_heard{};  ///< the others
  [[nodiscard]] double detection_mean() const;
};

/// What people said, as evidence on heard discs.
struct Said {
  int heard{};  ///< number of the disc
  double programme_s{-1.0}, within_s{}, reliability{};
  double angle_deg{-1.0}, radius_m{-1.0};
};

/// Exact enumeration over every node x onset x end.
///
/// With n = 9 detection probabilities p, each disc d heard at the place gives the ratio
///   R_d(p) = P(its plays | it has the fault, p) / P(its plays | it has not)
/// found once: p N(t_d - t; sigma_d) / lambda_d + 1 - p,  not found: 1 - p,  not heard there: 1.
/// Several plays of a disc: see disc_ratio (looks.hpp); what brushing or washing took away speaks
/// for dust. A disc known by an interval, or that may be of several stampers, is touched with
/// probability a: a R + 1 - a. A cause c that touched discs D(c, x, e) from onset x to end e has
///   L(c) = prior(c) sum_p w(p) sum_x sum_e prior(x, e) prod_{d in D} R_d(p)
/// by linear scans (range_scan.hpp). The place itself is integrated out, as normal errors allow:
///   odds of real : chance = (expected recurring faults / length of side) sqrt(2 pi / sum 1/sigma^2)
///                           sum_c L(c).
/// Exact for single plays and impressions that are known; of a disc's interval, exact up to 32 cells
/// of a unit's axis and by blocks of cells beyond (unit_likelihood.hpp). A press or a batch is weighed where at least a tenth of
/// its discs between the first and last find have the fault.
class Attributor {
 public:
  Attributor(const FamilyIndex& index,
             std::span<const works::HeardPlay> plays,
             const Coincidences& found,
             std::vector<Said> said,
             const Beliefs& beliefs);

  /// Odds, chance and detection alone.
  [[nodiscard]] double log_odds(const Candidate&) const;
  /// All of it. `before`: what an earlier turn found of this fault, which the beliefs have learned
  /// from; it is taken out of the levels' shares again, so that no fault vouches for itself.
  [[nodiscard]] Attribution explain(const Candidate&, const Attribution* before = nullptr) const;
  [[nodiscard]] const Axis& axis(int unit) const { return axes_[static_cast<std::size_t>(unit)]; }

 private:
  struct Evidence;
  struct Node;
  /// Children of a grower with a find, by place among them: what each says if all of it was touched.
  using Children = std::map<std::size_t, ByDetection>;
  [[nodiscard]] Evidence evidence_of(const Candidate&) const;
  using ByLevel = std::array<double, level_count>;
  [[nodiscard]] ByLevel log_shares(const Attribution* before) const;
  [[nodiscard]] ByDetection detection_of(const Evidence&, const Attribution* before) const;
  [[nodiscard]] std::vector<Node> nodes_of(const Evidence&,
                                           const ByLevel& log_share,
                                           const ByDetection& prior,
                                           double& log_total) const;
  void weigh_units(const Evidence&, std::vector<Node>&) const;
  [[nodiscard]] double log_of_all(const Node&, const Axis&, std::size_t p) const;
  [[nodiscard]] Node weigh_unit(const Evidence&, int unit) const;
  [[nodiscard]] Node weigh_window(const Evidence&, int unit) const;
  void weigh_growers(const Evidence&, const ByDetection& prior, std::vector<Node>&) const;
  [[nodiscard]] bool ratio_of(const Evidence&, int heard, ByDetection&) const;
  [[nodiscard]] ByDetection not_found(int heard) const;
  void say(const Candidate&, Evidence&) const;
  void fill(const Node&, Weighed&) const;
  [[nodiscard]] bool worth_weighing(const Evidence&, int unit) const;
  [[nodiscard]] double partly_heard(int child, double programme_s) const;
  [[nodiscard]] double whole_plays(int child) const;
  [[nodiscard]] double bound(int grower, const Children&, const ByDetection& prior) const;
  [[nodiscard]] ByDetection all_of(int grower, const Children&, double programme_s) const;
  [[nodiscard]] Node weigh_grower(int grower, const Children&, double programme_s) const;
  void place_children();

  const FamilyIndex& index_;
  std::span<const works::HeardPlay> plays_;
  const Coincidences& found_;
  std::vector<Said> said_;
  Beliefs beliefs_;
  std::vector<Axis> axes_;
  std::vector<UnitLikelihood> bases_;        ///< of discs heard whole, none with a find
  ByDetection missed_{};                     ///< log of the ratio of one play that does not show it
  std::vector<double> whole_plays_;          ///< of each stamper: plays heard whole, by share
  std::vector<std::vector<Member>> partly_;  ///< of each stamper: its other members
  std::vector<double> grower_plays_;         ///< of each grower: the same, of all under it
  std::vector<char> some_partly_;    ///< of each grower: some member under it was heard partly
  std::vector<int> stamper_parent_;  ///< a grower, or -1
  std::vector<std::size_t> stamper_place_, grower_place_;  ///< among the parent's children
  std::vector<std::vector<double>> plays_before_;          ///< of each grower: before each child
  std::vector<std::int64_t> impression_;  ///< of each heard disc, the least that it may be
  std::vector<int> heard_partly_;         ///< heard discs of which some play was partial
  int heard_whole_{};                     ///< how many others
  ByLevel log_share_{};                   ///< of one node of each level
};

}  // namespace goodside::trace
