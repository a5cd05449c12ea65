#pragma once
#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "base/result.hpp"

namespace goodside::json {

/// Any JSON value as a plain struct, for answers that have no contract of their own and for the
/// lines of a record's export. Numbers keep their kind: whole or not.
struct Node {
  using List = std::vector<Node>;
  using Object = std::vector<std::pair<std::string, Node>>;  ///< in the order written
  std::variant<std::monostate, bool, std::int64_t, double, std::string, List, Object> value;

  Node() = default;
  Node(bool truth) : value{truth} {}
  Node(std::int64_t number) : value{number} {}
  Node(double number) : value{number} {}
  Node(std::string text) : value{std::move(text)} {}
  Node(const char* text) : value{std::string{text}} {}
  Node(List list) : value{std::move(list)} {}
  Node(Object object) : value{std::move(object)} {}

  /// A member of an object; null where there is none, or where this is no object.
  [[nodiscard]] const Node* find(std::string_view key) const;
  bool operator==(const Node&) const = default;
};

/// Laid out for people; ends in a newline. A double that is not finite becomes null.
std::string lay_out(const Node& node);
/// The same on one line without a newline: shortest numbers that read back exactly.
std::string one_line(const Node& node);
/// Errors: Fault::bad_input, naming `document`, for what is no JSON, too deep or too long.
Result<Node> read_node(std::string_view text,
                       std::size_t largest_bytes,
                       const std::string& document);

}  // namespace goodside::json
