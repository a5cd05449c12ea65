#include <fmt/format.h>

#include <map>
#include <set>

#include "serve/board.hpp"
#include "serve/jobs.hpp"
#include "serve/nodes.hpp"

namespace goodside::serve {
namespace {

using ledger::at;
using ledger::Reader;
using ledger::Row;
using ledger::text;
using ledger::whole;

/// The newest trace of the side as it was made, and whether it still stands; what is behind is made
/// anew in the background.
Answer trace(Board& board, Asked& asked) {
  const std::string side = code_of(asked, "code");
  std::int64_t now_seq = 0, plays = 0;
  board.read([&](Reader& reader) {
    const Row row = need(reader, "side", side);
    now_seq = board.standing.title_seq(text(at(row, "title")));
    plays = board.standing.side(side).plays;
  });
  const auto made = board.jobs.traced(side);
  std::string state = "current", job, error;
  if (plays == 0) {
    state = "nothing heard";
  } else if (!made || made->seq < now_seq) {
    state = made ? "stale" : "making";
    const auto last = board.jobs.last_trace(side);
    // One that failed on this very state would fail again.
    if (last && last->state == "failed" && last->seq >= now_seq) {
      state = made ? "stale" : "failed";
      error = last->error;
      job = last->id;
    } else {
      job = board.jobs.ask_trace(side, now_seq, asked.session.name);
    }
  }
  // The trace's text goes in as it is: it has some megabytes and need not be read.
  std::string body =
      json::one_line(Object{{"side", side},
                            {"state", state},
                            {"as_of_seq", made ? json::Node{made->seq} : json::Node{}},
                            {"job", or_null(job)},
                            {"error", or_null(error)}});
  body.pop_back();
  body += ",\"trace\":" + (made ? made->text : "null") + "}";
  return {.type = "application/json", .body = std::move(body)};
}

/// The mountings of the title with the stamper of this side, and how far its impressions go.
struct Mounted {
  List nodes{};
  std::map<std::string, std::string> stampers{};  ///< by mounting
  std::int64_t made{};
};

Mounted mountings_of(Reader& reader, const Row& side, const char* stamper) {
  Mounted all;
  for (const auto& cells : reader.connection().ask(
           "SELECT p.mounting, min(p.title_first), max(p.title_first + p.\"last\" - p.\"first\") "
           "FROM run u JOIN pressing p ON p.run = u.code WHERE u.title = $1 AND coalesce(p.void, "
           "0) "
           "= 0 AND p.title_first IS NOT NULL GROUP BY p.mounting ORDER BY 2",
           {at(side, "title")})) {
    all.made = std::max(all.made, whole(cells[2]));
    if (ledger::is_null(cells[0])) continue;
    const Row found = reader.find("mounting", cells[0]).value_or(Row{});
    all.stampers[text(cells[0])] = text(at(found, stamper));
    all.nodes.push_back(Object{{"id", text(cells[0])},
                               {"stamper", cell(found, stamper)},
                               {"press", cell(found, "press")},
                               {"impressions", range_node(whole(cells[1]), whole(cells[2]))}});
  }
  return all;
}

/// The metal from the stampers up; what goes on a press stands as a stamper whatever grew it, and
/// lacquer and wax as the cut.
List parts_of(Reader& reader, const Mounted& mounted) {
  std::set<std::string> pressing, met;
  for (const auto& [mounting, stamper] : mounted.stampers)
    if (!stamper.empty()) pressing.insert(stamper);
  List parts;
  for (const std::string& first : pressing)
    for (std::string code = first; !code.empty() && met.insert(code).second;) {
      const auto row = reader.find("part", code);
      if (!row) break;
      const std::string kind = text(at(*row, "kind")), parent = text(at(*row, "parent"));
      const bool grown = kind == "father" || kind == "mother" || kind == "stamper";
      parts.push_back(Object{{"id", code},
                             {"kind",
                              pressing.contains(code) ? "stamper"
                              : grown                 ? kind
                                                      : "cut"},
                             {"parent", or_null(parent)},
                             {"grown", cell(*row, "grown")}});
      code = parent;
    }
  return parts;
}

/// Every sampled disc of the title, in one question: there may be thousands.
List discs_of(Board& board, Reader& reader, const Row& side, const Mounted& mounted) {
  std::set<std::string> here;
  reader.connection().each(
      "SELECT h.at FROM run u JOIN holding h ON h.run = u.code WHERE u.title = $1 AND h.place = "
      "'in "
      "sample' AND h.quantity > 0",
      {at(side, "title")},
      [&](const ledger::Values& row) { here.insert(text(row[0])); });
  const auto reports = board.standing.reports_by_ticket(text(at(side, "code")));
  List discs;
  reader.connection().each(
      "SELECT t.code, t.run, t.\"first\", t.\"last\", t.heard, coalesce(t.mounting, p.mounting), "
      "p.title_first, p.\"first\" FROM run u JOIN ticket t ON t.run = u.code LEFT JOIN pressing p "
      "ON "
      "p.run = t.run AND p.\"first\" <= t.\"first\" AND p.\"last\" >= t.\"first\" AND "
      "coalesce(p.void, 0) = 0 WHERE u.title = $1 AND coalesce(t.void, 0) = 0",
      {at(side, "title")},
      [&](const ledger::Values& row) {
        const std::string ticket = text(row[0]), mounting = text(row[5]);
        const auto stamper = mounted.stampers.find(mounting);
        const auto report = reports.find(ticket);
        json::Node impression;
        if (!ledger::is_null(row[6])) {
          const std::int64_t shift = whole(row[6]) - whole(row[7]);
          impression = range_node(whole(row[2]) + shift, whole(row[3]) + shift);
        }
        discs.push_back(Object{
            {"id", ticket},
            {"run", text(row[1])},
            {"impression", std::move(impression)},
            {"stamper",
             stamper == mounted.stampers.end() ? json::Node{} : or_null(stamper->second)},
            {"mounting", or_null(mounting)},
            {"fetchable", here.contains(ticket)},
            {"heard", ledger::is_null(row[4]) ? "waiting" : text(row[4])},
            {"report", report == reports.end() ? json::Node{} : json::Node{report->second}}});
      });
  return discs;
}

Answer family(Board& board, const std::string& code) {
  Object out;
  board.read([&](Reader& reader) {
    const Row side = need(reader, "side", code);
    const std::string letter = text(at(side, "letter"));
    const bool second = !letter.empty() && (letter.front() - 'A') % 2 == 1;
    Mounted mounted = mountings_of(reader, side, second ? "stamper_b" : "stamper_a");
    List parts = parts_of(reader, mounted);
    List discs = discs_of(board, reader, side, mounted);
    out = {{"side", code},
           {"parts", std::move(parts)},
           {"mountings", std::move(mounted.nodes)},
           {"discs", std::move(discs)},
           {"impressions", mounted.made}};
  });
  return answer(out);
}

}  // namespace

std::vector<Route> trace_routes(Board& board) {
  return {{.method = "GET",
           .path = "/api/sides/{code}/trace",
           .with_jobs = true,
           .run = [&](Asked& asked) { return trace(board, asked); }},
          {.method = "GET", .path = "/api/sides/{code}/family", .run = [&](Asked& asked) {
             return family(board, code_of(asked, "code"));
           }}};
}

}  // namespace goodside::serve
