#include "intake/thickness_readings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numbers>

#include "base/near_miss.hpp"
#include "intake/csv_file.hpp"
#include "intake/safe_file.hpp"
#include "units/number.hpp"

namespace goodside::intake {
namespace {

constexpr std::array<const char*, 6> columns{
    "x_mm", "y_mm", "radius_mm", "angle_deg", "thickness_um", "thickness_mm"};

Outcome check_columns(const std::map<std::string, std::size_t>& place, const std::string& name) {
  const std::vector<std::string> known{columns.begin(), columns.end()};
  for (const auto& [column, at] : place)
    if (std::find(known.begin(), known.end(), column) == known.end())
      return Error{Fault::bad_input,
                   fmt::format("{}:1: no such column as {}; {}",
                               name,
                               column.substr(0, 40),
                               suggestion(column, known)
                                   .value_or(fmt::format("there are {}", fmt::join(known, ", "))))};
  const bool square = place.contains("x_mm") && place.contains("y_mm");
  const bool polar = place.contains("radius_mm") && place.contains("angle_deg");
  const bool one_thickness = place.contains("thickness_um") != place.contains("thickness_mm");
  if (square == polar || !one_thickness)
    return Error{Fault::bad_input,
                 fmt::format("{}:1: name either x_mm and y_mm or radius_mm and angle_deg, and "
                             "thickness_um or thickness_mm",
                             name)};
  return Done{};
}

}  // namespace

Result<std::vector<works::GaugeReading>> thickness_from_csv(std::string_view text,
                                                            const std::string& shown_name) {
  const auto table = parse_csv(text, shown_name);
  if (!table) return table.error();
  std::map<std::string, std::size_t> place;
  for (std::size_t i = 0; i < table->columns.size(); ++i) place[table->columns[i]] = i;
  if (const auto checked = check_columns(place, shown_name); !checked) return checked.error();
  std::vector<works::GaugeReading> all;
  for (const auto& line : table->lines) {
    std::map<std::string, double> value;
    for (const auto& [column, at] : place) {
      const auto number = units::leading_number(units::trimmed(line.cells[at]));
      if (!number || !number->rest.empty() || !std::isfinite(number->value))
        return Error{Fault::bad_input,
                     fmt::format("{}:{}: {}: \"{}\" is no number",
                                 shown_name,
                                 line.number,
                                 column,
                                 line.cells[at].substr(0, 40))};
      value[column] = number->value;
    }
    works::GaugeReading one;
    if (value.contains("x_mm")) {
      one.x_m = value["x_mm"] * 1e-3;
      one.y_m = value["y_mm"] * 1e-3;
    } else {
      const double angle = value["angle_deg"] * std::numbers::pi / 180.0;
      one.x_m = value["radius_mm"] * 1e-3 * std::cos(angle);
      one.y_m = value["radius_mm"] * 1e-3 * std::sin(angle);
    }
    one.thickness_m = value.contains("thickness_um") ? value["thickness_um"] * 1e-6
                                                     : value["thickness_mm"] * 1e-3;
    all.push_back(one);
  }
  if (all.empty())
    return Error{Fault::bad_input, shown_name + ":2: no reading; write a line for each"};
  return all;
}

Result<std::vector<works::GaugeReading>> read_thickness(const std::string& path) {
  const auto text = read_whole(path);
  if (!text) return text.error();
  return thickness_from_csv(*text, path);
}

}  // namespace goodside::intake
