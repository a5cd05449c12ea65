#include "plan/shop_orders.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "base/near_miss.hpp"
#include "plan/schedule_bound.hpp"
#include "plan/schedule_graph.hpp"

namespace goodside::plan {
namespace {

constexpr std::int64_t day_s = 86400;
constexpr int most_lots = 500, most_places = 1000;

template <class Things>
int find(const Things& things, const std::string& id) {
  for (std::size_t k = 0; k < things.size(); ++k)
    if (things[k].id == id) return static_cast<int>(k);
  return no_matter;
}

template <class Things>
std::string not_there(const char* what, const std::string& id, const Things& things) {
  std::vector<std::string> known;
  for (const auto& one : things) known.push_back(one.id);
  const auto near = suggestion(id, known);
  return fmt::format(
      "there is no {} \"{}\"; {}", what, id, near ? *near : std::string{"add it, or name another"});
}

/// Seconds rounded up, so that a plan never promises what the times do not allow.
std::int64_t whole(double seconds) {
  return static_cast<std::int64_t>(std::ceil(seconds - 1e-6));
}

class Layout {
 public:
  Layout(const works::Shop& shop, const Freeze& freeze) : shop_{shop}, freeze_{freeze} {}

  Result<ShopProblem> run() {
    for (const auto part : {&Layout::machines, &Layout::hands, &Layout::sets})
      if (const auto done = (this->*part)(); !done) return done.error();
    for (std::size_t order = 0; order < shop_.orders.size(); ++order)
      if (const auto done = lay_out(order); !done) return done.error();
    if (const auto done = take_running(); !done) return done.error();
    freeze();
    if (const auto checked = check_model(problem_.model); !checked) return checked.error();
    return std::move(problem_);
  }

 private:
  Error refuse(const std::string& where, const std::string& what) const {
    return {Fault::bad_input, fmt::format("{}: {}: {}", shop_.source, where, what)};
  }

  // ---- units

  Result<int> calendar(const std::string& where,
                       const std::string& hours_id,
                       const std::vector<works::ShopSpan>& closed,
                       double warm_up_s,
                       double stays_warm_s) {
    ShopCalendar open;
    if (!hours_id.empty()) {
      const int hours = find(shop_.hours, hours_id);
      if (hours == no_matter)
        return refuse(where + ".hours", not_there("table of hours", hours_id, shop_.hours));
      open = of_hours(shop_.hours[static_cast<std::size_t>(hours)]);
    }
    std::vector<OpenSpan> shut;
    for (const auto& span : closed)
      shut.push_back({span.from_s - shop_.now_s, span.to_s - shop_.now_s});
    if (!shut.empty()) open = open.without(shut);
    if (warm_up_s > 0.0) open = warmed(open, whole(warm_up_s), whole(stays_warm_s));
    auto& all = problem_.model.calendars;
    for (std::size_t k = 0; k < all.size(); ++k)
      if (all[k] == open) return static_cast<int>(k);
    all.push_back(std::move(open));
    return static_cast<int>(all.size() - 1);
  }

  [[nodiscard]] ShopCalendar of_hours(const works::ShopHours& hours) const {
    if (hours.shifts.empty() && hours.closed.empty()) return {};
    std::vector<OpenSpan> open;
    const std::int64_t today = shop_.now_s / day_s;
    for (std::int64_t day = today - 8; day <= today + plan_horizon_s / day_s; ++day) {
      const std::int64_t midnight_s = day * day_s;
      if (std::find(hours.closed.begin(), hours.closed.end(), midnight_s) != hours.closed.end())
        continue;
      if (hours.shifts.empty())
        open.push_back({midnight_s - shop_.now_s, midnight_s + day_s - shop_.now_s});
      const auto weekday =
          static_cast<std::size_t>(((day + 3) % 7 + 7) % 7);  // 1970-01-01: a Thursday
      for (const auto& shift : hours.shifts)
        if (shift.days[weekday])
          open.push_back(
              {midnight_s + shift.from_s - shop_.now_s, midnight_s + shift.to_s - shop_.now_s});
    }
    return ShopCalendar{std::move(open)};
  }

