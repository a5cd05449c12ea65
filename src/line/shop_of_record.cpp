#include "line/shop_of_record.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "base/near_miss.hpp"
#include "line/instants.hpp"
#include "line/order_state.hpp"
#include "line/side_parts.hpp"

namespace goodside::line {
namespace {

using ledger::at;
using ledger::Reader;
using ledger::Row;
using ledger::text;
using ledger::whole;
using works::Place;

constexpr std::int64_t day_s = 86400, year_s = 365 * day_s;

/// How a step stands: done, or begun with so much left, or neither.
struct Standing {
  bool done{};
  std::optional<std::int64_t> begun_s{};  ///< since when, on the works' clock
};

/// The metal of one side.
struct SideMetal {
  bool cut{};
  std::int64_t stampers{}, on_press{};
  double age{};
  std::map<std::string, Standing, std::less<>> steps{};  ///< by what they mean
};

double number(const ledger::Value& value) {
  return ledger::is_null(value) ? 0.0 : std::get<double>(value);
}

class Filling {
 public:
  Filling(Reader& reader, works::Shop shop, const ShopView& view)
      : reader_{reader}, view_{view}, shop_{std::move(shop)} {}

  works::Shop run() {
    if (shop_.now_s == 0) shop_.now_s = local_s(view_.now_ms);
    for (auto& order : shop_.orders) told_.emplace(order.id, std::move(order));
    shop_.orders.clear();
    find_presses();
    weigh_compound();
    std::vector<Row> rows = reader_.named_or_all("orders", "");
    std::stable_sort(rows.begin(), rows.end(), [&](const Row& one, const Row& other) {
      return due_s(one) < due_s(other);
    });
    for (const Row& row : rows) add_order(row);
    for (auto& [id, order] : told_) add_told(std::move(order));
    for (auto& title : shop_.titles) complete(title);
    if (shop_.orders.empty())
      ledger::refuse(Fault::bad_input,
                     "there is nothing to plan: every order of the record is packed or shipped, or "
                     "left out; enter one with `goodside works add order`");
    return std::move(shop_);
  }

 private:
  [[noreturn]] void refuse(const std::string& where, const std::string& what) const {
    ledger::refuse(Fault::bad_input, fmt::format("{}: {}: {}", shop_.source, where, what));
  }

  // ---- presses, and what is on them

  /// A press of the record that has a mounting.
  struct Mounted {
    std::string press, name, machine, title, run;
  };

  void find_presses() {
    std::set<std::string> known;
    std::vector<std::string> words;
    for (const Row& row : reader_.named_or_all("press", "")) {
      const std::string code = text(at(row, "code")), name = text(at(row, "name"));
      words.push_back(code);
      words.push_back(name);
      works::ShopMachine* machine = nullptr;
      for (auto& one : shop_.machines) {
        const std::string& is = one.press.empty() ? one.id : one.press;
        if (is == code || is == name) machine = &one;
      }
      if (machine != nullptr) known.insert(machine->id);
      look_at(code, name, machine);
    }
    for (const auto& one : shop_.machines)
      if (!one.press.empty() && !known.contains(one.id))
        refuse(
            "machines." + one.id + ".press",
            fmt::format(
                "the record has no press \"{}\"; {}",
                one.press,
                suggestion(one.press, words).value_or("enter it with `goodside works add press`")));
  }

  void look_at(const std::string& code, const std::string& name, works::ShopMachine* machine) {
    for (const Row& mounting : reader_.standing("mounting", "press", code)) {
      if (!ledger::is_null(at(mounting, "ended_ms"))) continue;
      Mounted mounted{.press = code,
                      .name = name,
                      .machine = machine != nullptr ? machine->id : "",
                      .title = {},
                      .run = {}};
      std::string format;
      for (const char* column : {"stamper_a", "stamper_b"})
        if (const auto part = reader_.find("part", text(at(mounting, column))))
          if (const auto side = reader_.find("side", text(at(*part, "side")))) {
            mounted.title = text(at(*side, "title"));
            format = diameter(text(at(*side, "format")));
          }
      Row newest;
      for (Row& pressing : reader_.standing("pressing", "mounting", text(at(mounting, "code"))))
        if (newest.empty() || whole(at(pressing, "event")) > whole(at(newest, "event")))
          newest = std::move(pressing);
      std::string compound;
      if (!newest.empty()) {
        mounted.run = text(at(newest, "run"));
        if (const auto batch = reader_.find("batch", text(at(newest, "batch"))))
          compound = text(at(*batch, "material"));
      }
      if (machine != nullptr) {
        if (machine->title.empty()) machine->title = mounted.title;
        if (machine->format.empty()) machine->format = format;
        if (machine->compound.empty()) machine->compound = compound;
      }
      mounted_.push_back(std::move(mounted));
    }
  }

