#include "line/quarantine.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <map>
#include <set>

#include "draw/trace_words.hpp"
#include "line/choose_stock.hpp"
#include "line/read_fields.hpp"
#include "line/sample_tickets.hpp"

namespace goodside::line {
namespace {

using ledger::at;
using ledger::Row;
using ledger::text;
using ledger::whole;
using ledger::Writer;
using works::Impressions;
using works::Place;
using works::Spot;

/// Thrown to leave the transaction without entering anything.
struct TrialEnd {};

/// Impressions of each run that the title counts among these, joined where they touch.
std::map<std::string, std::vector<Impressions>> by_run(Writer& writer,
                                                       const std::string& title,
                                                       const std::vector<Impressions>& wanted,
                                                       std::set<std::string>& uncounted) {
  std::map<std::string, std::vector<Impressions>> runs;
  for (const Row& run : writer.where("run", "title", title)) {
    if (whole(at(run, "void")) != 0) continue;
    const std::string code = text(at(run, "code"));
    auto& ranges = runs[code];
    for (const Row& pressing : writer.where("pressing", "run", code)) {
      if (whole(at(pressing, "void")) != 0) continue;
      if (ledger::is_null(at(pressing, "title_first"))) {
        uncounted.insert(code);
        continue;
      }
      const std::int64_t first = whole(at(pressing, "first")), last = whole(at(pressing, "last"));
      const std::int64_t shift = whole(at(pressing, "title_first")) - first;
      for (const Impressions& range : wanted) {
        const Impressions part{std::max(first, range.first - shift),
                               std::min(last, range.last - shift)};
        if (part.first <= part.last) ranges.push_back(part);
      }
    }
    std::ranges::sort(ranges);
    std::vector<Impressions> joined;
    for (const Impressions& range : ranges)
      if (!joined.empty() && range.first <= joined.back().last + 1)
        joined.back().last = std::max(joined.back().last, range.last);
      else
        joined.push_back(range);
    ranges = std::move(joined);
  }
  return runs;
}

class Quarantine {
 public:
  explicit Quarantine(Writer& writer) : writer_{writer} {}

  /// Counts what is beyond a hold: suspect already, or gone.
  void look(const std::string& run, const Impressions& range) {
    for (const works::Holding& holding : writer_.stock(run).holdings()) {
      if (holding.quantity <= 0 || !holding.impressions.meets(range)) continue;
      const Impressions both{std::max(range.first, holding.impressions.first),
                             std::min(range.last, holding.impressions.last)};
      const std::int64_t most = std::min(holding.quantity, both.width());
      if (holding.spot.place == Place::suspect && !held_until_heard(holding.spot.reason))
        done.already += most;
      if (holding.spot.place == Place::shipped) left(holding.spot.at, most);
    }
  }

  void hold(const std::string& run, const Impressions& range, const std::string& reason) {
    std::set<std::string> waiting;
    for (const works::Holding& holding : writer_.stock(run).holdings())
      if (holding.spot.place == Place::suspect && held_until_heard(holding.spot.reason))
        waiting.insert(holding.spot.reason);
    for (const std::string& until_heard : waiting)
      done.kept += post({.run = run,
                         .impressions = range,
                         .places = {Place::suspect},
                         .reason = until_heard,
                         .all_that_may_be = true},
                        [&](const Spot& spot) {
                          return Spot{Place::suspect, spot.at, reason, spot.from};
                        });
    done.discs +=
        post({.run = run,
              .impressions = range,
              .places = {Place::pressed, Place::edge_finished, Place::good_stock, Place::packed},
              .all_that_may_be = true},
             [&](const Spot& spot) {
               return Spot{Place::suspect, spot.at, reason, spot.place};
             });
  }

  Quarantined end() {
    done.cartons.assign(cartons_.begin(), cartons_.end());
    for (auto& [code, shipment] : shipped_) done.shipped.push_back(std::move(shipment));
    return std::move(done);
  }

