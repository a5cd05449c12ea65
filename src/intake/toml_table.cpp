#include "intake/toml_table.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <exception>
#include <sstream>
#include <toml.hpp>

#include "base/near_miss.hpp"
#include "intake/safe_file.hpp"

namespace goodside::intake {
namespace {

constexpr int deepest = 32;

Error at_line(const std::string& name, std::size_t line, const std::string& what) {
  return {Fault::bad_input, fmt::format("{}:{}: {}", name, line, what)};
}

/// toml11 descends by recursion, so that brackets and dots by the thousand would overflow its
/// stack. Brackets inside texts are counted too: no honest file has that many left open.
Outcome is_shallow(std::string_view text, const std::string& name) {
  std::size_t line = 1;
  int brackets = 0, dots = 0;
  for (const char c : text) {
    if (c == '\n') {
      ++line;
      dots = 0;
    }
    if (c == '.') ++dots;
    if (c == '[' || c == '{') ++brackets;
    if ((c == ']' || c == '}') && brackets > 0) --brackets;
    if (brackets > deepest || dots > 8 * deepest)
      return at_line(name, line, "nested too deeply; this is not the file that was meant");
  }
  return Done{};
}

/// What a toml11 message says in its first line, without the names of its own functions.
std::string first_line(std::string_view message) {
  message = message.substr(0, message.find('\n'));
  constexpr std::string_view prefix = "[error] ", own = "toml::";
  if (message.starts_with(prefix)) message.remove_prefix(prefix.size());
  if (const auto colon = message.find(": "); message.starts_with(own) && colon != message.npos)
    message.remove_prefix(colon + 2);
  while (message.ends_with('.')) message.remove_suffix(1);
  return std::string{message};
}

const char* type_name(const toml::value& value) {
  switch (value.type()) {
    case toml::value_t::boolean:
      return "true or false";
    case toml::value_t::integer:
      return "a whole number";
    case toml::value_t::floating:
      return "a number";
    case toml::value_t::string:
      return "a text";
    case toml::value_t::array:
      return "a list";
    case toml::value_t::table:
      return "a table";
    case toml::value_t::empty:
      return "nothing";
    default:
      return "a date or time";
  }
}

std::size_t line_of(const toml::value& value) {
  return value.location().line();
}

}  // namespace

struct TomlTable::Node {
  std::shared_ptr<const toml::value> document;  // keeps `table` alive
  const toml::value* table{};
  std::string shown_name, path;

