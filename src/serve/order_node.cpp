#include "serve/order_node.hpp"

#include <algorithm>

namespace goodside::serve {

using ledger::at;

json::Node order_node(ledger::Reader& reader, const OrderSum& sum, std::int64_t now_ms) {
  const ledger::Row order = reader.find("orders", sum.code).value_or(ledger::Row{});
  const ledger::Row title = reader.find("title", sum.title).value_or(ledger::Row{});
  const auto in = [&](const char* place) {
    const auto found = sum.places.find(place);
    return found == sum.places.end() ? 0 : found->second;
  };
  const bool open = in("shipped") < sum.quantity;
  return Object{{"code", sum.code},
                {"title", sum.title},
                {"name", ledger::text(at(title, "name"))},
                {"artist", cell(title, "artist")},
                {"format", cell(order, "format")},
                {"material", cell(order, "material")},
                {"quantity", sum.quantity},
                {"due_ms", or_null(sum.due_ms)},
                {"customer", cell(order, "customer")},
                {"impressions", sum.made},
                {"counts", counts_node(sum.places)},
                {"heard", Object{{"waiting", sum.waiting}, {"good", sum.good}, {"bad", sum.bad}}},
                {"done", in("good stock") + in("packed") + in("shipped")},
                {"open", open},
                {"late", open && sum.due_ms && *sum.due_ms < now_ms}};
}

std::map<std::string, std::int64_t> places_of_run(ledger::Reader& reader,
                                                  const std::string& run,
                                                  std::int64_t& made) {
  std::map<std::string, std::int64_t> places;
  made = 0;
  reader.connection().each(
      "SELECT place, CAST(sum(quantity) AS BIGINT) FROM holding WHERE run = $1 GROUP BY place",
      {run},
      [&](const ledger::Values& row) {
        places[ledger::text(row[0])] = ledger::whole(row[1]);
        made += ledger::whole(row[1]);
      });
  return places;
}

json::Node runs_node(ledger::Reader& reader,
                     Standing& standing,
                     std::vector<ledger::Row> runs,
                     std::size_t most) {
  std::ranges::sort(runs, std::greater{}, [](const ledger::Row& row) {
    return std::pair{ledger::whole(at(row, "at_ms")), ledger::text(at(row, "code"))};
  });
  if (runs.size() > most) runs.resize(most);
  List list;
  for (const ledger::Row& run : runs) {
    const std::string code = ledger::text(at(run, "code"));
    std::int64_t made = 0;
    const auto places = places_of_run(reader, code, made);
    list.push_back(Object{{"run", row_node("run", run)},
                          {"impressions", made},
                          {"counts", counts_node(places)},
                          {"heard", tickets_node(standing.tickets_of_run(code))}});
  }
  return list;
}

}  // namespace goodside::serve
