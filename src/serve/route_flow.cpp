#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "line/origin.hpp"
#include "serve/by_hand.hpp"
#include "works/kind.hpp"

// From any subject to those before and after it in the flow of the trade, in one step.

namespace goodside::serve {
namespace {

using ledger::at;
using ledger::Reader;
using ledger::Row;
using ledger::text;
using ledger::whole;

constexpr std::int64_t most_of_a_kind = 3;

/// The nouns that a day's walk goes through, as the work flows.
constexpr std::array flow{"title",
                          "side",
                          "cut",
                          "orders",
                          "press",
                          "batch",
                          "part",
                          "mounting",
                          "run",
                          "ticket",
                          "capture",
                          "report",
                          "spindle",
                          "carton",
                          "pallet",
                          "delivery",
                          "shipment"};

std::size_t place_in_flow(std::string_view table) {
  return static_cast<std::size_t>(std::ranges::find(flow, table) - flow.begin());
}

std::string words_of(Reader& reader, std::string_view table, const Row& row) {
  if (table == "title" || table == "press" || table == "spindle") return text(at(row, "name"));
  if (table == "side") return "side " + text(at(row, "letter"));
  if (table == "part") return text(at(row, "kind")) + ", " + text(at(row, "state"));
  if (table == "batch") return text(at(row, "material"));
  if (table == "ticket")
    return fmt::format("disc {}, {}", whole(at(row, "first")), text(at(row, "heard")));
  if (table == "run") return text(at(row, "purpose"));
  if (table == "shipment" || table == "delivery") return text(at(row, "to"));
  if (table == "orders") {
    const auto title = reader.find("title", at(row, "title"));
    return fmt::format(
        "{} of {}", whole(at(row, "quantity")), title ? text(at(*title, "name")) : "");
  }
  return text(at(row, "state"));
}

/// Neighbours on one side, a group a kind.
class Side {
 public:
  explicit Side(Reader& reader) : reader_{reader} {}

  void add(std::string_view table, const std::string& code, std::int64_t count = 1) {
    if (code.empty() || place_in_flow(table) == flow.size()) return;
    const auto row = reader_.find(table, code);
    if (!row || !ledger::stands(*row)) return;
    Group& group = group_of(table);
    group.count = std::max(group.count, count);
    if (std::ranges::find(group.codes, code) != group.codes.end()) return;
    group.codes.push_back(code);
    group.count = std::max(group.count, static_cast<std::int64_t>(group.codes.size()));
    if (group.things.size() < static_cast<std::size_t>(most_of_a_kind))
      group.things.push_back(Object{{"code", code}, {"words", words_of(reader_, table, *row)}});
  }

  /// Rows that `sql` finds, `$1` being the code, newest first; `count_sql` says how many there are.
  void found(std::string_view table, const std::string& from, const std::string& code) {
    const std::int64_t count =
        ask_number(reader_, fmt::format("SELECT count(DISTINCT x.code) {}", from), {code});
    if (count == 0) return;
    for (const auto& cells : reader_.connection().ask(
             fmt::format(
                 "SELECT DISTINCT x.code, x.at_ms {} ORDER BY x.at_ms DESC, x.code DESC LIMIT {}",
                 from,
                 most_of_a_kind),
             {code}))
      add(table, text(cells[0]), count);
  }

  [[nodiscard]] List take() {
    std::ranges::sort(groups_, {}, [](const Group& group) { return place_in_flow(group.table); });
    List list;
    for (Group& group : groups_)
      list.push_back(Object{{"kind", std::string{works::kind_of_table(group.table).name}},
                            {"count", group.count},
                            {"things", std::move(group.things)}});
    return list;
  }

 private:
  struct Group {
    std::string table;
    std::int64_t count{};
    std::vector<std::string> codes{};
    List things{};
  };
  Group& group_of(std::string_view table) {
    for (Group& group : groups_)
      if (group.table == table) return group;
    groups_.push_back({std::string{table}});
    return groups_.back();
  }
  Reader& reader_;
  std::vector<Group> groups_;
};

/// Whether a row of `table` that names one of `named` in this field comes after it in the flow.
bool comes_after(std::string_view table, std::string_view named) {
  if (table == named) return true;  // what grew from it
  return place_in_flow(table) > place_in_flow(named);
}

void by_fields(Reader& reader, const works::Kind& kind, const Row& row, Side& before, Side& after) {
  for (const works::Field& field : kind.fields)
    if (!field.refers_to.empty())
      if (const std::string code = text(at(row, field.name)); !code.empty())
        (comes_after(kind.table, field.refers_to) ? before : after).add(field.refers_to, code);
  const std::string code = text(at(row, "code"));
  for (const works::Kind& other : works::kinds()) {
    if (place_in_flow(other.table) == flow.size()) continue;
    for (const works::Field& field : other.fields)
      if (field.refers_to == kind.table)
        (comes_after(other.table, kind.table) ? after : before)
            .found(other.table,
                   fmt::format("FROM {} x WHERE x.\"{}\" = $1 AND coalesce(x.void, 0) = 0",
                               other.table,
                               field.name),
                   code);
  }
  static_cast<void>(reader);
}

/// What the ledger ties together: discs of a run lie on spindles and in cartons; mountings made runs.
void by_discs(const std::string& table, const std::string& code, Side& before, Side& after) {
  const std::string runs_there =
      "FROM run x WHERE coalesce(x.void, 0) = 0 AND x.code IN (SELECT run FROM holding WHERE at = "
      "$1)";
  if (table == "run") {
    for (const char* unit : {"spindle", "carton"})
      after.found(
          unit,
          fmt::format("FROM {} x WHERE coalesce(x.void, 0) = 0 AND x.code IN (SELECT at FROM "
                      "holding WHERE run = $1)",
                      unit),
          code);
    before.found(
        "mounting",
        "FROM mounting x WHERE coalesce(x.void, 0) = 0 AND x.code IN (SELECT mounting FROM "
        "pressing WHERE run = $1 AND coalesce(void, 0) = 0)",
        code);
    before.found("batch",
                 "FROM batch x WHERE coalesce(x.void, 0) = 0 AND x.code IN (SELECT batch FROM "
                 "pressing WHERE run = $1 AND coalesce(void, 0) = 0)",
                 code);
  }
  if (table == "mounting" || table == "batch")
    after.found(
        "run",
        fmt::format("FROM run x WHERE coalesce(x.void, 0) = 0 AND x.code IN (SELECT run FROM "
                    "pressing WHERE {} = $1 AND coalesce(void, 0) = 0)",
                    table),
        code);
  if (table == "spindle" || table == "carton") before.found("run", runs_there, code);
}

Answer neighbours(Board& board, const std::string& code) {
  Object out;
  board.read([&](Reader& reader) {
    const auto thing = line::find_within(reader, code);
    if (!thing) throw Stop{404, fmt::format("the record holds nothing called {}", code)};
    Side before{reader}, after{reader};
    by_fields(reader, *thing->kind, thing->row, before, after);
    by_discs(std::string{thing->kind->table}, code, before, after);
    out = {{"kind", std::string{thing->kind->name}},
           {"code", code},
           {"words", words_of(reader, thing->kind->table, thing->row)},
           {"before", before.take()},
           {"after", after.take()}};
  });
  return answer(out);
}

}  // namespace

std::vector<Route> flow_routes(Board& board) {
  return {{.method = "GET", .path = "/api/flow/{code}", .run = [&](Asked& asked) {
             return neighbours(board, code_of(asked, "code"));
           }}};
}

}  // namespace goodside::serve
