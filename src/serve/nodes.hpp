#pragma once
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "json/node.hpp"
#include "ledger/record.hpp"
#include "serve/asked.hpp"
#include "serve/standing.hpp"

namespace goodside::serve {

using Object = json::Node::Object;
using List = json::Node::List;

/// Null where there is nothing, or an empty text.
[[nodiscard]] json::Node or_null(const std::string& text);
template <class T>
[[nodiscard]] json::Node or_null(const std::optional<T>& value) {
  return value ? json::Node{*value} : json::Node{};
}
/// A cell of a row; null where it is.
[[nodiscard]] json::Node cell(const ledger::Row& row, std::string_view column);
[[nodiscard]] json::Node range_node(std::int64_t first, std::int64_t last);
/// A row of this table.
[[nodiscard]] json::Node row_node(std::string_view table, const ledger::Row& row);
[[nodiscard]] json::Node row_or_null(std::string_view table, const std::optional<ledger::Row>& row);
[[nodiscard]] json::Node rows_node(std::string_view table, const std::vector<ledger::Row>& rows);
[[nodiscard]] json::Node play_node(const Play& play);
[[nodiscard]] json::Node counts_node(const std::map<std::string, std::int64_t>& places);
[[nodiscard]] json::Node tickets_node(const std::map<std::string, std::int64_t>& tickets);
[[nodiscard]] json::Node entry_node(const ledger::Head& head);

/// A code as typed in a path. Stops with 400 where its check character is wrong.
[[nodiscard]] std::string code_of(const Asked& asked, std::string_view part);
/// The row with this code, taken back or not. Stops with 404.
[[nodiscard]] ledger::Row need(ledger::Reader& reader,
                               std::string_view table,
                               const std::string& code);

/// The JSON body of a request. Members are asked for by name; what is absent is null.
class Body {
 public:
  explicit Body(const Asked& asked);
  [[nodiscard]] bool has(std::string_view name) const;
  /// Each stops with 400 where the member is of another kind, or is missing and has to be there.
  [[nodiscard]] std::string text(std::string_view name) const;
  [[nodiscard]] std::string text_or(std::string_view name, const std::string& otherwise) const;
  [[nodiscard]] std::int64_t number(std::string_view name) const;
  [[nodiscard]] std::optional<std::int64_t> maybe_number(std::string_view name) const;
  [[nodiscard]] std::optional<double> maybe_real(std::string_view name) const;
  [[nodiscard]] bool truth(std::string_view name) const;
  [[nodiscard]] const List& list(std::string_view name) const;
  /// As it stands; null where it is absent.
  [[nodiscard]] const json::Node& node(std::string_view name) const;

 private:
  [[nodiscard]] const json::Node* member(std::string_view name) const;
  json::Node node_;
};

}  // namespace goodside::serve
