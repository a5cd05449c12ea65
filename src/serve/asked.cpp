#include "serve/asked.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "base/expects.hpp"

namespace goodside::serve {
namespace {

char small(char letter) {
  return letter >= 'A' && letter <= 'Z' ? static_cast<char>(letter - 'A' + 'a') : letter;
}

struct ByteRange {
  std::size_t first{}, last{};
};

enum class RangeFault { unreadable, outside };

/// One range of a body of `size` bytes; clamped to its end.
std::optional<ByteRange> read_range(std::string_view text, std::size_t size, RangeFault& fault) {
  fault = RangeFault::unreadable;
  if (!text.starts_with("bytes=")) return std::nullopt;
  text.remove_prefix(6);
  const auto dash = text.find('-');
  if (dash == std::string_view::npos || text.find(',') != std::string_view::npos)
    return std::nullopt;
  const auto from = whole_number(text.substr(0, dash)), to = whole_number(text.substr(dash + 1));
  const bool has_from = dash > 0, has_to = dash + 1 < text.size();
  if ((has_from && !from) || (has_to && !to) || (!has_from && !has_to)) return std::nullopt;
  if (has_from && has_to && *to < *from) return std::nullopt;
  fault = RangeFault::outside;
  if (!has_from) {
    const std::size_t count = std::min(size, static_cast<std::size_t>(*to));
    if (count == 0) return std::nullopt;
    return ByteRange{size - count, size - 1};
  }
  const auto first = static_cast<std::size_t>(*from);
  if (first >= size) return std::nullopt;
  return ByteRange{first, has_to ? std::min(size - 1, static_cast<std::size_t>(*to)) : size - 1};
}

}  // namespace

int status_of(Fault fault) {
  switch (fault) {
    case Fault::bad_input:
      return 422;
    case Fault::out_of_range:
      return 422;
    case Fault::not_found:
      return 404;
    case Fault::conflict:
      return 409;
    case Fault::io:
      return 503;
    case Fault::not_converged:
      return 500;
  }
  return 500;
}

bool HeaderOrder::operator()(std::string_view a, std::string_view b) const {
  return std::ranges::lexicographical_compare(a, b, {}, small, small);
}

std::string Asked::header(std::string_view name) const {
  const auto found = headers.find(std::string{name});
  return found == headers.end() ? std::string{} : found->second;
}

const std::string& Asked::part(std::string_view name) const {
  const auto found = named.find(name);
  EXPECTS(found != named.end());
  return found->second;
}

std::optional<std::string> Asked::asked_for(std::string_view name) const {
  const auto found = query.find(name);
  if (found == query.end()) return std::nullopt;
  return found->second;
}

std::int64_t Asked::number(std::string_view name,
                           std::int64_t low,
                           std::int64_t high,
                           std::int64_t otherwise) const {
  const auto text = asked_for(name);
  if (!text) return otherwise;
  const auto value = whole_number(*text);
  if (value && *value >= low && *value <= high) return *value;
  throw Stop{400, fmt::format("{}: give a whole number from {} to {}", name, low, high)};
}

std::optional<double> Asked::real(std::string_view name) const {
  const auto text = asked_for(name);
  if (!text) return std::nullopt;
  double value = 0.0;
  const auto [end, problem] = std::from_chars(text->data(), text->data() + text->size(), value);
  if (problem == std::errc{} && end == text->data() + text->size() && std::isfinite(value))
    return value;
  throw Stop{400, fmt::format("{}: give a number", name)};
}

Answer answer(const json::Node& node, int status) {
  return {.status = status, .type = "application/json", .body = json::one_line(node)};
}

Answer refusal(int status, const std::string& text) {
  return answer(json::Node::Object{{"error", text}}, status);
}

Answer nothing() {
  return {.status = 204};
}

Answer ranged(Answer whole, const std::string& range) {
  whole.headers.emplace_back("Accept-Ranges", "bytes");
  if (range.empty() || whole.status != 200) return whole;
  RangeFault fault{};
  const std::size_t size = whole.body.size();
  const auto bytes = read_range(range, size, fault);
  if (!bytes && fault == RangeFault::unreadable) return whole;  // [RFC 9110, 14.2]: ignored
  if (!bytes) {
    Answer outside = refusal(416, fmt::format("the range lies outside the {} bytes", size));
    outside.headers.emplace_back("Content-Range", fmt::format("bytes */{}", size));
    return outside;
  }
  whole.status = 206;
  whole.headers.emplace_back("Content-Range",
                             fmt::format("bytes {}-{}/{}", bytes->first, bytes->last, size));
  whole.body = whole.body.substr(bytes->first, bytes->last - bytes->first + 1);
  return whole;
}

std::optional<std::int64_t> whole_number(std::string_view text) {
  std::int64_t value = 0;
  if (text.empty() || text.size() > 18) return std::nullopt;
  for (const char digit : text) {
    if (digit < '0' || digit > '9') return std::nullopt;
    value = 10 * value + (digit - '0');
  }
  return value;
}

}  // namespace goodside::serve
