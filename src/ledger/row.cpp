#include "ledger/row.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "ledger/connection.hpp"
#include "works/kind.hpp"

namespace goodside::ledger {
namespace {

std::vector<Shape> all_shapes() {
  std::vector<Shape> all;
  for (const works::Kind& kind : works::kinds()) {
    Shape shape{.table = std::string{kind.table}, .columns = {"code", "id"}};
    for (const works::Field& field : kind.fields) shape.columns.emplace_back(field.name);
    for (const char* column : {"at_ms", "who", "note", "void", "event"})
      shape.columns.emplace_back(column);
    all.push_back(std::move(shape));
  }
  all.push_back({.table = "setting", .columns = {"name", "value", "event"}});
  all.push_back({.table = "counter", .columns = {"kind", "last", "event"}});
  all.push_back({.table = "movement",
                 .columns = {"id",
                             "run",
                             "first",
                             "last",
                             "quantity",
                             "from_place",
                             "from_at",
                             "from_reason",
                             "from_from",
                             "to_place",
                             "to_at",
                             "to_reason",
                             "to_from",
                             "at_ms",
                             "reverses",
                             "event"}});
  for (Shape& shape : all) {
    for (std::size_t i = 0; i + 1 < shape.columns.size(); ++i) shape.by_name.push_back(i);
    std::sort(shape.by_name.begin(), shape.by_name.end(), [&](std::size_t a, std::size_t b) {
      return shape.columns[a] < shape.columns[b];
    });
  }
  return all;
}

void escape(std::string_view text, std::string& out) {
  for (const char letter : text) switch (letter) {
      case '\\':
        out += "\\\\";
        break;
      case '\t':
        out += "\\t";
        break;
      case '\n':
        out += "\\n";
        break;
      default:
        out += letter;
    }
}

struct WriteValue {
  std::string& out;
  void operator()(std::monostate) const {}
  void operator()(std::int64_t value) const {
    fmt::format_to(std::back_inserter(out), "i{}", value);
  }
  void operator()(double value) const { fmt::format_to(std::back_inserter(out), "d{}", value); }
  void operator()(const std::string& value) const {
    out += 't';
    escape(value, out);
  }
  void operator()(const Bytes& value) const {
    out += 'b';
    for (const std::byte byte : value)
      fmt::format_to(std::back_inserter(out), "{:02x}", static_cast<unsigned>(byte));
  }
};

[[noreturn]] void broken(std::string_view what) {
  throw StoreFailure{StoreFault::corrupt,
                     fmt::format("an entry's body cannot be read at \"{}\"", what.substr(0, 40))};
}

template <class Number>
Number number(std::string_view digits, int base = 10) {
  Number value{};
  std::from_chars_result read{};
  if constexpr (std::is_floating_point_v<Number>)
    read = std::from_chars(digits.data(), digits.data() + digits.size(), value);
  else
    read = std::from_chars(digits.data(), digits.data() + digits.size(), value, base);
  if (read.ec != std::errc{} || read.ptr != digits.data() + digits.size()) broken(digits);
  if constexpr (std::is_floating_point_v<Number>)
    if (!std::isfinite(value)) broken(digits);
  return value;
}

Value read_value(std::string_view said) {
  if (said.empty()) broken(said);
  const std::string_view rest = said.substr(1);
  switch (said.front()) {
    case 'i':
      return number<std::int64_t>(rest);
    case 'd':
      return number<double>(rest);
    case 't': {
      std::string text;
      text.reserve(rest.size());
      for (std::size_t i = 0; i < rest.size(); ++i) {
        if (rest[i] != '\\') {
          text += rest[i];
          continue;
        }
        if (++i == rest.size()) broken(said);
        text += rest[i] == 't' ? '\t' : rest[i] == 'n' ? '\n' : rest[i];
      }
      return text;
    }
    case 'b': {
      if (rest.size() % 2 != 0) broken(said);
      Bytes bytes;
      for (std::size_t i = 0; i < rest.size(); i += 2)
        bytes.push_back(static_cast<std::byte>(number<std::uint8_t>(rest.substr(i, 2), 16)));
      return bytes;
    }
    default:
      broken(said);
  }
}

/// The text up to the separator, which goes too.
std::string_view cut(std::string_view& rest, char separator) {
  const auto end = rest.find(separator);
  const std::string_view piece = rest.substr(0, end);
  rest.remove_prefix(end == std::string_view::npos ? rest.size() : end + 1);
  return piece;
}

}  // namespace

std::span<const Shape> shapes() {
  static const std::vector<Shape> all = all_shapes();
  return all;
}

const Shape* find_shape(std::string_view table) {
  static const auto by_name = [] {
    std::map<std::string_view, const Shape*> map;
    for (const Shape& shape : shapes()) map.emplace(shape.table, &shape);
    return map;
  }();
  const auto known = by_name.find(table);
  return known == by_name.end() ? nullptr : known->second;
}

const Value& at(const Row& row, std::string_view column) {
  static const Value none;
  const auto known = row.find(column);
  return known == row.end() ? none : known->second;
}

bool stands(const Row& row) {
  return whole(at(row, "void")) == 0;
}

void write_line(const Change& change, std::string& out) {
  fmt::format_to(std::back_inserter(out), "{}\t{}", change.table, change.was);
  for (const auto& [column, value] : change.row) {
    if (is_null(value)) continue;
    out += '\t';
    out += column;
    out += '=';
    std::visit(WriteValue{out}, value);
  }
  out += '\n';
}

void write_cells(const Shape& shape, const Values& values, std::string& out) {
  bool first = true;
  for (const std::size_t at : shape.by_name) {
    if (is_null(values[at])) continue;
    if (!first) out += '\t';
    first = false;
    out += shape.columns[at];
    out += '=';
    std::visit(WriteValue{out}, values[at]);
  }
}

std::string_view BodyLine::cell(std::string_view column) const {
  std::string_view rest = cells;
  while (!rest.empty()) {
    const std::string_view one = cut(rest, '\t');
    if (one.size() > column.size() + 1 && one[column.size()] == '=' && one.starts_with(column))
      return one.substr(column.size() + 2);
  }
  return {};
}

BodyLine take_line(std::string_view& body) {
  BodyLine line{{}, cut(body, '\n'), 0};
  line.table = cut(line.cells, '\t');
  line.was = number<std::int64_t>(cut(line.cells, '\t'));
  return line;
}

std::string write_body(std::span<const Change> changes) {
  std::string body;
  for (const Change& change : changes) write_line(change, body);
  return body;
}

std::vector<Change> read_body(std::string_view body) {
  std::vector<Change> changes;
  while (!body.empty()) {
    std::string_view line = cut(body, '\n');
    Change change{std::string{cut(line, '\t')}, {}, 0};
    change.was = number<std::int64_t>(cut(line, '\t'));
    while (!line.empty()) {
      std::string_view cell = cut(line, '\t');
      const std::string_view column = cut(cell, '=');
      change.row.emplace_hint(change.row.end(), std::string{column}, read_value(cell));
    }
    changes.push_back(std::move(change));
  }
  return changes;
}

}  // namespace goodside::ledger
