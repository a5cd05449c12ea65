#include <fmt/format.h>

#include <set>

#include "line/close_units.hpp"
#include "line/origin.hpp"
#include "line/read_fields.hpp"
#include "serve/board.hpp"
#include "serve/nodes.hpp"
#include "works/code.hpp"
#include "works/kind.hpp"

namespace goodside::serve {
namespace {

constexpr std::size_t most_hits = 20, longest_query = 80, most_of_a_kind = 5;

std::string capitals(std::string text) {
  for (char& letter : text)
    if (letter >= 'a' && letter <= 'z') letter = static_cast<char>(letter - 'a' + 'A');
  return text;
}

/// What was found, each once, in the order of likelihood.
class Hits {
 public:
  explicit Hits(ledger::Reader& reader) : reader_{reader} {}

  void add(std::string_view table, const ledger::Row& row) {
    const std::string code = ledger::text(ledger::at(row, "code"));
    if (list_.size() >= most_hits || !met_.insert(code).second) return;
    list_.push_back(Object{{"kind", std::string{works::kind_of_table(table).name}},
                           {"code", code},
                           {"label", label(table, row)},
                           {"detail", detail(table, row)}});
  }

  void add_disc(const ledger::Row& run, std::int64_t impression) {
    const std::string code =
        fmt::format("{}/{}", ledger::text(ledger::at(run, "code")), impression);
    if (!met_.insert(code).second) return;
    list_.push_back(Object{{"kind", "disc"},
                           {"code", code},
                           {"label", fmt::format("disc {}", impression)},
                           {"detail", detail("run", run)}});
  }

  /// Rows of a table whose column holds this text, whatever the case of letters.
  void where(std::string_view table, std::string_view column, const std::string& part) {
    std::string pattern;
    for (const char letter : part) {
      if (letter == '%' || letter == '_' || letter == '\\') pattern += '\\';
      pattern += letter;
    }
    const auto rows = reader_.connection().ask(
        fmt::format("SELECT code FROM {} WHERE upper(\"{}\") LIKE $1 ESCAPE '\\' AND "
                    "coalesce(void, 0) = 0 ORDER BY at_ms DESC LIMIT {}",
                    table,
                    column,
                    most_of_a_kind),
        {fmt::format("%{}%", capitals(pattern))});
    for (const auto& cells : rows) add(table, *reader_.find(table, cells[0]));
  }

  void codes_from(std::string_view table, const std::string& begins) {
    const auto rows = reader_.connection().ask(
        fmt::format("SELECT code FROM {} WHERE code >= $1 AND code < $2 ORDER BY code LIMIT {}",
                    table,
                    most_of_a_kind),
        {begins, begins + "\x7f"});
    for (const auto& cells : rows) add(table, *reader_.find(table, cells[0]));
  }

  [[nodiscard]] List take() { return std::move(list_); }

 private:
  static std::string label(std::string_view table, const ledger::Row& row) {
    for (const char* column : {"name", "kind", "letter", "reason", "reference", "material"})
      if (const auto text = row.find(column); text != row.end())
        if (const auto* words = std::get_if<std::string>(&text->second)) return *words;
    return std::string{works::kind_of_table(table).name};
  }

  std::string name_of(std::string_view table, const ledger::Value& code) {
    if (ledger::is_null(code)) return {};
    const auto row = reader_.find(table, code);
    return row ? ledger::text(ledger::at(*row, "name")) : std::string{};
  }

  std::string detail(std::string_view table, const ledger::Row& row) {
    const auto at = [&](const char* column) { return ledger::at(row, column); };
    if (table == "title") return ledger::text(at("artist"));
    if (table == "side" || table == "orders" || table == "run")
      return name_of("title", at("title"));
    if (table == "part") return ledger::text(at("state"));
    if (table == "ticket")
      return fmt::format("disc {} of {}, {}",
                         ledger::whole(at("first")),
                         ledger::text(at("run")),
                         ledger::text(at("heard")));
    if (table == "carton") return ledger::text(at("state"));
    return {};
  }

  ledger::Reader& reader_;
  List list_;
  std::set<std::string> met_;
};

/// "R-00001-9 250", "R-00001-9/250": a disc of a run.
void find_disc(ledger::Reader& reader, const std::string& query, Hits& hits) {
  const auto gap = query.find_last_of(" /#");
  if (gap == std::string::npos) return;
  const auto impression = whole_number(std::string_view{query}.substr(gap + 1));
  const auto code = works::read_code(std::string_view{query}.substr(0, gap));
  if (!impression || *impression < 1 || !code) return;
  if (const auto run = reader.find("run", *code)) hits.add_disc(*run, *impression);
}

Answer search(Board& board, Asked& asked) {
  std::string query = asked.asked_for("q").value_or("");
  while (!query.empty() && query.front() == ' ') query.erase(0, 1);
  while (!query.empty() && query.back() == ' ') query.pop_back();
  std::string plain = query;  // a scanner sends GS between the elements of a label
  std::erase(plain, '\x1d');
  if (plain.empty() || query.size() > longest_query || !line::fit_text(plain))
    throw Stop{400, fmt::format("q: give what to look for, at most {} bytes", longest_query)};
  List list;
  board.read([&](ledger::Reader& reader) {
    Hits hits{reader};
    if (const auto code = works::read_code(query))
      if (const auto found = line::find_within(reader, *code))
        hits.add(found->kind->table, found->row);
    if (const auto unit = line::unit_by_sscc(reader, query))
      if (const auto found = line::find_within(reader, *unit))
        hits.add(found->kind->table, found->row);
    find_disc(reader, query, hits);
    if (query.size() >= 2) {
      for (const works::Kind& kind : works::kinds()) hits.codes_from(kind.table, capitals(query));
      for (const ledger::Row& ticket : reader.where("ticket", "name", query))
        hits.add("ticket", ticket);
      hits.where("title", "catalogue", query);
      hits.where("title", "gtin", query);
      hits.where("title", "name", query);
      hits.where("title", "artist", query);
      hits.where("side", "matrix", query);
      hits.where("orders", "customer_reference", query);
      hits.where("orders", "customer", query);
      hits.where("press", "name", query);
      hits.where("spindle", "name", query);
    }
    list = hits.take();
  });
  return answer(Object{{"query", query}, {"hits", std::move(list)}});
}

}  // namespace

std::vector<Route> search_routes(Board& board) {
  return {{.method = "GET", .path = "/api/search", .run = [&](Asked& asked) {
             return search(board, asked);
           }}};
}

}  // namespace goodside::serve