  /// What is open at now is warm.
  static ShopCalendar warmed(const ShopCalendar& open,
                             std::int64_t warm_up_s,
                             std::int64_t stays_warm_s) {
    std::vector<OpenSpan> spans = open.spans();
    for (std::size_t k = 0; k < spans.size(); ++k) {
      const bool cold = k == 0 || spans[k].from_s - open.spans()[k - 1].to_s > stays_warm_s;
      if (cold && spans[k].from_s > 0)
        spans[k].from_s = std::min(spans[k].to_s, spans[k].from_s + warm_up_s);
    }
    return open.always() ? open : ShopCalendar{std::move(spans)};
  }

  int setting(std::map<std::string, int>& known, const std::string& text) {
    if (text.empty()) return no_matter;
    return known.try_emplace(text, static_cast<int>(known.size())).first->second;
  }

  Outcome machines() {
    for (const auto& machine : shop_.machines) {
      const std::string where = "machines." + machine.id;
      const int station = find(shop_.stations, machine.station);
      if (station == no_matter)
        return refuse(where + ".station", not_there("station", machine.station, shop_.stations));
      const auto& of = shop_.stations[static_cast<std::size_t>(station)];
      if (machine.places < 1 || machine.places > most_places || !(machine.pace > 0.0))
        return refuse(where, "needs at least one place and a pace above 0");
      const auto when =
          calendar(where, machine.hours, machine.closed, of.warm_up_s, of.stays_warm_s);
      if (!when) return when.error();
      for (int place = 1; place <= machine.places; ++place) {
        problem_.model.units.push_back(
            {.id = machine.places == 1 ? machine.id : fmt::format("{}/{}", machine.id, place),
             .calendar = *when,
             .free_from_s = 0,
             .change_s = {whole(of.format_change_s),
                          whole(of.compound_change_s),
                          whole(of.title_change_s)},
             .mounted = {setting(formats_, machine.format),
                         setting(compounds_, machine.compound),
                         setting(titles_, machine.title)}});
        problem_.units.push_back({UnitKind::machine, station, no_matter});
        pace_.push_back(machine.pace);
      }
    }
    return Done{};
  }

  Outcome hands() {
    for (const auto& hand : shop_.hands) {
      const std::string where = "hands." + hand.id;
      if (hand.places < 1 || hand.places > most_places)
        return refuse(where, "tends at least one work at a time");
      const auto when = calendar(where, hand.hours, {}, 0.0, 0.0);
      if (!when) return when.error();
      for (int place = 1; place <= hand.places; ++place) {
        const int number = static_cast<int>(problem_.model.units.size());
        for (const std::string& skill : hand.skills) skilled_[skill].push_back(number);
        problem_.model.units.push_back(
            {.id = hand.places == 1 ? hand.id : fmt::format("{}/{}", hand.id, place),
             .calendar = *when,
             .free_from_s = 0,
             .change_s = {},
             .mounted = {no_matter, no_matter, no_matter}});
        problem_.units.push_back({UnitKind::hand, no_matter, no_matter});
        pace_.push_back(1.0);
      }
    }
    return Done{};
  }

  Outcome sets() {
    const auto always = calendar("", "", {}, 0.0, 0.0);
    for (std::size_t t = 0; t < shop_.titles.size(); ++t) {
      const auto& title = shop_.titles[t];
      if (title.sets < 1 || title.sets > most_places)
        return refuse("titles." + title.id + ".sets",
                      "a title is pressed from at least one set of stampers");
      for (int n = 1; n <= title.sets; ++n) {
        sets_[title.id].push_back(static_cast<int>(problem_.model.units.size()));
        problem_.model.units.push_back({.id = fmt::format("set {} of {}", n, title.id),
                                        .calendar = *always,
                                        .free_from_s = 0,
                                        .change_s = {},
                                        .mounted = {no_matter, no_matter, no_matter}});
        problem_.units.push_back({UnitKind::set, no_matter, static_cast<int>(t)});
        pace_.push_back(1.0);
      }
    }
    return Done{};
  }

