#include <fmt/format.h>

#include <map>

#include "line/family_of_record.hpp"
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

const char* part_word(works::FamilyPartKind kind) {
  switch (kind) {
    case works::FamilyPartKind::cut:
      return "cut";
    case works::FamilyPartKind::father:
      return "father";
    case works::FamilyPartKind::mother:
      return "mother";
    case works::FamilyPartKind::stamper:
      return "stamper";
  }
  return "stamper";
}

json::Node range_or_null(const std::optional<works::Impressions>& range) {
  return range ? range_node(range->first, range->last) : json::Node{};
}

json::Node discs_node(Board& board,
                      Reader& reader,
                      const works::Family& family,
                      works::DiscSide side,
                      const std::string& letter) {
  List discs;
  for (const works::FamilyDisc& disc : family.discs) {
    std::string report;
    for (const Play& play : board.standing.plays_of_ticket(disc.id))
      if (play.letter == letter) report = play.report;
    const auto ticket = reader.find("ticket", disc.id);
    const std::string heard = ticket ? text(at(*ticket, "heard")) : "";
    discs.push_back(Object{{"id", disc.id},
                           {"run", disc.run},
                           {"impression", range_or_null(disc.impression)},
                           {"stamper", or_null(disc.stamper_of(side))},
                           {"mounting", or_null(disc.mounting)},
                           {"fetchable", disc.fetchable},
                           {"heard", heard.empty() ? "waiting" : heard},
                           {"report", or_null(report)}});
  }
  return discs;
}

Answer family(Board& board, const std::string& code) {
  Object out;
  board.read([&](Reader& reader) {
    const Row row = need(reader, "side", code);
    const std::string letter = text(at(row, "letter"));
    const auto side = !letter.empty() && (letter.front() - 'A') % 2 == 1 ? works::DiscSide::B
                                                                         : works::DiscSide::A;
    const works::Family family = line::family_within(reader, code);
    List parts, mountings;
    for (const works::FamilyPart& part : family.parts)
      parts.push_back(Object{{"id", part.id},
                             {"kind", part_word(part.kind)},
                             {"parent", or_null(part.parent)},
                             {"grown", or_null(part.grown)}});
    std::map<std::string, std::optional<works::Impressions>> mounted;
    std::int64_t made = 0;
    for (const auto& cells : reader.connection().ask(
             "SELECT p.mounting, min(p.title_first), max(p.title_first + p.\"last\" - p.\"first\") "
             "FROM pressing p JOIN run u ON u.code = p.run WHERE u.title = $1 AND coalesce(p.void, "
             "0) = 0 AND p.title_first IS NOT NULL GROUP BY p.mounting",
             {at(row, "title")})) {
      made = std::max(made, whole(cells[2]));
      if (!ledger::is_null(cells[0]))
        mounted[text(cells[0])] = works::Impressions{whole(cells[1]), whole(cells[2])};
    }
    for (const auto& [mounting, range] : mounted) {
      const Row found = reader.find("mounting", mounting).value_or(Row{});
      mountings.push_back(
          Object{{"id", mounting},
                 {"stamper", cell(found, side == works::DiscSide::A ? "stamper_a" : "stamper_b")},
                 {"press", cell(found, "press")},
                 {"impressions", range_or_null(range)}});
    }
    out = {{"side", code},
           {"parts", std::move(parts)},
           {"mountings", std::move(mountings)},
           {"discs", discs_node(board, reader, family, side, letter)},
           {"impressions", made}};
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
