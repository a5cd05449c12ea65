#pragma once
#include <functional>
#include <string>
#include <vector>

#include "line/read_fields.hpp"
#include "serve/board.hpp"
#include "serve/nodes.hpp"

namespace goodside::serve {

// What the routes share by which the record is written by hand.

[[nodiscard]] std::vector<Role> who_enters();     ///< station, clerk, engineer: each what is theirs
[[nodiscard]] std::vector<Role> at_stations();    ///< station, engineer
[[nodiscard]] std::vector<Role> in_the_office();  ///< clerk, engineer

/// The request's JSON object whole, for members that are objects themselves. Stops with 400.
[[nodiscard]] json::Node whole_body(const Asked& asked);
/// `{"name": "Fallen Leaves", "quantity": 300}` as people type fields. Stops with 400 where a member is neither text nor
/// number nor true or false.
[[nodiscard]] line::Typed typed_fields(const json::Node& object, const std::string& name);
/// A member of a body that is a code. Stops with 422 where its check character is wrong; empty where it is absent.
[[nodiscard]] std::string code_in(const Body& body, const char* name, bool required = false);
[[nodiscard]] std::vector<std::string> codes_in(const Body& body, const char* name);
/// `[first, last]`, where it is there.
[[nodiscard]] std::optional<works::Impressions> range_in(const Body& body, const char* name);
/// A count of the request that must not be below nought. Stops with 422.
[[nodiscard]] std::int64_t count_in(const Body& body, const char* name);

/// The answer of a write: code and entry.
[[nodiscard]] Object entered_object(const std::string& code, const ledger::Head& head);
/// Whether the entry made stock suspect: what did is let go by an engineer alone, however it is undone.
[[nodiscard]] bool is_quarantine(const ledger::Event& event);
/// Takes the entry of the path back, for the body's reason, where `check` does not stop it. Stops with 400 where it is no
/// number, 404 where there is none.
[[nodiscard]] Answer undo_entry(Board& board,
                                Asked& asked,
                                const std::function<void(const ledger::Event&)>& check);
/// Number of the first row and cell, 0 where it is null.
[[nodiscard]] std::int64_t ask_number(ledger::Reader& reader,
                                      std::string_view sql,
                                      const ledger::Values& values = {});

}  // namespace goodside::serve