  /// The mould takes a diameter: 12in of 12in-33.
  static std::string diameter(const std::string& format) {
    return format.substr(0, format.find('-'));
  }

  // ---- compound

  void weigh_compound() {
    for (const Row& batch : reader_.named_or_all("batch", "")) {
      double& left_kg = compound_kg_[text(at(batch, "material"))];
      left_kg += number(at(batch, "mass_kg"));
      for (const Row& pressing : reader_.standing("pressing", "batch", text(at(batch, "code"))))
        left_kg -= disc_kg() * static_cast<double>(whole(at(pressing, "last")) -
                                                   whole(at(pressing, "first")) + 1);
    }
  }
  [[nodiscard]] double disc_kg() const {
    return view_.figures.biscuit_kg / (1.0 - view_.figures.compound_loss);
  }

  // ---- orders

  std::int64_t due_s(const Row& order) {
    std::int64_t due_ms = whole(at(order, "due_ms"));
    if (due_ms == 0)
      for (const Row& delivery : reader_.standing("delivery", "order", text(at(order, "code"))))
        if (const std::int64_t one = whole(at(delivery, "due_ms"));
            one > 0 && (due_ms == 0 || one < due_ms))
          due_ms = one;
    if (due_ms == 0) return shop_.now_s + year_s;
    const std::int64_t local = local_s(due_ms);
    return local % day_s == 0 ? local + day_s : local;
  }

  struct Stock {
    std::int64_t pressed{}, edge_finished{}, good{}, away{}, suspect{};
  };
  Stock stock_of(const std::string& order) {
    Stock stock;
    for (const Row& run : reader_.standing("run", "order", order)) {
      const bool test = text(at(run, "purpose")) == "test";
      for (const works::Holding& one : reader_.holdings(text(at(run, "code")))) {
        const Place place = one.spot.place;
        if (place == Place::packed || place == Place::shipped) stock.away += one.quantity;
        if (place == Place::good_stock) stock.good += one.quantity;
        if (place == Place::suspect) stock.suspect += one.quantity;
        if (place == Place::pressed && !test) stock.pressed += one.quantity;
        if (place == Place::edge_finished && !test) stock.edge_finished += one.quantity;
      }
    }
    return stock;
  }

  void add_order(const Row& row) {
    works::ShopOrderBook order;
    const std::string code = text(at(row, "code"));
    if (auto told = told_.extract(code)) order = std::move(told.mapped());
    if (order.leave_out) return;
    order.id = code;
    if (order.title.empty()) order.title = text(at(row, "title"));
    const std::string material = text(at(row, "material"));
    if (order.compound.empty()) order.compound = material;
    if (order.due_s == 0) order.due_s = due_s(row);
    if (order.quantity == 0) {
      const OrderState state = order_state(reader_, code);
      order.quantity = state.count.ordered - state.count.credited;
    }
    const Stock stock = stock_of(code);
    if (order.quantity - stock.away <= 0) return;
    const auto& metal = metal_of(code, order.title);
    const works::ShopRoute& route = route_for(order, text(at(row, "format")), material);
    begin_lots(order, route, stock);
    std::int64_t fresh = order.quantity;
    for (const auto& begun : order.begun) fresh -= begun.good;
    const Approval approval = approval_of(code);
    const bool mixed = take_compound(material, route, std::max<std::int64_t>(0, fresh));
    const bool pressed = stock.pressed + stock.edge_finished + stock.good + stock.away > 0;
    tell_steps(order, route, metal, approval, mixed, pressed);
    std::string on;
    if (fresh > 0) on = take_runs(order, route);
    if (!done_before(order, route, fresh)) {
      shop_.orders.push_back(std::move(order));
      say(shop_.orders.back(), stock, fresh, metal, approval, mixed, on);
    }
  }

