#pragma once
#include <string>

#include "draw/work_papers.hpp"
#include "line/desk.hpp"

namespace goodside::line {

// What several papers and labels say of the record's nouns.

/// `Fallen Leaves · The Hedgerow`.
[[nodiscard]] std::string title_text(ledger::Reader& reader, const std::string& title);
[[nodiscard]] std::string title_of_order(ledger::Reader& reader, const std::string& order);
/// A reading as people read it: lengths in mm, temperatures in °C, the rest as it is kept.
[[nodiscard]] std::string reading_text(const ledger::Row& reading);

/// Adds lines to a paper's pairs; what is not known adds none.
class PaperFacts {
 public:
  PaperFacts(ledger::Reader& reader, draw::PaperPairs& pairs) : reader_{reader}, pairs_{pairs} {}
  void add(const std::string& name, const std::string& value);
  /// The column times `scale` plus `shift`, with a unit.
  void quantity(const std::string& name,
                const ledger::Row& row,
                const char* column,
                double scale,
                const std::string& unit,
                int decimals,
                double shift = 0.0);
  /// `PR-01-3 Press 1`.
  void named(const std::string& name, const char* table, const std::string& code);
  /// Order, customer, the customer's own number, quantity, day.
  void order(const std::string& code);
  /// The stampers that are on the press now.
  void mounting_on(const std::string& press);
  /// Letter and matrix number of each side.
  void sides(const std::string& title);

 private:
  ledger::Reader& reader_;
  draw::PaperPairs& pairs_;
};

}  // namespace goodside::line
