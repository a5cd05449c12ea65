#pragma once
#include <string>

#include "base/result.hpp"
#include "compound/biscuit.hpp"

namespace goodside::line {

struct BiscuitFiles {
  works::BiscuitRequest request;  ///< what was told, the profile and the weighed masses left out
  compound::PlainDisc disc;       ///< the shape where there is no profile
  std::string profile, weighed;   ///< files; empty: none
  std::string recipe;             ///< file that the density comes from; empty: told
};

/// Reads what a biscuit asks for and reckons it. Errors: of intake/recipe_file.hpp and
/// compound/biscuit.hpp, with the file's name before them.
Result<works::BiscuitReport> cut_biscuit(const BiscuitFiles& files);

}  // namespace goodside::line
