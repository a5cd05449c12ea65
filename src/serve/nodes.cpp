#include "serve/nodes.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "line/record_nodes.hpp"
#include "works/code.hpp"
#include "works/kind.hpp"

namespace goodside::serve {
namespace {

constexpr std::size_t largest_body = 64 * 1024;

constexpr std::array<std::string_view, 9> places{"pressed",
                                                 "edge finished",
                                                 "in sample",
                                                 "good stock",
                                                 "suspect",
                                                 "packed",
                                                 "shipped",
                                                 "scrap",
                                                 "unaccounted"};

std::int64_t sum_of(const std::map<std::string, std::int64_t>& sums, std::string_view key) {
  const auto found = sums.find(std::string{key});
  return found == sums.end() ? 0 : found->second;
}

}  // namespace

json::Node or_null(const std::string& text) {
  return text.empty() ? json::Node{} : json::Node{text};
}

json::Node cell(const ledger::Row& row, std::string_view column) {
  const ledger::Value& value = ledger::at(row, column);
  if (const auto* number = std::get_if<std::int64_t>(&value)) return {*number};
  if (const auto* number = std::get_if<double>(&value)) return {*number};
  if (const auto* text = std::get_if<std::string>(&value)) return {*text};
  return {};
}

json::Node range_node(std::int64_t first, std::int64_t last) {
  return List{first, last};
}

json::Node row_node(std::string_view table, const ledger::Row& row) {
  return line::as_node(works::kind_of_table(table), row);
}

json::Node row_or_null(std::string_view table, const std::optional<ledger::Row>& row) {
  return row ? row_node(table, *row) : json::Node{};
}

json::Node rows_node(std::string_view table, const std::vector<ledger::Row>& rows) {
  List list;
  for (const ledger::Row& row : rows) list.push_back(row_node(table, row));
  return list;
}

json::Node play_node(const Play& play) {
  const auto title = play.title_first
                         ? range_node(*play.title_first, *play.title_first + play.last - play.first)
                         : json::Node{};
  return Object{{"report", play.report},
                {"capture", play.capture},
                {"ticket", play.ticket},
                {"run", play.run},
                {"title", play.title},
                {"side", or_null(play.side)},
                {"letter", play.letter},
                {"stamper", or_null(play.stamper)},
                {"mounting", or_null(play.mounting)},
                {"impression", range_node(play.first, play.last)},
                {"title_impression", title},
                {"play", play.play},
                {"after", play.after},
                {"pass", play.pass != 0},
                {"plain", play.plain},
                {"slight", play.slight},
                {"eccentricity_m", or_null(play.eccentricity_m)},
                {"weighted_noise_dB", or_null(play.weighted_noise_dB)},
                {"limits", play.limits},
                {"at_ms", play.at_ms}};
}

json::Node counts_node(const std::map<std::string, std::int64_t>& sums) {
  Object object;
  for (const std::string_view place : places) {
    std::string key{place};
    std::ranges::replace(key, ' ', '_');
    object.emplace_back(std::move(key), sum_of(sums, place));
  }
  return object;
}

json::Node tickets_node(const std::map<std::string, std::int64_t>& tickets) {
  return Object{{"waiting", sum_of(tickets, "waiting")},
                {"good", sum_of(tickets, "good")},
                {"bad", sum_of(tickets, "bad")}};
}

json::Node entry_node(const ledger::Head& head) {
  return Object{{"entry", head.seq}, {"hash", head.hash}};
}

std::string code_of(const Asked& asked, std::string_view part) {
  const auto code = works::read_code(asked.part(part));
  if (!code) throw Stop{400, code.error().text};
  return *code;
}

ledger::Row need(ledger::Reader& reader, std::string_view table, const std::string& code) {
  auto row = reader.find(table, code);
  if (!row)
    throw Stop{404, fmt::format("there is no {} {}", works::kind_of_table(table).name, code)};
  return std::move(*row);
}

Body::Body(const Asked& asked) {
  auto node = json::read_node(asked.body, largest_body, "the request");
  if (!node) throw Stop{400, node.error().text};
  if (!std::holds_alternative<Object>(node->value))
    throw Stop{400, "the request is no JSON object"};
  node_ = std::move(*node);
}

const json::Node* Body::member(std::string_view name) const {
  const json::Node* const found = node_.find(name);
  return found == nullptr || std::holds_alternative<std::monostate>(found->value) ? nullptr : found;
}

bool Body::has(std::string_view name) const {
  return member(name) != nullptr;
}

std::string Body::text(std::string_view name) const {
  const json::Node* const found = member(name);
  if (found == nullptr) throw Stop{400, fmt::format("{} is missing", name)};
  const auto* text = std::get_if<std::string>(&found->value);
  if (text == nullptr) throw Stop{400, fmt::format("{}: give a text", name)};
  return *text;
}

std::string Body::text_or(std::string_view name, const std::string& otherwise) const {
  return has(name) ? text(name) : otherwise;
}

std::int64_t Body::number(std::string_view name) const {
  const auto number = maybe_number(name);
  if (!number) throw Stop{400, fmt::format("{} is missing", name)};
  return *number;
}

std::optional<std::int64_t> Body::maybe_number(std::string_view name) const {
  const json::Node* const found = member(name);
  if (found == nullptr) return std::nullopt;
  const auto* number = std::get_if<std::int64_t>(&found->value);
  if (number == nullptr) throw Stop{400, fmt::format("{}: give a whole number", name)};
  return *number;
}

std::optional<double> Body::maybe_real(std::string_view name) const {
  const json::Node* const found = member(name);
  if (found == nullptr) return std::nullopt;
  if (const auto* number = std::get_if<std::int64_t>(&found->value))
    return static_cast<double>(*number);
  const auto* number = std::get_if<double>(&found->value);
  if (number == nullptr || !std::isfinite(*number))
    throw Stop{400, fmt::format("{}: give a number", name)};
  return *number;
}

bool Body::truth(std::string_view name) const {
  const json::Node* const found = member(name);
  if (found == nullptr) throw Stop{400, fmt::format("{} is missing", name)};
  const auto* truth = std::get_if<bool>(&found->value);
  if (truth == nullptr) throw Stop{400, fmt::format("{}: give true or false", name)};
  return *truth;
}

const json::Node& Body::node(std::string_view name) const {
  static const json::Node nothing;
  const json::Node* const found = member(name);
  return found == nullptr ? nothing : *found;
}

const List& Body::list(std::string_view name) const {
  const json::Node* const found = member(name);
  if (found == nullptr) throw Stop{400, fmt::format("{} is missing", name)};
  const auto* list = std::get_if<List>(&found->value);
  if (list == nullptr) throw Stop{400, fmt::format("{}: give a list", name)};
  return *list;
}

}  // namespace goodside::serve