  // ---- orders

  Outcome lay_out(std::size_t number) {
    const auto& order = shop_.orders[number];
    const std::string where = "orders." + order.id;
    const int title = find(shop_.titles, order.title);
    if (title == no_matter)
      return refuse(where + ".title", not_there("title", order.title, shop_.titles));
    const auto& what = shop_.titles[static_cast<std::size_t>(title)];
    if (!what.cut)
      return refuse(where,
                    fmt::format("title \"{}\" has no approved cut, so nothing of it can be grown "
                                "or pressed; have it cut and "
                                "write cut = true under [titles.{}], or take the order out",
                                what.id,
                                what.id));
    const int route_number = find(shop_.routes, order.route);
    if (route_number == no_matter)
      return refuse(where + ".route", not_there("route", order.route, shop_.routes));
    const auto& route = shop_.routes[static_cast<std::size_t>(route_number)];
    if (order.quantity < 1) return refuse(where + ".quantity", "at least one disc is ordered");
    const auto done = steps_in_hand(where, order, route, what);
    if (!done) return done.error();
    for (const auto& [name, when] : order.arrives_s)
      if (std::none_of(route.steps.begin(), route.steps.end(), [&, &key = name](const auto& step) {
            return step.arrival == key;
          }))
        return refuse(where + ".arrives." + name,
                      fmt::format("no step of route \"{}\" waits for it; name it there as arrival",
                                  route.id));
    const std::int64_t lots = route.lot > 0 ? (order.quantity + route.lot - 1) / route.lot : 1;
    if (lots > most_lots)
      return refuse(
          where,
          fmt::format(
              "falls into {} lots; make the route's lot larger (at most {})", lots, most_lots));
    problem_.model.orders.push_back(
        {.id = order.id, .due_s = order.due_s - shop_.now_s, .weight = order.weight});
    Laying laying{.number = number, .title = what, .route = route, .done = *done};
    if (const auto counted = count_discs(where, static_cast<int>(lots), laying); !counted)
      return counted.error();
    if (const auto metal = by_step_of_.find(order.metal_from); metal != by_step_of_.end())
      for (const auto& step : route.steps)
        if (const auto grown = metal->second.find(step.id);
            step.per_side && grown != metal->second.end())
          laying.by_step[step.id] = grown->second;
    for (const auto& step : route.steps)
      if (!laying.by_step.contains(step.id))
        if (const auto added = add_step(step, laying); !added) return added.error();
    by_step_of_[order.id] = std::move(laying.by_step);
    return Done{};
  }

  /// An order while its works are laid out.
  struct Laying {
    std::size_t number{};
    const works::ShopTitle& title;
    const works::ShopRoute& route;
    std::set<std::string> done{};  ///< STEP, or STEP/SIDE
    std::int64_t fresh{};          ///< discs still to be pressed
    int first_lot{1}, lots{1}, all_lots{1};
    std::vector<std::set<std::string>> begun_done{};  ///< as the order's `begun`
    std::map<std::string, std::vector<int>> by_step{};
  };

  /// What is left to press. Lots keep their numbers while the first of them are done, so that a plan of before
  /// can be carried on.
  Outcome count_discs(const std::string& where, int all_lots, Laying& laying) const {
    const auto& order = shop_.orders[laying.number];
    laying.fresh = order.quantity;
    for (const auto& begun : order.begun) {
      laying.fresh -= begun.good;
      auto done = with_before(where + ".begun." + begun.id, begun.done, laying.route, {}, false);
      if (!done) return done.error();
      laying.begun_done.push_back(std::move(*done));
    }
    laying.fresh = std::max<std::int64_t>(0, laying.fresh);
    const std::int64_t lot = laying.route.lot;
    laying.all_lots = all_lots;
    laying.lots = laying.fresh == 0 ? 0
                  : lot > 0         ? static_cast<int>((laying.fresh + lot - 1) / lot)
                                    : 1;
    laying.first_lot = std::max(1, all_lots - laying.lots + 1);
    return Done{};
  }

