#include "line/repack.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "line/add_noun.hpp"
#include "line/close_units.hpp"

namespace goodside::line {
namespace {

using ledger::at;
using ledger::or_refuse;
using ledger::refuse;
using ledger::Row;
using ledger::text;
using ledger::Writer;
using works::Place;
using works::Spot;

std::string run_in(Writer& writer, const TakeOut& out) {
  if (!out.run.empty()) return text(at(writer.need("run", out.run), "code"));
  const auto runs = writer.connection().ask(
      "SELECT DISTINCT run FROM holding WHERE at = $1 AND place = 'packed'", {out.carton});
  if (runs.empty())
    refuse(Fault::not_found, fmt::format("no packed discs are in carton {}", out.carton));
  if (runs.size() > 1)
    refuse(Fault::conflict,
           fmt::format("carton {} holds discs of several runs; say which with --run", out.carton));
  return text(runs[0][0]);
}

/// Out of an open carton; `to` says where.
Moved move_out(Writer& writer, const TakeOut& out, const Spot& to) {
  const Row carton = writer.need("carton", out.carton);
  if (const std::string state = text(at(carton, "state")); state != "open")
    refuse(Fault::conflict,
           fmt::format("carton {} is {}; open it first with `goodside pack open {}`",
                       out.carton,
                       state,
                       out.carton));
  const std::string run = run_in(writer, out);
  Moved moved;
  moved.movements = or_refuse(choose_stock(writer.stock(run),
                                           {.run = run,
                                            .impressions = out.impressions,
                                            .quantity = out.quantity,
                                            .places = {Place::packed},
                                            .at = out.carton},
                                           [&](const Spot&) { return to; }));
  moved.discs = discs_of(moved.movements);
  if (to.place == Place::packed) fits_carton(writer, to.at, run, moved.discs);
  post_all(writer, moved.movements);
  return moved;
}

}  // namespace

Result<Moved> take_out(const Desk& desk, const TakeOut& out) {
  if (out.carton == out.to_carton)
    return Error{Fault::bad_input, "they are in that carton already; name another"};
  Moved moved;
  const auto head = desk.record.write(desk.act("take out", out.carton), [&](Writer& writer) {
    if (!out.to_spindle.empty()) static_cast<void>(writer.need("spindle", out.to_spindle));
    moved = move_out(writer,
                     out,
                     out.to_carton.empty() ? Spot{Place::good_stock, out.to_spindle, "", {}}
                                           : Spot{Place::packed, out.to_carton, "", {}});
  });
  if (!head) return head.error();
  moved.head = *head;
  return moved;
}

Result<Split> split_carton(const Desk& desk, const TakeOut& out) {
  Split split;
  const auto head = desk.record.write(desk.act("split", out.carton), [&](Writer& writer) {
    const Row carton = writer.need("carton", out.carton);
    split.code = add_within(writer,
                            works::kind_of_table("carton"),
                            {{"order", at(carton, "order")}, {"capacity", at(carton, "capacity")}});
    split.moved = move_out(writer, out, {Place::packed, split.code, "", {}});
    if (discs_at(writer, out.carton) == split.moved.discs)
      refuse(Fault::conflict,
             fmt::format(
                 "carton {} would be empty; give --quantity or --impressions of what leaves it",
                 out.carton));
  });
  if (!head) return head.error();
  split.moved.head = *head;
  return split;
}

namespace {

/// Suspect stock of a run that lies in cartons.
struct Packed {
  std::string run;
  works::Holding holding;
};

std::vector<Packed> packed_suspects(Writer& writer, const SuspectPull& pull) {
  std::vector<std::string> runs;
  std::string carton;
  if (writer.find("run", pull.from)) {
    runs = {pull.from};
  } else if (writer.find("carton", pull.from)) {
    carton = pull.from;
    for (const auto& cell : writer.connection().ask(
             "SELECT DISTINCT run FROM holding WHERE at = $1 ORDER BY run", {carton}))
      runs.push_back(text(cell[0]));
  } else if (writer.find("orders", pull.from)) {
    for (const Row& run : writer.standing("run", "order", pull.from))
      runs.push_back(text(at(run, "code")));
  } else {
    refuse(Fault::not_found, fmt::format("there is no order, run or carton {}", pull.from));
  }
  if (pull.impressions && runs.size() != 1)
    refuse(Fault::bad_input, "impressions are counted by run; name the run");
  std::vector<Packed> found;
  for (const std::string& run : runs)
    for (const works::Holding& holding : writer.stock(run).holdings())
      if (holding.spot.place == Place::suspect && holding.quantity > 0 &&
          (carton.empty() ? writer.find("carton", holding.spot.at).has_value()
                          : holding.spot.at == carton) &&
          (!pull.impressions || holding.impressions.meets(*pull.impressions)))
        found.push_back({run, holding});
  return found;
}

}  // namespace

Result<PulledOut> pull_suspects(const Desk& desk, const SuspectPull& pull) {
  PulledOut pulled;
  const auto head = desk.record.write(desk.act("pull suspects", pull.from), [&](Writer& writer) {
    pulled = {};
    if (!pull.to_spindle.empty()) static_cast<void>(writer.need("spindle", pull.to_spindle));
    std::map<std::string, PulledOut::Carton> cartons;
    for (const auto& [run, holding] : packed_suspects(writer, pull)) {
      const std::string& code = holding.spot.at;
      // Only what lies in the range asked for, where every disc is known.
      works::Impressions which = holding.impressions;
      if (pull.impressions && holding.exact())
        which = {std::max(which.first, pull.impressions->first),
                 std::min(which.last, pull.impressions->last)};
      const std::int64_t discs = holding.exact() ? which.width() : holding.quantity;
      Spot to = holding.spot;
      to.at = pull.to_spindle;
      if (to.from == Place::packed) to.from = Place::good_stock;
      writer.post({run, which, discs, holding.spot, to});
      auto& carton = cartons[code];
      carton.code = code;
      carton.out += discs;
      pulled.discs += discs;
    }
    if (pulled.discs == 0)
      refuse(Fault::not_found,
             fmt::format(
                 "no suspect discs of {} are in cartons; `goodside works where {}` shows what is "
                 "where",
                 pull.from,
                 pull.from));
    for (auto& [code, carton] : cartons) {
      carton.opened = text(at(writer.need("carton", code), "state")) == "closed";
      open_within(writer, code);
      pulled.cartons.push_back(carton);
    }
  });
  if (!head) return head.error();
  const auto asked = desk.record.read([&](ledger::Reader& reader) {
    for (auto& carton : pulled.cartons) carton.left = discs_at(reader, carton.code);
  });
  if (!asked) return asked.error();
  pulled.head = *head;
  return pulled;
}

}  // namespace goodside::line
