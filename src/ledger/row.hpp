#pragma once
#include <map>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "ledger/value.hpp"

namespace goodside::ledger {

/// A table as the record uses it. `columns` begins with the key and ends with `event`, the number
/// of the entry that wrote the row last.
struct Shape {
  std::string table;
  std::vector<std::string> columns;
  /// Places in `columns` by name, `event` left out: the order of a body's line.
  std::vector<std::size_t> by_name{};
  [[nodiscard]] const std::string& key() const { return columns.front(); }
};

/// Every table that entries write: the nouns of works::kinds(), then setting, counter, movement.
[[nodiscard]] std::span<const Shape> shapes();
[[nodiscard]] const Shape* find_shape(std::string_view table);

/// The columns of a row by name; one that is absent is null.
using Row = std::map<std::string, Value, std::less<>>;
[[nodiscard]] const Value& at(const Row& row, std::string_view column);
/// Whether it was not taken back.
[[nodiscard]] bool stands(const Row& row);

/// A row that an entry writes. `was`: the entry that wrote it before, 0 for a new row.
struct Change {
  std::string table;
  Row row;
  std::int64_t was{};
  bool operator==(const Change&) const = default;
};

/// The body of an entry, a line a row:  table ⇥ was ⇥ column=value ⇥ …  in the order of names,
/// nulls left out; a value is i (int64), d (double, shortest exact), t (text; \ ⇥ and line end as
/// \\ \t \n) or b (bytes in hexadecimal). Equal rows give equal bytes: this is what is hashed.
[[nodiscard]] std::string write_body(std::span<const Change> changes);
void write_line(const Change& change, std::string& out);
/// The cells of a table's row, in the order of shape.columns, as they stand in a body's line behind
/// the table and `was`: `column=value ⇥ …`, without a line end.
void write_cells(const Shape& shape, const Values& values, std::string& out);

/// A line of a body, unread.
struct BodyLine {
  std::string_view table, cells;
  std::int64_t was{};
  /// The text of a cell without its type's letter; empty where there is none. Only for cells that
  /// hold nothing to unescape: codes, names and numbers.
  [[nodiscard]] std::string_view cell(std::string_view column) const;
};
/// Takes the first line off the body. Throws StoreFailure (corrupt).
[[nodiscard]] BodyLine take_line(std::string_view& body);
/// Throws StoreFailure (corrupt) where the text is no such body.
[[nodiscard]] std::vector<Change> read_body(std::string_view body);

}  // namespace goodside::ledger
