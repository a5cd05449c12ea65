#include "intake/chart_table.hpp"

#include <fmt/format.h>

#include <map>

#include "base/near_miss.hpp"
#include "intake/named_columns.hpp"
#include "intake/safe_file.hpp"

namespace goodside::intake {
namespace {

constexpr std::size_t largest_bytes = std::size_t{64} << 20;
constexpr double largest_value = 1e100;
constexpr std::int64_t largest_count = 1'000'000'000;

Outcome there(const NamedColumns& cells,
              const CsvTable& table,
              const std::string& name,
              const std::string& shown) {
  if (name.empty() || cells.has(name)) return Done{};
  return Error{
      Fault::bad_input,
      fmt::format("{}:1: there is no column {}; {}",
                  shown,
                  name.substr(0, 40),
                  suggestion(name, table.columns)
                      .value_or(fmt::format("there are {}", fmt::join(table.columns, ", "))))};
}

class Reader {
 public:
  Reader(const CsvTable& table, const std::string& shown, const ChartColumns& columns)
      : table_{table}, shown_{shown}, columns_{columns}, cells_{table, shown} {}

  Result<std::vector<ChartRow>> read() {
    for (const auto& name : columns_.values)
      if (const auto found = there(cells_, table_, name, shown_); !found) return found.error();
    for (const auto& name : {columns_.group, columns_.label, columns_.count, columns_.size})
      if (const auto found = there(cells_, table_, name, shown_); !found) return found.error();
    for (const auto& line : table_.lines) {
      const auto taken = columns_.count.empty() ? take_values(line) : take_count(line);
      if (!taken) return taken.error();
    }
    if (rows_.empty())
      return Error{Fault::bad_input, shown_ + ":2: no value; write a line for each"};
    return std::move(rows_);
  }

 private:
  [[nodiscard]] std::string label_of(const CsvTable::Line& line) const {
    for (const auto& name : {columns_.label, columns_.group})
      if (!name.empty())
        if (auto text = cells_.cell(line, name); !text.empty()) return text;
    return fmt::format("{}", line.number - 1);
  }

  ChartRow& row_of(const CsvTable::Line& line) {
    if (columns_.group.empty()) return rows_.emplace_back(ChartRow{.label = label_of(line)});
    const auto [place, fresh] =
        groups_.try_emplace(cells_.cell(line, columns_.group), rows_.size());
    if (fresh) rows_.push_back({.label = label_of(line)});
    return rows_[place->second];
  }

  Outcome take_values(const CsvTable::Line& line) {
    std::vector<double> values;
    for (const auto& name : columns_.values) {
      const auto value = cells_.number(line, name, -largest_value, largest_value);
      if (!value) return value.error();
      if (*value) values.push_back(**value);
    }
    if (values.empty())
      return cells_.refuse(
          line, columns_.values.front(), "is empty; leave the line out, or write the value");
    ChartRow& row = row_of(line);
    row.values.insert(row.values.end(), values.begin(), values.end());
    return Done{};
  }

  Outcome take_count(const CsvTable::Line& line) {
    const auto count = cells_.whole(line, columns_.count, 0, largest_count);
    if (!count) return count.error();
    if (!*count)
      return cells_.refuse(line, columns_.count, "is empty; write 0 where there was none");
    ChartRow row{.label = label_of(line), .count = **count};
    if (!columns_.size.empty()) {
      const auto size = cells_.whole(line, columns_.size, 1, largest_count);
      if (!size) return size.error();
      if (!*size)
        return cells_.refuse(line, columns_.size, "is empty; write how many were looked at");
      row.size = **size;
    }
    rows_.push_back(std::move(row));
    return Done{};
  }

  const CsvTable& table_;
  const std::string& shown_;
  const ChartColumns& columns_;
  NamedColumns cells_;
  std::vector<ChartRow> rows_;
  std::map<std::string, std::size_t> groups_;
};

}  // namespace

Result<std::vector<ChartRow>> chart_table_from_csv(std::string_view text,
                                                   const std::string& shown_name,
                                                   const ChartColumns& columns) {
  const auto table = parse_csv(text, shown_name);
  if (!table) return table.error();
  return Reader{*table, shown_name, columns}.read();
}

Result<std::vector<ChartRow>> read_chart_table(const std::string& path,
                                               const ChartColumns& columns) {
  const auto text = read_whole(path, largest_bytes);
  if (!text) return text.error();
  return chart_table_from_csv(*text, path, columns);
}

}  // namespace goodside::intake
