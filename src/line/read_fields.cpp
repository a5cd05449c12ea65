#include "line/read_fields.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "line/instants.hpp"
#include "works/code.hpp"

namespace goodside::line {
namespace {

using works::Field;

constexpr std::size_t longest_text = 4000;

/// Length of the UTF-8 character that begins the text; 0 where none does.
std::size_t character_length(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const auto follows = [&](std::size_t i) { return i < text.size() && (byte(i) & 0xc0U) == 0x80U; };
  const unsigned first = byte(0);
  if (first < 0x80) return 1;
  if (first >= 0xc2 && first < 0xe0) return follows(1) ? 2 : 0;
  if (first >= 0xe0 && first < 0xf0) {
    if (!follows(1) || !follows(2)) return 0;
    const bool overlong = first == 0xe0 && byte(1) < 0xa0,
               surrogate = first == 0xed && byte(1) >= 0xa0;
    return overlong || surrogate ? 0 : 3;
  }
  if (first >= 0xf0 && first < 0xf5) {
    if (!follows(1) || !follows(2) || !follows(3)) return 0;
    const bool overlong = first == 0xf0 && byte(1) < 0x90,
               beyond = first == 0xf4 && byte(1) >= 0x90;
    return overlong || beyond ? 0 : 4;
  }
  return 0;
}

Result<ledger::Value> read_whole_number(std::string_view text) {
  std::int64_t value = 0;
  for (const char digit : text) {
    if (digit < '0' || digit > '9' || value > 99'999'999'999)
      return Error{Fault::bad_input,
                   fmt::format("\"{}\" is no whole number from 0 up", text.substr(0, 40))};
    value = 10 * value + (digit - '0');
  }
  if (text.empty()) return Error{Fault::bad_input, "a whole number is missing"};
  return ledger::Value{value};
}

Result<ledger::Value> read_choice(const Field& field, std::string_view text) {
  std::string plain{text}, known;
  std::replace(plain.begin(), plain.end(), '_', ' ');
  std::string_view rest = field.choices;
  while (!rest.empty()) {
    const auto end = rest.find('|');
    const std::string_view one = rest.substr(0, end);
    if (one == plain) return ledger::Value{plain};
    known += (known.empty() ? "" : ", ") + std::string{one};
    rest.remove_prefix(end == std::string_view::npos ? rest.size() : end + 1);
  }
  return Error{Fault::bad_input, fmt::format("\"{}\" is none of {}", plain.substr(0, 40), known)};
}

Result<ledger::Value> read_value(const Field& field, std::string_view text) {
  switch (field.type) {
    case Field::Type::text: {
      if (const auto fit = fit_text(text); !fit) return fit.error();
      return ledger::Value{std::string{text}};
    }
    case Field::Type::whole:
      return read_whole_number(text);
    case Field::Type::quantity: {
      if (field.read == nullptr) return Error{Fault::bad_input, "it is set by the record itself"};
      const auto number = field.read(text);
      if (!number) return number.error();
      return ledger::Value{*number};
    }
    case Field::Type::code: {
      const auto code = works::read_code(text);
      if (!code) return code.error();
      return ledger::Value{*code};
    }
    case Field::Type::choice:
      return read_choice(field, text);
    case Field::Type::instant: {
      const auto instant = read_instant(text);
      if (!instant) return instant.error();
      return ledger::Value{*instant};
    }
    case Field::Type::flag:
      if (text == "yes" || text == "no") return ledger::Value{std::int64_t{text == "yes"}};
      return Error{Fault::bad_input,
                   fmt::format("\"{}\" is neither yes nor no", text.substr(0, 40))};
  }
  return Error{Fault::bad_input, "it cannot be read"};
}

/// The name as people type it: without the unit.
std::string typed_name(const Field& field) {
  const std::string_view unit = field.type == Field::Type::instant ? "ms" : field.unit;
  std::string name{field.name};
  if (!unit.empty()) name.resize(name.size() - unit.size() - 1);
  return name;
}

Error unknown(const works::Kind& kind, std::string_view name) {
  std::string known;
  for (const Field& field : kind.fields)
    if (!field.own) known += typed_name(field) + ", ";
  return {
      Fault::bad_input,
      fmt::format(
          "a {} has no field \"{}\"; it has {}note and at", kind.name, name.substr(0, 40), known)};
}

}  // namespace

Outcome fit_text(std::string_view text) {
  if (text.size() > longest_text)
    return Error{
        Fault::bad_input,
        fmt::format(
            "{} bytes are too long for one text; {} are the most", text.size(), longest_text)};
  for (std::string_view rest = text; !rest.empty();) {
    const std::size_t length = character_length(rest);
    if (length == 0)
      return Error{Fault::bad_input,
                   fmt::format("byte {} is no UTF-8; save the text as UTF-8",
                               text.size() - rest.size() + 1)};
    const auto letter = static_cast<unsigned char>(rest.front());
    if ((letter < 0x20 && letter != '\t' && letter != '\n') || letter == 0x7f)
      return Error{Fault::bad_input,
                   fmt::format("byte {} is a control character; leave it out",
                               text.size() - rest.size() + 1)};
    rest.remove_prefix(length);
  }
  return Done{};
}

Result<ledger::Value> read_field(const Field& field, std::string_view text) {
  auto value = read_value(field, text);
  if (value) return value;
  return Error{value.error().fault, fmt::format("{}: {}", typed_name(field), value.error().text)};
}

Result<ledger::Row> read_fields(const works::Kind& kind, const Typed& typed, bool from_cards) {
  constexpr Field note{.name = "note", .help = ""},
      at{.name = "at_ms", .help = "", .type = Field::Type::instant},
      code{.name = "code", .help = "", .type = Field::Type::code};
  ledger::Row row;
  std::set<std::string_view> given;
  for (const auto& [name, text] : typed) {
    const Field* field = works::find_field(kind, name);
    if (name == "note") field = &note;
    if (name == "at" || name == "at_ms") field = &at;
    if (name == "code" && from_cards) field = &code;
    if (field == nullptr) return unknown(kind, name);
    if (field->own)
      return Error{Fault::bad_input,
                   fmt::format("{} is set by the record itself; leave it out", name)};
    if (!given.insert(field->name).second)
      return Error{Fault::bad_input, fmt::format("{} is given twice", name)};
    auto value = read_field(*field, text);
    if (!value) return value.error();
    row[std::string{field->name}] = std::move(*value);
  }
  for (const Field& field : kind.fields)
    if (field.required && !field.own && !given.contains(field.name))
      return Error{Fault::bad_input,
                   fmt::format("a {} needs {}=…; `goodside works kinds {}` lists its fields",
                               kind.name,
                               typed_name(field),
                               kind.name)};
  return row;
}

std::string shown_cell(const works::Kind& kind,
                       std::string_view column,
                       const ledger::Value& value) {
  if (ledger::is_null(value)) return "";
  const Field* field = works::find_field(kind, column);
  if (const auto* number = std::get_if<std::int64_t>(&value)) {
    if (column.ends_with("_ms")) return shown_instant(*number);
    if (field != nullptr && field->type == Field::Type::flag) return *number != 0 ? "yes" : "no";
    return fmt::format("{}", *number);
  }
  if (const auto* number = std::get_if<double>(&value)) return fmt::format("{}", *number);
  if (const auto* text = std::get_if<std::string>(&value)) return *text;
  return "bytes";
}

}  // namespace goodside::line