  [[nodiscard]] const toml::value* find(const std::string& key) const {
    const auto& all = table->as_table(std::nothrow);
    const auto place = all.find(key);
    return place == all.end() ? nullptr : &place->second;
  }
};

Result<TomlTable> TomlTable::parse(std::string_view text, const std::string& shown_name) {
  if (text.size() > largest_text_bytes)
    return at_line(shown_name, 1, "larger than 1 MiB; this is not the file that was meant");
  if (auto outcome = is_shallow(text, shown_name); !outcome) return outcome.error();
  try {
    std::istringstream stream{std::string{text}};
    auto document = std::make_shared<const toml::value>(toml::parse(stream, shown_name));
    const auto* top = document.get();
    return TomlTable{std::make_shared<const Node>(Node{std::move(document), top, shown_name, ""})};
  } catch (const toml::exception& error) {
    return at_line(shown_name,
                   error.location().line(),
                   "not TOML: " + first_line(error.what()) + "; mend that line");
  } catch (const std::exception& error) {
    return at_line(shown_name, 1, "not TOML: " + first_line(error.what()) + "; mend the file");
  }
}

std::vector<std::string> TomlTable::keys() const {
  std::vector<std::string> all;
  for (const auto& [key, value] : node_->table->as_table(std::nothrow)) all.push_back(key);
  std::sort(all.begin(), all.end());
  return all;
}

std::vector<std::string> TomlTable::keys_as_written() const {
  std::vector<std::pair<std::size_t, std::string>> places;
  for (const auto& [key, value] : node_->table->as_table(std::nothrow))
    places.emplace_back(line_of(value), key);
  std::sort(places.begin(), places.end());
  std::vector<std::string> all;
  for (const auto& [line, key] : places) all.push_back(key);
  return all;
}

Error TomlTable::refuse(const std::string& key, const std::string& what) const {
  const auto* value = node_->find(key);
  const std::string full =
      node_->path.empty() || key.empty() ? node_->path + key : node_->path + "." + key;
  return at_line(node_->shown_name,
                 (value != nullptr ? value : node_->table)->location().line(),
                 full.empty() ? what : full + ": " + what);
}

Result<std::optional<TomlTable>> TomlTable::table(const std::string& key) const {
  const auto* value = node_->find(key);
  if (value == nullptr) return std::optional<TomlTable>{};
  const std::string path = node_->path.empty() ? key : node_->path + "." + key;
  if (!value->is_table())
    return refuse(
        key, fmt::format("{} stands where a table should; write [{}]", type_name(*value), path));
  return std::optional{TomlTable{
      std::make_shared<const Node>(Node{node_->document, value, node_->shown_name, path})}};
}

Result<std::optional<double>> TomlTable::number(const std::string& key) const {
  const auto* value = node_->find(key);
  if (value == nullptr) return std::optional<double>{};
  if (value->is_integer())
    return std::optional{static_cast<double>(value->as_integer(std::nothrow))};
  if (!value->is_floating())
    return refuse(key, fmt::format("{} stands where a number should", type_name(*value)));
  const double number = value->as_floating(std::nothrow);
  if (!std::isfinite(number))
    return refuse(key, "not a finite number; write one, or leave the line out");
  return std::optional{number};
}

Result<std::optional<std::int64_t>> TomlTable::whole_number(const std::string& key) const {
  const auto* value = node_->find(key);
  if (value == nullptr) return std::optional<std::int64_t>{};
  if (!value->is_integer())
    return refuse(key, fmt::format("{} stands where a whole number should", type_name(*value)));
  return std::optional<std::int64_t>{value->as_integer(std::nothrow)};
}

Result<std::optional<bool>> TomlTable::truth(const std::string& key) const {
  const auto* value = node_->find(key);
  if (value == nullptr) return std::optional<bool>{};
  if (!value->is_boolean())
    return refuse(key, fmt::format("{} stands where true or false should", type_name(*value)));
  return std::optional<bool>{value->as_boolean(std::nothrow)};
}

Result<std::optional<std::string>> TomlTable::words(const std::string& key) const {
  const auto* value = node_->find(key);
  if (value == nullptr) return std::optional<std::string>{};
  if (!value->is_string())
    return refuse(key, fmt::format("{} stands where a text in quotes should", type_name(*value)));
  return std::optional{std::string{value->as_string(std::nothrow).str}};
}

Result<std::optional<std::vector<std::string>>> TomlTable::texts(const std::string& key) const {
  const auto* value = node_->find(key);
  if (value == nullptr) return std::optional<std::vector<std::string>>{};
  if (value->is_string())
    return std::optional{std::vector<std::string>{value->as_string(std::nothrow).str}};
  std::vector<std::string> all;
  if (value->is_array())
    for (const auto& one : value->as_array(std::nothrow)) {
      if (!one.is_string())
        return refuse(key, fmt::format("{} stands where a text in quotes should", type_name(one)));
      all.push_back(one.as_string(std::nothrow).str);
    }
  else
    return refuse(key, fmt::format("{} stands where a list of texts should", type_name(*value)));
  return std::optional{std::move(all)};
}

bool TomlTable::holds_words(const std::string& key) const {
  const auto* value = node_->find(key);
  return value != nullptr && value->is_string();
}

Outcome TomlTable::only(std::span<const std::string_view> known) const {
  for (const auto& key : keys()) {
    if (std::find(known.begin(), known.end(), key) != known.end()) continue;
    if (const auto near = suggestion(key, {known.begin(), known.end()}))
      return refuse(key, "not a known key; " + *near);
    return refuse(key, fmt::format("not a known key; known are {}", fmt::join(known, ", ")));
  }
  return Done{};
}

}  // namespace goodside::intake
