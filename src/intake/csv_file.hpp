#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"

namespace goodside::intake {

/// A table of text cells [RFC 4180]: the first line names the columns; comma, or semicolon where the
/// first line holds no comma; quotes around cells that hold separators, quotes (doubled) or line
/// ends. A byte-order mark and carriage returns at line ends are passed over.
struct CsvTable {
  struct Line {
    std::size_t number{};  ///< in the file, from 1
    std::vector<std::string> cells;
  };
  std::vector<std::string> columns;
  std::vector<Line> lines;  ///< each as wide as `columns`; empty lines are passed over
};

/// Errors: Fault::bad_input for a quote that is never closed, or that stands inside a bare cell, and
/// for lines of another width, with their number; a first line without names, or one name twice.
Result<CsvTable> parse_csv(std::string_view text, const std::string& shown_name);

/// One line of such a table, with its line end.
[[nodiscard]] std::string csv_line(const std::vector<std::string>& cells);

}  // namespace goodside::intake
