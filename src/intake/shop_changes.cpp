#include "intake/shop_changes.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>

#include "base/near_miss.hpp"
#include "intake/shop_file.hpp"

namespace goodside::intake {
namespace {

constexpr int most_more = 100;

struct Pair {
  std::string name, value;
};

std::string trimmed(std::string_view text) {
  while (text.starts_with(' ')) text.remove_prefix(1);
  while (text.ends_with(' ')) text.remove_suffix(1);
  return std::string{text};
}

Pair pair_of(const std::string& text) {
  const auto sign = std::min(text.find('='), text.size());
  return {trimmed(std::string_view{text}.substr(0, sign)),
          sign == text.size() ? std::string{} : trimmed(std::string_view{text}.substr(sign + 1))};
}

template <class Row>
std::vector<std::string> ids_of(const std::vector<Row>& rows) {
  std::vector<std::string> ids;
  for (const Row& row : rows) ids.push_back(row.id);
  return ids;
}

std::vector<std::string> joined(std::vector<std::string> one, const std::vector<std::string>& two) {
  one.insert(one.end(), two.begin(), two.end());
  return one;
}

Error unknown(std::string_view option,
              const std::string& name,
              const std::vector<std::string>& known) {
  std::string list;
  for (const std::string& one : known) list += (list.empty() ? "" : ", ") + one;
  return {Fault::bad_input,
          fmt::format("{}: nothing here is called \"{}\"; {}",
                      option,
                      name.substr(0, 40),
                      suggestion(name, known).value_or("it has " + list.substr(0, 300)))};
}

template <class Row>
Row* find(std::vector<Row>& rows, const std::string& id) {
  const auto found = std::ranges::find(rows, id, &Row::id);
  return found == rows.end() ? nullptr : &*found;
}

Outcome add(works::Shop& shop, const std::string& text) {
  const Pair asked = pair_of(text);
  int count = 1;
  const char *const from = asked.value.data(), *const end = from + asked.value.size();
  if (text.find('=') != std::string::npos) {
    const auto [stop, problem] = std::from_chars(from, end, count);
    if (problem != std::errc{} || stop != end || count < 1 || count > most_more)
      return Error{Fault::bad_input,
                   fmt::format("--more: \"{}\" is no whole number from 1 to {}; write press=2",
                               asked.value.substr(0, 40),
                               most_more)};
  }
  if (auto* hand = find(shop.hands, asked.name)) {
    hand->places += count;
    return Done{};
  }
  const auto first = std::ranges::find(shop.machines, asked.name, &works::ShopMachine::station);
  if (first == shop.machines.end())
    return unknown("--more", asked.name, joined(ids_of(shop.stations), ids_of(shop.hands)));
  works::ShopMachine like = *first;
  like.format = like.compound = like.title = "";
  like.closed.clear();
  for (int k = 1, added = 0; added < count; ++k) {
    like.id = fmt::format("{} more {}", asked.name, k);
    if (find(shop.machines, like.id) != nullptr) continue;
    shop.machines.push_back(like);
    ++added;
  }
  return Done{};
}

Outcome put_off(works::Shop& shop, const std::string& text) {
  const Pair asked = pair_of(text);
  auto* const order = find(shop.orders, asked.name);
  if (order == nullptr) return unknown("--due", asked.name, ids_of(shop.orders));
  const auto due = shop_instant_s(asked.value);
  if (!due)
    return Error{Fault::bad_input,
                 fmt::format("--due: \"{}\" is no date; write {}=2026-12-16 14:00",
                             asked.value.substr(0, 40),
                             asked.name)};
  order->due_s = *due;
  return Done{};
}

/// One of the works' own hours, or new ones of the shifts; their id.
Result<std::string> hours_of(works::Shop& shop, const std::string& text) {
  if (text == "always") return std::string{};
  if (find(shop.hours, text) != nullptr) return text;
  works::ShopHours hours{.id = text, .shifts = {}, .closed = {}};
  std::string_view rest{text};
  while (!rest.empty()) {
    const auto end = std::min(rest.find(';'), rest.size());
    const auto shift = shop_shift(rest.substr(0, end));
    if (!shift)
      return Error{Fault::bad_input,
                   fmt::format("--hours: \"{}\" are none of the works' hours and no shift; write "
                               "\"mon-fri 06:00-22:00\", or always",
                               text.substr(0, 60))};
    hours.shifts.push_back(*shift);
    rest.remove_prefix(std::min(end + 1, rest.size()));
  }
  // The days on which the works is closed stay so.
  for (const works::ShopHours& own : shop.hours)
    for (const std::int64_t day : own.closed)
      if (std::ranges::find(hours.closed, day) == hours.closed.end()) hours.closed.push_back(day);
  shop.hours.push_back(std::move(hours));
  return text;
}

Outcome open_longer(works::Shop& shop, const std::string& text) {
  const Pair asked = pair_of(text);
  if (asked.value.empty())
    return Error{Fault::bad_input,
                 fmt::format("--hours: \"{}\" tells no hours; write press=mon-fri 06:00-22:00",
                             text.substr(0, 60))};
  const auto hours = hours_of(shop, asked.value);
  if (!hours) return hours.error();
  bool found = false;
  for (works::ShopMachine& machine : shop.machines)
    if (machine.id == asked.name || machine.station == asked.name) {
      machine.hours = *hours;
      found = true;
    }
  if (auto* hand = find(shop.hands, asked.name)) {
    hand->hours = *hours;
    found = true;
  }
  if (found) return Done{};
  return unknown("--hours",
                 asked.name,
                 joined(joined(ids_of(shop.stations), ids_of(shop.machines)), ids_of(shop.hands)));
}

}  // namespace

Outcome change_shop(works::Shop& shop, const ShopChanges& changes) {
  for (const std::string& text : changes.more)
    if (const auto done = add(shop, text); !done) return done;
  for (const std::string& text : changes.due)
    if (const auto done = put_off(shop, text); !done) return done;
  for (const std::string& text : changes.hours)
    if (const auto done = open_longer(shop, text); !done) return done;
  return Done{};
}

}  // namespace goodside::intake
