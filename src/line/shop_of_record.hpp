#pragma once
#include <cstdint>
#include <string>

#include "ledger/record.hpp"
#include "works/need.hpp"
#include "works/shop.hpp"

namespace goodside::line {

/// What is looked at beside the record.
struct ShopView {
  std::int64_t now_ms{};         ///< taken where the file tells no now
  works::NeedFigures figures{};  ///< for the compound that discs take
};

/// The book of orders out of the works' record, put into what a file (intake::read_shop with `record`) tells of
/// stations, machines, hours, hands and routes. Of each order that is not yet packed or shipped:
/// - discs packed, shipped, good, edge-finished and pressed are begun lots with their steps behind them; pressed and
///   edge-finished ones count by the route's yields; suspect, sampled and scrapped ones do not count;
/// - metal, side by side: a usable stamper leaves nothing to grow or to finish, a finished mother only the stamper, and so
///   on; a part that grows is a running work with what is left of its time; of several orders of a title the
///   first by due date grows what is wanting and the others wait for it;
/// - test pressings and the customer's word: made, sent (the wait runs from then), approved or waived, refused (made anew);
/// - compound: mixed where the batches of the order's material hold enough, less what was pressed from them;
/// - a run is under way where the newest pressing of a press' open mounting is of it and discs are wanting: the press is
///   taken until its next lot is done. What is mounted, its format and compound stand on the machine.
/// A step knows what it is in the record by `means`, else by its id (works::step_meanings); one that the record
/// knows nothing of is done where a step after it is. A day's due date is kept until its midnight; an order without one is
/// due in a year. Tables [orders.X] and [titles.X] of the file add to what the record tells and win over it; orders that
/// the record has not are planned beside. `found` says of each order what was found.
/// Errors: Fault::bad_input naming the order, press or route and the mend: a title without cut and metal, no route that
/// takes the order, a press that is not in the record, a run under way on a press that no machine is, nothing to plan.
Result<works::Shop> shop_of_record(ledger::Record&, works::Shop file, const ShopView&);

}  // namespace goodside::line
