#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "works/family.hpp"
#include "works/spread.hpp"

namespace goodside::works {

// The contract goodside.trace/1 as plain structs: every recurring fault of a family with its cause,
// what it touched, what to look at next and what to do.

enum class CauseLevel { cut, father, mother, stamper, mounting, press, batch, disc, dust };

/// An interval of credible impressions with the best guess in it.
struct CredibleImpressions {
  std::int64_t low{}, high{}, best{};
};

/// When a fault ceased: `probability` that it has, and the first impression without it.
struct CauseEnd {
  double probability{};
  CredibleImpressions first_without;
};

/// One cause with what is believed of it.
struct Cause {
  CauseLevel level{};
  std::string id;      ///< of the part, mounting, press, batch or disc
  double posterior{};  ///< of this one alone
  /// First impression that it touched; 90 % credible. For the named cause the interval is over all
  /// causes, so that it holds whichever of them is the right one; for an alternative, given it.
  std::optional<CredibleImpressions> onset;
  std::optional<CredibleImpressions> onset_grown;  ///< of a part that grows: which child came first
  double since_birth{};                            ///< that it was there from the first, given it
  std::optional<CauseEnd> end;
  /// Others that touched the same discs: no evidence tells them apart, the prior splits them.
  std::vector<std::string> same_discs;
  double posterior_with_same{};  ///< of all of these together
};

/// Stock that a cause may have touched.
struct SuspectStock {
  std::vector<Impressions> impressions;  ///< in order, apart
  std::int64_t discs{};                  ///< in those ranges
  double flawed{};                       ///< expected number of discs that have the fault
  std::vector<std::string> cartons, spindles;
};

enum class ActKind { hear, spot_hear, microscope, play_mother, look_at_father };

/// One way to learn more.
struct NextAct {
  ActKind act{};
  std::string disc, part, carton, spindle;  ///< what to fetch; empty where it is not that
  std::optional<Impressions> impression;
  std::string where;  ///< the place in the groove, in words
  double minutes{};
  double gain_bits{};      ///< expected
  std::vector<int> about;  ///< ids of the recurring faults that it tells of
  std::string caution;
};

enum class Remedy { leave, wash, pull_stamper, new_from_mother, back_to_father, new_cut };
enum class StockRemedy { ship, inspect, scrap };

struct RemedyCost {
  Remedy remedy{};
  double cost{};  ///< expected
};
struct StockCost {
  StockRemedy remedy{};
  double cost{};  ///< expected
};

/// What to do, by expected cost, each list cheapest first.
struct Action {
  std::string text;
  double cost{};  ///< of the cheapest remedy and the cheapest way with the stock
  std::vector<RemedyCost> remedies;
  std::vector<StockCost> stock;
  std::string caution;
};

/// The same fault at one groove place on several discs.
struct RecurringFault {
  int id{};
  DiscSide side{};
  double programme_s{}, programme_sigma_s{};
  FaultKind kind{};
  std::optional<PatternKind> pattern;  ///< where several places were gathered as one
  int places{1};                       ///< groove places gathered
  std::optional<std::int64_t> revolution;
  std::optional<double> angle_deg, radius_m;
  Audibility audibility{};
  std::vector<std::string> on;           ///< discs that it was heard on
  int heard{};                           ///< discs heard at that place
  std::vector<std::string> not_heard{};  ///< discs that were heard, but not there
  double detection{};  ///< that a play of an affected disc shows it, posterior mean
  double chance{};     ///< that these are strangers that fell together
  Cause cause;
  std::vector<Cause> alternatives;  ///< likeliest first
  SuspectStock suspect;
  std::vector<NextAct> next;  ///< best gain a minute first
  double hearings_needed{};   ///< expected, until the onset is known within 1 % of the impressions
  Action action;
  bool open{true};  ///< it has not ceased, or its cause is not yet sure
};

/// Input that could not be used; the rest is traced all the same.
struct RefusedInput {
  std::string what, why;
};

struct TraceReport {
  std::string works_side{};               ///< code of the record's side; empty: from a family file
  std::vector<RecurringFault> recurring;  ///< worst first
  std::vector<NextAct> next;              ///< over all open faults together
  double false_discovery_rate{};          ///< expected share of `recurring` that is chance
  int discs_heard{}, reports{}, faults{};
  std::vector<Spread> spread;
  std::vector<OffCentre> off_centre{};  ///< of each side that enough discs tell it of
  std::vector<RefusedInput> refused;
  std::vector<std::string> remarks;
};

}  // namespace goodside::works
