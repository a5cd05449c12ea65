#include "serve/by_hand.hpp"

#include <fmt/format.h>

#include "line/reverse_entry.hpp"
#include "works/code.hpp"

namespace goodside::serve {
namespace {

constexpr std::size_t largest_body = 64 * 1024, most_codes = 1000;

}  // namespace

std::vector<Role> who_enters() {
  return {Role::station, Role::clerk, Role::engineer};
}
std::vector<Role> at_stations() {
  return {Role::station, Role::engineer};
}
std::vector<Role> in_the_office() {
  return {Role::clerk, Role::engineer};
}

json::Node whole_body(const Asked& asked) {
  auto node = json::read_node(asked.body, largest_body, "the request");
  if (!node) throw Stop{400, node.error().text};
  if (!std::holds_alternative<Object>(node->value))
    throw Stop{400, "the request is no JSON object"};
  return std::move(*node);
}

line::Typed typed_fields(const json::Node& node, const std::string& name) {
  const auto* object = std::get_if<Object>(&node.value);
  if (object == nullptr) throw Stop{400, fmt::format("{}: give an object of fields", name)};
  line::Typed typed;
  for (const auto& [field, value] : *object) {
    if (std::holds_alternative<std::monostate>(value.value)) continue;
    if (const auto* text = std::get_if<std::string>(&value.value)) {
      if (!text->empty()) typed.emplace_back(field, *text);
    } else if (const auto* whole = std::get_if<std::int64_t>(&value.value)) {
      typed.emplace_back(field, fmt::format("{}", *whole));
    } else if (const auto* number = std::get_if<double>(&value.value)) {
      typed.emplace_back(field, fmt::format("{}", *number));
    } else if (const auto* truth = std::get_if<bool>(&value.value)) {
      typed.emplace_back(field, *truth ? "yes" : "no");
    } else {
      throw Stop{400, fmt::format("{}: give a text or a number", field)};
    }
  }
  return typed;
}

std::string code_in(const Body& body, const char* name, bool required) {
  const std::string typed = required ? body.text(name) : body.text_or(name, "");
  if (typed.empty() && !required) return {};
  const auto code = works::read_code(typed);
  if (!code) throw Stop{422, fmt::format("{}: {}", name, code.error().text)};
  return *code;
}

std::vector<std::string> codes_in(const Body& body, const char* name) {
  std::vector<std::string> codes;
  for (const json::Node& one : body.list(name)) {
    const auto* text = std::get_if<std::string>(&one.value);
    if (text == nullptr) throw Stop{400, fmt::format("{}: give codes", name)};
    codes.push_back(*text);
  }
  if (codes.empty() || codes.size() > most_codes)
    throw Stop{422, fmt::format("{}: give 1 to {} codes", name, most_codes)};
  return codes;
}

std::optional<works::Impressions> range_in(const Body& body, const char* name) {
  if (!body.has(name)) return std::nullopt;
  const List& ends = body.list(name);
  const auto end = [&](std::size_t k) -> std::int64_t {
    const auto* number = k < ends.size() ? std::get_if<std::int64_t>(&ends[k].value) : nullptr;
    return number == nullptr ? 0 : *number;
  };
  if (ends.size() != 2 || end(0) < 1 || end(1) < end(0))
    throw Stop{422, fmt::format("{}: give a range as [first, last], from 1 up", name)};
  return works::Impressions{end(0), end(1)};
}

std::int64_t count_in(const Body& body, const char* name) {
  const std::int64_t count = body.number(name);
  if (count < 0) throw Stop{422, fmt::format("{}: give a count, 0 or more", name)};
  return count;
}

Object entered_object(const std::string& code, const ledger::Head& head) {
  return {{"code", or_null(code)}, {"entry", head.seq}, {"hash", head.hash}};
}

bool is_quarantine(const ledger::Event& event) {
  return event.what == "hold" || event.what.starts_with("quarantine");
}

Answer undo_entry(Board& board,
                  Asked& asked,
                  const std::function<void(const ledger::Event&)>& check) {
  const auto entry = whole_number(asked.part("entry"));
  if (!entry) throw Stop{400, "entry: give the number of an entry"};
  const Body body{asked};
  const std::string reason = body.text("reason");
  Object out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    or_stop(desk.record.read([&](ledger::Reader& reader) {
      const auto event = ledger::event_of(reader.connection(), *entry);
      if (!event) throw Stop{404, fmt::format("there is no entry {}", *entry)};
      check(*event);
    }));
    const auto head = or_stop(line::reverse_entry(desk, *entry, reason));
    out = {{"entry", head.seq}, {"hash", head.hash}};
  });
  return answer(out, 201);
}

std::int64_t ask_number(ledger::Reader& reader,
                        std::string_view sql,
                        const ledger::Values& values) {
  return ledger::whole(reader.connection().ask(sql, values).at(0).at(0));
}

}  // namespace goodside::serve
