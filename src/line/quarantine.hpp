#pragma once
#include <optional>
#include <string>
#include <vector>

#include "line/desk.hpp"
#include "works/trace_report.hpp"

namespace goodside::line {

/// What a trace calls suspect, to be held in the ledger.
struct SuspectOrder {
  std::string side;                             ///< code of the record's side that was traced
  int fault{};                                  ///< id of the recurring fault
  std::vector<works::Impressions> impressions;  ///< of the title, as the trace counts them
  std::string reason;                           ///< stands with the stock and in the log
};
/// The order for one recurring fault of a trace. `side`: of the record; empty: as the trace says.
/// Errors: Fault::not_found for no such fault (those there are named); Fault::bad_input where the
/// trace does not say which side of the record it is of, or nothing is suspect.
Result<SuspectOrder> suspect_order(const works::TraceReport&, int fault, const std::string& side);

/// Discs that left with one shipment and may be among them: at most so many.
struct RecalledShipment {
  std::string shipment, to;
  std::vector<std::string> cartons;
  std::int64_t discs{};
};

struct Quarantined {
  std::int64_t discs{};    ///< moved to suspect, or that would be
  std::int64_t kept{};     ///< held until a sample is heard: stay suspect now, whatever it says
  std::int64_t already{};  ///< suspect from before, for this or another cause
  std::vector<works::Movement> movements;
  std::vector<std::string> cartons;       ///< in the house, that hold some of them
  std::vector<RecalledShipment> shipped;  ///< to be called back; a hold cannot reach them
  std::int64_t gone{};                    ///< shipped discs, the sum
  std::vector<std::string> uncounted;     ///< runs whose impressions the title does not count
  std::optional<ledger::Head> head;       ///< of the entry; none: nothing was moved
};

/// Everything in the house that may be among these impressions becomes suspect where it lies, over
/// all runs of the title, in one entry of the log; `reverse` takes it back. Samples and scrap stay
/// what they are, shipped stock is listed. What is suspect for a cause already is left alone, so that
/// a second call moves nothing and enters nothing; what waits only for a sample to be heard is taken
/// over, or a good sample would let it go. A trial (`try_only`) counts and enters nothing.
/// Errors: Fault::not_found for no such side; Fault::bad_input.
Result<Quarantined> quarantine(const Desk& desk, const SuspectOrder& order, bool try_only);

}  // namespace goodside::line
