#include "intake/stamper_lives.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <optional>
#include <set>

#include "base/near_miss.hpp"
#include "intake/csv_file.hpp"
#include "intake/safe_file.hpp"
#include "units/number.hpp"

namespace goodside::intake {
namespace {

using works::LifeCause;
using works::StamperLife;

constexpr std::size_t largest_lives_bytes = std::size_t{64} << 20;
constexpr double most_closings = 1e9;
constexpr std::array<const char*, 7> columns{
    "stamper", "good_to", "ended_by", "cause", "material", "press", "facing"};
constexpr std::size_t needed_columns = 3;
constexpr std::array causes{LifeCause::wear, LifeCause::crack, LifeCause::damage, LifeCause::loss};

class LivesReader {
 public:
  LivesReader(const CsvTable& table, const std::string& name) : table_{table}, name_{name} {}

  Outcome find_columns() {
    const std::vector<std::string> known{columns.begin(), columns.end()};
    for (std::size_t i = 0; i < table_.columns.size(); ++i) {
      const std::string& column = table_.columns[i];
      if (std::ranges::find(known, column) == known.end())
        return Error{
            Fault::bad_input,
            fmt::format("{}:1: no such column as {}; {}",
                        name_,
                        column.substr(0, 40),
                        suggestion(column, known)
                            .value_or(fmt::format("there are {}", fmt::join(known, ", "))))};
      place_[column] = i;
    }
    for (std::size_t i = 0; i < needed_columns; ++i)
      if (!place_.contains(columns[i]))
        return Error{
            Fault::bad_input,
            fmt::format(
                "{}:1: the column {} is missing; name it in the first line", name_, columns[i])};
    return Done{};
  }

  Result<StamperLife> life(const CsvTable::Line& line) {
    StamperLife one{.stamper = cell(line, "stamper"),
                    .material = cell(line, "material"),
                    .press = cell(line, "press"),
                    .facing = cell(line, "facing")};
    if (one.stamper.empty()) return refuse(line, "stamper", "is empty; name the stamper");
    if (!met_.insert(one.stamper).second)
      return refuse(
          line, "stamper", one.stamper.substr(0, 40) + " was given before; one line each");
    const auto good = age(line, "good_to"), ended = age(line, "ended_by");
    if (!good) return good.error();
    if (!ended) return ended.error();
    if (!*good)
      return refuse(line, "good_to", "is empty; give closings, 0 where it never was good");
    one.good_to_closings = **good;
    one.ended_by_closings = *ended;
    if (*ended && (**ended < **good || **ended <= 0.0))
      return refuse(
          line,
          "ended_by",
          fmt::format("{:g} closings, and it was good to {:g}; ages run upwards", **ended, **good));
    if (!*ended && **good <= 0.0)
      return refuse(line, "good_to", "0 closings tell nothing; leave the stamper out");
    const std::string cause = cell(line, "cause");
    for (const LifeCause each : causes)
      if (cause == word(each)) one.cause = each;
    if (!cause.empty() && !one.cause)
      return refuse(
          line,
          "cause",
          fmt::format("\"{}\" is none of wear, crack, damage, loss", cause.substr(0, 40)));
    if (one.cause && !*ended)
      return refuse(line, "cause", "tells how it ended, and ended_by is empty; give both or none");
    return one;
  }

 private:
  [[nodiscard]] std::string cell(const CsvTable::Line& line, const std::string& column) const {
    const auto at = place_.find(column);
    return at == place_.end() ? std::string{} : std::string{units::trimmed(line.cells[at->second])};
  }
  [[nodiscard]] Error refuse(const CsvTable::Line& line,
                             std::string_view column,
                             std::string_view what) const {
    return {Fault::bad_input, fmt::format("{}:{}: {}: {}", name_, line.number, column, what)};
  }
  [[nodiscard]] Result<std::optional<double>> age(const CsvTable::Line& line,
                                                  const std::string& column) const {
    const std::string text = cell(line, column);
    if (text.empty()) return std::optional<double>{};
    const auto number = units::leading_number(text);
    if (number && number->rest.empty() && std::isfinite(number->value) && number->value >= 0.0 &&
        number->value <= most_closings)
      return std::optional{number->value};
    return refuse(line,
                  column,
                  fmt::format("\"{}\" is no number of closings from 0 to 1e9", text.substr(0, 40)));
  }

  const CsvTable& table_;
  const std::string& name_;
  std::map<std::string, std::size_t> place_;
  std::set<std::string> met_;
};

}  // namespace

Result<std::vector<StamperLife>> lives_from_csv(std::string_view text,
                                                const std::string& shown_name) {
  const auto table = parse_csv(text, shown_name);
  if (!table) return table.error();
  LivesReader reader{*table, shown_name};
  if (const auto found = reader.find_columns(); !found) return found.error();
  std::vector<StamperLife> lives;
  for (const auto& line : table->lines) {
    auto one = reader.life(line);
    if (!one) return one.error();
    lives.push_back(std::move(*one));
  }
  if (lives.empty())
    return Error{Fault::bad_input, shown_name + ":2: no stamper; write a line for each"};
  return lives;
}

Result<std::vector<StamperLife>> read_lives(const std::string& path) {
  const auto text = read_whole(path, largest_lives_bytes);
  if (!text) return text.error();
  return lives_from_csv(*text, path);
}

std::string lives_csv(std::span<const StamperLife> lives) {
  std::string text = csv_line({columns.begin(), columns.end()});
  for (const auto& life : lives)
    text += csv_line({life.stamper,
                      fmt::format("{}", life.good_to_closings),
                      life.ended_by_closings ? fmt::format("{}", *life.ended_by_closings) : "",
                      life.cause ? std::string{word(*life.cause)} : "",
                      life.material,
                      life.press,
                      life.facing});
  return text;
}

}  // namespace goodside::intake
