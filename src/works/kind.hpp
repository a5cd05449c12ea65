#pragma once
#include <span>
#include <string_view>

#include "base/result.hpp"

namespace goodside::works {

/// One column of a noun. The name is the column's, unit included; people type it without the unit
/// (`mass=2.3 kg` for mass_kg).
struct Field {
  enum class Type {
    text,
    whole,     ///< 0 or more
    quantity,  ///< through `read`, into SI
    code,      ///< of a `refers_to`
    choice,    ///< one of `choices`, separated by |
    instant,   ///< UTC milliseconds; typed as a date, or date and time
    flag       ///< yes or no
  };
  using Read = Result<double> (*)(std::string_view);

  std::string_view name;
  std::string_view help;
  Type type{Type::text};
  bool required{};
  bool own{};  ///< set by the record itself, never typed
  std::string_view refers_to{}, choices{};
  Read read{};
  std::string_view unit{};  ///< of a quantity, as the column's name ends in: "kg"
};

/// A noun of the record: its table, how its code looks unless the works says otherwise, and its
/// columns. Every table has besides: code, id, at_ms (when it happened), who, note, void, event.
struct Kind {
  std::string_view name;     ///< as typed: "test pressing"
  std::string_view table;    ///< in the store and in exports
  std::string_view pattern;  ///< of its codes
  std::string_view help;
  std::span<const Field> fields;
  bool by_hand{true};  ///< `works add` makes it; otherwise it has a verb of its own
};

[[nodiscard]] std::span<const Kind> kinds();
/// By name or table. Errors: Fault::bad_input, naming the nouns there are.
Result<const Kind*> find_kind(std::string_view name);
/// The kind whose table is `table`; our own mistake if there is none.
[[nodiscard]] const Kind& kind_of_table(std::string_view table);
/// The field that `typed` names, with or without its unit; null when there is none.
[[nodiscard]] const Field* find_field(const Kind& kind, std::string_view typed);

}  // namespace goodside::works
