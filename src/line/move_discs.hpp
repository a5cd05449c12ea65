#pragma once
#include <string>
#include <vector>

#include "line/choose_stock.hpp"
#include "line/desk.hpp"

namespace goodside::line {

struct Moved {
  ledger::Head head;
  std::int64_t discs{};
  std::vector<works::Movement> movements;
  /// Of the impressions asked for, what a hold cannot reach: they have left the house.
  std::int64_t shipped{};
};

/// Takes discs from one place to another. To the press, to and from unaccounted, and into and out
/// of samples, suspect stock and shipments go the verbs of their own.
/// Errors: those of choose_stock; Fault::bad_input where scrap has no reason; Fault::conflict where
/// a carton is closed, full, or of another order.
Result<Moved> move_discs(const Desk& desk, const Choice& choice, const works::Spot& to);

/// Quarantine: everything in the house that may be among these impressions becomes suspect, where
/// it lies. Errors: Fault::bad_input without a reason; Fault::not_found where nothing is left.
Result<Moved> hold(const Desk& desk, const Choice& choice, const std::string& reason);
/// Suspect stock goes back to what it was.
Result<Moved> release(const Desk& desk, const Choice& choice);

/// Somebody counted `counted` discs of what the choice names: the difference goes to or comes from
/// `unaccounted`, with its reason. Nothing is entered where the count agrees.
Result<Moved> recount(const Desk& desk,
                      const Choice& choice,
                      std::int64_t counted,
                      const std::string& reason);

/// Discs that a customer sent back become suspect stock in the house.
Result<Moved> take_back(const Desk& desk, const Choice& choice, const std::string& reason);

// Within an entry that writes more; they throw ledger::Refused.

/// Refused where a carton is not open, of another order than the run, or has no room for `more`.
void fits_carton(ledger::Writer& writer,
                 const std::string& carton,
                 const std::string& run,
                 std::int64_t more);
void post_all(ledger::Writer& writer, const std::vector<works::Movement>& movements);
[[nodiscard]] std::int64_t discs_of(const std::vector<works::Movement>& movements);
/// Discs whose spot is this spindle, carton or ticket, whatever their place.
[[nodiscard]] std::int64_t discs_at(ledger::Reader& reader, const std::string& spot);
/// Those of them at this place.
[[nodiscard]] std::int64_t discs_at(ledger::Reader& reader,
                                    const std::string& spot,
                                    works::Place place);

/// Returns the discs held.
std::int64_t hold_within(ledger::Writer& writer, const Choice& choice, const std::string& reason);
std::int64_t release_within(ledger::Writer& writer, const Choice& choice);

}  // namespace goodside::line
