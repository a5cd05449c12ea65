#pragma once
#include <optional>
#include <string>
#include <vector>

#include "line/desk.hpp"
#include "line/read_fields.hpp"
#include "works/part.hpp"

namespace goodside::line {

/// A part with its row, as the rules of works/part see it.
struct KnownPart {
  ledger::Row row;
  works::Part part;
};
// Throw ledger::Refused.
[[nodiscard]] KnownPart known_part(ledger::Reader& reader, const std::string& code);

struct KnownParent {
  ledger::Row row;
  works::Parent parent;
};
[[nodiscard]] KnownParent parent_facts(ledger::Reader& reader, const std::string& code);

/// A figure taken at a step: `thickness=212 um`, `current=3.2`. A quantity with a unit is kept in
/// SI under a name that ends in its unit; anything else as a number or as words.
struct Reading {
  std::string name;
  std::optional<double> value{};
  std::string said{};
};
Result<Reading> read_reading(std::string_view name, std::string_view text);

/// Something done to a part.
struct StepDone {
  std::string part;
  works::Step step{};
  std::vector<Reading> readings{};
  std::string note{};
  std::optional<std::int64_t> at_ms{};
  std::string mounting{};
};

/// Enters the step, its readings and the part's new state; throws ledger::Refused where the state
/// forbids it.
std::string do_step(ledger::Writer& writer, const StepDone& done);
/// The same as an entry of its own, for the steps that are done by hand.
Result<Entered> log_step(const Desk& desk, const StepDone& done);

}  // namespace goodside::line
