#include "line/fill_cartons.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "line/add_noun.hpp"
#include "line/close_units.hpp"
#include "line/move_discs.hpp"
#include "line/order_state.hpp"

namespace goodside::line {
namespace {

using ledger::at;
using ledger::refuse;
using ledger::Row;
using ledger::text;
using ledger::whole;
using ledger::Writer;
using works::Holding;
using works::Impressions;
using works::Movement;
using works::Place;

/// Good stock that may be taken, with its run; in the order of runs and impressions.
struct Source {
  std::string run;
  Holding holding;
};

std::vector<std::string> runs_of(Writer& writer, const Filling& filling, std::string& order) {
  if (const auto run = writer.find("run", filling.from)) {
    order = text(at(writer.need("run", filling.from), "order"));
    return {filling.from};
  }
  if (!writer.find("orders", filling.from))
    refuse(Fault::not_found, fmt::format("there is no order or run {}", filling.from));
  if (filling.impressions)
    refuse(Fault::bad_input, "impressions are counted by run; name the run instead of the order");
  order = text(at(writer.need("orders", filling.from), "code"));
  std::vector<std::string> runs;
  for (const Row& run : writer.standing("run", "order", order))
    if (text(at(run, "purpose")) != "test") runs.push_back(text(at(run, "code")));
  return runs;
}

std::vector<Source> sources(Writer& writer,
                            const std::vector<std::string>& runs,
                            const Filling& filling) {
  std::vector<Source> found;
  for (const std::string& run : runs)
    for (Holding holding : writer.stock(run).holdings()) {
      if (holding.spot.place != Place::good_stock || holding.quantity <= 0) continue;
      if (!filling.spindle.empty() && holding.spot.at != filling.spindle) continue;
      if (const auto& asked = filling.impressions) {
        if (!holding.impressions.meets(*asked)) continue;
        const Impressions both{std::max(asked->first, holding.impressions.first),
                               std::min(asked->last, holding.impressions.last)};
        // What is known only as a range lies in the cartons asked for when all of it does.
        if (!holding.exact() && both != holding.impressions) continue;
        if (holding.exact()) holding.quantity = both.width();
        holding.impressions = both;
      }
      found.push_back({run, std::move(holding)});
    }
  return found;
}

/// The next `wanted` discs off the front of the sources.
std::vector<Movement> take(std::vector<Source>& from, std::int64_t wanted, const works::Spot& to) {
  std::vector<Movement> movements;
  while (wanted > 0 && !from.empty()) {
    auto& [run, holding] = from.front();
    const std::int64_t taken = std::min(wanted, holding.quantity);
    Impressions which = holding.impressions;
    if (holding.exact()) {
      which.last = which.first + taken - 1;
      holding.impressions.first += taken;
    }
    movements.push_back({run, which, taken, holding.spot, to});
    holding.quantity -= taken;
    wanted -= taken;
    if (holding.quantity == 0) from.erase(from.begin());
  }
  return movements;
}

std::int64_t sum_of(const std::vector<Source>& from) {
  std::int64_t sum = 0;
  for (const Source& source : from) sum += source.holding.quantity;
  return sum;
}

void check_room(Writer& writer, const std::string& order, std::int64_t discs) {
  const OrderState state = order_state(writer, order);
  const std::int64_t room = dispatch::may_still_leave(state.count) - state.packed;
  if (discs > room)
    refuse(Fault::conflict,
           fmt::format(
               "{} discs are too many to pack: {} are ordered, {} shipped, {} credited and {} "
               "packed, so {} more go in; give --quantity {}, or `goodside pack agree` on more",
               discs,
               state.count.ordered,
               state.count.shipped,
               state.count.credited,
               state.packed,
               std::max<std::int64_t>(0, room),
               std::max<std::int64_t>(0, room)));
}

void fill(Writer& writer, const Filling& filling, Filled& filled) {
  std::string order;
  const auto runs = runs_of(writer, filling, order);
  auto from = sources(writer, runs, filling);
  const std::int64_t there = sum_of(from);
  if (there == 0)
    refuse(Fault::not_found,
           fmt::format(
               "no good stock of {} is there to be packed; `goodside works where {}` shows what is "
               "where",
               filling.from,
               filling.from));
  std::int64_t wanted = filling.quantity.value_or(there);
  if (wanted > there)
    refuse(Fault::conflict,
           fmt::format("only {} good discs of {} are there, not {}", there, filling.from, wanted));
  if (!filling.part) wanted -= wanted % filling.per_carton;
  if (wanted == 0)
    refuse(Fault::conflict,
           fmt::format("{} discs do not fill a carton of {}; say --part to pack a part carton",
                       filling.quantity.value_or(there),
                       filling.per_carton));
  check_room(writer, order, wanted);
  filled.left = there - wanted;
  while (filled.discs < wanted) {
    FilledCarton carton;
    carton.code = add_within(writer,
                             works::kind_of_table("carton"),
                             {{"order", order}, {"capacity", filling.per_carton}});
    carton.movements = take(from,
                            std::min(filling.per_carton, wanted - filled.discs),
                            {Place::packed, carton.code, "", {}});
    post_all(writer, carton.movements);
    carton.discs = discs_of(carton.movements);
    filled.discs += carton.discs;
    filled.cartons.push_back(std::move(carton));
  }
  writer.about(order);
}

}  // namespace

Result<Filled> fill_cartons(const Desk& desk, const Filling& filling) {
  if (filling.per_carton < 1 || filling.per_carton > 1000)
    return Error{Fault::bad_input, "a carton holds 1 to 1000 discs; look at --per"};
  if (filling.quantity && *filling.quantity < 1)
    return Error{Fault::bad_input, "at least one disc is packed; look at --quantity"};
  Filled filled;
  const auto head = desk.record.write(desk.act("fill cartons", filling.from), [&](Writer& writer) {
    filled = {};
    fill(writer, filling, filled);
  });
  if (!head) return head.error();
  filled.head = *head;
  return filled;
}

Result<Entered> stack_pallet(const Desk& desk,
                             const std::string& order,
                             const std::vector<std::string>& cartons) {
  Entered entered;
  const auto head = desk.record.write(desk.act("stack pallet", order), [&](Writer& writer) {
    if (cartons.empty()) refuse(Fault::bad_input, "name the cartons that stand on the pallet");
    entered.code = add_within(writer, works::kind_of_table("pallet"), {{"order", order}});
    for (const std::string& code : cartons) {
      Row carton = writer.need("carton", code);
      if (text(at(carton, "state")) != "closed")
        refuse(Fault::conflict,
               fmt::format("carton {} is {}; only a closed one goes on a pallet",
                           code,
                           text(at(carton, "state"))));
      if (text(at(carton, "order")) != order)
        refuse(Fault::conflict,
               fmt::format(
                   "carton {} is for order {}, not {}", code, text(at(carton, "order")), order));
      if (const std::string other = text(at(carton, "pallet")); !other.empty())
        refuse(Fault::conflict, fmt::format("carton {} stands on {} already", code, other));
      carton["pallet"] = entered.code;
      writer.alter("carton", carton);
    }
  });
  if (!head) return head.error();
  entered.head = *head;
  return entered;
}

Result<ledger::Head> unstack(const Desk& desk, const std::vector<std::string>& cartons) {
  return desk.record.write(
      desk.act("unstack", cartons.empty() ? "" : cartons.front()), [&](Writer& writer) {
        for (const std::string& code : cartons) {
          Row carton = writer.need("carton", code);
          const std::string pallet = text(at(carton, "pallet"));
          if (pallet.empty())
            refuse(Fault::conflict, fmt::format("carton {} stands on no pallet", code));
          if (text(at(carton, "state")) == "gone")
            refuse(Fault::conflict, fmt::format("carton {} is gone, and its pallet with it", code));
          open_pallet_within(writer, pallet);
          carton.erase("pallet");
          writer.alter("carton", carton);
        }
      });
}

}  // namespace goodside::line