  Quarantined done;

 private:
  /// How many discs it moved; none where there is nothing of the choice.
  std::int64_t post(const Choice& choice, const std::function<Spot(const Spot&)>& to) {
    const auto chosen = choose_stock(writer_.stock(choice.run), choice, to);
    if (!chosen) return 0;
    std::int64_t discs = 0;
    for (const works::Movement& movement : *chosen) {
      writer_.post(movement);
      discs += movement.quantity;
      if (movement.from.place == Place::packed) cartons_.insert(movement.from.at);
      done.movements.push_back(movement);
    }
    return discs;
  }

  void left(const std::string& carton, std::int64_t discs) {
    done.gone += discs;
    std::string code;
    if (const auto row = writer_.find("carton", carton)) code = text(at(*row, "shipment"));
    RecalledShipment& shipment = shipped_[code];
    shipment.shipment = code;
    if (const auto row = writer_.find("shipment", code)) shipment.to = text(at(*row, "to"));
    if (!carton.empty() && std::ranges::find(shipment.cartons, carton) == shipment.cartons.end())
      shipment.cartons.push_back(carton);
    shipment.discs += discs;
  }

  Writer& writer_;
  std::set<std::string> cartons_;
  std::map<std::string, RecalledShipment> shipped_;
};

}  // namespace

Result<SuspectOrder> suspect_order(const works::TraceReport& trace,
                                   int fault,
                                   const std::string& side) {
  const auto found = std::ranges::find(trace.recurring, fault, &works::RecurringFault::id);
  if (found == trace.recurring.end()) {
    std::string ids;
    for (const auto& one : trace.recurring)
      ids += fmt::format("{}{}", ids.empty() ? "" : ", ", one.id);
    return Error{Fault::not_found,
                 ids.empty() ? "the trace holds no recurring fault; nothing is to be held"
                             : fmt::format("the trace holds no fault {}; it holds {}", fault, ids)};
  }
  const std::string& code = side.empty() ? trace.works_side : side;
  if (code.empty())
    return Error{Fault::bad_input,
                 "the trace was made from a family file and does not say which side of the record "
                 "it is of; trace with --works, or give --side SD-0001-A"};
  if (!side.empty() && !trace.works_side.empty() && side != trace.works_side)
    return Error{
        Fault::bad_input,
        fmt::format(
            "the trace is of side {}, not of {}; give its own or none", trace.works_side, side)};
  if (found->suspect.impressions.empty())
    return Error{Fault::bad_input,
                 fmt::format("fault {} makes no stock suspect; there is nothing to hold", fault)};
  return SuspectOrder{.side = code,
                      .fault = fault,
                      .impressions = found->suspect.impressions,
                      .reason = fmt::format("fault {} of {}: {}, {}",
                                            fault,
                                            code,
                                            draw::fault_name(*found),
                                            draw::named(found->cause))};
}

Result<Quarantined> quarantine(const Desk& desk, const SuspectOrder& order, bool try_only) {
  if (const auto fit = fit_text(order.reason); !fit) return fit.error();
  Quarantined done;
  try {
    const auto head =
        desk.record.write(desk.act("quarantine: " + order.reason, order.side), [&](Writer& writer) {
          const std::string title = text(at(writer.need("side", order.side), "title"));
          std::set<std::string> uncounted;
          Quarantine held{writer};
          const auto runs = by_run(writer, title, order.impressions, uncounted);
          for (const auto& [run, ranges] : runs)
            for (const Impressions& range : ranges) held.look(run, range);
          for (const auto& [run, ranges] : runs)
            for (const Impressions& range : ranges) held.hold(run, range, order.reason);
          done = held.end();
          done.uncounted.assign(uncounted.begin(), uncounted.end());
          if (try_only) throw TrialEnd{};
        });
    if (!head) return head.error();
    if (!done.movements.empty()) done.head = *head;
  } catch (const TrialEnd&) {
  }
  return done;
}

}  // namespace goodside::line
