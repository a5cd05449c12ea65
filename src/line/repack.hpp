#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "line/desk.hpp"
#include "line/move_discs.hpp"

namespace goodside::line {

/// Discs leave an open carton for another, or for good stock.
struct TakeOut {
  std::string carton;
  std::string run{};  ///< needed where it holds discs of several
  std::optional<works::Impressions> impressions{};
  std::optional<std::int64_t> quantity{};  ///< without both: all
  std::string to_carton{}, to_spindle{};   ///< neither: good stock, on no spindle
};
/// Errors: Fault::conflict where a carton is closed or full; those of choose_stock.
Result<Moved> take_out(const Desk& desk, const TakeOut& out);

/// A new carton of the same order and capacity takes some of the discs of an open one.
struct Split {
  std::string code;  ///< of the new carton
  Moved moved;
};
Result<Split> split_carton(const Desk& desk, const TakeOut& out);

/// Suspect discs are pulled out of the cartons that they were packed in.
struct SuspectPull {
  std::string from;                                 ///< order, run or carton
  std::optional<works::Impressions> impressions{};  ///< of a run
  std::string to_spindle{};
};
struct PulledOut {
  ledger::Head head;
  std::int64_t discs{};
  struct Carton {
    std::string code;
    std::int64_t out{}, left{};
    bool opened{};
  };
  std::vector<Carton> cartons;
};
/// They stay suspect, on the spindle named or on none, and go back to good stock when they are let go. A closed carton
/// is opened by it, and its number and that of its pallet are void. Errors: Fault::not_found where none is packed.
Result<PulledOut> pull_suspects(const Desk& desk, const SuspectPull& pull);

}  // namespace goodside::line
