#pragma once
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"
#include "works/stamper_life.hpp"

namespace goodside::intake {

/// Stampers' lives as a spreadsheet keeps them: a CSV table (csv_file.hpp) with a line a stamper,
///   stamper    its name
///   good_to    closings after which it was still good
///   ended_by   closings by which it had ended; empty: still good, or withdrawn good
///   cause      wear, crack, damage, loss; empty: not known
///   material, press, facing   empty: not known
/// in any order of columns; the last four may be missing. Errors: Fault::bad_input naming file, line
/// and column: a column that is none of these (the nearest is offered) or is missing, an age that is
/// no number, negative or in the wrong order, a cause of another word, a stamper given twice; a table
/// without lines.
Result<std::vector<works::StamperLife>> lives_from_csv(std::string_view text,
                                                       const std::string& shown_name);
Result<std::vector<works::StamperLife>> read_lives(const std::string& path);

/// The same table as text, so that a record's lives can be looked at and mended by hand.
[[nodiscard]] std::string lives_csv(std::span<const works::StamperLife>);

}  // namespace goodside::intake
