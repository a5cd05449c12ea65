#pragma once
#include <cstddef>
#include <cstdint>
#include <string>
#include <variant>
#include <vector>

namespace goodside::ledger {

using Bytes = std::vector<std::byte>;

/// What one cell of a table holds, in either store: null, int64, double, text, bytes. A double is
/// finite; text is UTF-8 without NUL.
using Value = std::variant<std::monostate, std::int64_t, double, std::string, Bytes>;
using Values = std::vector<Value>;

[[nodiscard]] inline bool is_null(const Value& value) {
  return std::holds_alternative<std::monostate>(value);
}
/// The number, or `otherwise` where the cell is null. Any other type is our own mistake (throws).
[[nodiscard]] inline std::int64_t whole(const Value& value, std::int64_t otherwise = 0) {
  return is_null(value) ? otherwise : std::get<std::int64_t>(value);
}
/// The text, or an empty one where the cell is null.
[[nodiscard]] inline std::string text(const Value& value) {
  return is_null(value) ? std::string{} : std::get<std::string>(value);
}

}  // namespace goodside::ledger
