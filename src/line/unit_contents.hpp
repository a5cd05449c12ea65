#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "line/desk.hpp"
#include "works/holding.hpp"

namespace goodside::line {

/// Discs in a carton of which one thing is known: their run, their interval, and the spindles that it was filled from.
struct ContentLine {
  std::string run;
  works::Holding holding;
  std::vector<std::string> spindles;
};
struct CartonContents {
  std::string code, order, state, pallet, shipment, sscc;
  std::int64_t capacity{}, discs{};
  std::optional<double> gross_kg;
  std::vector<ContentLine> lines;
};
/// Throws ledger::Refused where there is no such carton.
[[nodiscard]] CartonContents carton_contents(ledger::Reader& reader, const std::string& carton);

/// A carton, pallet or shipment with all cartons in it.
struct UnitContents {
  std::string kind, code, order, state, sscc, to, carrier, delivery;
  std::vector<CartonContents> cartons;
  [[nodiscard]] std::int64_t discs() const;
};
/// Errors: Fault::not_found.
Result<UnitContents> unit_contents(ledger::Record& record, const std::string& code);
/// The same within other questions; throws ledger::Refused.
[[nodiscard]] UnitContents unit_contents(ledger::Reader& reader, const std::string& code);

/// `R-00002-7 5–29`, several of one run together: as papers and labels name what is inside.
[[nodiscard]] std::string ranges_text(const CartonContents& carton);
[[nodiscard]] std::string spindles_text(const CartonContents& carton);

}  // namespace goodside::line