  /// Whether discs lie there and no step is left for them.
  static bool done_before(const works::ShopOrderBook& order,
                          const works::ShopRoute& route,
                          std::int64_t fresh) {
    if (fresh > 0) return false;
    return std::all_of(order.begun.begin(), order.begun.end(), [&](const works::ShopBegun& one) {
      return std::all_of(route.steps.begin(), route.steps.end(), [&](const works::ShopStep& step) {
        return std::find(one.done.begin(), one.done.end(), step.id) != one.done.end();
      });
    });
  }

  /// An order that only the file tells.
  void add_told(works::ShopOrderBook order) {
    if (order.leave_out) return;
    if (order.title.empty() || order.route.empty() || order.quantity == 0 || order.due_s == 0)
      refuse("orders." + order.id,
             "the record has no such order; give title, route, quantity and due of one that is not "
             "in it, or name one that is");
    shop_.orders.push_back(std::move(order));
  }

  const works::ShopRoute& route_for(works::ShopOrderBook& order,
                                    const std::string& format,
                                    const std::string& material) const {
    const auto takes = [](const std::vector<std::string>& all, const std::string& one) {
      return all.empty() || std::find(all.begin(), all.end(), one) != all.end();
    };
    for (const auto& route : shop_.routes) {
      if (!order.route.empty() && route.id != order.route) continue;
      if (order.route.empty() &&
          !(takes(route.formats, format) || takes(route.formats, diameter(format))))
        continue;
      if (order.route.empty() && !takes(route.materials, material)) continue;
      order.route = route.id;
      if (step_for(route, "run") == nullptr)
        refuse("routes." + route.id,
               "no step of it is the run of the record; write means = \"run\" under the step that "
               "presses the order");
      return route;
    }
    refuse("orders." + order.id,
           order.route.empty()
               ? fmt::format("no route takes an order of {} in {}; write route = \"…\" under "
                             "[orders.{}], or formats or materials under a route",
                             format.empty() ? "no format" : format,
                             material.empty() ? "no material" : material,
                             order.id)
               : fmt::format("there is no route \"{}\"; add it, or name another", order.route));
  }

  static std::string meaning(const works::ShopStep& step) {
    if (!step.means.empty()) return step.means;
    const auto& known = works::step_meanings;
    return std::find(known.begin(), known.end(), step.id) != known.end() ? step.id : "";
  }
  static const works::ShopStep* step_for(const works::ShopRoute& route, std::string_view means) {
    for (const auto& step : route.steps)
      if (meaning(step) == means) return &step;
    return nullptr;
  }

  /// Discs that are somewhere on the way, with the steps they have behind them.
  void begin_lots(works::ShopOrderBook& order,
                  const works::ShopRoute& route,
                  const Stock& stock) const {
    double kept = 1.0;
    std::vector<std::string> all;
    for (const auto& step : route.steps) {
      kept *= step.yield;
      all.push_back(step.id);
    }
    const auto some = [&](const std::vector<std::string_view>& meanings) {
      std::vector<std::string> done;
      for (const auto& step : route.steps)
        if (std::find(meanings.begin(), meanings.end(), meaning(step)) != meanings.end())
          done.push_back(step.id);
      return done;
    };
    const auto reckoned = [&](std::int64_t discs) {
      return static_cast<std::int64_t>(std::floor(static_cast<double>(discs) * kept + 1e-9));
    };
    const auto add = [&](const char* id, std::int64_t good, std::vector<std::string> done) {
      if (good > 0) order.begun.push_back({id, good, std::move(done)});
    };
    add("packed", stock.away, all);
    add("good", stock.good, some({"run", "edge", "listen"}));
    add("edge-finished", reckoned(stock.edge_finished), some({"run", "edge"}));
    add("pressed", reckoned(stock.pressed), some({"run"}));
  }

  bool take_compound(const std::string& material,
                     const works::ShopRoute& route,
                     std::int64_t fresh) {
    double kept = 1.0;
    for (const auto& step : route.steps) kept *= step.yield;
    const double wanted_kg = static_cast<double>(fresh) / kept * disc_kg();
    double& left_kg = compound_kg_[material];
    if (left_kg < wanted_kg) return false;
    left_kg -= wanted_kg;
    return true;
  }

  // ---- metal