  Result<std::set<std::string>> steps_in_hand(const std::string& where,
                                              const works::ShopOrderBook& order,
                                              const works::ShopRoute& route,
                                              const works::ShopTitle& title) const {
    return with_before(where + ".in_hand", order.in_hand, route, title.sides, order.in_hand_alone);
  }

  /// The steps, STEP or STEP/SIDE, and all that come before them.
  Result<std::set<std::string>> with_before(const std::string& where,
                                            const std::vector<std::string>& told,
                                            const works::ShopRoute& route,
                                            const std::vector<std::string>& sides,
                                            bool alone) const {
    std::set<std::string> done;
    for (const std::string& id : told) {
      const auto slash = id.rfind('/');
      const bool of_side =
          slash != std::string::npos &&
          std::find(sides.begin(), sides.end(), id.substr(slash + 1)) != sides.end();
      const std::string step = of_side ? id.substr(0, slash) : id;
      if (find(route.steps, step) == no_matter)
        return refuse(where, not_there("step", step, route.steps));
      done.insert(id);
    }
    for (std::size_t k = alone ? 0 : route.steps.size(); k-- > 0;) {
      const auto& step = route.steps[k];
      const auto before = [&](const std::string& ending) {
        for (const std::string& id : step.after) done.insert(id + ending);
      };
      if (done.contains(step.id)) before("");
      for (const std::string& side : sides)
        if (done.contains(step.id + "/" + side)) before("/" + side);
    }
    return done;
  }

  /// Discs that must pass a step so that `wanted` are left at the end: the losses of it and all after it.
  static double discs_through(const works::ShopRoute& route,
                              const works::ShopStep& step,
                              double wanted) {
    std::set<std::string> reached{step.id};
    double kept = 1.0;
    for (const auto& one : route.steps) {
      for (const std::string& before : one.after)
        if (reached.contains(before)) reached.insert(one.id);
      if (reached.contains(one.id)) kept *= one.yield;
    }
    return std::ceil(wanted / kept - 1e-9);
  }

  Outcome add_step(const works::ShopStep& step, Laying& laying) {
    const std::string where = fmt::format("routes.{}.{}", laying.route.id, step.id);
    for (const std::string& before : step.after)
      if (find(laying.route.steps, before) == no_matter)
        return refuse(where + ".after", not_there("step", before, laying.route.steps));
    if (laying.done.contains(step.id)) return Done{};
    const std::vector<std::string> one_side{""};
    for (const std::string& side : step.per_side ? laying.title.sides : one_side)
      if (side.empty() || !laying.done.contains(step.id + "/" + side))
        for (const Share& share : shares(step, laying))
          if (const auto added = add_work(where, step, side, share, laying); !added)
            return added.error();
    return Done{};
  }

  /// The discs of one work: of the order, of a lot, of what is on its way.
  struct Share {
    std::string name;
    int lot{};  ///< below 0: of what is on its way
    double wanted{};
  };
  [[nodiscard]] std::vector<Share> shares(const works::ShopStep& step, const Laying& laying) const {
    const auto& begun = shop_.orders[laying.number].begun;
    std::vector<Share> all;
    double together = static_cast<double>(laying.fresh);
    for (std::size_t k = 0; k < begun.size(); ++k)
      if (!laying.begun_done[k].contains(step.id) && begun[k].good > 0) {
        together += static_cast<double>(begun[k].good);
        if (step.per_lot)
          all.push_back(
              {" " + begun[k].id, -static_cast<int>(k) - 1, static_cast<double>(begun[k].good)});
      }
    if (!step.per_lot) {
      if (together > 0.0) all.push_back({"", 1, together});
      return all;
    }
    for (int k = 0; k < laying.lots; ++k) {
      const int lot = laying.first_lot + k;
      const std::int64_t most = laying.route.lot > 0 ? laying.route.lot : laying.fresh;
      all.push_back({laying.all_lots > 1 ? fmt::format(" lot {}", lot) : "",
                     lot,
                     static_cast<double>(std::min(most, laying.fresh - k * most))});
    }
    return all;
  }

