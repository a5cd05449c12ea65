#include "intake/need_tables.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <set>

#include "intake/named_columns.hpp"
#include "intake/safe_file.hpp"
#include "intake/toml_table.hpp"

namespace goodside::intake {
namespace {

constexpr std::string_view recipe_key = "recipe";

Outcome read_recipe(const TomlTable& table, works::NeedFigures& figures) {
  const auto recipe = table.table(std::string{recipe_key});
  if (!recipe) return recipe.error();
  if (!*recipe) return Done{};
  double sum = 0.0;
  for (const std::string& name : (*recipe)->keys()) {
    const auto share = (*recipe)->number(name);
    if (!share) return share.error();
    if (!*share) continue;
    if (!(**share > 0.0 && **share <= 1.0))
      return (*recipe)->refuse(
          name, fmt::format("a share of {:g}; above 0, to 1 of the compound's mass", **share));
    figures.recipe[name] = **share;
    sum += **share;
  }
  constexpr double allowed = 1e-3;
  if (!figures.recipe.empty() && std::abs(sum - 1.0) > allowed)
    return (*recipe)->refuse(
        "", fmt::format("the ingredients make {:g} of the compound; they must make 1", sum));
  return Done{};
}

}  // namespace

Result<works::NeedFigures> need_figures_from_toml(std::string_view text,
                                                  const std::string& shown_name) {
  const auto document = TomlTable::parse(text, shown_name);
  if (!document) return document.error();
  const auto table = document->table("need");
  if (!table) return table.error();
  works::NeedFigures figures;
  if (!*table) return figures;
  std::vector<std::string_view> names{recipe_key};
  for (const auto& item : works::need_items) names.push_back(item.name);
  if (const auto known = (*table)->only(names); !known) return known.error();
  for (const auto& item : works::need_items) {
    const std::string key{item.name};
    const auto given = (*table)->number(key);
    if (!given) return given.error();
    if (!*given) continue;
    if (!(**given >= item.low && **given <= item.high))
      return (*table)->refuse(key,
                              fmt::format("{:g} cannot be; {:g} to {:g} should stand here ({})",
                                          **given,
                                          item.low,
                                          item.high,
                                          item.help));
    figures.*item.value = **given;
    ++figures.told;
  }
  if (const auto recipe = read_recipe(**table, figures); !recipe) return recipe.error();
  if (figures.scrap_seen_bad > 0.0 && figures.scrap_seen_good < figures.scrap_seen_bad)
    return (*table)->refuse("scrap_seen_bad",
                            "more scrap than good discs were counted; look at the two figures");
  return figures;
}

Result<works::NeedFigures> read_need_figures(const std::string& path) {
  const auto text = read_whole(path);
  if (!text) return text.error();
  return need_figures_from_toml(*text, path);
}

Result<std::vector<works::NeedOrder>> need_orders_from_csv(std::string_view text,
                                                           const std::string& shown_name) {
  using works::NeedOrder;
  constexpr std::array<std::string_view, 12> columns{"order",
                                                     "title",
                                                     "quantity",
                                                     "material",
                                                     "stampers_a",
                                                     "stampers_b",
                                                     "mothers_a",
                                                     "mothers_b",
                                                     "fathers_a",
                                                     "fathers_b",
                                                     "age_a",
                                                     "age_b"};
  constexpr std::array<std::pair<std::string_view, std::int64_t NeedOrder::*>, 6> parts{
      {{"stampers_a", &NeedOrder::stampers_a},
       {"stampers_b", &NeedOrder::stampers_b},
       {"mothers_a", &NeedOrder::mothers_a},
       {"mothers_b", &NeedOrder::mothers_b},
       {"fathers_a", &NeedOrder::fathers_a},
       {"fathers_b", &NeedOrder::fathers_b}}};
  constexpr std::int64_t most_discs = 2'000'000, most_parts = 10'000;
  constexpr double most_closings = 1e9;
  const auto table = parse_csv(text, shown_name);
  if (!table) return table.error();
  const NamedColumns cells{*table, shown_name};
  if (const auto found = cells.expect(columns, 3); !found) return found.error();
  std::vector<NeedOrder> orders;
  std::set<std::string> met;
  for (const auto& line : table->lines) {
    NeedOrder order{.order = cells.cell(line, "order"),
                    .title = cells.cell(line, "title"),
                    .material = cells.cell(line, "material")};
    if (order.order.empty()) return cells.refuse(line, "order", "is empty; name the order");
    if (!met.insert(order.order).second)
      return cells.refuse(
          line, "order", order.order.substr(0, 40) + " stands twice; one line each");
    if (order.title.empty()) return cells.refuse(line, "title", "is empty; name what is pressed");
    const auto quantity = cells.whole(line, "quantity", 1, most_discs);
    if (!quantity) return quantity.error();
    if (!*quantity) return cells.refuse(line, "quantity", "is empty; give the discs ordered");
    order.quantity = **quantity;
    for (const auto& [column, part] : parts) {
      const auto count = cells.whole(line, column, 0, most_parts);
      if (!count) return count.error();
      order.*part = count->value_or(0);
    }
    for (const auto& [column, age] :
         {std::pair{"age_a", &NeedOrder::age_a}, std::pair{"age_b", &NeedOrder::age_b}}) {
      const auto closings = cells.number(line, column, 0.0, most_closings);
      if (!closings) return closings.error();
      order.*age = closings->value_or(0.0);
    }
    orders.push_back(std::move(order));
  }
  if (orders.empty())
    return Error{Fault::bad_input, shown_name + ":2: no order; write a line for each"};
  return orders;
}

Result<std::vector<works::NeedOrder>> read_need_orders(const std::string& path) {
  const auto text = read_whole(path);
  if (!text) return text.error();
  return need_orders_from_csv(*text, path);
}

}  // namespace goodside::intake
