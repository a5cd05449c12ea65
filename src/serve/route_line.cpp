#include <fmt/format.h>

#include "serve/board.hpp"
#include "serve/jobs.hpp"
#include "serve/nodes.hpp"
#include "serve/order_node.hpp"

namespace goodside::serve {
namespace {

constexpr std::int64_t most_orders = 50;

using Sums = std::map<std::string, std::int64_t>;

std::int64_t in(const Sums& sums, const char* key) {
  const auto found = sums.find(key);
  return found == sums.end() ? 0 : found->second;
}

std::int64_t count(ledger::Reader& reader, std::string_view sql) {
  return ledger::whole(reader.connection().ask(sql).at(0).at(0));
}

struct Station {
  const char* name;
  std::int64_t waiting;
  const char* waiting_for;
  const char* state;
  std::vector<std::string> detail{};
};

json::Node station_node(const Station& station) {
  List detail;
  for (const std::string& sentence : station.detail) detail.emplace_back(sentence);
  return Object{{"station", station.name},
                {"waiting", station.waiting},
                {"waiting_for", station.waiting_for},
                {"state", station.state},
                {"detail", std::move(detail)}};
}

Station metal(ledger::Reader& reader) {
  Sums states;
  reader.connection().each(
      "SELECT state, count(*) FROM part WHERE coalesce(void, 0) = 0 GROUP BY state",
      {},
      [&](const ledger::Values& row) { states[ledger::text(row[0])] = ledger::whole(row[1]); });
  const std::int64_t making = in(states, "growing") + in(states, "finishing");
  Station station{"metal", making, "parts growing or being finished", "good"};
  if (const auto ready = in(states, "ready") + in(states, "resting"); ready > 0)
    station.detail.push_back(fmt::format("{} parts are ready or resting", ready));
  if (making == 0) station.state = "unknown";
  return station;
}

Station compound(ledger::Reader& reader) {
  const std::int64_t unpressed = count(
      reader,
      "SELECT count(*) FROM batch b WHERE coalesce(b.void, 0) = 0 AND NOT EXISTS (SELECT 1 FROM "
      "pressing p WHERE p.batch = b.code)");
  return {"compound", unpressed, "batches not pressed yet", unpressed > 0 ? "good" : "unknown"};
}

Station press(ledger::Reader& reader, const Sums& places) {
  std::int64_t mounted = 0;
  for (const auto& row : reader.connection().ask("SELECT code FROM press"))
    mounted += ledger::whole(
        reader.connection()
            .ask("SELECT count(*) FROM mounting WHERE press = $1 AND ended_ms IS NULL AND "
                 "coalesce(void, 0) = 0",
                 {row[0]})
            .at(0)
            .at(0));
  Station station{"press", in(places, "pressed"), "discs pressed, edge not finished", "unknown"};
  station.detail.push_back(fmt::format("{} stamper pairs are mounted", mounted));
  if (mounted > 0) station.state = "good";
  return station;
}

Station bench(const Sums& tickets, const std::vector<OrderSum>& orders, std::int64_t queued) {
  std::int64_t bad = 0;
  for (const OrderSum& order : orders) bad += order.bad;
  const std::int64_t waiting = in(tickets, "waiting");
  Station station{"bench",
                  waiting,
                  "sample discs to be heard",
                  bad > 0                   ? "out"
                  : waiting > 0             ? "suspect"
                  : in(tickets, "good") > 0 ? "good"
                                            : "unknown"};
  if (bad > 0) station.detail.push_back(fmt::format("{} samples of open orders are bad", bad));
  if (queued > 0) station.detail.push_back(fmt::format("{} captures are being analysed", queued));
  return station;
}

Station store(const Sums& places) {
  const std::int64_t suspect = in(places, "suspect"), good = in(places, "good stock");
  Station station{"store",
                  good,
                  "good discs to be packed",
                  suspect > 0 ? "suspect"
                  : good > 0  ? "good"
                              : "unknown"};
  if (suspect > 0) station.detail.push_back(fmt::format("{} discs are suspect", suspect));
  if (const auto lost = in(places, "unaccounted"); lost != 0)
    station.detail.push_back(fmt::format("{} discs are unaccounted for", lost));
  return station;
}

Station dispatch(const Sums& places, const std::vector<OrderSum>& orders, std::int64_t now) {
  std::int64_t late = 0;
  for (const OrderSum& order : orders) late += order.due_ms && *order.due_ms < now ? 1 : 0;
  const std::int64_t packed = in(places, "packed");
  Station station{"dispatch",
                  packed,
                  "packed discs to be shipped",
                  late > 0     ? "out"
                  : packed > 0 ? "good"
                               : "unknown"};
  if (late > 0) station.detail.push_back(fmt::format("{} orders are late", late));
  return station;
}

Answer line_answer(Board& board) {
  Object out;
  board.read([&](ledger::Reader& reader) {
    const std::int64_t now = now_ms();
    const auto orders = board.standing.open_orders(most_orders);
    const Sums places = board.standing.all_places();
    const Sums tickets = board.standing.all_tickets();
    List stations;
    for (const Station& station : {metal(reader),
                                   compound(reader),
                                   press(reader, places),
                                   bench(tickets, orders, board.jobs.unfinished()),
                                   store(places),
                                   dispatch(places, orders, now)})
      stations.push_back(station_node(station));
    List list;
    for (const OrderSum& order : orders) list.push_back(order_node(reader, order, now));
    out = {{"works", board.place.name},
           {"zone", board.place.zone},
           {"seq", ledger::head_of(reader.connection()).seq},
           {"stations", std::move(stations)},
           {"orders", std::move(list)},
           {"open_orders", board.standing.open_order_count()}};
  });
  return answer(out);
}

Answer state_answer(Board& board, Asked& asked) {
  const ledger::Head head = board.records.head();
  const std::int64_t jobs = board.jobs.version();
  const std::string tag = fmt::format("\"{}-{}-{}\"", head.seq, head.hash.substr(0, 8), jobs);
  Answer done = asked.header("If-None-Match") == tag
                    ? Answer{.status = 304}
                    : answer(Object{{"record", Object{{"seq", head.seq}, {"hash", head.hash}}},
                                    {"jobs", jobs},
                                    {"now_ms", now_ms()}});
  done.headers.emplace_back("ETag", tag);
  return done;
}

}  // namespace

std::vector<Route> line_routes(Board& board) {
  return {{.method = "GET",
           .path = "/api/state",
           .own_tag = true,
           .run = [&](Asked& asked) { return state_answer(board, asked); }},
          {.method = "GET", .path = "/api/line", .with_jobs = true, .run = [&](Asked&) {
             return line_answer(board);
           }}};
}

}  // namespace goodside::serve
