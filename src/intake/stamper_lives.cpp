#include "intake/stamper_lives.hpp"

#include <fmt/format.h>

#include <array>
#include <set>
#include <string_view>

#include "intake/named_columns.hpp"
#include "intake/safe_file.hpp"

namespace goodside::intake {
namespace {

using works::LifeCause;
using works::StamperLife;

constexpr std::size_t largest_lives_bytes = std::size_t{64} << 20;
constexpr double most_closings = 1e9;
constexpr std::array<std::string_view, 7> columns{
    "stamper", "good_to", "ended_by", "cause", "material", "press", "facing"};
constexpr std::size_t needed_columns = 3;
constexpr std::array causes{LifeCause::wear, LifeCause::crack, LifeCause::damage, LifeCause::loss};

class LivesReader {
 public:
  LivesReader(const CsvTable& table, const std::string& name) : cells_{table, name} {}

  Outcome find_columns() const { return cells_.expect(columns, needed_columns); }

  Result<StamperLife> life(const CsvTable::Line& line) {
    StamperLife one{.stamper = cells_.cell(line, "stamper"),
                    .material = cells_.cell(line, "material"),
                    .press = cells_.cell(line, "press"),
                    .facing = cells_.cell(line, "facing")};
    if (one.stamper.empty()) return cells_.refuse(line, "stamper", "is empty; name the stamper");
    if (!met_.insert(one.stamper).second)
      return cells_.refuse(
          line, "stamper", one.stamper.substr(0, 40) + " was given before; one line each");
    const auto good = cells_.number(line, "good_to", 0.0, most_closings);
    const auto ended = cells_.number(line, "ended_by", 0.0, most_closings);
    if (!good) return good.error();
    if (!ended) return ended.error();
    if (!*good)
      return cells_.refuse(line, "good_to", "is empty; give closings, 0 where it never was good");
    one.good_to_closings = **good;
    one.ended_by_closings = *ended;
    if (*ended && (**ended < **good || **ended <= 0.0))
      return cells_.refuse(
          line,
          "ended_by",
          fmt::format("{:g} closings, and it was good to {:g}; ages run upwards", **ended, **good));
    if (!*ended && **good <= 0.0)
      return cells_.refuse(line, "good_to", "0 closings tell nothing; leave the stamper out");
    const std::string cause = cells_.cell(line, "cause");
    for (const LifeCause each : causes)
      if (cause == word(each)) one.cause = each;
    if (!cause.empty() && !one.cause)
      return cells_.refuse(
          line,
          "cause",
          fmt::format("\"{}\" is none of wear, crack, damage, loss", cause.substr(0, 40)));
    if (one.cause && !*ended)
      return cells_.refuse(
          line, "cause", "tells how it ended, and ended_by is empty; give both or none");
    return one;
  }

 private:
  NamedColumns cells_;
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
