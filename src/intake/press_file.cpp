#include "intake/press_file.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "intake/safe_file.hpp"
#include "intake/toml_table.hpp"

namespace goodside::intake {
namespace {

bool is_table(const std::string& key) {
  return key == "a" || key == "b" || key == "fitted";
}

Outcome take_one(const TomlTable& table,
                 const std::string& key,
                 const std::string& prefix,
                 const TakeFigure& take) {
  std::string words;
  if (table.holds_words(key)) {
    words = table.words(key)->value_or("");
  } else {
    const auto number = table.number(key);
    if (!number) return number.error();
    words = fmt::format("{}", number->value_or(0.0));
  }
  const auto taken = take(prefix + key, words);
  return taken ? taken : Outcome{table.refuse(key, taken.error().text)};
}

}  // namespace

Outcome press_from_toml(std::string_view text,
                        const std::string& shown_name,
                        const TakeFigure& take) {
  const auto document = TomlTable::parse(text, shown_name);
  if (!document) return document.error();
  auto keys = document->keys();
  // The compound first: what else stands there changes it.
  std::ranges::stable_sort(keys, {}, [](const std::string& key) { return key != "compound"; });
  for (const std::string& key : keys) {
    if (is_table(key)) continue;
    if (auto taken = take_one(*document, key, "", take); !taken) return taken;
  }
  for (const std::string key : {"a", "b", "fitted"}) {
    const auto table = document->table(key);
    if (!table) return table.error();
    if (!*table) continue;
    for (const std::string& inner : (*table)->keys())
      if (auto taken = take_one(**table, inner, key + ".", take); !taken) return taken;
  }
  return Done{};
}

Outcome read_press(const std::string& path, const TakeFigure& take) {
  const auto text = read_whole(path);
  if (!text) return text.error();
  return press_from_toml(*text, path, take);
}

}  // namespace goodside::intake
