#pragma once
#include <cstdint>
#include <string>

#include "ledger/record.hpp"

namespace goodside::line {

/// Where somebody stands who writes the record: the record, their name, the clock's reading.
struct Desk {
  ledger::Record& record;
  std::string who;
  std::int64_t now_ms{};

  [[nodiscard]] ledger::Act act(std::string what, std::string subject = {}) const {
    return {.at_ms = now_ms, .who = who, .what = std::move(what), .subject = std::move(subject)};
  }
};

/// What was entered, and the entry that holds it.
struct Entered {
  std::string code;
  ledger::Head head;
};

}  // namespace goodside::line
