#include "line/card_index.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "intake/csv_file.hpp"
#include "intake/safe_file.hpp"
#include "line/add_noun.hpp"
#include "line/read_fields.hpp"

namespace goodside::line {
namespace {

using ledger::Refused;
using ledger::Row;
using ledger::text;
using ledger::whole;
using ledger::Writer;
using works::Field;

constexpr std::size_t largest_cards_bytes = std::size_t{256} << 20;

constexpr std::array disc_fields{
    Field{
        .name = "run", .help = "", .type = Field::Type::code, .required = true, .refers_to = "run"},
    Field{.name = "quantity", .help = "", .type = Field::Type::whole, .required = true},
    Field{.name = "place", .help = "", .required = true},
    Field{.name = "mounting", .help = "", .type = Field::Type::code, .refers_to = "mounting"},
    Field{.name = "batch", .help = "", .type = Field::Type::code, .refers_to = "batch"},
    Field{.name = "spot", .help = "", .type = Field::Type::code},
    Field{.name = "reason", .help = ""},
};
const works::Kind discs{"discs", "pressing", "", "", disc_fields};

/// Thrown to leave the transaction without entering anything.
struct DryEnd {};

void add_discs(Writer& writer, const Row& row) {
  const std::string run = text(ledger::at(row, "run"));
  const std::int64_t quantity = whole(ledger::at(row, "quantity"));
  const auto place = works::read_place(text(ledger::at(row, "place")));
  if (!place) throw Refused{place.error()};
  if (*place == works::Place::press || *place == works::Place::unaccounted)
    throw Refused{{Fault::bad_input, "discs cannot have been pressed to there"}};
  if (quantity < 1) throw Refused{{Fault::bad_input, "quantity: at least 1"}};
  const std::int64_t made = writer.stock(run).made();
  Row pressing{{"run", run}, {"first", made + 1}, {"last", made + quantity}, {"purpose", "run"}};
  for (const char* column : {"mounting", "batch", "at_ms", "note"})
    if (!ledger::is_null(ledger::at(row, column))) pressing[column] = ledger::at(row, column);
  writer.add(works::kind_of_table("pressing"), std::move(pressing));
  works::Spot spot{*place, text(ledger::at(row, "spot")), text(ledger::at(row, "reason")), {}};
  if (*place == works::Place::suspect) spot.from = works::Place::good_stock;
  writer.post(
      {run, {made + 1, made + quantity}, quantity, {works::Place::press, "", "", {}}, spot});
}

class CardReader {
 public:
  CardReader(Writer& writer, const works::Kind& kind, const intake::CsvTable& table, Cards& cards)
      : writer_{writer}, kind_{kind}, table_{table}, cards_{cards} {}

  void take_all() {
    for (const auto& line : table_.lines) {
      ++cards_.rows;
      const std::size_t before = cards_.bad.size();
      if (auto row = read(line)) enter(line, std::move(*row));
      if (cards_.bad.size() > before) ++cards_.bad_rows;
    }
  }

 private:
  void bad(const intake::CsvTable::Line& line, const std::string& column, std::string text) {
    // The sentence names its field where it was read as one.
    if (text.starts_with(column + ": ")) text.erase(0, column.size() + 2);
    cards_.bad.push_back({static_cast<std::int64_t>(line.number), column, std::move(text)});
  }

  const Field* field_of(const std::string& column) const {
    static constexpr Field note{.name = "note", .help = ""},
        code{.name = "code", .help = "", .type = Field::Type::code},
        at{.name = "at_ms", .help = "", .type = Field::Type::instant};
    if (column == "note") return &note;
    if (column == "at" || column == "at_ms") return &at;
    if (column == "code" && &kind_ != &discs) return &code;
    return works::find_field(kind_, column);
  }

  /// Every cell by itself, so that all that are wrong are told.
  std::optional<Row> read(const intake::CsvTable::Line& line) {
    Row row;
    bool good = true;
    for (std::size_t i = 0; i < table_.columns.size(); ++i) {
      const std::string& column = table_.columns[i];
      const Field* const field = field_of(column);
      if (line.cells[i].empty()) continue;
      auto value = read_field(*field, line.cells[i]);
      if (value && field->type == Field::Type::code && !field->refers_to.empty() &&
          !writer_.find(field->refers_to, *value) && !is_bad_code(text(*value)))
        value = Error{
            Fault::not_found,
            fmt::format(
                "there is no {} {}", works::kind_of_table(field->refers_to).name, text(*value))};
      if (!value) {
        bad(line, column, value.error().text);
        good = false;
        continue;
      }
      row[std::string{field->name}] = std::move(*value);
    }
    for (const Field& field : kind_.fields)
      if (field.required && !field.own && !row.contains(field.name) &&
          !cell_is_bad(line, field.name)) {
        bad(line, std::string{field.name}, "is needed and missing");
        good = false;
      }
    if (!good && row.contains("code")) bad_codes_.push_back(text(row["code"]));
    if (!good) return std::nullopt;
    return row;
  }

