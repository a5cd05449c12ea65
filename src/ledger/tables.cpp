#include <fmt/format.h>

#include <algorithm>

#include "base/expects.hpp"
#include "ledger/record.hpp"

// Rows in and out of the tables. Names of tables and columns come from shapes() alone; everything
// that people typed is a parameter.

namespace goodside::ledger {
namespace {

struct Statements {
  std::string select, insert, update;
};

Statements statements_for(const Shape& shape) {
  std::string columns, places, sets;
  for (std::size_t i = 0; i < shape.columns.size(); ++i) {
    const std::string& column = shape.columns[i];
    columns += fmt::format("{}\"{}\"", i == 0 ? "" : ", ", column);
    places += fmt::format("{}${}", i == 0 ? "" : ", ", i + 1);
    if (i > 0)
      sets += fmt::format("{}\"{}\" = excluded.\"{}\"", i == 1 ? "" : ", ", column, column);
  }
  const std::string insert =
      fmt::format("INSERT INTO {} ({}) VALUES ({})", shape.table, columns, places);
  return {fmt::format("SELECT {} FROM {}", columns, shape.table),
          insert,
          fmt::format("{} ON CONFLICT (\"{}\") DO UPDATE SET {}", insert, shape.key(), sets)};
}

const Statements& statements_of(const Shape& shape) {
  static const auto all = [] {
    std::map<std::string_view, Statements> map;
    for (const Shape& known : shapes()) map.emplace(known.table, statements_for(known));
    return map;
  }();
  return all.at(shape.table);
}

const Shape& shape_of(std::string_view table) {
  const Shape* const shape = find_shape(table);
  EXPECTS(shape != nullptr);
  return *shape;
}

Row row_of(const Shape& shape, const Values& values) {
  Row row;
  for (std::size_t i = 0; i < values.size(); ++i)
    if (!is_null(values[i])) row.emplace(shape.columns[i], values[i]);
  return row;
}

works::Place place_of(const std::string& word) {
  const auto place = works::read_place(word);
  if (!place) throw StoreFailure{StoreFault::corrupt, place.error().text};
  return *place;
}

works::Spot spot_from(const std::string& place,
                      std::string at,
                      std::string reason,
                      const std::string& from) {
  works::Spot spot{place_of(place), std::move(at), std::move(reason), {}};
  if (!from.empty()) spot.from = place_of(from);
  return spot;
}

works::Spot spot_of(const Row& row, const std::string& side) {
  return spot_from(text(at(row, side + "_place")),
                   text(at(row, side + "_at")),
                   text(at(row, side + "_reason")),
                   text(at(row, side + "_from")));
}

Values key_of(const std::string& run, const works::Holding& holding) {
  return {run,
          holding.impressions.first,
          holding.impressions.last,
          std::string{word(holding.spot.place)},
          holding.spot.at,
          holding.spot.reason,
          holding.spot.from ? std::string{word(*holding.spot.from)} : std::string{}};
}

}  // namespace

std::optional<Row> Reader::find(std::string_view table, const Value& key) {
  const Shape& shape = shape_of(table);
  const auto rows = connection_.ask(
      fmt::format("{} WHERE \"{}\" = $1", statements_of(shape).select, shape.key()), {key});
  if (rows.empty()) return std::nullopt;
  return row_of(shape, rows[0]);
}

Row Reader::need(std::string_view table, const std::string& code) {
  auto row = find(table, code);
  const std::string_view noun = works::kind_of_table(table).name;
  if (!row)
    throw Refused{
        {Fault::not_found,
         fmt::format("there is no {} {}; `goodside works show {}` lists them", noun, code, noun)}};
  if (whole(at(*row, "void")) != 0)
    throw Refused{
        {Fault::conflict, fmt::format("{} {} was entered by mistake and taken back", noun, code)}};
  return *row;
}

std::vector<Row> Reader::where(std::string_view table,
                               std::string_view column,
                               const Value& value) {
  const Shape& shape = shape_of(table);
  EXPECTS(std::find(shape.columns.begin(), shape.columns.end(), column) != shape.columns.end());
  std::vector<Row> rows;
  connection_.each(
      fmt::format(
          "{} WHERE \"{}\" = $1 ORDER BY \"{}\"", statements_of(shape).select, column, shape.key()),
      {value},
      [&](const Values& values) { rows.push_back(row_of(shape, values)); });
  return rows;
}

std::vector<Row> Reader::standing(std::string_view table,
                                  std::string_view column,
                                  const Value& value) {
  auto rows = where(table, column, value);
  std::erase_if(rows, [](const Row& row) { return !stands(row); });
  return rows;
}

std::vector<Row> Reader::named_or_all(std::string_view table, const std::string& code) {
  if (!code.empty()) return {need(table, code)};
  const Shape& shape = shape_of(table);
  std::vector<Row> rows;
  connection_.each(fmt::format("{} WHERE COALESCE(void, 0) = 0 ORDER BY \"{}\"",
                               statements_of(shape).select,
                               shape.key()),
                   {},
                   [&](const Values& values) { rows.push_back(row_of(shape, values)); });
  return rows;
}

std::vector<works::Holding> Reader::holdings(const std::string& run) {
  std::vector<works::Holding> holdings;
  connection_.each(
      "SELECT \"first\", \"last\", place, at, reason, came_from, quantity FROM holding WHERE run "
      "= $1",
      {run},
      [&](const Values& row) {
        holdings.push_back({{whole(row[0]), whole(row[1])},
                            spot_from(text(row[2]), text(row[3]), text(row[4]), text(row[5])),
                            whole(row[6])});
      });
  std::sort(holdings.begin(), holdings.end());
  return holdings;
}

std::string Reader::setting(std::string_view name) {
  const auto row = find("setting", std::string{name});
  return row ? text(at(*row, "value")) : "";
}

void apply(Connection& connection, const Change& change, std::int64_t seq) {
  const Shape* const shape = find_shape(change.table);
  if (shape == nullptr)
    throw StoreFailure{
        StoreFault::corrupt,
        fmt::format("an entry writes to \"{}\", which this program does not know", change.table)};
  Values values;
  values.reserve(shape->columns.size());
  for (const std::string& column : shape->columns) values.push_back(at(change.row, column));
  values.back() = seq;
  const Statements& statements = statements_of(*shape);
  connection.run(change.was == 0 ? statements.insert : statements.update, values);
}

works::Movement movement_of(const Row& row) {
  return {text(at(row, "run")),
          {whole(at(row, "first")), whole(at(row, "last"))},
          whole(at(row, "quantity")),
          spot_of(row, "from"),
          spot_of(row, "to")};
}

std::vector<works::Movement> movements_of(Connection& connection, const std::string& run) {
  std::vector<works::Movement> movements;
  const auto spot = [](const Values& row, std::size_t first) {
    return spot_from(
        text(row[first]), text(row[first + 1]), text(row[first + 2]), text(row[first + 3]));
  };
  connection.each(
      "SELECT \"first\", \"last\", quantity, from_place, from_at, from_reason, from_from, "
      "to_place, "
      "to_at, to_reason, to_from FROM movement WHERE run = $1 ORDER BY id",
      {run},
      [&](const Values& row) {
        movements.push_back(
            {run, {whole(row[0]), whole(row[1])}, whole(row[2]), spot(row, 3), spot(row, 7)});
      });
  return movements;
}

void store_holdings(Connection& connection,
                    const std::string& run,
                    const std::vector<works::Holding>& before,
                    const std::vector<works::Holding>& after) {
  // Both are in order; equal keys with other quantities are written over.
  const auto same_key = [](const works::Holding& a, const works::Holding& b) {
    return a.impressions == b.impressions && a.spot == b.spot;
  };
  const auto key_before = [](const works::Holding& a, const works::Holding& b) {
    return std::tie(a.impressions, a.spot) < std::tie(b.impressions, b.spot);
  };
  auto old = before.begin();
  auto now = after.begin();
  const auto remove = [&](const works::Holding& holding) {
    connection.run(
        "DELETE FROM holding WHERE run = $1 AND \"first\" = $2 AND \"last\" = $3 AND place = $4 "
        "AND at = $5 AND reason = $6 AND came_from = $7",
        key_of(run, holding));
  };
  const auto keep = [&](const works::Holding& holding) {
    Values values = key_of(run, holding);
    values.emplace_back(holding.quantity);
    connection.run(
        "INSERT INTO holding (run, \"first\", \"last\", place, at, reason, came_from, quantity) "
        "VALUES ($1, $2, $3, $4, $5, $6, $7, $8) ON CONFLICT (run, \"first\", \"last\", place, at, "
        "reason, came_from) DO UPDATE SET quantity = excluded.quantity",
        values);
  };
  while (old != before.end() || now != after.end()) {
    if (now == after.end() || (old != before.end() && key_before(*old, *now))) {
      remove(*old++);
    } else if (old == before.end() || key_before(*now, *old)) {
      keep(*now++);
    } else {
      EXPECTS(same_key(*old, *now));
      if (old->quantity != now->quantity) keep(*now);
      ++old, ++now;
    }
  }
}

}  // namespace goodside::ledger