  const std::vector<SideMetal>& metal_of(const std::string& order, const std::string& title) {
    const auto known = metal_.find(title);
    if (known != metal_.end()) return known->second;
    std::vector<Row> sides = reader_.standing("side", "title", title);
    std::stable_sort(sides.begin(), sides.end(), [](const Row& one, const Row& other) {
      return text(at(one, "letter")) < text(at(other, "letter"));
    });
    std::vector<SideMetal> metal;
    std::vector<std::string> letters;
    std::string format;
    bool any = false;
    for (const Row& side : sides) {
      metal.push_back(metal_of_side(text(at(side, "code"))));
      letters.push_back(text(at(side, "letter")));
      format = diameter(text(at(side, "format")));
      any = any || metal.back().cut;
    }
    if (!any)
      ledger::refuse(
          Fault::bad_input,
          fmt::format(
              "order {}: title {} has no cut and no metal, so nothing of it can be grown or "
              "pressed; enter one with `goodside works add cut`, or bought metal with `add "
              "part`, or write leave_out = true under [orders.{}] of {}",
              order,
              title,
              order,
              shop_.source));
    fill_title(title, format, letters, metal);
    return metal_.emplace(title, std::move(metal)).first->second;
  }

  SideMetal metal_of_side(const std::string& side) {
    SideMetal metal;
    metal.cut = !reader_.standing("cut", "side", side).empty();
    const std::vector<Row> parts = parts_of(reader_, side);
    for (const Row& part : parts) {
      metal.cut = true;
      const std::string kind = text(at(part, "kind")), state = text(at(part, "state"));
      const std::string what =
          kind == "father" && whole(at(part, "presses")) != 0 ? "stamper" : kind;
      if (what != "father" && what != "mother" && what != "stamper") continue;
      Standing& standing = metal.steps[what];
      if (state == "growing") {
        const std::int64_t since_s = local_s(whole(at(part, "at_ms")));
        if (!standing.begun_s || since_s < *standing.begun_s) standing.begun_s = since_s;
      } else if (state == "finishing" || usable(part)) {
        standing.done = true;
      }
      if (what != "stamper") continue;
      if (usable(part)) {
        ++metal.stampers;
        metal.steps["finish"].done = true;
        if (state == "on press") {
          ++metal.on_press;
          metal.age = std::max(metal.age, closings_of(reader_, text(at(part, "code"))));
        }
      } else if (state == "finishing") {
        for (const Row& step : reader_.standing("step", "part", text(at(part, "code"))))
          metal.steps[text(at(step, "what"))].done = true;
      }
    }
    // What is there needs nothing that it grew from.
    const char* const chain[] = {"stamper", "mother", "father"};
    bool there = false;
    for (const char* kind : chain) {
      Standing& standing = metal.steps[kind];
      const bool begun = standing.begun_s.has_value() && !standing.done;
      if (there) standing = {.done = true, .begun_s = {}};
      if (standing.done) standing.begun_s.reset();
      there = there || standing.done || begun;
    }
    if (metal.stampers > 0)
      for (const char* step :
           {"faced", "backed", "washed", "centred", "punched", "trimmed", "inspected"})
        metal.steps[step].done = true;
    return metal;
  }

  void fill_title(const std::string& id,
                  const std::string& format,
                  const std::vector<std::string>& letters,
                  const std::vector<SideMetal>& metal) {
    auto known = std::find_if(
        shop_.titles.begin(), shop_.titles.end(), [&](const auto& one) { return one.id == id; });
    if (known == shop_.titles.end()) {
      works::ShopTitle fresh;
      fresh.id = id;
      fresh.sides.clear();
      fresh.sets = 0;
      fresh.spares = -1;
      fresh.life_closings = -1.0;
      known = shop_.titles.insert(known, std::move(fresh));
    }
    works::ShopTitle& title = *known;
    title.cut = true;
    if (title.format.empty()) title.format = format;
    if (title.sides.empty()) title.sides = letters;
    std::int64_t pairs = metal.front().stampers, pressing = metal.front().on_press;
    title.ages.clear();
    for (const SideMetal& side : metal) {
      pairs = std::min(pairs, side.stampers);
      pressing = std::max(pressing, side.on_press);
      title.ages.push_back(side.age);
    }
    if (title.sets == 0) title.sets = static_cast<int>(std::clamp<std::int64_t>(pressing, 1, 1000));
    if (title.spares < 0)
      title.spares = static_cast<int>(std::clamp<std::int64_t>(pairs - title.sets, 0, 1000));
  }

  /// What neither record nor file told.
  static void complete(works::ShopTitle& title) {
    if (title.sides.empty()) title.sides = {"A", "B"};
    if (title.sets == 0) title.sets = 1;
    title.spares = std::max(0, title.spares);
    title.life_closings = std::max(0.0, title.life_closings);
  }

