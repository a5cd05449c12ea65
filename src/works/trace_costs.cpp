#include "works/trace_costs.hpp"

#include <fmt/format.h>

namespace goodside::works {

std::string invented_costs(const TraceCosts& costs) {
  if (costs.told >= cost_items.size()) return {};
  constexpr std::string_view mend =
      "set your own under [costs] in goodside.toml (or \"costs\" of the family file)";
  if (costs.told == 0) return fmt::format("costs are invented ones for a small works; {}", mend);
  return fmt::format("{} of {} costs are the works' own, the others invented; {}",
                     costs.told,
                     cost_items.size(),
                     mend);
}

}  // namespace goodside::works
