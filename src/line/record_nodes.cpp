#include "line/record_nodes.hpp"

namespace goodside::line {
namespace {

json::Node cell_node(const ledger::Value& value) {
  struct Convert {
    json::Node operator()(std::monostate) const { return {}; }
    json::Node operator()(std::int64_t number) const { return {number}; }
    json::Node operator()(double number) const { return {number}; }
    json::Node operator()(const std::string& text) const { return {text}; }
    json::Node operator()(const ledger::Bytes&) const { return {}; }
  };
  return std::visit(Convert{}, value);
}

}  // namespace

json::Node as_node(const works::Kind& kind, const ledger::Row& row) {
  json::Node::Object object{{"code", ledger::text(ledger::at(row, "code"))}};
  for (const works::Field& field : kind.fields)
    if (const auto& value = ledger::at(row, field.name); !ledger::is_null(value))
      object.emplace_back(std::string{field.name}, cell_node(value));
  for (const char* column : {"id", "at_ms", "who", "note", "void", "event"})
    if (const auto& value = ledger::at(row, column); !ledger::is_null(value))
      object.emplace_back(column, cell_node(value));
  return object;
}

json::Node as_node(const ledger::Head& head) {
  return json::Node::Object{{"seq", head.seq}, {"hash", head.hash}};
}

json::Node as_node(const works::Holding& holding) {
  json::Node::Object object{
      {"place", std::string{word(holding.spot.place)}},
      {"impressions", json::Node::List{holding.impressions.first, holding.impressions.last}},
      {"quantity", holding.quantity}};
  if (!holding.spot.at.empty()) object.emplace_back("at", holding.spot.at);
  if (!holding.spot.reason.empty()) object.emplace_back("reason", holding.spot.reason);
  return object;
}

}  // namespace goodside::line
