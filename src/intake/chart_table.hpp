#pragma once
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"

namespace goodside::intake {

/// Which columns of a table make a chart's points.
struct ChartColumns {
  std::vector<std::string> values{};  ///< one column of values, or several: a line is a sample
  std::string group{};                ///< lines of one sample share it; empty: each line is one
  std::string label{};                ///< what a point is called; empty: its group or line
  std::string count{}, size{};        ///< instead of values: counted of looked at
};
struct ChartRow {
  std::string label{};
  std::vector<double> values{};
  std::int64_t count{}, size{1};
};

/// The points of a table [RFC 4180] in the order of its lines; a sample's lines need not stand together.
/// Errors: Fault::bad_input for a column that is not there (the nearest is named), a cell that is no
/// number, with line and column; those of reading a file of up to 64 MB.
Result<std::vector<ChartRow>> read_chart_table(const std::string& path, const ChartColumns&);
Result<std::vector<ChartRow>> chart_table_from_csv(std::string_view text,
                                                   const std::string& shown_name,
                                                   const ChartColumns&);

}  // namespace goodside::intake