  Outcome add_work(const std::string& where,
                   const works::ShopStep& step,
                   const std::string& side,
                   const Share& share,
                   Laying& laying) {
    const auto& order = shop_.orders[laying.number];
    ShopOperation work;
    work.id = order.id + " " + step.id + (side.empty() ? "" : " " + side) + share.name;
    work.order = static_cast<int>(laying.number);
    WorkOrigin origin{.order = laying.number,
                      .step = &step,
                      .side = side,
                      .lot = share.lot,
                      .discs = discs_through(laying.route, step, share.wanted)};
    if (const auto met = meet_needs(where, laying.title, step, origin, work); !met)
      return met.error();
    if (step.after.empty()) work.release_s = whole(step.rest_s);
    link(step, side, share.lot, laying, work);
    if (!step.arrival.empty())
      if (const auto when = order.arrives_s.find(step.arrival); when != order.arrives_s.end())
        work.release_s = std::max<std::int64_t>(0, when->second - shop_.now_s);
    laying.by_step[step.id].push_back(static_cast<int>(problem_.model.operations.size()));
    problem_.model.operations.push_back(std::move(work));
    problem_.works.push_back(std::move(origin));
    return Done{};
  }

  /// Waits for the works of the steps before; where such a step is in hand, for what is before it, if anything is.
  void link(const works::ShopStep& step,
            const std::string& side,
            int lot,
            const Laying& laying,
            ShopOperation& work) const {
    const std::int64_t rest_s = whole(step.rest_s);
    std::vector<std::string> asked = step.after;
    std::set<std::string> met;
    while (!asked.empty()) {
      const std::string before = std::move(asked.back());
      asked.pop_back();
      if (!met.insert(before).second) continue;
      if (lot < 0 && laying.begun_done[static_cast<std::size_t>(-lot - 1)].contains(before))
        continue;
      const auto found = laying.by_step.find(before);
      if (found == laying.by_step.end()) {
        const int number = find(laying.route.steps, before);
        for (const std::string& one : laying.route.steps[static_cast<std::size_t>(number)].after)
          asked.push_back(one);
        continue;
      }
      for (const int one : found->second) {
        const WorkOrigin& from = problem_.works[static_cast<std::size_t>(one)];
        if (step.per_side && from.step->per_side && from.side != side) continue;
        if (step.per_lot && from.step->per_lot && from.lot != lot) continue;
        work.after.push_back({one, rest_s});
      }
    }
  }

