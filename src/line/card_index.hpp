#pragma once
#include <string>
#include <vector>

#include "line/desk.hpp"

namespace goodside::line {

struct BadCell {
  std::int64_t line{};
  std::string column;  ///< empty where it is the row as a whole
  std::string text;
};

struct Cards {
  std::int64_t rows{}, bad_rows{};
  std::vector<BadCell> bad;
  bool entered{};
  ledger::Head head;
};

/// Takes a works' own card index: a CSV whose first line names fields of the noun (as `works kinds`
/// lists them; `code` keeps the card's own code where it has a check character, `at` its date), or,
/// for `discs`, the columns run, quantity and place, and where known mounting, batch, spot, reason
/// and at: impressions that follow each other in the order of the lines. Rows may name rows above
/// them. All or nothing: with any bad row, or in a dry run, nothing is entered and every bad cell is
/// listed. Errors: those of reading the file.
Result<Cards> take_cards(const Desk& desk,
                         const std::string& kind,
                         const std::string& path,
                         bool dry_run);

}  // namespace goodside::line
