#pragma once
#include <string>

#include "ledger/record.hpp"

namespace goodside::line {

/// Metal that the record says a part is made of, from its growth. Thicknesses [m]; 0: none, or not known.
struct PartLayers {
  double nickel_m{}, copper_m{};
  std::string from{};  ///< codes of the steps, with commas; empty: no thickness was entered

  [[nodiscard]] double whole_m() const { return nickel_m + copper_m; }
};

/// Of every `grown` step the reading thickness_m, by the metal that it names: several runs of one metal lie on each
/// other. A thickness without a metal is a gauge's, of the whole shell: it stands in place of what was entered before,
/// as nickel. A face of chromium is too thin to count. Throws ledger::Refused.
[[nodiscard]] PartLayers part_layers(ledger::Reader& reader, const std::string& code);

/// The same of a record, with the format of the part's side. Errors: Fault::not_found.
struct PartAsGrown {
  PartLayers layers;
  std::string format{};  ///< empty: not known
};
Result<PartAsGrown> part_as_grown(ledger::Record& record, const std::string& code);

}  // namespace goodside::line
