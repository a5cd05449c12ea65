#include "line/enter_order.hpp"

#include "line/add_noun.hpp"

namespace goodside::line {
namespace {

std::string add(ledger::Writer& writer,
                std::string_view table,
                Typed fields,
                const char* of = nullptr,
                const std::string& code = {}) {
  const works::Kind& kind = works::kind_of_table(table);
  if (of != nullptr) fields.emplace_back(of, code);
  return add_within(writer, kind, ledger::or_refuse(read_fields(kind, fields, false)));
}

}  // namespace

Result<OrderEntered> enter_order(const Desk& desk, const NewOrder& wanted) {
  if (wanted.title.empty() == wanted.new_title.empty())
    return Error{Fault::bad_input, "title: give a title of the record, or a new one"};
  if (wanted.title.empty() && wanted.new_sides.empty())
    return Error{Fault::bad_input, "sides: a new title has at least one side"};
  OrderEntered entered;
  const auto head = desk.record.write(desk.act("add order"), [&](ledger::Writer& writer) {
    entered = {.order = {}, .title = wanted.title, .sides = {}, .deliveries = {}, .head = {}};
    if (entered.title.empty()) entered.title = add(writer, "title", wanted.new_title);
    if (wanted.title.empty())
      for (const Typed& side : wanted.new_sides)
        entered.sides.push_back(add(writer, "side", side, "title", entered.title));
    entered.order = add(writer, "orders", wanted.order, "title", entered.title);
    for (const Typed& delivery : wanted.deliveries)
      entered.deliveries.push_back(add(writer, "delivery", delivery, "order", entered.order));
  });
  if (!head) return head.error();
  entered.head = *head;
  return entered;
}

}  // namespace goodside::line
