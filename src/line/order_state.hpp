#pragma once
#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "dispatch/order_balance.hpp"
#include "line/desk.hpp"

namespace goodside::line {

/// How a part of an order for one place stands.
struct DeliveryState {
  std::string code, to;  ///< empty code: what no delivery was entered for
  dispatch::OrderCount count;
  std::int64_t due_ms{};
};

/// How an order stands with all that was made for it.
struct OrderState {
  std::string code, title, customer;
  dispatch::OrderCount count;
  std::int64_t packed{};
  std::vector<std::pair<std::string, std::int64_t>> places;  ///< discs by place, over its runs
  std::vector<DeliveryState> deliveries;
  struct Shipped {
    std::string code, to, carrier;
    std::int64_t cartons{}, discs{};  ///< that are still out
    std::int64_t at_ms{};
  };
  std::vector<Shipped> shipments;  ///< gone
};
/// Throws ledger::Refused.
[[nodiscard]] OrderState order_state(ledger::Reader& reader, const std::string& order);
Result<OrderState> order_state(ledger::Record& record, const std::string& order);
/// Of one delivery. Throws ledger::Refused.
[[nodiscard]] DeliveryState delivery_state(ledger::Reader& reader, const ledger::Row& delivery);

}  // namespace goodside::line