  Outcome meet_needs(const std::string& where,
                     const works::ShopTitle& title,
                     const works::ShopStep& step,
                     const WorkOrigin& origin,
                     ShopOperation& work) {
    const double time_s = step.time_s + step.each_s * origin.discs;
    if (step.station.empty()) {
      work.wait_s = whole(time_s);
      return Done{};
    }
    const int station = find(shop_.stations, step.station);
    if (station == no_matter)
      return refuse(where + ".station", not_there("station", step.station, shop_.stations));
    const auto& at = shop_.stations[static_cast<std::size_t>(station)];
    std::vector<ShopChoice> machines;
    for (std::size_t u = 0; u < problem_.units.size(); ++u)
      if (problem_.units[u].station == station)
        machines.push_back({static_cast<int>(u), whole(time_s / pace_[u])});
    if (machines.empty())
      return refuse(
          where + ".station",
          fmt::format(
              "station \"{}\" has no machine; add one under [machines] with station = \"{}\"",
              at.id,
              at.id));
    work.needs.push_back(std::move(machines));
    work.pauses = at.pauses;
    const auto& order = shop_.orders[origin.order];
    if (at.format_change_s > 0.0) work.setting[0] = setting(formats_, title.format);
    if (at.compound_change_s > 0.0) work.setting[1] = setting(compounds_, order.compound);
    if (at.title_change_s > 0.0) work.setting[2] = setting(titles_, title.id);
    if (!at.skill.empty()) {
      const auto hands = skilled_.find(at.skill);
      if (hands == skilled_.end())
        return refuse(
            "stations." + at.id + ".skill",
            fmt::format("no hand has the skill \"{}\"; add it to one under [hands]", at.skill));
      std::vector<ShopChoice> choices;
      for (const int hand : hands->second) choices.push_back({hand, 0});
      work.needs.push_back(std::move(choices));
    }
    if (at.takes_set) {
      std::vector<ShopChoice> choices;
      for (const int set : sets_.at(title.id)) choices.push_back({set, 0});
      work.needs.push_back(std::move(choices));
    }
    return Done{};
  }

  // ---- what cannot be moved

  Outcome take_running() {
    for (const auto& running : shop_.running) {
      const std::string where = "running." + running.id;
      if (find(shop_.orders, running.order) == no_matter)
        return refuse(where + ".order", not_there("order", running.order, shop_.orders));
      bool found = false;
      for (std::size_t i = 0; i < problem_.works.size() && !found; ++i) {
        const WorkOrigin& one = problem_.works[i];
        if (shop_.orders[one.order].id != running.order || one.step->id != running.step ||
            (!one.side.empty() && one.side != running.side) ||
            (one.step->per_lot && running.lot != 0 && one.lot != running.lot) ||
            (one.step->per_lot && one.lot < 0) ||
            (running.lot == 0 && problem_.model.operations[i].fixed))
          continue;
        found = true;
        if (const auto begun = begin(where, running, i); !begun) return begun.error();
      }
      if (!found)
        return refuse(
            where,
            fmt::format(
                "order {} has no work \"{}\" left to do; name step, side and lot as in its route",
                running.order,
                running.step));
    }
    return Done{};
  }

  Outcome begin(const std::string& where, const works::ShopRunning& running, std::size_t i) {
    ShopOperation& work = problem_.model.operations[i];
    ShopFixed fixed;
    if (!work.needs.empty()) {
      int chosen = no_matter;
      for (std::size_t c = 0; c < work.needs[0].size(); ++c) {
        const std::string& id =
            problem_.model.units[static_cast<std::size_t>(work.needs[0][c].unit)].id;
        if (running.unit.empty() || id == running.unit || id.starts_with(running.unit + "/"))
          if (!taken_.contains(work.needs[0][c].unit) && chosen == no_matter)
            chosen = static_cast<int>(c);
      }
      if (chosen == no_matter)
        return refuse(
            where + ".machine",
            running.unit.empty()
                ? fmt::format("more works \"{}\" have begun than there are machines for",
                              running.step)
                : fmt::format("no free machine \"{}\" may do \"{}\"", running.unit, running.step));
      fixed.choice[0] = chosen;
      taken_.insert(work.needs[0][static_cast<std::size_t>(chosen)].unit);
      for (std::size_t k = 1; k < work.needs.size(); ++k) {
        int other = no_matter;
        for (std::size_t c = 0; c < work.needs[k].size() && other == no_matter; ++c)
          if (taken_.insert(work.needs[k][c].unit).second) other = static_cast<int>(c);
        if (other == no_matter)
          return refuse(where, "more works run than hands or sets could hold; look at [running]");
        fixed.choice[k] = other;
      }
      const auto& unit = problem_.model.units[static_cast<std::size_t>(
          work.needs[0][static_cast<std::size_t>(chosen)].unit)];
      const std::int64_t all_s = work.needs[0][static_cast<std::size_t>(chosen)].work_s;
      fixed.end_s = problem_.model.calendars[static_cast<std::size_t>(unit.calendar)].after(
          0, running.left_s < 0.0 ? all_s : whole(running.left_s));
    } else {
      fixed.end_s = running.left_s < 0.0 ? work.wait_s : whole(running.left_s);
    }
    work.fixed = fixed;
    const auto& order = shop_.orders[problem_.works[i].order];
    if (work.needs.empty() && order.in_hand_alone)
      hand_on(i);
    else
      drop_before(i);
    return Done{};
  }

