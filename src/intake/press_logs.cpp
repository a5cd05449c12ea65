#include "intake/press_logs.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "intake/csv_file.hpp"
#include "intake/safe_file.hpp"
#include "units/number.hpp"
#include "units/read.hpp"

namespace goodside::intake {
namespace {

constexpr std::size_t largest_log_bytes = std::size_t{16} << 20, fewest_readings = 5;
constexpr double zero_C = 273.15;

Error refuse(const std::string& name,
             std::size_t line,
             const std::string& column,
             const std::string& what) {
  return {Fault::bad_input, fmt::format("{}:{}: {}: {}", name, line, column.substr(0, 40), what)};
}

struct Range {
  double low, high;
  const char* unit;
};

Result<double> cell(const std::string& text,
                    const Range& range,
                    const std::string& name,
                    std::size_t line,
                    const std::string& column) {
  const auto number = units::leading_number(units::trimmed(text));
  if (number && number->rest.empty() && number->value >= range.low && number->value <= range.high)
    return number->value;
  return refuse(name,
                line,
                column,
                fmt::format("\"{}\" is no number from {:g} to {:g} {}",
                            text.substr(0, 40),
                            range.low,
                            range.high,
                            range.unit));
}

Result<Thermocouple> place_of(const std::string& column, const std::string& name) {
  Thermocouple one{.name = column, .side = {}, .depth_m = {}, .temperature_K = {}};
  if (column == "middle") return one;
  const bool sided = column.starts_with("a_") || column.starts_with("b_");
  if (sided) one.side = column[0] == 'a' ? 0 : 1;
  const std::string place = sided ? column.substr(2) : std::string{};
  if (place == "face") return one;
  if (sided)
    if (const auto depth = units::length_m(place); depth && *depth >= 0.0 && *depth <= 0.5) {
      one.depth_m = *depth;
      return one;
    }
  return refuse(name,
                1,
                column,
                "names no place; a thermocouple's column is a_face, b_face, a_3mm, b_12.5mm or "
                "middle, beside time_s");
}

}  // namespace

Result<ThermocoupleLog> thermocouples_from_csv(std::string_view text,
                                               const std::string& shown_name) {
  const auto table = parse_csv(text, shown_name);
  if (!table) return table.error();
  ThermocoupleLog log;
  std::optional<std::size_t> time;
  std::vector<std::size_t> columns;
  for (std::size_t i = 0; i < table->columns.size(); ++i) {
    if (table->columns[i] == "time_s") {
      time = i;
      continue;
    }
    auto place = place_of(table->columns[i], shown_name);
    if (!place) return place.error();
    log.places.push_back(std::move(*place));
    columns.push_back(i);
  }
  if (!time)
    return refuse(shown_name, 1, "time_s", "is missing; give seconds from the press being open");
  if (log.places.empty())
    return refuse(shown_name, 1, "time_s", "stands alone; give a column a thermocouple");
  for (const auto& line : table->lines) {
    const auto at = cell(line.cells[*time], {0.0, 3600.0, "s"}, shown_name, line.number, "time_s");
    if (!at) return at.error();
    if (!log.time_s.empty() && *at <= log.time_s.back())
      return refuse(shown_name, line.number, "time_s", "does not grow; give one cycle in order");
    log.time_s.push_back(*at);
    for (std::size_t i = 0; i < columns.size(); ++i) {
      const std::string& words = line.cells[columns[i]];
      std::optional<double> reading;
      if (!units::trimmed(words).empty()) {
        const auto celsius =
            cell(words, {-50.0, 400.0, "°C"}, shown_name, line.number, log.places[i].name);
        if (!celsius) return celsius.error();
        reading = *celsius + zero_C;
      }
      log.places[i].temperature_K.push_back(reading);
    }
  }
  if (log.time_s.size() < fewest_readings)
    return Error{Fault::bad_input,
                 fmt::format("{}: {} lines are too few; give a cycle of at least {}",
                             shown_name,
                             log.time_s.size(),
                             fewest_readings)};
  return log;
}

Result<std::vector<ShortCharge>> charges_from_csv(std::string_view text,
                                                  const std::string& shown_name) {
  const auto table = parse_csv(text, shown_name);
  if (!table) return table.error();
  struct Column {
    const char* name;
    double ShortCharge::*field;
    Range range;
  };
  constexpr Column known[] = {{"mass_g", &ShortCharge::mass_kg, {1.0, 2000.0, "g"}},
                              {"diameter_mm", &ShortCharge::diameter_m, {10.0, 600.0, "mm"}},
                              {"thickness_mm", &ShortCharge::thickness_m, {0.3, 50.0, "mm"}}};
  for (const std::string& column : table->columns)
    if (std::ranges::none_of(known, [&](const Column& one) { return column == one.name; }))
      return refuse(
          shown_name, 1, column, "is no such column; there are mass_g, diameter_mm, thickness_mm");
  std::vector<ShortCharge> charges;
  for (const auto& line : table->lines) {
    ShortCharge charge;
    for (const Column& one : known) {
      const auto at = std::ranges::find(table->columns, one.name);
      if (at == table->columns.end())
        return refuse(shown_name, 1, one.name, "is missing; name it in the first line");
      const auto value = cell(line.cells[static_cast<std::size_t>(at - table->columns.begin())],
                              one.range,
                              shown_name,
                              line.number,
                              one.name);
      if (!value) return value.error();
      charge.*one.field = *value / 1e3;
    }
    charges.push_back(charge);
  }
  if (charges.size() < 2)
    return Error{
        Fault::bad_input,
        shown_name + ": a ladder needs two charges or more; press them from light to heavy"};
  return charges;
}

Result<ThermocoupleLog> read_thermocouples(const std::string& path) {
  const auto text = read_whole(path, largest_log_bytes);
  if (!text) return text.error();
  return thermocouples_from_csv(*text, path);
}

Result<std::vector<ShortCharge>> read_charges(const std::string& path) {
  const auto text = read_whole(path, largest_log_bytes);
  if (!text) return text.error();
  return charges_from_csv(*text, path);
}

}  // namespace goodside::intake
