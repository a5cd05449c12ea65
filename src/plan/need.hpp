#pragma once
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "plan/renewal.hpp"
#include "works/need.hpp"

namespace goodside::plan {

using works::NeedFigures;
using works::NeedOrder;

/// Metal of one side.
struct SideMetal {
  std::int64_t stampers{};  ///< that must be good, spares among them
  std::int64_t in_hand{};
  std::int64_t stampers_begun{}, mothers_begun{}, fathers_begun{};  ///< growths to begin
  double used{};                                                    ///< mean of stampers
};
struct Hours {
  double tank{}, bath{}, bench{}, mixer{}, press{}, listening{};
};
struct TitleNeed {
  std::string title{};
  std::vector<std::string> orders{};
  std::int64_t quantity{}, tests{}, kept{}, samples{};
  std::int64_t impressions{};  ///< still to press: good, scrapped, samples, tests, kept; no warm-up
  std::int64_t on_way{};       ///< pressed already, scrap among them
  std::int64_t warm_up{};      ///< closings besides, as stampers are used in the mean
  double mountings{};          ///< mean
  StamperNeed stampers{};
  SideMetal a{}, b{};
  double chance{};  ///< that the order is met: discs, stampers and growths together
  std::string material{};
  double compound_kg{};
  std::vector<std::pair<std::string, double>> ingredients_kg{};
  std::int64_t biscuits{}, batches{}, labels{}, sleeves{}, cartons{};
  Hours hours{};
};
struct Need {
  std::vector<TitleNeed> titles{};
  TitleNeed all{};  ///< sums; its chance is that of all titles together
  double confidence{};
};

struct NeedRequest {
  NeedFigures figures{};
  LifeBelief life{};
  StamperCosts costs{};
  double confidence{0.95};  ///< of each title's order
};

/// What orders take. Discs: the fewest impressions of which as many are good as were ordered, heard
/// and kept (binomial, or beta-binomial where the scrap was counted). Stampers: renewal.hpp, with the
/// warm-up of each mounting, what is pressed before a failure is noticed, and those that fail in the
/// tank. Mothers and fathers: binomial by the yields, as many as the growths on them ask for. Of the risk
/// that is allowed a quarter falls to the discs, a twentieth to the mothers and the fathers of each side,
/// and the stampers take what is left, so that all together keep the chance asked for. Two labels a
/// disc, pressed in with its biscuit.
/// Errors: Fault::bad_input for orders that cannot be, naming them; those of stamper_need.
Result<Need> need(std::span<const NeedOrder>, const NeedRequest&);

}  // namespace goodside::plan