  // ---- the customer's word

  struct Approval {
    std::string decision{};  ///< the newest; empty: none
    std::int64_t at_s{};
    bool made{}, heard{};  ///< test pressings, since the last refusal
  };
  Approval approval_of(const std::string& order) {
    Approval approval;
    std::int64_t newest = 0;
    for (const Row& row : reader_.standing("approval", "order", order))
      if (whole(at(row, "event")) >= newest) {
        newest = whole(at(row, "event"));
        approval.decision = text(at(row, "decision"));
        approval.at_s = local_s(whole(at(row, "at_ms")));
      }
    const std::int64_t since = approval.decision == "refused" ? newest : 0;
    for (const Row& run : reader_.standing("run", "order", order)) {
      if (text(at(run, "purpose")) != "test") continue;
      for (const Row& pressing : reader_.standing("pressing", "run", text(at(run, "code"))))
        approval.made = approval.made || whole(at(pressing, "event")) > since;
      for (const Row& ticket : reader_.standing("ticket", "run", text(at(run, "code"))))
        approval.heard = approval.heard || (text(at(ticket, "heard")) == "good" &&
                                            whole(at(ticket, "event")) > since);
    }
    if (!approval.decision.empty() && approval.decision != "refused")
      approval.made = approval.heard = true;
    return approval;
  }

  // ---- steps

  void tell_steps(works::ShopOrderBook& order,
                  const works::ShopRoute& route,
                  const std::vector<SideMetal>& metal,
                  const Approval& approval,
                  bool mixed,
                  bool pressed) {
    const bool told = !order.in_hand.empty();
    const auto title = std::find_if(shop_.titles.begin(), shop_.titles.end(), [&](const auto& one) {
      return one.id == order.title;
    });
    const bool first = !grower_.contains(order.title);
    bool wanting = false;
    std::set<std::string> done;
    for (const auto& step : route.steps) {
      const std::string means = meaning(step);
      if (means == "mix" && mixed) done.insert(step.id);
      if (means == "test" && approval.made) done.insert(step.id);
      if (means == "test-listen" && approval.heard) done.insert(step.id);
      if (means == "approval") {
        if (approval.decision == "approved" || approval.decision == "waived") done.insert(step.id);
        if (approval.decision == "sent") run_on(order, step, "", "", approval.at_s);
      }
      if (!is_metal(means)) continue;
      std::size_t there = 0;
      for (std::size_t s = 0; s < std::min(metal.size(), title->sides.size()); ++s) {
        const auto standing = metal[s].steps.find(means);
        if (standing == metal[s].steps.end()) continue;
        if (standing->second.done) {
          ++there;
          if (step.per_side) done.insert(step.id + "/" + title->sides[s]);
        } else if (standing->second.begun_s && first && step.per_side) {
          run_on(order, step, title->sides[s], "", *standing->second.begun_s);
        }
      }
      if (there == title->sides.size())
        done.insert(step.id);
      else
        wanting = true;
    }
    if (told) return;  // the file knows better
    infer(route, pressed, done);
    order.in_hand.assign(done.begin(), done.end());
    order.in_hand_alone = true;
    if (wanting && first) grower_[order.title] = order.id;
    if (wanting && !first) order.metal_from = grower_[order.title];
  }

  static bool is_metal(const std::string& means) {
    static const std::set<std::string> all{"father",
                                           "mother",
                                           "stamper",
                                           "finish",
                                           "faced",
                                           "backed",
                                           "washed",
                                           "centred",
                                           "punched",
                                           "trimmed",
                                           "inspected"};
    return all.contains(means);
  }

  /// Steps that the record knows nothing of are done where one after them is, or where discs were pressed.
  static void infer(const works::ShopRoute& route, bool pressed, std::set<std::string>& done) {
    std::set<std::string> behind = done;
    if (pressed)
      for (const auto& step : route.steps)
        if (meaning(step) == "run") behind.insert(step.id);
    for (std::size_t k = route.steps.size(); k-- > 0;)
      if (behind.contains(route.steps[k].id))
        for (const std::string& before : route.steps[k].after) behind.insert(before);
    for (const auto& step : route.steps)
      if (behind.contains(step.id) && meaning(step).empty()) done.insert(step.id);
  }