  /// A wait that runs asks for nothing before it; what comes after it does: metal may have gone since.
  void hand_on(std::size_t i) {
    auto& operations = problem_.model.operations;
    const std::vector<ShopAfter> before = std::move(operations[i].after);
    operations[i].after.clear();
    for (ShopOperation& next : operations)
      if (std::any_of(next.after.begin(), next.after.end(), [&](const ShopAfter& after) {
            return after.operation == static_cast<int>(i);
          }))
        next.after.insert(next.after.end(), before.begin(), before.end());
  }

  /// What runs has all before it done.
  void drop_before(std::size_t i) {
    for (const ShopAfter& after : problem_.model.operations[i].after) {
      ShopOperation& before = problem_.model.operations[static_cast<std::size_t>(after.operation)];
      if (!before.fixed) before.fixed = ShopFixed{.choice = {}, .start_s = 0, .end_s = 0};
      before.needs.clear();
      drop_before(static_cast<std::size_t>(after.operation));
    }
  }

  void freeze() {
    if (freeze_.earlier == nullptr) return;
    const std::int64_t shift_s = freeze_.earlier->now_s - shop_.now_s;
    std::map<std::string, const works::PlannedWork*> planned;
    for (const auto& work : freeze_.earlier->works) planned[work.id] = &work;
    std::map<std::string, int> numbers;
    for (std::size_t u = 0; u < problem_.model.units.size(); ++u)
      numbers[problem_.model.units[u].id] = static_cast<int>(u);
    for (std::size_t i = 0; i < problem_.works.size(); ++i) {
      ShopOperation& work = problem_.model.operations[i];
      const auto found = planned.find(work.id);
      if (work.fixed || found == planned.end()) continue;
      const auto& was = *found->second;
      if (was.start_s + shift_s >= freeze_.frozen_s) continue;
      if (const std::string why = try_to_fix(was, shift_s, numbers, work); !why.empty())
        problem_.moved.push_back(fmt::format("{}: {}", work.id, why));
    }
  }

  /// Empty: it stays. Else why it cannot.
  std::string try_to_fix(const works::PlannedWork& was,
                         std::int64_t shift_s,
                         const std::map<std::string, int>& numbers,
                         ShopOperation& work) const {
    for (const ShopAfter& after : work.after)
      if (!problem_.model.operations[static_cast<std::size_t>(after.operation)].fixed)
        return "what it waits for had to move";
    ShopFixed fixed{.choice = {}, .start_s = was.start_s + shift_s, .end_s = was.end_s + shift_s};
    std::vector<std::string> names;
    if (!work.needs.empty()) names.push_back(was.unit);
    for (const std::string& helper : was.helpers) names.push_back(helper);
    if (names.size() != work.needs.size()) return "it is done otherwise now";
    for (std::size_t k = 0; k < work.needs.size(); ++k) {
      const auto number = numbers.find(names[k]);
      int chosen = no_matter;
      for (std::size_t c = 0; number != numbers.end() && c < work.needs[k].size(); ++c)
        if (work.needs[k][c].unit == number->second) chosen = static_cast<int>(c);
      if (chosen == no_matter) return fmt::format("{} is not there any more", names[k]);
      fixed.choice[k] = chosen;
      const auto& unit = problem_.model.units[static_cast<std::size_t>(number->second)];
      const auto& open = problem_.model.calendars[static_cast<std::size_t>(unit.calendar)];
      const std::int64_t work_s = work.needs[0][static_cast<std::size_t>(fixed.choice[0])].work_s;
      if (open.open_between(fixed.start_s, fixed.end_s) < work_s)
        return fmt::format("{} is shut meanwhile", names[k]);
    }
    work.fixed = fixed;
    return "";
  }

