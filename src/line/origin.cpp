#include "line/origin.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

namespace goodside::line {
namespace {

using ledger::at;
using ledger::Reader;
using ledger::Refused;
using ledger::stands;
using ledger::text;
using ledger::whole;
using works::Impressions;

/// Parents upwards, the part itself first. A family is at most a handful of generations; a record
/// that goes in circles is stopped all the same.
std::vector<Row> ancestry(Reader& reader, const std::string& part) {
  std::vector<Row> line;
  std::set<std::string> met;
  for (std::string code = part; !code.empty() && met.insert(code).second;) {
    auto row = reader.find("part", code);
    if (!row) break;
    code = text(at(*row, "parent"));
    line.push_back(std::move(*row));
  }
  return line;
}

std::vector<Row> mountings_of(Reader& reader, const std::string& part) {
  auto rows = reader.standing("mounting", "stamper_a", part);
  for (Row& row : reader.standing("mounting", "stamper_b", part)) rows.push_back(std::move(row));
  return rows;
}

std::vector<Row> pressings(Reader& reader, std::string_view column, const std::string& code) {
  return reader.standing("pressing", column, code);
}

std::int64_t width(const Row& pressing) {
  return whole(at(pressing, "last")) - whole(at(pressing, "first")) + 1;
}

std::int64_t closings_before(Reader& reader,
                             const std::string& part,
                             const Row& pressing,
                             std::int64_t n) {
  std::int64_t sum = 0;
  for (const Row& mounting : mountings_of(reader, part))
    for (const Row& earlier : pressings(reader, "mounting", text(at(mounting, "code"))))
      if (whole(at(earlier, "event")) < whole(at(pressing, "event"))) sum += width(earlier);
  return sum + n - whole(at(pressing, "first"));
}

std::optional<Row> maybe(Reader& reader,
                         std::string_view table,
                         const Row& from,
                         std::string_view column) {
  const std::string code = text(at(from, column));
  return code.empty() ? std::nullopt : reader.find(table, code);
}

Origin find_origin(Reader& reader, const std::string& run, std::int64_t n) {
  Origin origin{.impression = n, .run = reader.need("run", run)};
  const auto ranges = pressings(reader, "run", run);
  const auto range = std::find_if(ranges.begin(), ranges.end(), [&](const Row& row) {
    return n >= whole(at(row, "first")) && n <= whole(at(row, "last"));
  });
  if (range == ranges.end()) {
    std::int64_t made = 0;
    for (const Row& row : ranges) made = std::max(made, whole(at(row, "last")));
    throw Refused{
        {Fault::not_found,
         made == 0
             ? fmt::format("run {} has made no impression yet", run)
             : fmt::format("run {} has made impressions 1 to {}; there is no {}", run, made, n)}};
  }
  origin.pressing = *range;
  if (!ledger::is_null(at(*range, "title_first")))
    origin.of_title = whole(at(*range, "title_first")) + n - whole(at(*range, "first"));
  origin.order = reader.need("orders", text(at(origin.run, "order")));
  origin.title = reader.need("title", text(at(origin.run, "title")));
  origin.mounting = maybe(reader, "mounting", *range, "mounting");
  if (origin.mounting) origin.press = maybe(reader, "press", *origin.mounting, "press");
  origin.recipe = maybe(reader, "recipe", *range, "recipe");
  origin.batch = maybe(reader, "batch", *range, "batch");
  if (origin.batch) {
    origin.lots = reader.where("weighing", "batch", at(*origin.batch, "code"));
    origin.biscuits = reader.standing("biscuit", "batch", at(*origin.batch, "code"));
  }
  const Row mounted = origin.mounting.value_or(Row{});
  const std::string a = text(at(mounted, "stamper_a")), b = text(at(mounted, "stamper_b"));
  origin.side_a = ancestry(reader, a);
  origin.side_b = ancestry(reader, b);
  for (const bool first : {true, false}) {
    const auto& line = first ? origin.side_a : origin.side_b;
    if (line.empty()) continue;
    (first ? origin.cut_a : origin.cut_b) = maybe(reader, "cut", line.back(), "cut");
    (first ? origin.age_a : origin.age_b) = closings_before(reader, first ? a : b, *range, n);
  }
  for (Row& ticket : reader.where("ticket", "run", run))
    if (stands(ticket) && n >= whole(at(ticket, "first")) && n <= whole(at(ticket, "last")))
      origin.tickets.push_back(std::move(ticket));
  for (const works::Holding& holding : reader.holdings(run)) {
    if (n < holding.impressions.first || n > holding.impressions.last || holding.quantity <= 0)
      continue;
    // All discs of an exact range are there, this one among them.
    if (holding.exact()) origin.now.clear();
    origin.now.push_back(holding);
    if (holding.exact()) break;
  }
  return origin;
}

using Ranges = std::map<std::string, std::vector<Impressions>>;

void add_ranges(const std::vector<Row>& rows, Ranges& ranges) {
  for (const Row& row : rows)
    ranges[text(at(row, "run"))].push_back({whole(at(row, "first")), whole(at(row, "last"))});
}

/// In order, neighbours joined.
std::vector<Impressions> joined(std::vector<Impressions> ranges) {
  std::sort(ranges.begin(), ranges.end());
  std::vector<Impressions> out;
  for (const Impressions& range : ranges)
    if (!out.empty() && range.first <= out.back().last + 1)
      out.back().last = std::max(out.back().last, range.last);
    else
      out.push_back(range);
  return out;
}

void add_stock(Reader& reader, Ranges& ranges, Whereabouts& found) {
  for (auto& [run, list] : ranges) {
    const auto touched = joined(std::move(list));
    for (const Impressions& range : touched) found.impressions += range.width();
    for (const works::Holding& holding : reader.holdings(run))
      for (const Impressions& range : touched) {
        if (!holding.impressions.meets(range)) continue;
        works::Holding part = holding;
        const bool all = holding.impressions.within(range);
        if (!all && holding.exact()) {
          part.impressions = {std::max(range.first, holding.impressions.first),
                              std::min(range.last, holding.impressions.last)};
          part.quantity = part.impressions.width();
        }
        found.stock.push_back({run, std::move(part), all || holding.exact()});
        if (all || !holding.exact()) break;
      }
  }
}

void add_descent(Reader& reader, const std::string& part, Whereabouts& found, Ranges& ranges) {
  std::set<std::string> met;
  std::vector<std::string> open{part};
  while (!open.empty()) {
    const std::string code = open.back();
    open.pop_back();
    if (!met.insert(code).second) continue;
    if (auto row = reader.find("part", code)) found.parts.push_back(std::move(*row));
    for (const Row& child : reader.where("part", "parent", code))
      if (stands(child)) open.push_back(text(at(child, "code")));
    for (const Row& mounting : mountings_of(reader, code))
      add_ranges(pressings(reader, "mounting", text(at(mounting, "code"))), ranges);
  }
}

void add_spot(Reader& reader, const std::string& spot, Whereabouts& found) {
  std::set<std::string> runs;
  for (const auto& cell :
       reader.connection().ask("SELECT DISTINCT run FROM holding WHERE at = $1", {spot}))
    runs.insert(text(cell[0]));
  for (const std::string& run : runs)
    for (const works::Holding& holding : reader.holdings(run))
      if (holding.spot.at == spot) {
        found.stock.push_back({run, holding, true});
        found.impressions += holding.quantity;
      }
}

Whereabouts find_whereabouts(Reader& reader, const std::string& code) {
  const auto thing = find_within(reader, code);
  if (!thing)
    throw Refused{{Fault::not_found, fmt::format("the record holds nothing called {}", code)}};
  Whereabouts found{.of = code};
  Ranges ranges;
  const std::string_view table = thing->kind->table;
  if (table == "part") add_descent(reader, code, found, ranges);
  if (table == "mounting" || table == "batch" || table == "run")
    add_ranges(pressings(reader, table, code), ranges);
  if (table == "orders" || table == "title")
    for (const Row& run : reader.where("run", table == "title" ? "title" : "order", code))
      if (stands(run)) add_ranges(pressings(reader, "run", text(at(run, "code"))), ranges);
  if (table == "carton" || table == "spindle" || table == "ticket") add_spot(reader, code, found);
  if (table == "shipment" || table == "pallet")
    for (const Row& carton : reader.where("carton", table, code))
      add_spot(reader, text(at(carton, "code")), found);
  if (table == "press")
    for (const Row& mounting : reader.where("mounting", "press", code))
      if (stands(mounting))
        add_ranges(pressings(reader, "mounting", text(at(mounting, "code"))), ranges);
  add_stock(reader, ranges, found);
  return found;
}

}  // namespace

std::optional<Found> find_within(Reader& reader, const std::string& code) {
  for (const works::Kind& kind : works::kinds())
    if (auto row = reader.find(kind.table, code)) return Found{&kind, std::move(*row)};
  return std::nullopt;
}

Result<Found> find_thing(ledger::Record& record, const std::string& code) {
  std::optional<Found> found;
  const auto asked = record.read([&](Reader& reader) { found = find_within(reader, code); });
  if (!asked) return asked.error();
  if (found) return std::move(*found);
  return Error{Fault::not_found, fmt::format("the record holds nothing called {}", code)};
}

Origin origin_within(Reader& reader, const std::string& run, std::int64_t impression) {
  return find_origin(reader, run, impression);
}

Result<Origin> origin_of(ledger::Record& record, const std::string& run, std::int64_t impression) {
  std::optional<Origin> origin;
  const auto asked =
      record.read([&](Reader& reader) { origin = find_origin(reader, run, impression); });
  if (!asked) return asked.error();
  return std::move(*origin);
}

Whereabouts whereabouts_within(Reader& reader, const std::string& code) {
  return find_whereabouts(reader, code);
}

Result<Whereabouts> whereabouts(ledger::Record& record, const std::string& code) {
  std::optional<Whereabouts> found;
  const auto asked = record.read([&](Reader& reader) { found = find_whereabouts(reader, code); });
  if (!asked) return asked.error();
  return std::move(*found);
}

}  // namespace goodside::line
