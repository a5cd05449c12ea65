#include "intake/trace_costs.hpp"

#include <fmt/format.h>

#include <vector>

#include "intake/safe_file.hpp"
#include "intake/toml_table.hpp"

namespace goodside::intake {

Result<works::TraceCosts> costs_from_toml(std::string_view text, const std::string& shown_name) {
  const auto document = TomlTable::parse(text, shown_name);
  if (!document) return document.error();
  const auto table = document->table("costs");
  if (!table) return table.error();
  works::TraceCosts costs;
  if (!*table) return costs;
  std::vector<std::string_view> names;
  for (const auto& item : works::cost_items) names.push_back(item.name);
  if (const auto known = (*table)->only(names); !known) return known.error();
  for (const auto& item : works::cost_items) {
    const std::string key{item.name};
    const auto given = (*table)->number(key);
    if (!given) return given.error();
    if (!*given) continue;
    if (!works::may_be(item, **given))
      return (*table)->refuse(
          key, fmt::format("{} cannot be; {} ({})", **given, works::expected(item), item.help));
    costs.*item.value = **given;
    ++costs.told;
  }
  return costs;
}

Result<works::TraceCosts> read_costs(const std::string& path) {
  const auto text = read_whole(path);
  if (!text) return text.error();
  return costs_from_toml(*text, path);
}

std::string default_costs_toml() {
  std::string text =
      "# What looking, mending and changing take here. Money in one currency. These figures are "
      "invented\n# for a small works: take the # away before [costs] and before what is yours.\n"
      "[costs]\n";
  const works::TraceCosts invented;
  for (const auto& item : works::cost_items)
    text += fmt::format(
        "{:<26}# {}\n", fmt::format("{} = {}", item.name, invented.*item.value), item.help);
  return text;
}

}  // namespace goodside::intake
