#include <fmt/format.h>

#include "serve/board.hpp"
#include "serve/heard_node.hpp"
#include "serve/nodes.hpp"
#include "serve/reports.hpp"

namespace goodside::serve {
namespace {

using ledger::at;
using ledger::Reader;
using ledger::Row;
using ledger::text;
using ledger::whole;

constexpr std::size_t most_faults = 200;

Answer sides(Board& board, Asked& asked) {
  const std::int64_t limit = asked.number("limit", 1, 200, 50);
  const std::int64_t from = asked.number("after", 0, 1'000'000'000, 0);
  List list;
  board.read([&](Reader& reader) {
    for (const HeardSum& sum : board.standing.sides(from, limit))
      list.push_back(side_node(reader, sum));
  });
  const json::Node next = list.size() < static_cast<std::size_t>(limit)
                              ? json::Node{}
                              : json::Node{fmt::format("{}", from + limit)};
  return answer(Object{{"sides", std::move(list)}, {"next", next}});
}

std::int64_t closings(Reader& reader, const std::string& stamper) {
  std::int64_t all = 0;
  for (const char* column : {"stamper_a", "stamper_b"})
    for (const Row& mounting : reader.standing("mounting", column, stamper))
      for (const auto& row : reader.connection().ask(
               "SELECT CAST(coalesce(sum(\"last\" - \"first\" + 1), 0) AS BIGINT) FROM pressing "
               "WHERE mounting = $1 AND coalesce(void, 0) = 0",
               {at(mounting, "code")}))
        all += whole(row[0]);
  return all;
}

Answer side(Board& board, const std::string& code) {
  Object out;
  board.read([&](Reader& reader) {
    const Row row = need(reader, "side", code);
    List stampers;
    for (const HeardSum& sum : board.standing.stampers(code))
      stampers.push_back(stamper_node(sum, sum.key.empty() ? 0 : closings(reader, sum.key)));
    const HeardSum sum = board.standing.side(code);
    out = {{"side", row_node("side", row)},
           {"title", row_node("title", need(reader, "title", text(at(row, "title"))))},
           {"cuts", rows_node("cut", reader.standing("cut", "side", code))},
           {"shape", shape_node(reader, row)},
           {"plays", sum.plays},
           {"passed", sum.passed},
           {"stampers", std::move(stampers)}};
  });
  return answer(out);
}

PlayChoice choice_of(const Asked& asked, std::int64_t most, std::int64_t usual) {
  PlayChoice choice{.side = code_of(asked, "code")};
  choice.stamper = asked.asked_for("stamper");
  choice.after = asked.asked_for("after").value_or("");
  choice.limit = asked.number("limit", 1, most, usual);
  if (const auto verdict = asked.asked_for("verdict")) {
    if (*verdict != "pass" && *verdict != "fail") throw Stop{400, "verdict: give pass or fail"};
    choice.pass = *verdict == "pass";
  }
  if (const auto order = asked.asked_for("order")) {
    if (*order != "impression" && *order != "newest")
      throw Stop{400, "order: give impression or newest"};
    choice.newest_first = *order == "newest";
  }
  return choice;
}

json::Node next_of(const std::vector<Play>& plays, std::int64_t limit) {
  return plays.size() < static_cast<std::size_t>(limit) ? json::Node{}
                                                        : json::Node{plays.back().report};
}

Answer plays(Board& board, Asked& asked) {
  const PlayChoice choice = choice_of(asked, 200, 50);
  Object out;
  board.read([&](Reader& reader) {
    static_cast<void>(need(reader, "side", choice.side));
    const auto found = board.standing.plays(choice);
    List list;
    for (const Play& play : found) list.push_back(play_node(play));
    out = {{"plays", std::move(list)},
           {"total", board.standing.count(choice)},
           {"next", next_of(found, choice.limit)}};
  });
  return answer(out);
}

/// The loudest faults over the noise, as the record keeps them.
json::Node faults_node(Reader& reader, const std::string& report, std::int64_t& count) {
  List list;
  count = 0;
  for (const auto& row : reader.connection().ask(
           "SELECT what, audibility, programme_s, angle_deg, radius_m, \"excess_dB\" FROM fault "
           "WHERE report = $1 AND coalesce(void, 0) = 0 ORDER BY \"excess_dB\" DESC, code",
           {report})) {
    ++count;
    if (list.size() >= most_faults) continue;
    const auto real = [](const ledger::Value& value) {
      const auto* number = std::get_if<double>(&value);
      return number == nullptr ? json::Node{} : json::Node{*number};
    };
    list.push_back(Object{{"id", {}},
                          {"kind", text(row[0])},
                          {"audibility", text(row[1])},
                          {"programme_s", real(row[2])},
                          {"angle_deg", real(row[3])},
                          {"radius_m", real(row[4])},
                          {"excess_dB", real(row[5])}});
  }
  return list;
}

Answer sheet(Board& board, Asked& asked) {
  const PlayChoice choice = choice_of(asked, 60, 24);
  Object out;
  board.read([&](Reader& reader) {
    const Row row = need(reader, "side", choice.side);
    const auto found = board.standing.plays(choice);
    List list;
    for (const Play& play : found) {
      std::int64_t count = 0;
      json::Node faults = faults_node(reader, play.report, count);
      List not_heard;
      for (const auto& [from_s, to_s] :
           board.reports.not_heard(need(reader, "report", play.report)))
        not_heard.push_back(List{from_s, to_s});
      list.push_back(Object{{"play", play_node(play)},
                            {"faults", std::move(faults)},
                            {"fault_count", count},
                            {"not_heard", std::move(not_heard)}});
    }
    out = {{"side", choice.side},
           {"shape", shape_node(reader, row)},
           {"plays", std::move(list)},
           {"total", board.standing.count(choice)},
           {"next", next_of(found, choice.limit)}};
  });
  return answer(out);
}

}  // namespace

std::vector<Route> side_routes(Board& board) {
  return {{.method = "GET",
           .path = "/api/sides",
           .run = [&](Asked& asked) { return sides(board, asked); }},
          {.method = "GET",
           .path = "/api/sides/{code}",
           .run = [&](Asked& asked) { return side(board, code_of(asked, "code")); }},
          {.method = "GET",
           .path = "/api/sides/{code}/plays",
           .run = [&](Asked& asked) { return plays(board, asked); }},
          {.method = "GET", .path = "/api/sides/{code}/sheet", .run = [&](Asked& asked) {
             return sheet(board, asked);
           }}};
}

}  // namespace goodside::serve
