#pragma once
#include <cstddef>
#include <span>
#include <string>
#include <vector>

#include "trace/crossed_effects.hpp"
#include "works/family.hpp"

namespace goodside::trace {

/// One source of spread that the discs can tell.
struct SpreadSource {
  std::string name;  ///< "stamper"; "stamper or mounting" where the two go together
  Factor factor{};
  std::vector<std::string> ids{};  ///< of its levels; empty: a disc of which it is not known
  std::vector<int> discs{};        ///< of each level
};

struct SpreadSources {
  std::vector<SpreadSource> told{};
  std::vector<std::string> not_told{};  ///< with the reason
};

enum class SourceKind { stamper, mounting, press, batch, recipe, shift };

/// The sources of these discs' spread. A disc of which a source is not known has a level of its
/// own. Not told: a source with one level, one without two discs of a level, and one that divides
/// the discs just as another does: the two are named together.
[[nodiscard]] SpreadSources spread_sources(std::span<const works::FamilyDisc* const> discs,
                                           works::DiscSide side,
                                           std::span<const SourceKind> kinds);

}  // namespace goodside::trace
