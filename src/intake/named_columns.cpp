#include "intake/named_columns.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "base/near_miss.hpp"
#include "units/number.hpp"

namespace goodside::intake {

NamedColumns::NamedColumns(const CsvTable& table, std::string shown_name)
    : name_{std::move(shown_name)} {
  for (std::size_t i = 0; i < table.columns.size(); ++i)
    place_[std::string{units::trimmed(table.columns[i])}] = i;
}

Outcome NamedColumns::expect(std::span<const std::string_view> known, std::size_t needed) const {
  const std::vector<std::string> names{known.begin(), known.end()};
  for (const auto& [column, at] : place_)
    if (std::ranges::find(names, column) == names.end())
      return Error{Fault::bad_input,
                   fmt::format("{}:1: no such column as {}; {}",
                               name_,
                               column.substr(0, 40),
                               suggestion(column, names)
                                   .value_or(fmt::format("there are {}", fmt::join(names, ", "))))};
  for (std::size_t i = 0; i < needed; ++i)
    if (!has(known[i]))
      return Error{
          Fault::bad_input,
          fmt::format(
              "{}:1: the column {} is missing; name it in the first line", name_, known[i])};
  return Done{};
}

std::string NamedColumns::cell(const CsvTable::Line& line, std::string_view column) const {
  const auto at = place_.find(column);
  return at == place_.end() ? std::string{} : std::string{units::trimmed(line.cells[at->second])};
}

Error NamedColumns::refuse(const CsvTable::Line& line,
                           std::string_view column,
                           std::string_view what) const {
  return {Fault::bad_input, fmt::format("{}:{}: {}: {}", name_, line.number, column, what)};
}

Result<std::optional<double>> NamedColumns::number(const CsvTable::Line& line,
                                                   std::string_view column,
                                                   double low,
                                                   double high) const {
  const std::string text = cell(line, column);
  if (text.empty()) return std::optional<double>{};
  const auto number = units::leading_number(text);
  if (number && number->rest.empty() && std::isfinite(number->value) && number->value >= low &&
      number->value <= high)
    return std::optional{number->value};
  return refuse(
      line,
      column,
      fmt::format("\"{}\" is no number from {:g} to {:g}", text.substr(0, 40), low, high));
}

Result<std::optional<std::int64_t>> NamedColumns::whole(const CsvTable::Line& line,
                                                        std::string_view column,
                                                        std::int64_t low,
                                                        std::int64_t high) const {
  const auto read = number(line, column, static_cast<double>(low), static_cast<double>(high));
  if (!read) return read.error();
  if (!*read) return std::optional<std::int64_t>{};
  const auto value = static_cast<std::int64_t>(**read);
  if (static_cast<double>(value) == **read) return std::optional{value};
  return refuse(line, column, fmt::format("{:g} is no whole number", **read));
}

}  // namespace goodside::intake
