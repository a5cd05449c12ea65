#include "intake/groove_readings.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <numbers>
#include <optional>
#include <utility>

#include "base/near_miss.hpp"
#include "intake/csv_file.hpp"
#include "intake/safe_file.hpp"
#include "units/number.hpp"
#include "units/read.hpp"

namespace goodside::intake {
namespace {

using works::GrooveReading;

struct PositionColumn {
  std::string_view name, unit;  ///< without a unit the cell has its own
};
constexpr std::array position_columns{PositionColumn{"position", ""},
                                      PositionColumn{"position_mm", "mm"},
                                      PositionColumn{"position_um", "um"},
                                      PositionColumn{"position_in", "in"}};
constexpr double most_degrees = 360'000.0;

struct Columns {
  std::size_t angle{}, position{};
  std::string unit, position_name;
};

Result<Columns> find_columns(const CsvTable& table, const std::string& name) {
  std::optional<std::size_t> angle, position;
  Columns found;
  for (std::size_t i = 0; i < table.columns.size(); ++i) {
    const std::string& column = table.columns[i];
    bool known = column == "angle_deg";
    if (known) angle = i;
    for (const auto& one : position_columns) {
      if (column != one.name) continue;
      if (position)
        return Error{Fault::bad_input,
                     fmt::format("{}:1: two columns hold the position; keep one", name)};
      known = true;
      position = i;
      found.unit = one.unit;
      found.position_name = column;
    }
    if (!known)
      return Error{
          Fault::bad_input,
          fmt::format(
              "{}:1: no such column as {}; {}",
              name,
              column.substr(0, 40),
              suggestion(column, {"angle_deg", "position", "position_mm", "position_um"})
                  .value_or("there are angle_deg and position (or position_mm, position_um)"))};
  }
  if (!angle || !position)
    return Error{Fault::bad_input,
                 fmt::format("{}:1: the column {} is missing; name it in the first line",
                             name,
                             angle ? "position" : "angle_deg")};
  found.angle = *angle;
  found.position = *position;
  return found;
}

}  // namespace

Result<double> angle_rad(std::string_view text) {
  const auto number = units::leading_number(units::trimmed(text));
  const std::string_view rest = number ? units::trimmed(number->rest) : std::string_view{};
  if (!number || !(std::abs(number->value) <= most_degrees) ||
      !(rest.empty() || rest == "°" || rest == "deg"))
    return Error{Fault::bad_input,
                 fmt::format("\"{}\" is no angle in degrees; for instance 90", text.substr(0, 40))};
  return number->value * std::numbers::pi / 180.0;
}

Result<GrooveReading> typed_reading(std::string_view text) {
  const auto sign = text.find('=');
  if (sign == std::string_view::npos)
    return Error{Fault::bad_input,
                 fmt::format("\"{}\" is no reading; write ANGLE=POSITION, for instance 90=53.262mm",
                             text.substr(0, 40))};
  const auto angle = angle_rad(text.substr(0, sign));
  if (!angle) return angle.error();
  const auto position = units::length_m(text.substr(sign + 1));
  if (!position) return position.error();
  return GrooveReading{*angle, *position};
}

Result<std::vector<GrooveReading>> readings_from_csv(std::string_view text,
                                                     const std::string& shown_name) {
  const auto table = parse_csv(text, shown_name);
  if (!table) return table.error();
  const auto columns = find_columns(*table, shown_name);
  if (!columns) return columns.error();
  std::vector<GrooveReading> readings;
  for (const auto& line : table->lines) {
    const auto refuse = [&](std::string_view column, const Error& error) {
      return Error{Fault::bad_input,
                   fmt::format("{}:{}: {}: {}", shown_name, line.number, column, error.text)};
    };
    const auto angle = angle_rad(line.cells[columns->angle]);
    if (!angle) return refuse("angle_deg", angle.error());
    const auto position = units::length_m(line.cells[columns->position] + columns->unit);
    if (!position) return refuse(columns->position_name, position.error());
    readings.push_back({*angle, *position});
  }
  if (readings.empty())
    return Error{Fault::bad_input, shown_name + ":2: no reading; write a line for each"};
  return readings;
}

Result<std::vector<GrooveReading>> read_groove_readings(const std::string& path) {
  const auto text = read_whole(path);
  if (!text) return text.error();
  return readings_from_csv(*text, path);
}

}  // namespace goodside::intake
