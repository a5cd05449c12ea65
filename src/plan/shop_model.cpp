#include "plan/shop_model.hpp"

#include <fmt/format.h>

#include <cmath>

namespace goodside::plan {
namespace {

constexpr std::int64_t longest_s = std::int64_t{100} * 366 * 86400;

bool sound(std::int64_t time_s) {
  return time_s >= 0 && time_s <= longest_s;
}

Error wrong(const ShopOperation& operation, const std::string& what) {
  return {Fault::bad_input, fmt::format("{}: {}", operation.id, what)};
}

Outcome check_operation(const ShopModel& model, std::size_t index) {
  const ShopOperation& operation = model.operations[index];
  if (operation.order < 0 || operation.order >= static_cast<int>(model.orders.size()))
    return wrong(operation, "belongs to no order");
  if (operation.needs.size() > most_needs)
    return wrong(operation, fmt::format("needs more than {} things at once", most_needs));
  for (const auto& need : operation.needs) {
    if (need.empty()) return wrong(operation, "has a need that no unit meets");
    for (const ShopChoice& choice : need) {
      if (choice.unit < 0 || choice.unit >= static_cast<int>(model.units.size()))
        return wrong(operation, "names a unit that is not there");
      if (!sound(choice.work_s))
        return wrong(operation, fmt::format("takes {} s, which cannot be", choice.work_s));
    }
  }
  if (!sound(operation.wait_s) || !sound(operation.release_s))
    return wrong(operation, "has a time that is negative or beyond 100 years");
  for (const ShopAfter& after : operation.after)
    if (after.operation < 0 || after.operation >= static_cast<int>(index) || !sound(after.lag_s))
      return wrong(operation, "waits for a work that does not stand before it");
  if (operation.fixed)
    for (const ShopAfter& after : operation.after)
      if (!model.operations[static_cast<std::size_t>(after.operation)].fixed)
        return wrong(operation, "is fixed, though what it waits for is not");
  if (operation.fixed)
    for (std::size_t k = 0; k < operation.needs.size(); ++k)
      if (operation.fixed->choice[k] < 0 ||
          operation.fixed->choice[k] >= static_cast<int>(operation.needs[k].size()))
        return wrong(operation, "is fixed on a unit that it may not use");
  return Done{};
}

}  // namespace

Outcome check_model(const ShopModel& model) {
  for (const ShopUnit& unit : model.units)
    if (unit.calendar < 0 || unit.calendar >= static_cast<int>(model.calendars.size()))
      return Error{Fault::bad_input, fmt::format("{}: its calendar is not there", unit.id)};
  for (const ShopOrder& order : model.orders)
    if (!std::isfinite(order.weight) || order.weight < 0.0)
      return Error{Fault::bad_input, fmt::format("{}: its weight cannot be", order.id)};
  for (std::size_t i = 0; i < model.operations.size(); ++i)
    if (const auto checked = check_operation(model, i); !checked) return checked.error();
  return Done{};
}

}  // namespace goodside::plan