  const works::Shop& shop_;
  const Freeze& freeze_;
  ShopProblem problem_;
  std::vector<double> pace_;
  std::map<std::string, int> formats_, compounds_, titles_;
  std::map<std::string, std::vector<int>> skilled_, sets_;
  std::set<int> taken_;
  std::map<std::string, std::map<std::string, std::vector<int>>> by_step_of_;  ///< by order
};

}  // namespace

Result<ShopProblem> lay_out_orders(const works::Shop& shop, const Freeze& freeze) {
  return Layout{shop, freeze}.run();
}

Outcome check_due_dates(const works::Shop& shop, const ShopProblem& problem) {
  const ShopIndex index{problem.model};
  const auto ends = earliest_ends(index);
  for (std::size_t order = 0; order < shop.orders.size(); ++order) {
    const auto& one = shop.orders[order];
    std::int64_t end_s = 0;
    for (const int work : index.last_works(order))
      end_s = std::max(end_s, ends[static_cast<std::size_t>(work)]);
    if (one.late_known || end_s <= one.due_s - shop.now_s) continue;
    if (end_s >= never_s)
      return Error{Fault::bad_input,
                   fmt::format("{}: orders.{}: can never be done: some machine or hand on its "
                               "route is never open long "
                               "enough; give it longer hours, or let the station pause",
                               shop.source,
                               one.id)};
    std::int64_t longest_s = -1;
    std::string longest;
    for (std::size_t i = 0; i < problem.works.size(); ++i) {
      if (problem.works[i].order != order) continue;
      const ShopOperation& work = problem.model.operations[i];
      std::int64_t from_s = 0;
      for (const ShopAfter& after : work.after)
        from_s = std::max(from_s, ends[static_cast<std::size_t>(after.operation)]);
      if (ends[i] - from_s > longest_s) {
        longest_s = ends[i] - from_s;
        longest = work.release_s > from_s && !problem.works[i].step->arrival.empty()
                      ? problem.works[i].step->arrival + " to arrive"
                      : problem.works[i].step->id;
      }
    }
    return Error{Fault::bad_input,
                 fmt::format("{}: orders.{}.due: {} cannot be kept even by an empty works, which "
                             "could end at {}; move "
                             "the date, shorten the longest wait ({}, {:.1f} h), or write late = "
                             "true to plan it all the same",
                             shop.source,
                             one.id,
                             shown_time(one.due_s),
                             shown_time(shop.now_s + end_s),
                             longest,
                             static_cast<double>(longest_s) / 3600.0)};
  }
  return Done{};
}

std::string shown_time(std::int64_t local_s) {
  std::int64_t days = local_s / day_s, rest_s = local_s % day_s;
  if (rest_s < 0) {
    rest_s += day_s;
    --days;
  }
  // Civil date from days since 1970-01-01 [Hinnant, "chrono-compatible low-level date algorithms"].
  const std::int64_t z = days + 719468, era = (z >= 0 ? z : z - 146096) / 146097;
  const std::int64_t doe = z - era * 146097;
  const std::int64_t yoe = (doe - doe / 1460 + doe / 36524 - doe / 146096) / 365;
  const std::int64_t doy = doe - (365 * yoe + yoe / 4 - yoe / 100), mp = (5 * doy + 2) / 153;
  const std::int64_t month = mp < 10 ? mp + 3 : mp - 9;
  return fmt::format("{:04}-{:02}-{:02} {:02}:{:02}",
                     yoe + era * 400 + (month <= 2 ? 1 : 0),
                     month,
                     doy - (153 * mp + 2) / 5 + 1,
                     rest_s / 3600,
                     rest_s / 60 % 60);
}

}  // namespace goodside::plan
