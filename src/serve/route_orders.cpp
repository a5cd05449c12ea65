#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "dispatch/order_balance.hpp"
#include "line/add_noun.hpp"
#include "line/enter_order.hpp"
#include "line/order_state.hpp"
#include "line/press_discs.hpp"
#include "serve/by_hand.hpp"
#include "works/kind.hpp"

// Orders, what the customer says of them, and any noun that is entered by its fields alone.

namespace goodside::serve {
namespace {

/// Who enters what, besides the engineer, who enters all.
constexpr std::array office{
    "title", "side", "track", "orders", "delivery", "shipment", "complaint"};
constexpr std::array shop{"part",
                          "batch",
                          "weighing",
                          "biscuit",
                          "spindle",
                          "run",
                          "carton",
                          "pallet",
                          "inspection",
                          "tally",
                          "remark",
                          "shipment"};

bool may_enter(const Session& session, std::string_view table) {
  const auto among = [&](const auto& tables) {
    return std::ranges::find(tables, table) != tables.end();
  };
  return session.may({Role::engineer}) || (session.may({Role::clerk}) && among(office)) ||
         (session.may({Role::station}) && among(shop));
}

std::string_view type_word(works::Field::Type type) {
  constexpr std::array<std::string_view, 7> words{
      "text", "whole", "quantity", "code", "choice", "instant", "flag"};
  return words.at(static_cast<std::size_t>(type));
}

json::Node kind_node(const works::Kind& kind, bool mine) {
  List fields;
  for (const works::Field& field : kind.fields) {
    if (field.own) continue;
    List choices;
    std::string_view rest = field.choices;
    while (!rest.empty()) {
      const auto bar = std::min(rest.find('|'), rest.size());
      choices.emplace_back(std::string{rest.substr(0, bar)});
      rest.remove_prefix(std::min(bar + 1, rest.size()));
    }
    fields.push_back(Object{{"name", std::string{field.name}},
                            {"help", std::string{field.help}},
                            {"type", std::string{type_word(field.type)}},
                            {"required", field.required},
                            {"refers_to", or_null(std::string{field.refers_to})},
                            {"choices", std::move(choices)}});
  }
  return Object{{"kind", std::string{kind.name}},
                {"help", std::string{kind.help}},
                {"may", mine},
                {"fields", std::move(fields)}};
}

Answer kinds(const Asked& asked) {
  List list;
  for (const works::Kind& kind : works::kinds())
    if (kind.by_hand) list.push_back(kind_node(kind, may_enter(asked.session, kind.table)));
  return answer(Object{{"kinds", std::move(list)}});
}

Answer enter(Board& board, Asked& asked) {
  const Body body{asked};
  const json::Node whole = whole_body(asked);
  const auto kind = works::find_kind(body.text("kind"));
  if (!kind) throw Stop{422, kind.error().text};
  if (!may_enter(asked.session, (*kind)->table))
    throw Stop{403, fmt::format("a {} is entered by others", (*kind)->name)};
  const json::Node* const fields = whole.find("fields");
  if (fields == nullptr) throw Stop{400, "fields is missing"};
  const line::Typed typed = typed_fields(*fields, "fields");
  json::Node out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    const auto entered = or_stop(line::add_noun(desk, **kind, typed));
    out = entered_object(entered.code, entered.head);
  });
  return answer(out, 201);
}

std::vector<line::Typed> lists_of_fields(const json::Node* list, const std::string& name) {
  std::vector<line::Typed> all;
  if (list == nullptr || std::holds_alternative<std::monostate>(list->value)) return all;
  const auto* items = std::get_if<List>(&list->value);
  if (items == nullptr || items->size() > 200)
    throw Stop{400, fmt::format("{}: give a list of at most 200", name)};
  for (const json::Node& item : *items) all.push_back(typed_fields(item, name));
  return all;
}

json::Node codes_node(const std::vector<std::string>& codes) {
  List list;
  for (const std::string& code : codes) list.emplace_back(code);
  return list;
}