  void run_on(const works::ShopOrderBook& order,
              const works::ShopStep& step,
              const std::string& side,
              const std::string& machine,
              std::int64_t since_s) {
    const double left_s = step.time_s - static_cast<double>(shop_.now_s - since_s);
    shop_.running.push_back({.id = order.id + " " + step.id + (side.empty() ? "" : " " + side),
                             .order = order.id,
                             .step = step.id,
                             .side = side,
                             .unit = machine,
                             .lot = 0,
                             .left_s = std::clamp(left_s, 0.0, step.time_s)});
  }

  /// The presses on which the order is being pressed, as text.
  std::string take_runs(const works::ShopOrderBook& order, const works::ShopRoute& route) {
    std::string on;
    for (const Mounted& mounted : mounted_) {
      if (mounted.run.empty() || mounted.title != order.title) continue;
      const Row run = reader_.need("run", mounted.run);
      if (text(at(run, "order")) != order.id || text(at(run, "purpose")) == "test") continue;
      if (mounted.machine.empty())
        refuse(
            "machines",
            fmt::format("run {} of {} is under way on press {} ({}), and no machine is it; write "
                        "press = \"{}\" under the one that is",
                        mounted.run,
                        order.id,
                        mounted.press,
                        mounted.name,
                        mounted.press));
      const works::ShopStep& step = *step_for(route, "run");
      const bool taken = std::any_of(shop_.running.begin(),
                                     shop_.running.end(),
                                     [&](const auto& one) { return one.unit == mounted.machine; });
      const std::int64_t lots = step.per_lot && route.lot > 0 ? route.lot : order.quantity;
      std::int64_t fresh = order.quantity;
      for (const auto& begun : order.begun) fresh -= begun.good;
      if (taken || runs_[order.id] * lots >= fresh) continue;
      ++runs_[order.id];
      shop_.running.push_back({.id = mounted.run + " on " + mounted.machine,
                               .order = order.id,
                               .step = step.id,
                               .side = {},
                               .unit = mounted.machine,
                               .lot = 0,
                               .left_s = -1.0});
      on += (on.empty() ? "" : ", ") + mounted.machine;
    }
    return on;
  }

  void say(const works::ShopOrderBook& order,
           const Stock& stock,
           std::int64_t fresh,
           const std::vector<SideMetal>& metal,
           const Approval& approval,
           bool mixed,
           const std::string& on) {
    std::string said = fmt::format("{}: {} ordered", order.id, order.quantity);
    const auto count = [&](std::int64_t discs, const char* where) {
      if (discs > 0) said += fmt::format(", {} {}", discs, where);
    };
    count(stock.away, "packed or shipped");
    count(stock.good, "good");
    count(stock.edge_finished, "edge-finished");
    count(stock.pressed, "pressed");
    count(stock.suspect, "suspect (not counted)");
    said += fresh > 0 ? fmt::format("; {} to press", fresh) : "; none to press";
    if (!on.empty()) said += ", under way on " + on;
    said += "; stampers";
    for (const SideMetal& side : metal) said += fmt::format(" {}", side.stampers);
    if (!order.metal_from.empty()) said += ", waits for the metal of " + order.metal_from;
    said += approval.decision.empty() ? (approval.made ? "; test pressings made" : "; not tested")
            : approval.decision == "sent" ? "; test pressings sent"
                                          : "; " + approval.decision;
    said += mixed ? "; compound in hand" : "; compound to mix";
    if (order.due_s == shop_.now_s + year_s) said += "; no due date: taken as due in a year";
    shop_.found.push_back(std::move(said));
  }

  Reader& reader_;
  const ShopView& view_;
  works::Shop shop_;
  std::map<std::string, works::ShopOrderBook> told_;
  std::vector<Mounted> mounted_;
  std::map<std::string, double> compound_kg_;
  std::map<std::string, std::vector<SideMetal>> metal_;  ///< by title
  std::map<std::string, std::string> grower_;            ///< of a title's metal, by title
  std::map<std::string, std::int64_t> runs_;             ///< under way, by order
};

}  // namespace

Result<works::Shop> shop_of_record(ledger::Record& record, works::Shop file, const ShopView& view) {
  works::Shop shop;
  const auto asked = record.read([&](Reader& reader) { shop = Filling{reader, file, view}.run(); });
  if (!asked) return asked.error();
  return shop;
}

}  // namespace goodside::line
