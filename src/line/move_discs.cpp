#include "line/move_discs.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "line/read_fields.hpp"

namespace goodside::line {
namespace {

using ledger::at;
using ledger::or_refuse;
using ledger::Reader;
using ledger::refuse;
using ledger::Row;
using ledger::text;
using ledger::whole;
using ledger::Writer;
using works::Movement;
using works::Place;
using works::Spot;

/// One entry from a run's stock.
Result<Moved> one_entry(const Desk& desk,
                        const std::string& what,
                        const Choice& choice,
                        const std::function<std::vector<Movement>(Writer&)>& decide) {
  Moved moved;
  const auto head = desk.record.write(desk.act(what, choice.run), [&](Writer& writer) {
    static_cast<void>(writer.need("run", choice.run));
    moved.movements = decide(writer);
    post_all(writer, moved.movements);
    moved.discs = discs_of(moved.movements);
  });
  if (!head) return head.error();
  moved.head = *head;
  return moved;
}

/// A spindle travels with its discs from the press to the store: what goes on along the line stays on it.
Spot kept_on(const Spot& was, const Spot& to) {
  const auto on_the_line = [](Place place) {
    return place == Place::pressed || place == Place::edge_finished || place == Place::good_stock;
  };
  Spot next = to;
  if (to.at.empty() && on_the_line(to.place) && on_the_line(was.place)) next.at = was.at;
  return next;
}

bool may_move(Place place) {
  return place == Place::pressed || place == Place::edge_finished || place == Place::good_stock ||
         place == Place::packed || place == Place::scrap;
}

}  // namespace

void post_all(Writer& writer, const std::vector<Movement>& movements) {
  for (const Movement& movement : movements) writer.post(movement);
}

std::int64_t discs_of(const std::vector<Movement>& movements) {
  std::int64_t sum = 0;
  for (const Movement& movement : movements) sum += movement.quantity;
  return sum;
}

std::int64_t discs_at(Reader& reader, const std::string& spot) {
  return whole(
      reader.connection().ask("SELECT sum(quantity) FROM holding WHERE at = $1", {spot})[0][0]);
}

std::int64_t discs_at(Reader& reader, const std::string& spot, Place place) {
  return whole(
      reader.connection().ask("SELECT sum(quantity) FROM holding WHERE at = $1 AND place = $2",
                              {spot, std::string{word(place)}})[0][0]);
}

void fits_carton(Writer& writer,
                 const std::string& code,
                 const std::string& run,
                 std::int64_t more) {
  const Row carton = writer.need("carton", code);
  if (text(at(carton, "state")) != "open")
    refuse(Fault::conflict, fmt::format("carton {} is {}", code, text(at(carton, "state"))));
  const std::string order = text(at(writer.need("run", run), "order"));
  if (order != text(at(carton, "order")))
    refuse(Fault::conflict,
           fmt::format("carton {} is for order {}, and {} is of {}",
                       code,
                       text(at(carton, "order")),
                       run,
                       order));
  const std::int64_t there = discs_at(writer, code), capacity = whole(at(carton, "capacity"));
  if (there + more > capacity)
    refuse(
        Fault::conflict,
        fmt::format(
            "carton {} holds {} of {} discs; {} more do not go in", code, there, capacity, more));
}

Result<Moved> move_discs(const Desk& desk, const Choice& choice, const Spot& to) {
  if (!may_move(to.place))
    return Error{
        Fault::bad_input,
        fmt::format("discs do not go to {} by `move`; ticket, hold, recount, ship and press "
                    "are the verbs for that",
                    word(to.place))};
  if (to.place == Place::scrap && to.reason.empty())
    return Error{Fault::bad_input, "scrap needs a reason; give --reason \"…\""};
  if (to.place == Place::packed && to.at.empty())
    return Error{Fault::bad_input, "packed discs are in a carton; give --to-spot CARTON"};
  if (const auto fit = fit_text(to.reason); !fit) return fit.error();
  Choice from = choice;
  if (from.places.empty()) {
    // What is pressed is finished, what is finished is good, what is good is packed.
    if (to.place == Place::edge_finished) from.places = {Place::pressed};
    if (to.place == Place::good_stock) from.places = {Place::pressed, Place::edge_finished};
    if (to.place == Place::packed) from.places = {Place::good_stock};
    if (to.place == Place::scrap)
      from.places = {Place::pressed, Place::edge_finished, Place::suspect, Place::good_stock};
    if (to.place == Place::pressed) from.places = {Place::pressed};
  }
  return one_entry(desk, fmt::format("move to {}", word(to.place)), from, [&](Writer& writer) {
    auto movements = or_refuse(choose_stock(
        writer.stock(from.run), from, [&](const Spot& was) { return kept_on(was, to); }));
    std::erase_if(movements, [](const Movement& movement) { return movement.from == movement.to; });
    if (movements.empty()) refuse(Fault::conflict, "they are there already");
    if (to.place == Place::packed) fits_carton(writer, to.at, from.run, discs_of(movements));
    if (to.place != Place::packed && !to.at.empty())
      static_cast<void>(writer.need("spindle", to.at));
    return movements;
  });
}

std::int64_t hold_within(Writer& writer, const Choice& choice, const std::string& reason) {
  Choice from = choice;
  from.all_that_may_be = true;
  if (from.places.empty())
    from.places = {Place::pressed, Place::edge_finished, Place::good_stock, Place::packed};
  const auto chosen = choose_stock(writer.stock(from.run), from, [&](const Spot& spot) {
    return Spot{Place::suspect, spot.at, reason, spot.place};
  });
  if (!chosen) return 0;
  post_all(writer, *chosen);
  return discs_of(*chosen);
}

std::int64_t release_within(Writer& writer, const Choice& choice) {
  Choice from = choice;
  from.places = {Place::suspect};
  const auto chosen = choose_stock(writer.stock(from.run), from, [&](const Spot& spot) {
    return Spot{spot.from.value_or(Place::good_stock), spot.at, "", {}};
  });
  if (!chosen) return 0;
  post_all(writer, *chosen);
  return discs_of(*chosen);
}

Result<Moved> hold(const Desk& desk, const Choice& choice, const std::string& reason) {
  if (reason.empty()) return Error{Fault::bad_input, "a hold needs a reason; give --reason \"…\""};
  if (const auto fit = fit_text(reason); !fit) return fit.error();
  std::int64_t shipped = 0;
  Choice from = choice;
  from.all_that_may_be = !choice.quantity;
  if (from.places.empty())
    from.places = {Place::pressed, Place::edge_finished, Place::good_stock, Place::packed};
  auto moved = one_entry(desk, "hold", from, [&](Writer& writer) {
    shipped = 0;
    for (const works::Holding& holding : writer.stock(from.run).holdings())
      if (holding.spot.place == Place::shipped &&
          (!from.impressions || holding.impressions.meets(*from.impressions)))
        shipped += holding.quantity;
    return or_refuse(choose_stock(writer.stock(from.run), from, [&](const Spot& spot) {
      return Spot{Place::suspect, spot.at, reason, spot.place};
    }));
  });
  if (moved) moved->shipped = shipped;
  return moved;
}

Result<Moved> release(const Desk& desk, const Choice& choice) {
  Choice from = choice;
  from.places = {Place::suspect};
  return one_entry(desk, "release", from, [&](Writer& writer) {
    return or_refuse(choose_stock(writer.stock(from.run), from, [&](const Spot& spot) {
      return Spot{spot.from.value_or(Place::good_stock), spot.at, "", {}};
    }));
  });
}

Result<Moved> recount(const Desk& desk,
                      const Choice& choice,
                      std::int64_t counted,
                      const std::string& reason) {
  if (reason.empty())
    return Error{Fault::bad_input, "a recount needs a reason; give --reason \"…\""};
  if (const auto fit = fit_text(reason); !fit) return fit.error();
  if (choice.places.size() != 1)
    return Error{Fault::bad_input, "say what was counted: give --place, such as \"good stock\""};
  if (counted < 0) return Error{Fault::bad_input, "a count is 0 or more"};
  return one_entry(desk, "recount", choice, [&](Writer& writer) {
    std::vector<works::Holding> there;
    std::int64_t known = 0;
    for (const works::Holding& holding : writer.stock(choice.run).holdings()) {
      if (holding.spot.place != choice.places[0]) continue;
      if (!choice.at.empty() && holding.spot.at != choice.at) continue;
      if (choice.impressions && !holding.impressions.within(*choice.impressions)) continue;
      there.push_back(holding);
      known += holding.quantity;
    }
    const Spot lost{Place::unaccounted, "", reason, {}};
    std::vector<Movement> movements;
    for (std::int64_t missing = known - counted; missing > 0 && !there.empty();) {
      const works::Holding& holding = there.back();
      const std::int64_t taken = std::min({missing, holding.quantity, holding.impressions.width()});
      if (taken > 0)
        movements.push_back({choice.run, holding.impressions, taken, holding.spot, lost});
      missing -= taken;
      there.pop_back();
    }
    if (counted > known) {
      const std::int64_t made = writer.stock(choice.run).made();
      const works::Impressions where = choice.impressions.value_or(
          there.empty() ? works::Impressions{1, made} : there[0].impressions);
      const Spot spot = there.empty() ? Spot{choice.places[0], choice.at, "", {}} : there[0].spot;
      movements.push_back({choice.run, where, counted - known, lost, spot});
    }
    return movements;
  });
}

Result<Moved> take_back(const Desk& desk, const Choice& choice, const std::string& reason) {
  if (reason.empty()) return Error{Fault::bad_input, "say why they came back; give --reason \"…\""};
  Choice from = choice;
  from.places = {Place::shipped};
  return one_entry(desk, "take back", from, [&](Writer& writer) {
    return or_refuse(choose_stock(writer.stock(from.run), from, [&](const Spot&) {
      return Spot{Place::suspect, "", reason, Place::good_stock};
    }));
  });
}

}  // namespace goodside::line
