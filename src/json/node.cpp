#include "json/node.hpp"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "json/cursor.hpp"
#include "json/layout.hpp"

namespace goodside::json {
namespace {

nlohmann::ordered_json as_json(const Node& node) {
  struct Convert {
    nlohmann::ordered_json operator()(std::monostate) const { return nullptr; }
    nlohmann::ordered_json operator()(double number) const {
      if (!std::isfinite(number)) return nullptr;
      return number;
    }
    nlohmann::ordered_json operator()(const Node::List& list) const {
      auto out = nlohmann::ordered_json::array();
      for (const Node& one : list) out.push_back(as_json(one));
      return out;
    }
    nlohmann::ordered_json operator()(const Node::Object& object) const {
      auto out = nlohmann::ordered_json::object();
      for (const auto& [key, one] : object) out[key] = as_json(one);
      return out;
    }
    nlohmann::ordered_json operator()(bool truth) const { return truth; }
    nlohmann::ordered_json operator()(std::int64_t number) const { return number; }
    nlohmann::ordered_json operator()(const std::string& text) const { return text; }
  };
  return std::visit(Convert{}, node.value);
}

Node as_node(const nlohmann::json& json) {
  switch (json.type()) {
    case nlohmann::json::value_t::boolean:
      return {json.get<bool>()};
    case nlohmann::json::value_t::number_integer:
    case nlohmann::json::value_t::number_unsigned:
      return {json.get<std::int64_t>()};
    case nlohmann::json::value_t::number_float:
      return {json.get<double>()};
    case nlohmann::json::value_t::string:
      return {json.get<std::string>()};
    case nlohmann::json::value_t::array: {
      Node::List list;
      for (const auto& one : json) list.push_back(as_node(one));
      return {std::move(list)};
    }
    case nlohmann::json::value_t::object: {
      Node::Object object;
      for (const auto& [key, one] : json.items()) object.emplace_back(key, as_node(one));
      return {std::move(object)};
    }
    default:
      return {};
  }
}

/// Text that stands in JSON as it is.
bool is_plain(std::string_view text) {
  return std::ranges::all_of(text, [](char letter) {
    return letter >= ' ' && letter <= '~' && letter != '"' && letter != '\\';
  });
}

void add_text(const std::string& text, std::string& out) {
  if (is_plain(text))
    out.append("\"").append(text).append("\"");
  else
    out += nlohmann::json(text).dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

/// Without a copy of the whole as the library's own: a page of thousands of discs is written in
/// milliseconds.
void add_line(const Node& node, std::string& out) {
  if (const auto* list = std::get_if<Node::List>(&node.value)) {
    out += '[';
    for (std::size_t k = 0; k < list->size(); ++k) {
      if (k > 0) out += ',';
      add_line((*list)[k], out);
    }
    out += ']';
  } else if (const auto* object = std::get_if<Node::Object>(&node.value)) {
    out += '{';
    for (std::size_t k = 0; k < object->size(); ++k) {
      if (k > 0) out += ',';
      add_text((*object)[k].first, out);
      out += ':';
      add_line((*object)[k].second, out);
    }
    out += '}';
  } else if (const auto* text = std::get_if<std::string>(&node.value)) {
    add_text(*text, out);
  } else {
    out += as_json(node).dump();
  }
}

}  // namespace

const Node* Node::find(std::string_view key) const {
  const auto* object = std::get_if<Object>(&value);
  if (object == nullptr) return nullptr;
  for (const auto& [name, node] : *object)
    if (name == key) return &node;
  return nullptr;
}

std::string lay_out(const Node& node) {
  return lay_out(as_json(node));
}

std::string one_line(const Node& node) {
  std::string out;
  add_line(node, out);
  return out;
}

Result<Node> read_node(std::string_view text,
                       std::size_t largest_bytes,
                       const std::string& document) {
  const auto json = parse_guarded(text, largest_bytes, document);
  if (!json) return json.error();
  return as_node(*json);
}

}  // namespace goodside::json
