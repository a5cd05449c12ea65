#include "dispatch/order_balance.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace goodside::dispatch {

std::int64_t still_owed(const OrderCount& count) {
  return std::max<std::int64_t>(0, count.ordered - count.shipped - count.credited);
}

std::int64_t may_still_leave(const OrderCount& count) {
  return std::max<std::int64_t>(
      0, std::max(count.most, count.ordered) - count.shipped - count.credited);
}

Outcome may_ship(const OrderCount& count, std::int64_t discs) {
  if (discs <= may_still_leave(count)) return Done{};
  return Error{
      Fault::conflict,
      fmt::format("{} discs are too many: of {} ordered {} have been shipped and {} credited, so "
                  "{} more may leave; take some out, or enter what the customer takes with "
                  "`goodside pack agree`",
                  discs,
                  count.ordered,
                  count.shipped,
                  count.credited,
                  may_still_leave(count))};
}

Outcome may_credit(const OrderCount& count, std::int64_t discs) {
  if (discs >= 1 && discs <= still_owed(count)) return Done{};
  return Error{
      Fault::conflict,
      fmt::format("{} discs cannot be credited: {} are still owed; discs that came back are "
                  "owed again once their return is entered",
                  discs,
                  still_owed(count))};
}

}  // namespace goodside::dispatch
