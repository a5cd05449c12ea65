#include "line/open_orders.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "line/side_parts.hpp"

namespace goodside::line {
namespace {

using ledger::at;
using ledger::Reader;
using ledger::Row;
using ledger::text;
using ledger::whole;
using works::NeedOrder;
using works::Place;

/// What of an order is good, packed or shipped, and what is pressed and not yet sorted. Test pressings are made.
struct Made {
  std::int64_t done{}, on_way{};
  bool tested{};
};
Made made_of(Reader& reader, const std::string& order) {
  Made made;
  for (const Row& run : reader.standing("run", "order", order)) {
    const bool test = text(at(run, "purpose")) == "test";
    for (const works::Holding& one : reader.holdings(text(at(run, "code")))) {
      const Place place = one.spot.place;
      if (place == Place::good_stock || place == Place::packed || place == Place::shipped)
        made.done += one.quantity;
      if (!test && (place == Place::pressed || place == Place::edge_finished))
        made.on_way += one.quantity;
    }
  }
  for (const Row& row : reader.standing("approval", "order", order)) {
    const std::string decision = text(at(row, "decision"));
    made.tested = made.tested || decision == "approved" || decision == "waived";
  }
  return made;
}

struct Metal {
  std::int64_t stampers{}, mothers{}, fathers{};
  double age{};
  bool any{};
};
Metal metal_of(Reader& reader, const std::string& side) {
  Metal metal;
  if (!reader.standing("cut", "side", side).empty()) metal.any = true;
  for (const Row& part : parts_of(reader, side)) {
    metal.any = true;
    const std::string kind = text(at(part, "kind")), state = text(at(part, "state"));
    if (!usable(part)) continue;
    if (kind == "stamper") {
      ++metal.stampers;
      if (state != "ready")
        metal.age = std::max(metal.age, closings_of(reader, text(at(part, "code"))));
    }
    metal.mothers += kind == "mother" ? 1 : 0;
    metal.fathers += kind == "father" ? 1 : 0;
  }
  return metal;
}

}  // namespace

Result<std::vector<NeedOrder>> open_orders(ledger::Record& record, const std::string& wanted) {
  std::vector<NeedOrder> orders;
  const auto asked = record.read([&](Reader& reader) {
    orders.clear();
    const auto rows = reader.named_or_all("orders", wanted);
    std::set<std::string> counted;  // a title's metal is counted with its first order
    for (const Row& row : rows) {
      NeedOrder order{.order = text(at(row, "code")), .material = text(at(row, "material"))};
      const Made made = made_of(reader, order.order);
      order.quantity = whole(at(row, "quantity")) - made.done;
      order.on_way = made.on_way;
      order.tested = made.tested;
      if (order.quantity <= 0) continue;
      const std::string title = text(at(row, "title"));
      const auto name = reader.find("title", title);
      order.title = name ? fmt::format("{} {}", title, text(at(*name, "name"))) : title;
      bool metal_known = false;
      for (const Row& side : reader.standing("side", "title", title)) {
        const std::string letter = text(at(side, "letter"));
        const Metal metal = metal_of(reader, text(at(side, "code")));
        metal_known = metal_known || metal.any;
        if (counted.contains(title)) continue;
        const bool b = letter == "B";
        (b ? order.stampers_b : order.stampers_a) = metal.stampers;
        (b ? order.mothers_b : order.mothers_a) = metal.mothers;
        (b ? order.fathers_b : order.fathers_a) = metal.fathers;
        (b ? order.age_b : order.age_a) = metal.age;
      }
      if (!metal_known)
        ledger::refuse(
            Fault::bad_input,
            fmt::format("order {}: title {} has no cut and no metal; enter one with `goodside "
                        "works add cut`, or bought metal with `add part`",
                        order.order,
                        title));
      counted.insert(title);
      orders.push_back(std::move(order));
    }
  });
  if (!asked) return asked.error();
  if (orders.empty())
    return Error{Fault::bad_input,
                 wanted.empty()
                     ? "no order is open; enter one with `goodside works add order`"
                     : wanted + " is done: as many are good, packed or shipped as were ordered"};
  return orders;
}

}  // namespace goodside::line