Answer enter_order(Board& board, Asked& asked) {
  const Body body{asked};
  const json::Node whole = whole_body(asked);
  const json::Node* const order = whole.find("order");
  if (order == nullptr) throw Stop{400, "order is missing"};
  line::NewOrder wanted{.title = code_in(body, "title"),
                        .new_title = {},
                        .new_sides = lists_of_fields(whole.find("sides"), "sides"),
                        .order = typed_fields(*order, "order"),
                        .deliveries = lists_of_fields(whole.find("deliveries"), "deliveries")};
  if (body.has("new_title")) wanted.new_title = typed_fields(*whole.find("new_title"), "new_title");
  Object out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    const auto entered = or_stop(line::enter_order(desk, wanted));
    out = entered_object(entered.order, entered.head);
    out.emplace_back("title", entered.title);
    out.emplace_back("sides", codes_node(entered.sides));
    out.emplace_back("deliveries", codes_node(entered.deliveries));
  });
  return answer(out, 201);
}

Answer approve(Board& board, Asked& asked) {
  const std::string order = code_of(asked, "code");
  const Body body{asked};
  const line::Approval approval{.order = order,
                                .decision = body.text("decision"),
                                .words = body.text_or("words", ""),
                                .ticket = code_in(body, "ticket"),
                                .report = code_in(body, "report")};
  if (const auto fit = line::fit_text(approval.words); !fit) throw Stop{422, fit.error().text};
  json::Node out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    const auto entered = or_stop(line::enter_approval(desk, approval));
    out = entered_object(entered.code, entered.head);
  });
  return answer(out, 201);
}

Object count_object(const dispatch::OrderCount& count) {
  return {{"ordered", count.ordered},
          {"most", count.most},
          {"shipped", count.shipped},
          {"credited", count.credited},
          {"owed", dispatch::still_owed(count)},
          {"may_leave", dispatch::may_still_leave(count)}};
}

Answer owed(Board& board, const std::string& code) {
  Object out;
  board.read([&](ledger::Reader& reader) {
    static_cast<void>(need(reader, "orders", code));
    const line::OrderState state = line::order_state(reader, code);
    List deliveries, shipments;
    for (const line::DeliveryState& one : state.deliveries) {
      Object delivery{{"code", one.code},
                      {"to", one.to},
                      {"due_ms", one.due_ms == 0 ? json::Node{} : json::Node{one.due_ms}}};
      for (auto& member : count_object(one.count)) delivery.push_back(std::move(member));
      deliveries.emplace_back(std::move(delivery));
    }
    for (const auto& one : state.shipments)
      shipments.push_back(Object{{"code", one.code},
                                 {"to", one.to},
                                 {"carrier", or_null(one.carrier)},
                                 {"cartons", one.cartons},
                                 {"discs", one.discs},
                                 {"at_ms", one.at_ms}});
    out = count_object(state.count);
    out.emplace_back("packed", state.packed);
    out.emplace_back("deliveries", std::move(deliveries));
    out.emplace_back("shipments", std::move(shipments));
  });
  return answer(out);
}

/// Everybody takes back what they entered themselves, the engineer all that a record's entry may be; a quarantine is lifted
/// by an engineer alone, its own author's too.
Answer undo(Board& board, Asked& asked) {
  return undo_entry(board, asked, [&](const ledger::Event& event) {
    if (event.what.starts_with("account") || event.what == "init")
      throw Stop{409, fmt::format("entry {} is not one of the shop's ({})", event.seq, event.what)};
    if (asked.session.may({Role::engineer})) return;
    if (event.who != asked.session.name)
      throw Stop{403,
                 fmt::format("entry {} is {}'s: an engineer takes it back", event.seq, event.who)};
    if (is_quarantine(event))
      throw Stop{403,
                 fmt::format("entry {} is a quarantine: an engineer lets its discs go", event.seq)};
  });
}

}  // namespace

std::vector<Route> order_routes(Board& board) {
  return {{.method = "GET", .path = "/api/kinds", .run = [](Asked& asked) { return kinds(asked); }},
          {.method = "POST",
           .path = "/api/entered",
           .roles = who_enters(),
           .run = [&](Asked& asked) { return enter(board, asked); }},
          {.method = "POST",
           .path = "/api/orders",
           .roles = in_the_office(),
           .run = [&](Asked& asked) { return enter_order(board, asked); }},
          {.method = "POST",
           .path = "/api/orders/{code}/approvals",
           .roles = in_the_office(),
           .run = [&](Asked& asked) { return approve(board, asked); }},
          {.method = "GET",
           .path = "/api/orders/{code}/owed",
           .run = [&](Asked& asked) { return owed(board, code_of(asked, "code")); }},
          {.method = "POST",
           .path = "/api/entries/{entry}/undo",
           .roles = who_enters(),
           .run = [&](Asked& asked) { return undo(board, asked); }}};
}

}  // namespace goodside::serve
