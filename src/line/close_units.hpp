#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "line/desk.hpp"

namespace goodside::line {

/// A unit is a carton or a pallet. Somebody has counted what is in it: discs of a carton, cartons of a pallet.
struct Closing {
  std::string unit;
  std::int64_t counted{};
  bool part{};                               ///< a carton that is meant to hold fewer than it could
  std::optional<double> weighed_kg{};        ///< gross, of a carton
  std::optional<double> lifting_limit_kg{};  ///< what a carton may weigh
  std::string company_prefix{};              ///< of GS1; empty: the unit's own code is its number
};
struct Closed {
  ledger::Head head;
  std::int64_t discs{}, cartons{};
  std::string sscc;  ///< empty without a prefix
};
/// It is closed when the count agrees with the ledger: a full carton, or a part carton that is called one; a pallet of
/// closed cartons. Each closing takes a new number: one that was open in between has other contents.
/// Errors: Fault::conflict where the count differs (over- or short-packed), discs in it are suspect, it is not open, or it
/// weighs more than may be lifted; Fault::not_found.
Result<Closed> close_unit(const Desk& desk, const Closing& closing);

/// A closed unit is opened to be packed again; its number is void, and so is that of the pallet it stands on.
/// Errors: Fault::conflict where it is not closed; Fault::bad_input without a reason.
Result<ledger::Head> open_unit(const Desk& desk,
                               const std::string& unit,
                               const std::string& reason);
/// The same within an entry that writes more, where it is closed; throws ledger::Refused.
void open_within(ledger::Writer& writer, const std::string& carton);
void open_pallet_within(ledger::Writer& writer, const std::string& pallet);

/// The standing number of a unit; empty where it has none.
[[nodiscard]] std::string sscc_of(ledger::Reader& reader,
                                  const char* table,
                                  const std::string& unit);
/// The unit whose standing label carries this SSCC, with or without (00) before it; nothing where there is none.
[[nodiscard]] std::optional<std::string> unit_by_sscc(ledger::Reader& reader,
                                                      std::string_view typed);
/// A unit's code as it was typed or scanned: a code, or an SSCC that a label of this record carries.
/// Errors: Fault::not_found, Fault::bad_input.
Result<std::string> unit_of(ledger::Record& record, const std::string& typed);

}  // namespace goodside::line
