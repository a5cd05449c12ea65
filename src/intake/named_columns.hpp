#pragma once
#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "intake/csv_file.hpp"

namespace goodside::intake {

/// A table's cells by the name of their column, with errors of the form "file:line: column: what".
class NamedColumns {
 public:
  NamedColumns(const CsvTable& table, std::string shown_name);

  /// Errors: Fault::bad_input for a column that is not among the known ones (the nearest is named),
  /// or a needed one that is missing.
  Outcome expect(std::span<const std::string_view> known, std::size_t needed) const;
  [[nodiscard]] bool has(std::string_view column) const { return place_.contains(column); }
  /// Without spaces at its ends; empty where there is no such column.
  [[nodiscard]] std::string cell(const CsvTable::Line&, std::string_view column) const;
  [[nodiscard]] Error refuse(const CsvTable::Line&,
                             std::string_view column,
                             std::string_view what) const;
  /// An empty cell is no number. Errors: Fault::bad_input for what is no number, not finite, or
  /// outside.
  [[nodiscard]] Result<std::optional<double>> number(const CsvTable::Line&,
                                                     std::string_view column,
                                                     double low,
                                                     double high) const;
  [[nodiscard]] Result<std::optional<std::int64_t>> whole(const CsvTable::Line&,
                                                          std::string_view column,
                                                          std::int64_t low,
                                                          std::int64_t high) const;

 private:
  std::string name_;
  std::map<std::string, std::size_t, std::less<>> place_;
};

}  // namespace goodside::intake