  /// A row above that could not be taken is told once, not again in every row that names it.
  [[nodiscard]] bool is_bad_code(const std::string& code) const {
    return std::find(bad_codes_.begin(), bad_codes_.end(), code) != bad_codes_.end();
  }

  [[nodiscard]] bool cell_is_bad(const intake::CsvTable::Line& line, std::string_view name) const {
    return std::any_of(cards_.bad.begin(), cards_.bad.end(), [&](const BadCell& cell) {
      const Field* const field = cell.column.empty() ? nullptr : field_of(cell.column);
      return cell.line == static_cast<std::int64_t>(line.number) && field != nullptr &&
             field->name == name;
    });
  }

  void enter(const intake::CsvTable::Line& line, Row row) {
    const std::string code = text(ledger::at(row, "code"));
    try {
      if (&kind_ == &discs) {
        add_discs(writer_, row);
        return;
      }
      if (kind_.table == "part" && ledger::is_null(ledger::at(row, "origin")))
        row["origin"] = std::string{"card"};
      if (!code.empty() && writer_.find(kind_.table, code))
        throw Refused{{Fault::conflict, fmt::format("code: {} is there already", code)}};
      add_within(writer_, kind_, std::move(row));
    } catch (const Refused& refused) {
      const std::string& said = refused.error.text;
      const auto colon = said.find(": ");
      const std::string column = colon == std::string::npos ? "" : said.substr(0, colon);
      bad(line, field_of(column) != nullptr ? column : "", said);
      if (!code.empty()) bad_codes_.push_back(code);
    }
  }

  Writer& writer_;
  const works::Kind& kind_;
  const intake::CsvTable& table_;
  Cards& cards_;
  std::vector<std::string> bad_codes_;
};

/// The columns that the noun has not, told before any row.
Outcome known_columns(const works::Kind& kind,
                      const intake::CsvTable& table,
                      const std::string& path) {
  for (const std::string& column : table.columns) {
    if (column == "note" || column == "at" || column == "at_ms") continue;
    if (column == "code" && &kind != &discs) continue;
    const Field* const field = works::find_field(kind, column);
    if (field != nullptr && !field->own) continue;
    std::string known;
    for (const Field& one : kind.fields)
      if (!one.own) known += std::string{one.name} + ", ";
    return Error{Fault::bad_input,
                 fmt::format("{}:1: {} has no field \"{}\"; it has {}note, at{}",
                             path,
                             kind.name,
                             column.substr(0, 40),
                             known,
                             &kind == &discs ? "" : ", code")};
  }
  return Done{};
}

}  // namespace

Result<Cards> take_cards(const Desk& desk,
                         const std::string& kind_name,
                         const std::string& path,
                         bool dry_run) {
  const works::Kind* kind = &discs;
  if (kind_name != "discs") {
    const auto found = works::find_kind(kind_name);
    if (!found) return found.error();
    kind = *found;
    if (!kind->by_hand && kind->table != "mounting")
      return Error{Fault::bad_input, fmt::format("a {} does not come from cards", kind->name)};
  }
  const auto bytes = intake::read_whole(path, largest_cards_bytes);
  if (!bytes) return bytes.error();
  const auto table = intake::parse_csv(*bytes, path);
  if (!table) return table.error();
  if (const auto known = known_columns(*kind, *table, path); !known) return known.error();
  Cards cards;
  try {
    const auto head =
        desk.record.write(desk.act("cards " + std::string{kind->name}), [&](Writer& writer) {
          cards = {};
          CardReader{writer, *kind, *table, cards}.take_all();
          if (dry_run || !cards.bad.empty()) throw DryEnd{};
        });
    if (!head) return head.error();
    cards.entered = true;
    cards.head = *head;
  } catch (const DryEnd&) {
    const auto asked = desk.record.read(
        [&](ledger::Reader& reader) { cards.head = ledger::head_of(reader.connection()); });
    if (!asked) return asked.error();
  }
  return cards;
}

}  // namespace goodside::line
